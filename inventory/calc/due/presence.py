"""Records of a test of something that was not there to be tested."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from inventory.calc.due.facts import Event, Facts
from inventory.calc.due.stretches import ONE_DAY, Stretch, here, stretches
from inventory.calc.stays import MISSING
from inventory.rules.schema import ON_PAPER


def there(facts: Facts) -> Sequence[Event]:
    """The records about the subject. Those of days on which it was missing or had left for good,
    all day long as far as anybody knows, are not relied on: they clear nothing and still accuse.

    Of the time before its first stay nothing is known; what came with it from its maker was tested
    there. Common practice, no source."""
    if facts.here_always:
        return facts.events
    missing = stretches(facts.stays, lambda span: span.whereabouts == MISSING)
    gone = _gaps(here(facts.stays))
    if not missing and not gone:
        return facts.events
    return [_judged(event, missing, gone) for event in facts.events]


def _gaps(found: Sequence[Stretch]) -> list[Stretch]:
    """From each leaving until it came back, or for ever."""
    begins = [first for first, _last in found[1:]] + [date.max]
    ends = [last for _first, last in found]
    return [
        (last + ONE_DAY, begin - ONE_DAY)
        for last, begin in zip(ends, begins, strict=False)
        if last < date.max - ONE_DAY
    ]


def _judged(event: Event, missing: Sequence[Stretch], gone: Sequence[Stretch]) -> Event:
    if event.came_with or not event.fit or event.kind in ON_PAPER:
        return event
    for spans, because in ((missing, "was_missing"), (gone, "was_gone")):
        # On the first day it may have been tested before it was missed or left.
        if any(first < event.on <= last for first, last in spans):
            return replace(event, fit=False, unfit_because=because)
    return event
