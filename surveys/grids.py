"""Rows of a form below one another: some in sight, the others folded away until they are needed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext as _

from inventory.calc.errors import DomainError
from inventory.pages import WritingForm
from inventory.sentences import error_text


class Grid(forms.BaseFormSet):
    """Rows of which each may be left empty. ``TITLE`` names them where a fault is told, ``OPEN`` is
    how many are in sight at least."""

    TITLE: ClassVar[Any] = ""
    OPEN: ClassVar[int] = 4

    @property
    def in_sight(self) -> list[Any]:
        return self.forms[: self._open]

    @property
    def further(self) -> list[Any]:
        return self.forms[self._open :]

    @property
    def further_wrong(self) -> bool:
        """Whether the rows that are folded away must be seen."""
        return any(row.is_bound and (row.errors or row.has_changed()) for row in self.further)

    @property
    def _open(self) -> int:
        return max(self.OPEN, self.initial_form_count() + 1)

    @property
    def written(self) -> list[Any]:
        """The rows in which something is written."""
        return [row for row in self.forms if row.has_changed()]

    def is_valid(self) -> bool:
        """Also after a row was found to disagree with another."""
        return super().is_valid() and not any(row.errors for row in self.forms)

    def faults(self) -> Iterator[str]:
        """Every fault with the row in which it stands."""
        for number, row in enumerate(self.forms, 1):
            for name, errors in row.errors.items():
                label = row.fields[name].label if name in row.fields else ""
                for error in errors:
                    values = {"title": self.TITLE, "n": number, "label": label, "error": error}
                    if label:
                        yield _("%(title)s, row %(n)s, %(label)s: %(error)s") % values
                    else:
                        yield _("%(title)s, row %(n)s: %(error)s") % values
        yield from map(str, self.non_form_errors())


def written(row: forms.Form, *names: str) -> bool:
    """Whether anything is written in one of these fields of a row."""
    return any(str(row.data.get(row.add_prefix(name), "")).strip() for name in names)


class GridForm(WritingForm):
    """A form over the rows of a grid; both are saved in one act or not at all."""

    rows: Any  # the Grid

    def clean(self) -> dict[str, Any]:
        """What is wrong in a row is said at the head of the page too."""
        data = super().clean() or {}
        if not self.rows.is_valid():
            for fault in self.rows.faults():
                self.add_error(None, fault)
        return data

    def refuse(self, error: DomainError, *tables: Any) -> None:
        """Say a domain error in the row that it is about, and at the head of the page."""
        if error.number is None:
            super().refuse(error, *tables)
            return
        said, row = error_text(error, *tables), self.rows.written[error.number]
        if error.field in row.fields or error.field not in self.fields:
            row.add_error(error.field if error.field in row.fields else None, said)
        values = {
            "title": self.rows.TITLE,
            "n": self.rows.forms.index(row) + 1,
            "error": said,
        }
        self.add_error(None, _("%(title)s, row %(n)s: %(error)s") % values)
