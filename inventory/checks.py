"""System checks of our own."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error
from django.db import connections

from inventory.ledger import triggers


def check_triggers(
    app_configs: Any, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Every evidence table must refuse changes; ``migrate`` installs what is missing."""
    return [
        Error(
            f"The table {table} does not refuse changes.",
            hint="Run manage.py migrate: it installs the triggers again.",
            id="inventory.E001",
        )
        for alias in databases or ()
        for table in triggers.missing(connections[alias])
    ]
