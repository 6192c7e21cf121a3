"""Django looks here; every model lives in the folder of its idea."""

from surveys.leak.models import LeakResult, LeakTest
from surveys.monitors.models import Calibration, CalibrationEfficiency, Monitor

__all__ = ["Calibration", "CalibrationEfficiency", "LeakResult", "LeakTest", "Monitor"]
