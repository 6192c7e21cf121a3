"""What the demo's people planned, could not do, and do about what failed; documents they keep."""

from __future__ import annotations

from datetime import datetime

from inventory.documents.actions import Document, add_document
from inventory.documents.models import DocumentKind
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.followups.step_actions import Act as StepAct
from inventory.followups.step_actions import Task, add_steps, mark_done
from inventory.ledger.files import Upload
from inventory.requirements.booking import Appointment, Line, book, not_done
from inventory.shutdowns.actions import Plan, plan
from reports.demo import told_plans as tell
from reports.demo.telling import Act, SiteStory
from reports.demo.told_things import Document as Kept


def gather(story: SiteStory) -> None:
    """Every act about plans, follow-ups and documents."""
    for shutdown in story.told.shutdowns:
        story.at(shutdown.days_ago, _shutdown(story, shutdown), hour=10)
    for booked in story.told.booked:
        story.at(booked.days_ago, _booked(story, booked), hour=11)
    for attempt in story.told.not_done:
        story.at(attempt.days_ago, _not_done(story, attempt), hour=11)
    for steps in story.told.steps:
        story.at(steps.days_ago, _steps(story, steps), hour=16)
        for text, who, done in steps.steps:
            if done is not None:
                story.at(done, _step_done(story, steps.subject, text, who, done), hour=17)
        if steps.closed is not None:
            story.at(steps.closed, _closed(story, steps), hour=17)
    for document in story.told.documents:
        story.at(document.days_ago, _document(story, document), hour=11)


def _shutdown(story: SiteStory, told: tell.Shutdown) -> Act:
    def act(at: datetime) -> None:
        what = Plan(
            told.name,
            story.items[told.place] if told.place else None,
            story.day(-told.begins_in),
            story.day(-told.ends_in),
            told.remark,
        )
        plan(story.site, what, by=story.supervisor, at=at)

    return act


def _booked(story: SiteStory, told: tell.Booked) -> Act:
    def act(at: datetime) -> None:
        what = Appointment(story.day(-told.in_days), told.with_whom, told.work_order, told.note)
        line = Line(story.items[told.subject], told.requirement)
        book([line], what, by=story.supervisor, at=at)

    return act


def _not_done(story: SiteStory, told: tell.NotDone) -> Act:
    def act(at: datetime) -> None:
        not_done(
            Line(story.items[told.subject], told.requirement),
            by=story.technician,
            at=at,
            on=story.day(told.days_ago),
            because=told.because,
            meanwhile=told.meanwhile,
        )

    return act


def _follow_up(story: SiteStory, subject: str) -> FollowUp:
    return FollowUp.objects.still_open().get(item=story.items[subject])


def _steps(story: SiteStory, told: tell.Steps) -> Act:
    def act(at: datetime) -> None:
        tasks = [Task(text, who) for text, who, _done in told.steps]
        add_steps(_follow_up(story, told.subject), tasks, StepAct(story.supervisor, at))

    return act


def _step_done(story: SiteStory, subject: str, text: str, who: str, done: int) -> Act:
    def act(at: datetime) -> None:
        step = FollowUpStep.objects.get(item=story.items[subject], text=text)
        mark_done(step, StepAct(story.technician, at), on=story.day(done), who=who)

    return act


def _closed(story: SiteStory, told: tell.Steps) -> Act:
    def act(at: datetime) -> None:
        assert told.closed is not None
        close_follow_up(
            _follow_up(story, told.subject),
            by=story.supervisor,
            at=at,
            on=story.day(told.closed),
            reason=told.reason,
        )

    return act


def _document(story: SiteStory, told: Kept) -> Act:
    def act(at: datetime) -> None:
        file = Upload(told.name, told.text.encode())
        document = Document(
            told.title, file, DocumentKind.CERTIFICATE, dated_on=story.day(told.days_ago)
        )
        add_document(story.items[told.item], document, by=story.supervisor, at=at)

    return act
