"""Load a list that a site keeps: sources, gauges, monitors, calibrations, past wipes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config import clock
from inventory.doors import person, say_json, site_named
from inventory.ledger.write import Overtaken
from reports.exchange.in_words import as_data, outcome_text, why_not
from reports.exchange.load import load
from reports.exchange.page.say import each
from reports.exchange.understood import Decisions, LoadFault

MOST_SENTENCES = 200


class Command(BaseCommand):
    """All rows or none; loading the same file again changes nothing."""

    help = "Load a CSV or XLSX list. What is ambiguous is asked once and answered with --answer."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--site", required=True, help="short name of the site")
        parser.add_argument("--by", help="the supervisor for whom this is recorded")
        parser.add_argument("--check", action="store_true", help="only say what would be loaded")
        parser.add_argument(
            "--answer", action="append", default=[], metavar="KEY=VALUE", help="answer a question"
        )
        parser.add_argument(
            "--leave-out", action="append", default=[], metavar="SHEET!ROW", help="skip a row"
        )
        parser.add_argument(
            "--set",
            action="append",
            default=[],
            metavar="SHEET!CELL=TEXT",
            help="read a cell as this text",
        )
        parser.add_argument("--json", action="store_true", help="for programs")

    def handle(self, *args: Any, **options: Any) -> None:
        site, now = site_named(options["site"]), clock.now()
        by = person(options["by"], site, site.day(now))
        try:
            outcome = load(
                site, options["file"], _decisions(options), by=by, at=now, check=options["check"]
            )
        except OSError as error:
            raise CommandError(f"{options['file']} cannot be read: {error.strerror}.") from error
        except LoadFault as fault:
            raise _nothing(each(fault.faults)) from fault
        except Overtaken as overtaken:
            numbers = ", ".join(str(record.seq) for record in overtaken.records)
            raise _nothing([f"Others have written meanwhile (records {numbers})."]) from overtaken
        if options["json"]:
            say_json(self.stdout, as_data(outcome))
        if not outcome.plan.ready:
            raise _nothing(list(why_not(outcome.plan)))
        if not options["json"]:
            for text in outcome_text(outcome, by.name):
                self.stdout.write(text)


def _nothing(sentences: Sequence[str]) -> CommandError:
    said = list(sentences[:MOST_SENTENCES])
    if len(sentences) > MOST_SENTENCES:
        said.append(f"And {len(sentences) - MOST_SENTENCES} more.")
    return CommandError("\n".join(["Nothing was loaded.", *said]))


def _decisions(options: dict[str, Any]) -> Decisions:
    return Decisions(
        answers=dict(_pairs(options["answer"], "--answer")),
        cells=dict(_pairs(options["set"], "--set")),
        left_out=frozenset(options["leave_out"]),
    )


def _pairs(texts: Sequence[str], option: str) -> Iterator[tuple[str, str]]:
    for text in texts:
        name, sign, value = text.partition("=")
        if not sign or not name:
            raise CommandError(f"{option} needs NAME=VALUE, not “{text}”.")
        yield name.strip(), value.strip()
