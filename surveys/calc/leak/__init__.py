"""The verdict of a wipe (leak) test, from raw counts, a laboratory's figures or a bare statement.

Activities in Bq on the wipe, times in seconds, efficiencies in counts per decay. The pick-up
fraction is 1: the limit is written for what the wipe holds (10 CFR 35.67(c) "in the sample" [seen];
ISO 9978 [mem]). Whether the counter was fit on the day is not judged here: figures and outcome are
computed all the same. Marks: [seen] read in a copy, [mem] from memory, [own] decided here.

``terms`` names what is judged and what comes out, ``checks`` refuses, ``rule`` is the decision,
``counted`` and ``laboratory`` the two hands that measure, ``verdict`` puts them together;
``ability`` tells before the round what a counter can do.
"""

from __future__ import annotations

from .ability import Ability, ability
from .checks import check_factor
from .rule import outcome_of
from .terms import (
    BASES,
    COMPARATORS,
    DEFAULT_U_REL,
    FORMULA_VERSION,
    OUTCOMES,
    Counted,
    Declared,
    Factor,
    Limit,
    RawCount,
    Reported,
    Result,
    Verdict,
)
from .verdict import judge, verdict_from_data, verdict_to_data

__all__ = [
    "BASES",
    "COMPARATORS",
    "DEFAULT_U_REL",
    "FORMULA_VERSION",
    "OUTCOMES",
    "Ability",
    "Counted",
    "Declared",
    "Factor",
    "Limit",
    "RawCount",
    "Reported",
    "Result",
    "Verdict",
    "ability",
    "check_factor",
    "judge",
    "outcome_of",
    "verdict_from_data",
    "verdict_to_data",
]
