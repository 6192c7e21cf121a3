"""Questions to the owner of a file: collected while it is read, each asked once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from inventory.calc.explain import Scalar, Step
from reports.exchange.understood import Option, Question

MOST_EXAMPLES = 5


class Waiting(Exception):
    """What was asked has no answer yet; the row waits for it."""


class CellFault(Exception):
    """A cell that cannot be read as it stands."""

    def __init__(self, code: str, **values: Scalar) -> None:
        super().__init__(code)
        self.step = Step(code, values)


@dataclass(slots=True)
class _Asked:
    text: Step
    options: Sequence[Option]
    examples: list[str] = field(default_factory=list)


class Asking:
    """The questions of one file, and what was answered."""

    def __init__(self, answers: Mapping[str, str]) -> None:
        self._answers = answers
        self._asked: dict[str, _Asked] = {}

    def ask(self, key: str, text: Step, options: Sequence[Option], example: str = "") -> str:
        """The answer. Raises Waiting where there is none; what is no option is no answer."""
        asked = self._asked.setdefault(key, _Asked(text, options))
        if example and example not in asked.examples and len(asked.examples) < MOST_EXAMPLES:
            asked.examples.append(example)
        answer = self.given(key, options)
        if not answer:
            raise Waiting(key)
        return answer

    def given(self, key: str, options: Sequence[Option]) -> str:
        """The answer to a question, if one of the options was given."""
        answer = self._answers.get(key, "")
        return answer if answer in {option.value for option in options} else ""

    def stated(self, key: str) -> str:
        """An answer that needs no question, such as the field of a column."""
        return self._answers.get(key, "")

    def questions(self) -> tuple[Question, ...]:
        """All that were asked, in the order in which they came up."""
        return tuple(
            Question(
                key,
                one.text,
                tuple(one.options),
                tuple(one.examples),
                self.given(key, one.options),
            )
            for key, one in self._asked.items()
        )


def options(*values: str, prefix: str) -> tuple[Option, ...]:
    """Options whose labels are the sentences ``prefix`` + value."""
    return tuple(Option(value, Step(f"{prefix}{value}")) for value in values)
