"""What is decided for one thing: a setting (label, registration, permit, adviser, site), and the
confirmation of a change that came by decay. The schedule itself is a record about the site."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models

from inventory.ledger.body import day
from inventory.ledger.models import RecordDetail

SETTING_KIND, CONFIRMED_KIND = "setting_made", "change_confirmed"
#: A schedule that is being gone through: never in force.
DRAFT_KIND = "schedule_drafted"


class Setting(RecordDetail):
    """A row of its own for one thing, from a day until a day; the row is in the text."""

    KINDS = (SETTING_KIND,)

    requirement = models.CharField(max_length=30)
    authority = models.CharField(max_length=20)
    until_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.requirement} {self.authority}"

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        detail = body["detail"]
        return {
            "requirement": detail["requirement"],
            "authority": detail["authority"],
            "until_on": day(detail["until_on"]),
        }


class Confirmation(RecordDetail):
    """A named person confirms what decay has changed for a requirement of a thing."""

    KINDS = (CONFIRMED_KIND,)

    requirement = models.CharField(max_length=30)

    def __str__(self) -> str:
        return self.requirement

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {"requirement": body["detail"]["requirement"]}
