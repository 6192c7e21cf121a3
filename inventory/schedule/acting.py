"""Who writes, when, and what their form knew of: the last arguments of every act here."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Required, TypedDict

from config.accounts.models import Role, Site, User, roles_on
from inventory.calc.errors import DomainError
from inventory.ledger.write import Ledger, writing


class Acting(TypedDict, total=False):
    """``request_key``: the same form writes once; ``seen``: the last record that it knew of."""

    by: Required[User]
    at: Required[datetime]
    request_key: uuid.UUID | None
    seen: int | None


@contextmanager
def deciding(site: Site, act: Acting) -> Iterator[Ledger]:
    """An open ledger for somebody who may decide: the radiation protection supervisor alone."""
    with writing(site, by=act["by"], at=act["at"], seen=act.get("seen")) as ledger:
        if Role.RPS not in roles_on(act["by"], site, ledger.today):
            raise DomainError("only_rps_decides")
        yield ledger
