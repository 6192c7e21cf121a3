"""One line of the history audit, and the columns in which it is printed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from inventory.sentences import day_text
from reports.registers import columns
from reports.registers.base import Cell, Column

FAILURE_OPEN, SAYS_OTHERWISE, JUDGED_ANEW = "failure_open", "says_otherwise", "judged_anew"
COULD_NOT_TELL, BARE, COUNTED_UNFIT = "could_not_tell", "bare", "counted_unfit"
CALIBRATION_LATE, NO_CALIBRATION = "calibration_late", "no_calibration"
NO_EVIDENCE, LATE, OLD = "no_evidence", "late", "old"
PUNCTUALITY, NOT_KNOWN = "punctuality", "not_known"

#: The findings in the order in which an adviser must look at them.
FINDINGS: dict[str, str | Promise] = {
    FAILURE_OPEN: gettext_lazy("failure without an end"),
    SAYS_OTHERWISE: gettext_lazy("document says otherwise"),
    JUDGED_ANEW: gettext_lazy("judged again, another result"),
    COULD_NOT_TELL: gettext_lazy("test that could not tell"),
    BARE: gettext_lazy("statement without figures"),
    COUNTED_UNFIT: gettext_lazy("counted out of calibration"),
    CALIBRATION_LATE: gettext_lazy("calibration late"),
    NO_CALIBRATION: gettext_lazy("no calibration that holds"),
    NO_EVIDENCE: gettext_lazy("no evidence that holds"),
    LATE: gettext_lazy("leak test late"),
    OLD: gettext_lazy("nothing for three years"),
    PUNCTUALITY: gettext_lazy("not always in date"),
    NOT_KNOWN: gettext_lazy("not known"),
}
_ORDER = {finding: place for place, finding in enumerate(FINDINGS)}

#: The shape before a finding; those about a result have the shape of its outcome.
STATES = {
    FAILURE_OPEN: "failed",
    COULD_NOT_TELL: "inconclusive",
    BARE: "not_relied_on",
    COUNTED_UNFIT: "not_relied_on",
    CALIBRATION_LATE: "late",
    NO_CALIBRATION: "never_done",
    NO_EVIDENCE: "never_done",
    LATE: "late",
    NOT_KNOWN: "undecided",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that an adviser would want to know. ``until_on`` None: still so on the day, or
    with ``once`` it concerns one day only."""

    kind: str
    code: str
    subject: str
    order: str
    reason: str
    from_on: date | None = None
    until_on: date | None = None
    once: bool = False
    days: int = 0
    figures: str = ""
    records: tuple[int, ...] = ()
    outcome: str = ""
    remarks: tuple[str, ...] = ()
    mark: str = ""

    @property
    def name(self) -> str:
        """What a footnote calls it."""
        return self.subject

    @property
    def sort(self) -> tuple[int, bool, str, str, date, tuple[int, ...]]:
        """By kind, what lasts still first; then by subject and day."""
        over = self.until_on is not None
        begins = self.from_on or date.min
        return (_ORDER[self.kind], over, self.order, self.code, begins, self.records)

    @property
    def sentence(self) -> str:
        """The kind of finding in words."""
        return str(FINDINGS[self.kind])

    @property
    def state(self) -> str:
        """The shape that stands before it."""
        return self.outcome or STATES.get(self.kind, "")

    @property
    def subject_code(self) -> str:
        """The subject, its code below."""
        return f"{self.subject}\n{self.code}"

    @property
    def records_text(self) -> str:
        """The numbers of the records that it rests on."""
        return ", ".join(str(seq) for seq in self.records)


def layout() -> tuple[Column, ...]:
    """The columns."""
    return (
        columns.text("subject_code", _("Subject"), 1.9, only="people"),
        columns.text("code", _("Code"), only="programs"),
        columns.text("subject", _("Subject"), only="programs"),
        columns.state("sentence", _("Finding"), 1.8),
        columns.text("kind", _("Kind of finding"), only="programs"),
        columns.day("from_on", _("From"), 1.05),
        Column("until_on", _("Until"), _until, kind="date", width=1.05),
        columns.text("figures", _("Figures"), 1.9),
        columns.text("reason", _("Why it is here"), 4.2),
        columns.text("records_text", _("Records"), 0.9),
    )


def _until(row: Finding) -> Cell:
    if row.until_on is not None:
        return Cell(day_text(row.until_on), raw=row.until_on.isoformat())
    return Cell("" if row.once or row.from_on is None else _("still so"), raw="")


def days_text(days: int) -> str:
    """So many days."""
    return ngettext("%(n)s day", "%(n)s days", days) % {"n": days}


def wipes_text(count: int) -> str:
    """So many wipes."""
    return ngettext("%(n)s wipe", "%(n)s wipes", count) % {"n": count}
