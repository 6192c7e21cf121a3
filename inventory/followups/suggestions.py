"""What is usually done first when something fails: offered, never recorded by itself.

Every one of these is common practice, no source. Which of them the law, the permit or the local
rules ask for, and within what time, is for the adviser to say: hence the question in the list.
"""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

#: Whether something must be reported, to whom and by when differs by country and by case, and
#: nothing here knows it: so it is asked, never answered.
ASK_ADVISER = _("Ask the adviser now: is this reportable, to whom and by when?")

#: By kind of the record that failed or accused; each one is common practice, no source.
SUGGESTED: dict[str, tuple[str | Promise, ...]] = {
    "leak_test": (
        # common practice, no source
        _("Isolate the source and its housing, keep people away, mark it as out of use."),
        # common practice, no source: the local rules name these persons
        _("Tell the persons named in the local rules."),
        ASK_ADVISER,
        # common practice, no source: a second counter tells a leak from a fault of the first
        _("Repeat the wipe, counted with another counter that is in calibration."),
        # common practice, no source
        _("Check the hands, clothing and tools of whoever took the wipe, and the bench."),
    ),
    "calibration": (
        # common practice, no source
        _("Take the monitor out of use and mark it."),
        # common practice, no source
        _("Tell everybody who works with it which monitor to use instead."),
        # common practice, no source
        _("Ask the adviser: which results since its last good calibration are in question?"),
        # common practice, no source
        _("Have it repaired or replaced, and calibrated anew before use."),
    ),
    "accounting_check": (
        # common practice, no source
        _("Look for it where it was last seen and where things like it are kept."),
        # common practice, no source: the local rules name these persons
        _("Tell the persons named in the local rules."),
        ASK_ADVISER,
        # common practice, no source
        _("Ask whoever worked there since it was last seen; write down when and where that was."),
        # common practice, no source: scrap leaves a site within days
        _("Stop scrap and waste from leaving the site until it is found."),
    ),
    "shutter_check": (
        # common practice, no source
        _("Keep people away, close the shutter if it closes, lock it and mark the gauge."),
        # common practice, no source: the local rules name these persons
        _("Tell the persons named in the local rules."),
        ASK_ADVISER,
        # common practice, no source
        _("Measure the dose rate around the housing."),
    ),
}
#: Any other kind of record that can fail: what holds everywhere.
ELSE: tuple[str | Promise, ...] = (
    _("Take it out of use and mark it."),  # common practice, no source
    _("Tell the persons named in the local rules."),  # common practice, no source
    ASK_ADVISER,
)


#: What is reported missing is looked for like what a check did not find.
SUGGESTED["missing"] = SUGGESTED["accounting_check"]


def suggested(kind: str) -> list[str]:
    """The texts of the usual first steps after a record of this kind failed or accused."""
    return [str(text) for text in SUGGESTED.get(kind, ELSE)]
