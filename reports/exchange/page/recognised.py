"""How a file was recognised, as its page shows it: questions, sheets, what was passed over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from reports.exchange.asking import MOVES
from reports.exchange.page.say import say
from reports.exchange.page.words import KINDS, field_text
from reports.exchange.planned import Plan
from reports.exchange.reading.settling import NOT_USED
from reports.exchange.reading.vocabulary import PHRASES, UNUSED
from reports.exchange.understood import Column, SheetRead

#: More answers than these are chosen from a list.
MOST_RADIOS = 8


@dataclass(frozen=True, slots=True)
class ShownOption:
    """One answer to choose."""

    value: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class ShownQuestion:
    """A question with its answers; ``other_day`` is an answer that is none of the options."""

    key: str
    place: int
    text: str
    options: Sequence[ShownOption]
    examples: Sequence[str]
    answer: str

    @property
    def many(self) -> bool:
        """Whether there are so many answers that they are chosen from a list."""
        return len(self.options) > MOST_RADIOS

    @property
    def name(self) -> str:
        """The name of its field."""
        return f"answer-{self.place}"

    @property
    def asks_day(self) -> bool:
        """Whether any other day is an answer too."""
        return self.key == MOVES

    @property
    def other_day(self) -> str:
        """The day that was answered, where no option has it."""
        chosen = any(option.chosen for option in self.options)
        return "" if chosen or not self.asks_day else self.answer


def questions(plan: Plan) -> list[ShownQuestion]:
    """Every question, those of the file before those about the register."""
    found = [*plan.understood.questions, *plan.questions]
    return [
        ShownQuestion(
            key=one.key,
            place=place,
            text=say(one.text),
            options=[
                ShownOption(option.value, say(option.label), option.value == one.answer)
                for option in one.options
            ],
            examples=list(one.examples),
            answer=one.answer,
        )
        for place, one in enumerate(found, 1)
    ]


@dataclass(frozen=True, slots=True)
class ShownColumn:
    """A column, and what it could be read as."""

    letter: str
    head: str
    unit: str
    used: bool
    options: Sequence[ShownOption]


@dataclass(frozen=True, slots=True)
class ShownSheet:
    """How a sheet was recognised."""

    name: str
    kind: str
    head_line: int
    columns: Sequence[ShownColumn]
    kinds: Sequence[ShownOption]

    @property
    def unused(self) -> list[str]:
        """The columns that nothing is taken from, with their heads."""
        return [
            f"{one.letter} ({one.head})" if one.head else one.letter
            for one in self.columns
            if not one.used
        ]


def sheets(plan: Plan) -> list[ShownSheet]:
    """Every sheet with its columns, those that are not used named."""
    return [
        ShownSheet(
            name=one.name,
            kind=str(KINDS.get(one.kind, one.kind)),
            head_line=one.head_line,
            columns=[_column(one, column) for column in one.columns],
            kinds=[
                ShownOption(name, str(words), name == one.kind) for name, words in KINDS.items()
            ],
        )
        for one in plan.understood.sheets
    ]


def _column(sheet: SheetRead, column: Column) -> ShownColumn:
    """A column with everything that it could be in a list of this kind."""
    names = [name for name in PHRASES.get(sheet.kind, {}) if name != UNUSED]
    options = [ShownOption(name, field_text(name), name == column.field) for name in names]
    options.sort(key=lambda option: option.label)
    nothing = ShownOption(NOT_USED, _("not used"), not column.field)
    used = bool(column.field)
    return ShownColumn(column.letter, column.head, column.unit, used, [nothing, *options])


def skipped(plan: Plan) -> list[tuple[str, str, str]]:
    """Rows that are no rows of the list: where, what stands there, why."""
    where = _("%(sheet)s, row %(line)s")
    return [
        (where % {"sheet": one.sheet, "line": one.line}, one.text, say(one.why))
        for one in plan.understood.skipped
    ]


def notes(plan: Plan) -> list[str]:
    """What is to be said of the file as a whole, each once."""
    steps = [*plan.understood.book.notes, *plan.understood.notes]
    return list(dict.fromkeys(say(step) for step in steps))


def missing(plan: Plan) -> list[tuple[str, str, str]]:
    """Sources of the register that the file does not name: code, label, place."""
    return [(one.item.code, one.item.label, one.place) for one in plan.missing]
