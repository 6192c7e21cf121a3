"""Domain errors are data for people: what, where, what was expected."""

from __future__ import annotations

from collections.abc import Mapping

from .explain import Scalar


class DomainError(ValueError):
    """A bad input that a person can put right.

    ``code`` names the sentence in ``inventory.sentences``; ``values`` fill it; ``field`` names the
    input it belongs to; ``number`` which of several given together, counted from 0. Nothing has
    been saved when one is raised.
    """

    def __init__(
        self, code: str, values: Mapping[str, Scalar] | None = None, *, field: str | None = None
    ) -> None:
        super().__init__(code, values)
        self.code = code
        self.values: dict[str, Scalar] = dict(values or {})
        self.field = field
        self.number: int | None = None

    def __str__(self) -> str:
        return f"{self.code} {self.values}"
