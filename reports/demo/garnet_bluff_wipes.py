"""The wipes of Garnet Bluff: it has no counter, a laboratory counts them."""

from __future__ import annotations

from reports.demo.told_wipes import Declared, Laboratory, Sent

LABORATORY = "Invented Wipe Laboratory"
_FIXED = (
    *(f"GBP-10{n}" for n in range(1, 5)),
    *(f"GBP-12{n}" for n in range(1, 4)),
    *(f"GBP-20{n}" for n in range(1, 6)),
    *(f"GBP-30{n}" for n in range(1, 10)),
    "GBP-310",
    "GBP-311",
)
_PORTABLE = ("GBP-C-1", "GBP-N-1", "GBP-C-2", "GBP-N-2")
_SOON = ("GBP-103", "GBP-201", "GBP-306", "GBP-309", "GBP-311")
_LEFT_OUT = ("GBP-121", "GBP-204")
_BENCH = ("GBP-901", "GBP-902", "GBP-095")


def _clean(days_ago: int, sources: tuple[str, ...], took: int = 21) -> Sent:
    """A batch whose report found nothing."""
    results = tuple((name, "< 5 Bq") for name in sources)
    return Sent(days_ago, LABORATORY, sources, reported=days_ago - took, results=results)


SENT = (
    _clean(1405, (*_FIXED, *_PORTABLE, *_BENCH)),
    _clean(1040, (*_FIXED, *_PORTABLE)),
    _clean(1035, _BENCH),
    _clean(680, (*_FIXED, *_PORTABLE)),
    _clean(395, _BENCH[-1:]),
    # A year ago; what the round after it left out is late today.
    _clean(390, _LEFT_OUT),
    _clean(335, _SOON),
    _clean(280, tuple(name for name in _FIXED if name not in (*_LEFT_OUT, *_SOON))),
    _clean(275, _PORTABLE),
    Sent(
        *(60, LABORATORY, ("GBP-101", "GBP-102")),
        reported=38,
        results=(("GBP-101", "< 5 Bq"), ("GBP-102", "14 ± 4 Bq")),
    ),
    # Away: the report should have come.
    Sent(35, LABORATORY, ("GBP-103", "GBP-104", "GBP-122", "GBP-204"), chase_after=28),
    Sent(9, LABORATORY, _PORTABLE),
)

LABORATORIES = (
    Laboratory(
        LABORATORY,
        "Accreditation 0417, invented",
        (("Cs-137", "5 Bq"), ("Co-60", "5 Bq"), ("Am-241/Be", "2 Bq")),
    ),
)

DECLARED = (Declared(("GBP-201",), 18, "belt contractor", "job sheet 77", entered_after=3),)
