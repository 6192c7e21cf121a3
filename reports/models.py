"""Django looks here; every model lives in the folder of its idea."""

from reports.exchange.models import PendingFile

__all__ = ["PendingFile"]
