"""A check that was done, and something that happened to a thing: kinds without figures of their
own. The kind of a check's record is the name of the requirement that it answers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models

from inventory.ledger.models import RecordDetail
from inventory.rules.schema import CALIBRATION, LEAK_TEST, REQUIREMENTS

HAPPENING_KIND = "happening"
#: Kinds of check without a form of their own elsewhere.
CHECK_KINDS = tuple(
    kind for _subject, kind in REQUIREMENTS.values() if kind not in (LEAK_TEST, CALIBRATION)
)


class CheckDone(RecordDetail):
    """A check, a review, a rehearsal or an extension: what was found, by what document."""

    KINDS = CHECK_KINDS
    OWN_KINDS = True

    found = models.CharField(max_length=1000, blank=True)
    document = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return self.found or str(self.pk)

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {name: body["detail"][name] for name in ("found", "document")}


class Happening(RecordDetail):
    """Damage, a repair, work on a capsule: what calls for a test at once."""

    KINDS = (HAPPENING_KIND,)

    what = models.CharField(max_length=30)

    def __str__(self) -> str:
        return self.what

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {"what": body["detail"]["what"]}
