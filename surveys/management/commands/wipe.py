"""``manage.py wipe``: hand check of a wipe test. Needs no database."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.calc.errors import DomainError
from inventory.calc.explain import Cite

if TYPE_CHECKING:
    from inventory.calc.explain import Explained
    from surveys.calc.leak import Counted, Limit, Reported, Verdict

#: 0.005 microcurie: what most sealed-source leak tests are judged against.
DEFAULT_LIMIT_BQ = 185.0
DEFAULT_LIMIT_CITE = Cite("10 CFR", "35.67(e)", known_by="copy")

COUNT_OPTIONS = ("gross_counts", "gross_seconds", "background_counts", "background_seconds")
FACTOR_OPTIONS = (
    "efficiency",
    "efficiency_uncertainty_relative",
    "efficiency_basis",
    "source_efficiency",
    "window_cm2",
)
UNCERTAINTY_OPTIONS = ("expanded_uncertainty", "coverage_factor")

#: Keys of the JSON answer; ``reason`` and ``limit_source`` are added to the verdict's own values.
KEYS = (
    "activity_bq",
    "standard_uncertainty_bq",
    "decision_threshold_bq",
    "detection_limit_bq",
    "lower_bound_bq",
    "upper_bound_bq",
    "limit_bq",
    "comparator",
    "detected",
    "outcome",
    "finding",
    "reason",
    "nuclide",
    "efficiency_basis",
    "relative_uncertainty_of_factor",
    "net_rate_per_s",
    "net_rate_uncertainty_per_s",
    "gross_counts",
    "gross_seconds",
    "best_estimate_bq",
    "coverage_low_bq",
    "coverage_high_bq",
    "z_background",
    "low_counts",
    "least_activity_bq",
    "act_as_on_a_leak",
    "limit_source",
    "formula_version",
)


class Command(BaseCommand):
    help = (
        "Hand check of a wipe (leak) test, from counts or from a laboratory's result. Several "
        "gross counts are pooled. Without an efficiency the result is not evaluable."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        # Numbers are read in this command, so that a slip gets one sentence and no usage text.
        for name in COUNT_OPTIONS:
            several: dict[str, Any] = {"nargs": "+"} if name.startswith("gross") else {}
            parser.add_argument(_flag(name), metavar="N" if "counts" in name else "S", **several)
        parser.add_argument("--nuclide")
        parser.add_argument("--efficiency", metavar="E")
        parser.add_argument("--efficiency-uncertainty-relative", metavar="U")
        parser.add_argument(
            "--efficiency-basis", help="per_decay (default), per_2pi_emission or surface_response"
        )
        parser.add_argument("--source-efficiency", metavar="E_S")
        parser.add_argument("--window-cm2", metavar="W")
        parser.add_argument("--limit", metavar='"185 Bq"')
        parser.add_argument("--limit-comparator", help="reaches (default) or exceeds")
        parser.add_argument("--reported", metavar='"160 Bq"')
        parser.add_argument("--expanded-uncertainty", metavar='"30 Bq"')
        parser.add_argument("--coverage-factor", metavar="K")
        parser.add_argument("--less-than", metavar='"150 Bq"')
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        from inventory.sentences import error_text
        from surveys.sentences import SENTENCES

        try:
            explained = _judged(options)
        except DomainError as error:
            raise CommandError(error_text(error, SENTENCES)) from error
        answer = _answer(explained, given=options["limit"] is not None)
        if options["json"]:
            self.stdout.write(json.dumps(answer, ensure_ascii=False, allow_nan=False, indent=2))
        else:
            self._print(answer, explained)

    def _print(self, answer: dict[str, Any], explained: Explained[Verdict]) -> None:
        from inventory.sentences import lines, value_text
        from surveys.sentences import SENTENCES

        for key in KEYS:
            if key not in ("reason", "finding", "formula_version") and answer[key] is not None:
                text = value_text(key, answer[key], SENTENCES)
                self.stdout.write(f"{_label(key):<34}{text}")
        self.stdout.write("")
        for line in lines(explained.steps, SENTENCES):
            cite = f" [{line.cite}]" if line.cite else ""
            self.stdout.write("  " * line.depth + line.text + cite)


def _flag(name: str) -> str:
    return "--" + name.replace("_", "-")


def _label(key: str) -> str:
    """A key as people read it: the unit stands beside the value already."""
    plain = (
        key.removesuffix("_bq")
        .replace("_per_s", " (1/s)")
        .replace("_seconds", " counting time (s)")
    )
    return plain.replace("_", " ").capitalize()


def _answer(explained: Explained[Verdict], *, given: bool) -> dict[str, Any]:
    """The JSON answer, every key present."""
    from inventory.sentences import lines
    from surveys.sentences import SENTENCES

    source = "wipe_limit_given" if given else "wipe_limit_default"
    extra = {
        "reason": " ".join(
            line.text for line in lines(explained.steps, SENTENCES) if not line.depth
        ),
        "limit_source": str(SENTENCES[source]),
    }
    return {key: extra.get(key) or getattr(explained.value, key) for key in KEYS}


def _judged(options: dict[str, Any]) -> Explained[Verdict]:
    from inventory.calc.nuclides import read_nuclides, resolve
    from surveys.calc.leak import judge

    result, limit = _result(options), _limit(options)
    if options["nuclide"] is None:
        return judge(result, limit, nuclide=None, efficiency_as_given=True)
    nuclide = resolve(options["nuclide"], read_nuclides())
    return judge(
        result,
        limit,
        nuclide=nuclide.name,
        gas=nuclide.gas,
        most_counts_per_decay=nuclide.most_counts_per_decay,
    )


def _limit(options: dict[str, Any]) -> Limit:
    from inventory.calc.units import parse_activity
    from surveys.calc.leak import Limit

    comparator = options["limit_comparator"] or "reaches"
    if options["limit"] is None:
        return Limit(DEFAULT_LIMIT_BQ, comparator, cite=DEFAULT_LIMIT_CITE)
    return Limit(parse_activity(options["limit"], "limit").bq, comparator)


def _result(options: dict[str, Any]) -> Counted | Reported:
    counted = any(options[name] is not None for name in COUNT_OPTIONS)
    stated = options["reported"] is not None or options["less_than"] is not None
    if counted and stated:
        raise DomainError("wipe_two_kinds")
    if stated:
        return _reported(options)
    if not counted:
        raise DomainError("wipe_nothing_given")
    return _counted(options)


def _unused(options: dict[str, Any], names: tuple[str, ...]) -> None:
    for name in names:
        if options[name] is not None:
            raise DomainError("wipe_option_unused", {"option": _flag(name)}, field=name)


def _reported(options: dict[str, Any]) -> Reported:
    from inventory.calc.units import parse_activity, parse_result
    from surveys.calc.leak import Reported

    _unused(options, FACTOR_OPTIONS)

    def activity(name: str) -> float | None:
        return None if options[name] is None else parse_activity(options[name], name).bq

    measured = options["reported"]
    return Reported(
        activity_bq=None if measured is None else parse_result(measured, "reported").bq,
        expanded_uncertainty_bq=activity("expanded_uncertainty"),
        coverage_factor=_number(options, "coverage_factor"),
        less_than_bq=activity("less_than"),
    )


def _counted(options: dict[str, Any]) -> Counted:
    from surveys.calc.leak import Counted

    _unused(options, UNCERTAINTY_OPTIONS)
    for name in COUNT_OPTIONS:
        if options[name] is None:
            raise DomainError("wipe_option_missing", {"option": _flag(name)}, field=name)
    counts = [_read(text, "gross_counts") for text in _several(options["gross_counts"])]
    times = [_read(text, "gross_seconds") for text in _several(options["gross_seconds"])]
    if len(counts) != len(times):
        values = {"counts": len(counts), "times": len(times)}
        raise DomainError("wipe_lengths_differ", values, field="gross_seconds")
    background = (
        _read(options["background_counts"], "background_counts"),
        _read(options["background_seconds"], "background_seconds"),
    )
    gross = tuple(zip(counts, times, strict=True))
    return Counted(gross, (background,), _factor(options))


def _factor(options: dict[str, Any]) -> Any:
    from surveys.calc.leak import Factor

    efficiency = _number(options, "efficiency")
    if efficiency is None:
        return None
    return Factor(
        efficiency,
        _number(options, "efficiency_uncertainty_relative"),
        options["efficiency_basis"] or "per_decay",
        _number(options, "source_efficiency"),
        _number(options, "window_cm2"),
    )


def _several(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list | tuple) else [value]


def _number(options: dict[str, Any], name: str) -> float | None:
    return None if options[name] is None else _read(options[name], name)


_COUNTED = ("gross_counts", "gross_seconds", "background_counts", "background_seconds")


def _read(text: Any, name: str) -> float:
    """A number as written; whole numbers stay whole. ``nan`` and ``inf`` are no numbers here."""
    plain = str(text).strip()
    if re.fullmatch(r"-?[0-9]{1,3}([.,][0-9]{3})+", plain) and name in _COUNTED:
        # 5.000 may be five or five thousand: one of them is a wrong pass
        raise DomainError("number_two_ways", {"option": _flag(name), "text": plain}, field=name)
    try:
        return int(plain)
    except ValueError:
        pass
    try:
        value = float(plain)
    except ValueError:
        value = float("nan")
    if value - value != 0:
        values = {"option": _flag(name), "text": plain[:40]}
        raise DomainError("number_unreadable", values, field=name)
    return value
