"""What is written on the page, worked out: sources looked up, wipes judged, nothing saved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from inventory.calc.errors import DomainError
from inventory.calc.explain import Explained
from inventory.followups.models import FollowUp
from inventory.ledger.models import Item
from inventory.sentences import error_text
from surveys.calc.counting import BatchCheck, CheckReading
from surveys.leak.judging import Judged, judge_each
from surveys.monitors.in_force import in_force
from surveys.sentences import SENTENCES
from surveys.sessions.checks import check
from surveys.sessions.forms import SessionForm
from surveys.sessions.names import Names
from surveys.sessions.rows import RowForm, Rows
from surveys.sessions.session import CheckCount, Session, Taken


@dataclass(frozen=True, slots=True)
class Worked:
    """What came of it: the session as far as it can be read, and the verdicts of its rows."""

    session: Session | None
    judged: Mapping[int, list[Judged]] = field(default_factory=dict)  # by the number of the row
    order: Sequence[RowForm] = ()  # the row of each wipe of the session
    warned: frozenset[int] = frozenset()  # sources whose follow-up is open
    again: Mapping[int, list[str]] = field(default_factory=dict)  # row -> named in an earlier row
    batch: Explained[BatchCheck] | None = None
    check: Explained[CheckReading | None] | None = None
    unfit_because: str = ""  # of the counter on that day; asked when the whole page is


def work_out(request: Any, form: SessionForm, rows: Rows, only: int | None = None) -> Worked:
    """Read the head and the rows and judge them; ``only`` the row with that number. What is wrong
    is said at its field. The queries do not depend on the number of rows."""
    form.is_valid()
    data = form.cleaned_data
    written = rows.written
    chosen = [row for row in written if only in (None, row.number)]
    names = Names(
        Item.objects.visible_to(request.user, request.today).filter(site=request.site),
        [row.data.get(row.add_prefix("what"), "").strip() for row in chosen]
        + [str(data.get("check_source", ""))],
    )
    taken = {row: one for row in chosen if (one := _taken(row, data, names)) is not None}
    session = _session(form, list(taken.values()), names)
    if session is None:
        return Worked(None, again=_named_again(taken))
    judged = _judged(session, taken)
    batch = _batch(session, written, data)
    covered = {source.pk for one in taken.values() for source in one.sources}
    return Worked(
        session,
        judged,
        list(taken),
        frozenset(
            FollowUp.objects.still_open().filter(item__in=covered).values_list("item", flat=True)
        ),
        _named_again(taken),
        batch,
        check(session) if only is None else None,
        in_force(session.counter, session.counted_on).unfit_because if only is None else "",
    )


def _taken(row: RowForm, data: Mapping[str, Any], names: Names) -> Taken | None:
    """The wipe that a row describes; None where something is wrong in it, and then it is said."""
    row.is_valid()
    row.check_counts(data.get("seconds"))
    said = row.cleaned_data
    on = said.get("wiped_on") or data.get("wiped_on")
    text = said.get("what", "")
    if not text and "what" not in row.errors:
        row.add_error("what", _("Say which gauge or source was wiped."))
    if row.errors or on is None:
        return None
    try:
        sources = names.sources(text, on)
    except DomainError as error:
        row.refuse(error, SENTENCES)
        return None
    return Taken(
        sources=sources,
        wiped_on=on,
        gross=row.pairs(data.get("seconds")),
        sampled_by=said.get("sampled_by") or data.get("sampled_by", ""),
        point_wiped=said.get("point_wiped", ""),
        remark=said.get("remark", ""),
    )


def _session(form: SessionForm, wipes: list[Taken], names: Names) -> Session | None:
    data = form.cleaned_data
    if not data.get("counter") or not data.get("counted_on"):
        return None
    return Session(
        counter=data["counter"],
        counted_on=data["counted_on"],
        counted_by=data.get("counted_by", ""),
        background=data.get("background", []),
        wipes=wipes,
        check=_check_count(form, names),
    )


def _check_count(form: SessionForm, names: Names) -> CheckCount | None:
    data = form.cleaned_data
    if not data.get("check_source") or not data.get("check"):
        return None
    try:
        return CheckCount(names.source(data["check_source"]), data["check"])
    except DomainError as error:
        form.add_error("check_source", error_text(error, SENTENCES))
        return None


def _judged(session: Session, taken: Mapping[RowForm, Taken]) -> dict[int, list[Judged]]:
    """The verdicts by row; what is wrong with a wipe is said in its row."""
    out: dict[int, list[Judged]] = {}
    found = judge_each([session.wipe(one) for one in taken.values()])
    for row, one in zip(taken, found, strict=True):
        if isinstance(one, DomainError):
            row.refuse(one, SENTENCES)
        else:
            out[row.number] = one
    return out


def _batch(
    session: Session, written: Iterable[RowForm], data: Mapping[str, Any]
) -> Explained[BatchCheck] | None:
    """The background against every count on the page, judged in this answer or not."""
    wipes = []
    for row in written:
        row.is_valid()
        if not {"gross", "seconds"} & row.errors.keys():
            wipes.append(Taken((), session.counted_on, row.pairs(data.get("seconds"))))
    return Session(session.counter, session.counted_on, session.background, wipes).batch()


def _named_again(taken: Mapping[RowForm, Taken]) -> dict[int, list[str]]:
    """Rows whose source stands in an earlier row too: recounts of one wipe belong in one row."""
    first: dict[int, int] = {}
    out: dict[int, list[str]] = {}
    for row, one in taken.items():
        for source in one.sources:
            if (place := first.setdefault(source.pk, row.number)) != row.number:
                said = _(
                    "%(source)s stands in row %(row)s too. Several counts of one wipe belong in "
                    "one row, as 431 + 425; a second wipe of it stands by itself."
                )
                out.setdefault(row.number, []).append(said % {"source": source.label, "row": place})
    return out
