"""Codes of loading a file as sentences."""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Iterable
from typing import Any

from inventory.calc.explain import Step
from inventory.sentences import SENTENCES as INVENTORY
from inventory.sentences import fill
from reports.exchange.sentences import SENTENCES as EXCHANGE
from surveys.sentences import SENTENCES as SURVEYS

TABLE: Any = ChainMap(dict(EXCHANGE), dict(SURVEYS), dict(INVENTORY))


def say(step: Step) -> str:
    """One code with its values as a sentence, and what it rests on."""
    said = [fill(step.code, step.values, TABLE), *each(step.because)]
    return " ".join(said)


def each(steps: Iterable[Step]) -> list[str]:
    """Steps as sentences, each once."""
    return list(dict.fromkeys(say(step) for step in steps))
