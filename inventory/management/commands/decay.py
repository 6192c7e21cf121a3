"""Hand check of a decay: ``manage.py decay --nuclide Cs-137 --activity "370 MBq" ...``."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from inventory.calc.category import a_over_d, above_exemption, category
from inventory.calc.dates import PartialDate, parse_date
from inventory.calc.decay import activity_on, first_day_below, fraction
from inventory.calc.errors import DomainError
from inventory.calc.explain import Step
from inventory.calc.nuclides import NuclideData, read_nuclides, resolve
from inventory.calc.units import Activity, format_activity, parse_activity
from inventory.sentences import day_text, error_text, lines, number_text


@dataclass(frozen=True, slots=True)
class Question:
    """What the command was asked."""

    nuclide: NuclideData
    activity: Activity
    reference: PartialDate
    on: PartialDate
    until: Activity | None


def read_question(options: dict[str, Any]) -> Question:
    """The options as typed values. Raises DomainError for what cannot be read."""
    return Question(
        nuclide=resolve(options["nuclide"], read_nuclides()),
        activity=parse_activity(options["activity"]),
        reference=parse_date(options["reference"], "reference"),
        on=parse_date(options["on"], "on"),
        until=parse_activity(options["until"], "until") if options["until"] else None,
    )


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer as data for programs, and its steps for people."""

    data: dict[str, Any]
    steps: tuple[Step, ...]
    until_on: date | None


def answer(asked: Question) -> Answer:
    """Decay, threshold and category of one question. Raises DomainError."""
    nuclide, reference_on = asked.nuclide, asked.reference.on
    half_life = nuclide.half_life_days, nuclide.half_life_source
    decayed = activity_on(asked.activity.bq, reference_on, asked.on.on, *half_life)
    a_d, cat, steps = _category(nuclide, decayed.value)
    until_on = None
    steps = (*decayed.steps, *steps)
    if asked.until:
        until = first_day_below(asked.activity.bq, reference_on, asked.until.bq, *half_life)
        until_on, steps = until.value, (*steps, *until.steps)
    elapsed_days = (asked.on.on - reference_on).days
    data = {
        "nuclide": nuclide.name,
        "activity_as_stated": asked.activity.text,
        "reference_date": reference_on.isoformat(),
        "on_date": asked.on.on.isoformat(),
        "activity_bq": decayed.value,
        "activity_text": format_activity(decayed.value),
        "fraction": fraction(elapsed_days, nuclide.half_life_days),
        "elapsed_days": elapsed_days,
        "half_life_days": nuclide.half_life_days,
        "half_life_source": nuclide.half_life_source,
        "a_over_d": a_d,
        "category": cat,
        "until_date": until_on.isoformat() if until_on else None,
    }
    return Answer(data, steps, until_on)


def _category(
    nuclide: NuclideData, activity_bq: float
) -> tuple[float | None, int | None, tuple[Step, ...]]:
    """A/D and category of one source; neither where D is unlimited or unknown."""
    pairs = [(nuclide, activity_bq)]
    summed = a_over_d(pairs)
    if nuclide.d_unlimited or summed.value.value is None:
        return None, None, summed.steps
    found = category(summed.value.value, above_exemption(pairs))
    return summed.value.value, found.value, (*summed.steps, *found.steps)


class Command(BaseCommand):
    help = "Decays an activity to a day by hand; needs no database."
    requires_system_checks: tuple[str, ...] = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--nuclide", required=True, help="for example Cs-137")
        parser.add_argument("--activity", required=True, help='as stated, for example "370 MBq"')
        parser.add_argument("--reference", required=True, help="reference date of that activity")
        parser.add_argument("--on", required=True, help="the day asked about")
        parser.add_argument("--until", help="also the first day below this activity")
        parser.add_argument("--json", action="store_true", help="for programs")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            asked = read_question(options)
            result = answer(asked)
        except DomainError as error:
            raise CommandError(error_text(error)) from error
        if options["json"]:
            self.stdout.write(json.dumps(result.data, indent=2, ensure_ascii=False))
        else:
            self._print(asked, result)

    def _print(self, asked: Question, result: Answer) -> None:
        rows = list(_rows(asked, result))
        width = max(len(head) for head, _text in rows)
        for head, text in rows:
            self.stdout.write(f"{head:<{width}}  {text}")
        self.stdout.write("")
        self.stdout.write(_("Why:"))
        for line in lines(result.steps):
            cite = f" [{line.cite}]" if line.cite else ""
            self.stdout.write(f"{'  ' * (line.depth + 1)}{line.text}{cite}")


def _rows(asked: Question, result: Answer) -> list[tuple[str, str]]:
    """The answer as heads and texts."""
    data, nuclide = result.data, asked.nuclide
    half_life = f"{nuclide.half_life:.9g} {nuclide.half_life_unit} ({data['half_life_days']:.9g} d)"
    rows = [
        (_("Nuclide"), nuclide.name),
        (_("Activity as stated"), asked.activity.text),
        (_("Reference date"), _dated(asked.reference)),
        (_("Asked for"), _dated(asked.on)),
        (_("Days"), str(data["elapsed_days"])),
        (_("Half-life"), half_life),
        (_("Fraction"), f"{data['fraction']:.6g}"),
        (_("Activity then"), f"{data['activity_text']} ({data['activity_bq']:.9g} Bq)"),
        (_("A/D"), _or_none(data["a_over_d"], _("no value"))),
        (_("Category"), _or_none(data["category"], _("none"))),
    ]
    if asked.until:
        day = day_text(result.until_on) if result.until_on else _("not before the year 10000")
        rows.append((_("First below %(text)s") % {"text": asked.until.text}, day))
    return rows


def _dated(stated: PartialDate) -> str:
    """The day used, and what was stated where that was no day."""
    if stated.precision == "day":
        return day_text(stated.on)
    return _("%(on)s (last day of %(text)s)") % {"on": day_text(stated.on), "text": stated.text}


def _or_none(value: float | int | None, none: str) -> str:
    return none if value is None else number_text(value)
