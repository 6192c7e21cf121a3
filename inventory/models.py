"""Django looks here; every model lives in the folder of its idea."""

from inventory.custody.models import Movement
from inventory.evidence.models import CheckDone, Happening
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.items.models import Gauge, Location, Permit, Person, SiteDetail, Source
from inventory.ledger.models import Attachment, Chain, Item, Record, RecordItem, RecordLink
from inventory.nuclides.models import Nuclide
from inventory.requirements.models import Attempt, Booking
from inventory.schedule.models import Confirmation, Setting
from inventory.shutdowns.models import Shutdown
from inventory.timeline import RequirementSpan, Stay

__all__ = [
    "Attachment",
    "Attempt",
    "Booking",
    "Chain",
    "CheckDone",
    "Confirmation",
    "FollowUp",
    "FollowUpStep",
    "Gauge",
    "Happening",
    "Item",
    "Location",
    "Movement",
    "Nuclide",
    "Permit",
    "Person",
    "Record",
    "RecordItem",
    "RecordLink",
    "RequirementSpan",
    "Setting",
    "Shutdown",
    "SiteDetail",
    "Source",
    "Stay",
]
