"""Django looks here; every model lives in the folder of its idea."""

from inventory.custody.models import Movement
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.items.models import Gauge, Location, SiteDetail, Source
from inventory.ledger.models import Attachment, Chain, Item, Record, RecordItem, RecordLink
from inventory.nuclides.models import Nuclide
from inventory.requirements.models import Attempt, Booking
from inventory.timeline import RequirementSpan, Stay

__all__ = [
    "Attachment",
    "Attempt",
    "Booking",
    "Chain",
    "FollowUp",
    "FollowUpStep",
    "Gauge",
    "Item",
    "Location",
    "Movement",
    "Nuclide",
    "Record",
    "RecordItem",
    "RecordLink",
    "RequirementSpan",
    "SiteDetail",
    "Source",
    "Stay",
]
