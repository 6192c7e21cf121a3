"""Is a value at, over or under a level? Numbers within 1e-9 of each other are one number."""

from __future__ import annotations

import math


def same(a: float, b: float) -> bool:
    return math.isclose(a, b, rel_tol=1e-9)


def at_or_over(value: float, level: float) -> bool:
    return value >= level or same(value, level)


def over(value: float, level: float) -> bool:
    return value > level and not same(value, level)


def below(value: float, level: float) -> bool:
    return value < level and not same(value, level)


def hits(value: float, level: float, comparator: str) -> bool:
    """``reaches`` counts the level itself, ``exceeds`` does not."""
    return at_or_over(value, level) if comparator == "reaches" else over(value, level)
