"""The cautions that every document carries."""

from __future__ import annotations

from django.utils.translation import gettext as _


def cautions() -> tuple[str, ...]:
    """Sentences that stand on every register."""
    return (
        _(
            "Results support, and never replace, the judgement of the appointed radiation "
            "protection supervisor, adviser or licensed person."
        ),
        _(
            "Local law, permit conditions and the maker's instructions come first; a clause that "
            "was not checked against current law says so where it is explained."
        ),
        _(
            "A suspected leak, a shutter that does not close or a missing source: keep people "
            "away, do not handle, isolate, call the person named in the local rules."
        ),
        _(
            "Nothing here says that a vessel is safe to enter, a source may be disposed of, or a "
            "dose is permitted."
        ),
    )
