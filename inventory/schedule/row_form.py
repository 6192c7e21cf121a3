"""The form of one row: what it asks, when it holds, on whose word, and why it may be looser."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.explain import KNOWN_BY
from inventory.fields import DayField
from inventory.pages import WritingForm
from inventory.rules.load import row_data
from inventory.rules.rows import LEAD_DAYS
from inventory.rules.schema import (
    ENDS,
    ENTRIES,
    ENTRY,
    HAPPENINGS,
    HOLD,
    INTERVAL,
    LATE_FROM,
    MODES,
    REQUIREMENTS,
    RESULTS,
    TRAIT_DATES,
    UNTIL,
    Row,
    RuleSet,
)
from inventory.schedule import condition_fields
from inventory.schedule.form_fields import choice, line, several_lines, whole
from inventory.schedule.settings import OF_SETTINGS
from inventory.schedule.spoken import lazy_word, title_of, word

MOST_MONTHS, MOST_DAYS = 600, 3660
#: The fields of each answer; those of another one are not written.
OF_RESULT: dict[str, tuple[str, ...]] = {
    INTERVAL: ("months", "days", "grace_days", "ends", "late_from", "unused_months"),
    UNTIL: ("trait", "months_after"),
    ENTRY: (
        *("entry", "happenings", "stored_months", "stored_comparator"),
        *("fresh_months", "fresh_days", "within_days"),
    ),
    HOLD: ("seen_months", "ceiling_months"),
}
#: Of an entry, what each beginning asks for beside ``entry`` and ``within_days``.
OF_ENTRY: dict[str, tuple[str, ...]] = {
    "first_use": ("fresh_months", "fresh_days"),
    "after_storage": ("stored_months", "stored_comparator", "fresh_months", "fresh_days"),
    "receipt": (),
    "happening": ("happenings",),
}
CITED = ("document", "clause", "edition", "known_by", "checked_on", "in_force_from", "note")
DECIDED = ("loosened_because", "decided_by", "decided_on")


class DecidedForm(WritingForm):
    """Why something is looser, who decided that, and when: asked for only where it is."""

    loosened_because = several_lines(gettext_lazy("Why it may be looser"))
    decided_by = line(gettext_lazy("Adviser who decided it"))
    decided_on = DayField(label=gettext_lazy("Decided on"), required=False)


class AnswerForm(DecidedForm):
    """What a row asks, and on whose word."""

    #: Answers and modes that this form offers.
    OFFERED: tuple[str, ...] = RESULTS
    MODES: tuple[str, ...] = MODES

    months = whole(gettext_lazy("Every so many months"), MOST_MONTHS, least=1)
    days = whole(gettext_lazy("or every so many days"), MOST_DAYS, least=1)
    grace_days = whole(gettext_lazy("Days of grace"), MOST_DAYS)
    ends = choice("ends", gettext_lazy("The interval ends"), ENDS, needed=True)
    late_from = choice("late_from", gettext_lazy("Counted from"), LATE_FROM, needed=True)
    unused_months = whole(
        gettext_lazy("Unless unused for more than so many months"), MOST_MONTHS, least=1
    )
    trait = choice("trait", gettext_lazy("Which date"), TRAIT_DATES)
    months_after = whole(gettext_lazy("So many months after it"), MOST_MONTHS, least=1)
    entry = choice("entry", gettext_lazy("Asked for"), ENTRIES)
    happenings = forms.MultipleChoiceField(
        label=gettext_lazy("After"),
        choices=[(one, lazy_word("what", one)) for one in HAPPENINGS],
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    stored_months = whole(gettext_lazy("Months of storage"), MOST_MONTHS)
    stored_comparator = choice(
        "stored_comparator", gettext_lazy("Storage of"), ("at_least", "more_than"), needed=True
    )
    fresh_months = whole(gettext_lazy("A test is new enough so many months"), MOST_MONTHS)
    fresh_days = whole(gettext_lazy("and so many days before"), MOST_DAYS)
    within_days = whole(gettext_lazy("In time so many days after"), MOST_DAYS)
    seen_months = whole(
        gettext_lazy("An accounting check has seen it within so many months"), MOST_MONTHS, least=1
    )
    ceiling_months = whole(
        gettext_lazy("Never longer than so many months after the last test"), MOST_MONTHS, least=1
    )
    lead_days = whole(gettext_lazy("Warned so many days before"), MOST_DAYS)
    document = line(gettext_lazy("Document"), needed=True)
    clause = line(gettext_lazy("Clause, line or number in it"), needed=True)
    edition = line(gettext_lazy("Edition"))
    known_by = forms.ChoiceField(
        label=gettext_lazy("How it is known"),
        choices=[(one, lazy_word("known_by", one)) for one in KNOWN_BY],
    )
    checked_on = DayField(
        label=gettext_lazy("Compared with the current text on"),
        required=False,
        help_text=gettext_lazy("Empty: not checked against the current text, and said so."),
    )
    in_force_from = DayField(label=gettext_lazy("The clause is in force from"), required=False)
    note = several_lines(gettext_lazy("Remark"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        for answer in OF_RESULT.keys() - set(self.OFFERED):
            for name in OF_RESULT[answer]:
                del fields[name]
        fields["result"] = forms.ChoiceField(
            label=_("What it asks"),
            choices=[(one, word("result", one)) for one in self.OFFERED],
            widget=forms.RadioSelect,
        )
        fields["mode"] = choice("mode", _("How it stands to the others"), self.MODES, needed=True)

    def clean(self) -> dict[str, Any]:
        """What the chosen answer cannot do without."""
        data = super().clean() or {}
        needed = {
            INTERVAL: ("months", "days"),
            UNTIL: ("trait",),
            ENTRY: ("entry",),
        }.get(data.get("result", ""), ())
        if needed and not any(data.get(name) or name in self.errors for name in needed):
            self.add_error(needed[0], _("This answer needs it."))
        if data.get("entry") == "happening" and not data.get("happenings"):
            self.add_error("happenings", _("Tick at least one."))
        return data

    def group(self, name: str) -> list[Any]:
        """The fields that belong to one answer, for the page."""
        return [self[field] for field in OF_RESULT[name]]

    def groups(self) -> list[tuple[str, str, list[Any]]]:
        """Every answer that has fields of its own."""
        return [
            (name, word("result", name), self.group(name))
            for name in OF_RESULT
            if name in self.OFFERED
        ]

    def cited(self) -> list[Any]:
        """The fields about clause and remark."""
        return [self[name] for name in CITED]

    def decided(self) -> list[Any]:
        """The fields about who decided what loosens."""
        return [self[name] for name in DECIDED]

    def table(self) -> dict[str, Any]:
        """The row's table without its id and requirement: only what this answer has."""
        data = self.cleaned_data
        names = ["mode", "lead_days", *CITED, *DECIDED, *_asked(data)]
        said = {name: data[name] for name in names if data.get(name) not in (None, "", [])}
        if data["result"] == UNTIL and data.get("months_after"):
            said["months"] = data["months_after"]
        return {"result": data["result"], "lead_days": LEAD_DAYS, **_without_idle(said)}


def _asked(data: Mapping[str, Any]) -> tuple[str, ...]:
    """The fields of the chosen answer that a row may have."""
    result = data["result"]
    if result == ENTRY:
        return ("entry", "within_days", *OF_ENTRY.get(data.get("entry", ""), ()))
    return tuple(name for name in OF_RESULT.get(result, ()) if name != "months_after")


def _without_idle(said: dict[str, Any]) -> dict[str, Any]:
    """Without what has no effect beside the other fields."""
    if said.get("late_from") != "old_due":
        said.pop("unused_months", None)
    return said


class RowForm(AnswerForm):
    """A row of a draft. ``row``: the one that is changed; without it a new one is written."""

    def __init__(self, rules: RuleSet, *args: Any, row: Row | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rules, self.row = rules, row
        fields: dict[str, Any] = self.fields
        fields["authority"] = choice(
            "authority", _("On whose word"), ("template", *OF_SETTINGS), needed=True
        )
        fields |= condition_fields.fields_for(rules.tables)
        if row is None:
            fields["requirement"] = forms.ChoiceField(
                label=_("Requirement"), choices=requirements(rules)
            )
            fields["id"] = line(
                _("Short name of the row"),
                100,
                needed=True,
                help_text=_("Letters, digits, dots and hyphens: site.leak.crane"),
            )

    @classmethod
    def start_from(cls, row: Row) -> dict[str, Any]:
        """What the form says of a row before anything is written."""
        data = row_data(row)
        data["months_after"] = row.months if row.result == UNTIL else None
        names = (
            *OF_RESULT[INTERVAL],
            *OF_RESULT[ENTRY],
            *OF_RESULT[HOLD],
            "result",
            "mode",
            "lead_days",
        )
        data |= {name: getattr(row, name) for name in names}
        return data | {"authority": row.authority} | condition_fields.initial_for(row)

    def slots(self) -> list[list[Any]]:
        """The fields of the conditions, slot by slot: those that are used and one more."""
        return [self._slot(slot) for slot in range(1, self._used() + 1)]

    def further(self) -> list[list[Any]]:
        """The fields of more conditions."""
        return [self._slot(slot) for slot in range(self._used() + 1, condition_fields.SLOTS + 1)]

    def _slot(self, slot: int) -> list[Any]:
        return [self[f"when{slot}_{part}"] for part in ("name", "how", "value", "of")]

    def _used(self) -> int:
        """The last slot in which something stands, and one more; two at least."""
        slots = range(1, condition_fields.SLOTS + 1)
        used = [slot for slot in slots if self[f"when{slot}_name"].value()]
        return min(max([1, *used]) + 1, condition_fields.SLOTS)

    def clean(self) -> dict[str, Any]:
        """The conditions as a table."""
        data = super().clean() or {}
        data["when"] = condition_fields.read(data, self.add_error)
        return data

    def data_of(self) -> dict[str, Any]:
        """The whole table of the row."""
        data = self.cleaned_data
        row = self.row
        table = {
            "id": row.id if row else data["id"].strip(),
            "requirement": row.requirement if row else data["requirement"],
            "authority": data["authority"],
            **self.table(),
        }
        return table | ({"when": data["when"]} if data["when"] else {})


def requirements(rules: RuleSet) -> list[tuple[str, str]]:
    """Everything that can be required, what the site defined itself included."""
    names = [*REQUIREMENTS, *(one.name for one in rules.own_kinds)]
    return [(name, title_of(name, rules)) for name in names]
