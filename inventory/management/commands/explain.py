"""Why each requirement of a thing is due when it is."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from config import clock
from inventory import knowledge
from inventory.access import find_subject
from inventory.calc.explain import step_to_data
from inventory.doors import day_of, one_sentence, say_json, site_named
from inventory.ledger.models import Item
from inventory.requirements.wording import state_sentence
from inventory.sentences import lines, value_text


class Command(BaseCommand):
    """Prints every step from rule and record to the date, with the clause."""

    help = "Explain the requirements of a source, gauge or monitor."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("subject", help="its 8-character code, serial or tag")
        parser.add_argument("--site", help="short name of the site")
        parser.add_argument("--on", help="the day asked about, like 2026-11-24 (today without it)")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        found = Item.objects.all()
        if options["site"]:
            found = found.filter(site=site_named(options["site"]))
        with one_sentence():
            item = find_subject(options["subject"], list(found.named(options["subject"])))
        on = day_of(options["on"], item.site.day(clock.now()))
        known = knowledge.load([item.pk])[item.pk]
        data = []
        for requirement in knowledge.requirements_for(known):
            said = knowledge.decide_on(known, requirement, on)
            data.append(
                {
                    "subject": item.label,
                    "code": item.code,
                    "requirement": requirement,
                    "state": said.value.state_on(on),
                    "due_date": said.value.due_on.isoformat() if said.value.due_on else None,
                    "steps": [step_to_data(step) for step in said.steps],
                }
            )
            if not options["json"]:
                name = value_text("requirement", requirement)
                self.stdout.write(f"{item.label} ({item.code}), {name}: ", ending="")
                self.stdout.write(state_sentence(said.value, on, requirement))
                for line in lines(said.steps):
                    cite = f"  [{line.cite}]" if line.cite else ""
                    self.stdout.write(f"{'  ' * (line.depth + 1)}{line.text}{cite}")
        if options["json"]:
            say_json(self.stdout, data)
        elif not data:
            self.stdout.write(f"{item.label} ({item.code}): nothing is required of it.")
