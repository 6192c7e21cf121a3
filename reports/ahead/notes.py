"""How what lies ahead is to be read: beside each part on the page, together on paper."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

PROJECTED = _(
    "Projected: comes again at its interval if it is done on its due date every time, and what is "
    "late or was never done today."
)
FALLS_SHORT = _(
    "Falls short: due before the shutdown begins. Ask the adviser whether it can wait, or do it "
    "while the plant runs. Reaches it: due while it lasts, so it can wait for it."
)
COVER = _(
    "Monitor cover is of the whole site: a monitor counts while its calibration holds and it is "
    "here. A booked calibration does not extend that."
)
LEVELS = _(
    "A level that decay passes changes nothing by itself: requirements stay until a named person "
    "confirms the change, the permit goes on, and nothing may be disposed of for it."
)
