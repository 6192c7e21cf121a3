"""The schedules of the demo's sites, settings of single things, what decay has changed."""

from __future__ import annotations

from datetime import datetime

from inventory.schedule import actions
from inventory.schedule.confirming import confirm_change
from inventory.schedule.pieces import Decided
from inventory.schedule.settings import Wanted, make_setting
from inventory.schedule.versions import draft_of
from reports.demo.telling import Act, SiteStory
from reports.demo.told_checks import Adopted, Confirmed, OwnRow, Setting
from reports.demo.told_things import BEGINS


def gather(story: SiteStory) -> None:
    """Every act about what is asked of whom."""
    story.at(BEGINS, lambda at: _begin(story, at), hour=8)
    if story.told.adopted is not None:
        _adoption(story, story.told.adopted)
    for setting in story.told.settings:
        story.at(setting.days_ago, _setting(story, setting), hour=12)
    for confirmed in story.told.confirmed:
        story.at(confirmed.days_ago, _confirmed(story, confirmed), hour=12)


def _begin(story: SiteStory, at: datetime) -> None:
    actions.begin(story.site, story.told.rules, story.day(BEGINS), by=story.supervisor, at=at)


def _adoption(story: SiteStory, told: Adopted) -> None:
    """A draft, its templates, the site's own rows, everything gone through, adopted."""
    by, site = story.supervisor, story.site
    story.at(told.drafted, lambda at: actions.draft_schedule(site, by=by, at=at))
    story.at(
        told.drafted, lambda at: actions.choose_templates(site, told.taken, by=by, at=at), hour=10
    )
    for row in told.rows:
        story.at(told.days_ago + 1, _own_row(story, told, row))
    story.at(told.days_ago, lambda at: _go_through(story, told, at))
    story.at(told.days_ago, lambda at: _adopt(story, told, at), hour=10)


def _own_row(story: SiteStory, told: Adopted, row: OwnRow) -> Act:
    def act(at: datetime) -> None:
        decided = Decided(row.because, told.by, story.day(told.days_ago + 1))
        said = {name: value for name, value in decided.text().items() if value}
        data = {**row.data, **(said if row.because else {})}
        there = {one.id for one in draft.rules.rows} if (draft := draft_of(story.site)) else set()
        write = actions.change_row if data["id"] in there else actions.add_row
        write(story.site, data, who=told.by, by=story.supervisor, at=at)

    return act


def _go_through(story: SiteStory, told: Adopted, at: datetime) -> None:
    draft = draft_of(story.site)
    assert draft is not None
    rows = {row.id: row for row in draft.rows_left}
    actions.review_rows(story.site, rows, who=told.by, by=story.supervisor, at=at)


def _adopt(story: SiteStory, told: Adopted, at: datetime) -> None:
    on = story.day(told.days_ago)
    adoption = actions.Adoption(
        on, on, told.by, story.day(-told.review_in), note=told.note, parts_too=True
    )
    actions.adopt(story.site, adoption, by=story.supervisor, at=at)


def _setting(story: SiteStory, told: Setting) -> Act:
    def act(at: datetime) -> None:
        data = {
            **{"months": told.months, "mode": "replaces", "known_by": "own"},
            **{"document": told.document, "clause": told.clause},
        }
        on = story.day(told.days_ago)
        by = story.told.adopted.by if story.told.adopted else story.supervisor.name
        wanted = Wanted(
            *(told.requirement, data, told.authority, on),
            decided=Decided(by=by, on=on),
            document=told.document,
        )
        make_setting(story.items[told.item], wanted, by=story.supervisor, at=at)

    return act


def _confirmed(story: SiteStory, told: Confirmed) -> Act:
    def act(at: datetime) -> None:
        confirm_change(
            story.items[told.item],
            told.requirement,
            on=story.day(told.days_ago),
            reason=told.reason,
            by=story.supervisor,
            at=at,
        )

    return act
