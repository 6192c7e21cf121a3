"""Django looks here; every model lives in the folder of its idea."""

from surveys.laboratories.models import Laboratory
from surveys.leak.models import CountingSession, LeakResult, LeakTest, WipeSent
from surveys.monitors.models import Calibration, CalibrationEfficiency, Monitor

__all__ = [
    "Calibration",
    "CalibrationEfficiency",
    "CountingSession",
    "Laboratory",
    "LeakResult",
    "LeakTest",
    "Monitor",
    "WipeSent",
]
