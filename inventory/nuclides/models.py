"""Nuclides as the database knows them: one row each, changed only by ``load_nuclides``."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import models

CHANGED_KIND = "reference_data_changed"


class Nuclide(models.Model):
    """Reference data of one nuclide: the row of the fixture as text, with an index by name."""

    name = models.CharField(max_length=20, unique=True)
    half_life_days = models.FloatField()
    values = models.JSONField()

    def __str__(self) -> str:
        return self.name

    @classmethod
    def from_cells(cls, cells: Mapping[str, str]) -> Nuclide:
        """The row for one line of the table."""
        return cls(
            name=cells["nuclide"],
            half_life_days=float(cells["half_life_days"]),
            values=dict(cells),
        )
