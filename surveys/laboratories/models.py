"""Laboratories that count wipes for the site, with the limits that they state."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models

from inventory.ledger.models import ItemDetail, ItemKind


class Laboratory(ItemDetail):
    """A laboratory as described; its stated detection limits stand in the description."""

    KIND = ItemKind.LABORATORY

    name = models.CharField(max_length=200)
    authorisation = models.CharField(max_length=200, blank=True)
    valid_until = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name

    @classmethod
    def project(cls, snapshot: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {
            "name": snapshot["name"],
            "authorisation": snapshot["authorisation"],
            "valid_until": snapshot["valid_until"] or None,
        }
