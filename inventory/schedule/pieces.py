"""What a schedule is put together from: who decided, who went through it, which templates."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from inventory.calc.errors import DomainError
from inventory.calc.texts import says_something
from inventory.rules.load import RuleFault, template

T = TypeVar("T")
Detail = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Decided:
    """Why a row is looser than it was, who decided that, and when."""

    because: str = ""
    by: str = ""
    on: date | None = None

    @property
    def complete(self) -> bool:
        """Whether all three are said."""
        return says_something(self.because) and says_something(self.by) and self.on is not None

    def require(self, today: date) -> None:
        """Refuse what is missing, or decided on a day to come, beside its field."""
        fields = {
            "loosened_because": says_something(self.because),
            "decided_by": says_something(self.by),
            "decided_on": self.on is not None,
        }
        for field, said in fields.items():
            if not said:
                raise DomainError("loosening_needs_reason", field=field)
        if self.on is not None and self.on > today:
            raise DomainError("decided_in_future", {"on": self.on}, field="decided_on")

    def text(self) -> dict[str, Any]:
        """As a record has it."""
        on = self.on.isoformat() if self.on else None
        return {
            "loosened_because": self.because.strip(),
            "decided_by": self.by.strip(),
            "decided_on": on,
        }


#: Where nothing is looser nobody had to decide.
NOBODY = Decided()


@dataclass(frozen=True, slots=True)
class Reviewer:
    """Who went through a row, and on which day."""

    by: str
    on: date

    def text(self) -> dict[str, str]:
        """As a record has it."""
        return {"by": self.by, "on": self.on.isoformat()}


@dataclass(frozen=True, slots=True)
class Taken:
    """A template to take rows from: all requirements that no other names, or only these."""

    rule_set: str
    version: int
    requirements: tuple[str, ...] | None = None

    def text(self) -> dict[str, Any]:
        """As a record has it."""
        wanted = None if self.requirements is None else list(self.requirements)
        rules = template(self.rule_set, self.version)
        return {
            "rule_set": rules.id,
            "version": rules.version,
            "sha256": rules.sha256,
            "requirements": wanted,
        }


def said(make: Callable[[], T]) -> T:
    """A fault of a rule is a domain error here: the sentence is its own."""
    try:
        return make()
    except RuleFault as fault:
        raise DomainError("row_wrong", {"text": str(fault)}) from fault
