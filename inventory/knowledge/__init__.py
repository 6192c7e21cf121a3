"""What is known of items: the rows of the ledger put in order, now or as they were known then.

``load`` reads a fixed number of queries for any number of items; ``decide_on`` and ``states``
answer for a day through the pure functions of ``inventory.calc``.
"""

from __future__ import annotations

from inventory.knowledge.asking import (
    decide_on,
    evidence_of,
    requirements_for,
    requirements_here,
    row_of,
    states,
)
from inventory.knowledge.known import (
    ACCEPTS,
    CAME_WITH,
    CLOSES,
    COMPLETES,
    MOVING,
    SCHEDULE_KIND,
    WITHDRAWN,
    Description,
    Known,
)
from inventory.knowledge.loading import load
from inventory.knowledge.moves import movements
from inventory.knowledge.schedules import (
    requirements_said,
    schedule_of,
    schedules_of,
    schedules_of_sites,
)
from inventory.knowledge.surroundings import load_described

__all__ = [
    "ACCEPTS",
    "CAME_WITH",
    "CLOSES",
    "COMPLETES",
    "MOVING",
    "SCHEDULE_KIND",
    "WITHDRAWN",
    "Description",
    "Known",
    "decide_on",
    "evidence_of",
    "load",
    "load_described",
    "movements",
    "requirements_for",
    "requirements_here",
    "requirements_said",
    "row_of",
    "schedule_of",
    "schedules_of",
    "schedules_of_sites",
    "states",
]
