"""The envelope for what exists (Item) and for what happened (Record).

``Record.body`` is canonical text and is the evidence; every column beside it is an index on that
text, made by ``inventory.ledger.body`` and compared with it by ``verify``. Tables marked Evidence
refuse UPDATE and DELETE in the database itself (``triggers``).
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import date
from typing import Any, ClassVar, Self

from django.conf import settings
from django.db import models
from django.db.models.functions import Coalesce
from django.utils.translation import gettext_lazy as _

from config.accounts.models import Site, SiteRole, User

GENESIS = "0" * 64


class ItemKind(models.TextChoices):
    """What an item is. Monitors and laboratories are described in the app of measurements."""

    SITE = "site", _("site")
    LOCATION = "location", _("location")
    GAUGE = "gauge", _("gauge")
    SOURCE = "source", _("source")
    MONITOR = "monitor", _("monitor")
    LABORATORY = "laboratory", _("laboratory")
    PERMIT = "permit", _("permit")
    PERSON = "person", _("person")


class Outcome(models.TextChoices):
    """What a record says about an item."""

    NONE = "", _("no outcome")
    PASS = "pass", _("passes")
    FAIL = "fail", _("fails")
    INCONCLUSIVE = "inconclusive", _("inconclusive")
    NOT_EVALUABLE = "not_evaluable", _("not evaluable")


class Evidence(models.Model):
    """Marks a table whose rows are never changed or removed."""

    class Meta:
        abstract = True


class Chain(models.Model):
    """One chain of records per site, one for the installation (site null). The row is the lock."""

    site = models.OneToOneField(Site, null=True, blank=True, on_delete=models.PROTECT)
    length = models.PositiveIntegerField(default=0)
    head = models.CharField(max_length=64, default=GENESIS)

    class Meta:
        constraints = [
            models.UniqueConstraint(Coalesce("site", 0), name="chain_one_per_site"),
        ]

    def __str__(self) -> str:
        return self.site.slug if self.site else "installation"


class ItemQuerySet(models.QuerySet["Item"]):
    """The gate to items and the questions asked of them."""

    def visible_to(self, user: User, on: date) -> Self:
        """Items of sites on which the person holds a role that day."""
        held = SiteRole.objects.on(on).filter(user=user)
        return self.filter(site__in=held.values("site"))

    def of_kind(self, *kinds: str) -> Self:
        """Items of these kinds."""
        return self.filter(kind__in=kinds)

    def starting_with(self, text: str) -> Self:
        """Items whose code is this text, or whose serial, tag or label begins with it: a range
        on the folded keys, which an index answers on both databases."""
        wanted = " ".join(text.casefold().split())
        key = sort_key(wanted)
        # A number that is still being typed has no padding yet: "12" must find 1234 as well.
        ends = models.Q(code=wanted.upper()) | _range("key", key) | _range("label_sort", key)
        return self.filter(ends | models.Q(label__icontains=wanted))

    def named(self, text: str) -> Self:
        """Items whose code, or whose serial or tag, is exactly this text."""
        wanted = text.strip()
        return self.filter(models.Q(code=wanted.upper()) | models.Q(key=sort_key(wanted)))


def _range(column: str, start: str) -> models.Q:
    """Everything that begins with ``start``."""
    return models.Q(**{f"{column}__gte": start, f"{column}__lt": start + "\U0010ffff"})


def sort_key(text: str) -> str:
    """A serial, tag or label for searching and sorting: collations of databases differ, so the
    text is folded here, and runs of digits are padded so that 9 comes before 10."""
    folded = " ".join(text.casefold().split())
    out: list[str] = []
    digits = ""
    for char in folded:
        if char.isdecimal():
            digits += char
            continue
        out.append(digits.zfill(8) if digits else "")
        digits = ""
        out.append(char)
    out.append(digits.zfill(8) if digits else "")
    return "".join(out)[:200]


class Item(models.Model):
    """Anything with an identity that can be a subject. Label and key follow its description."""

    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.CharField(max_length=8, unique=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="items")
    kind = models.CharField(max_length=20, choices=ItemKind.choices)
    label = models.CharField(max_length=200)
    label_sort = models.CharField(max_length=200)
    key = models.CharField(max_length=200)
    continues = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT)

    objects = ItemQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(key=""), name="item_key_not_empty"),
        ]
        indexes = [
            models.Index(fields=["site", "kind", "label_sort"]),
            models.Index(fields=["site", "kind", "key"]),
        ]

    def __str__(self) -> str:
        return self.label


class RecordQuerySet(models.QuerySet["Record"]):
    """The gate to records."""

    def visible_to(self, user: User, on: date) -> Self:
        """Records of sites on which the person holds a role that day."""
        held = SiteRole.objects.on(on).filter(user=user)
        return self.filter(site__in=held.values("site"))

    def about(self, item: Item) -> Self:
        """Records that concern an item."""
        return self.filter(pk__in=RecordItem.objects.filter(item=item).values("record"))

    def in_order(self) -> Self:
        """In the order in which things happened."""
        return self.order_by("effective_on", models.F("effective_time").asc(nulls_last=True), "seq")


class Record(Evidence):
    """Anything that happened: envelope columns over the canonical text."""

    chain = models.ForeignKey(Chain, on_delete=models.PROTECT, related_name="records")
    seq = models.PositiveIntegerField()
    site = models.ForeignKey(Site, null=True, blank=True, on_delete=models.PROTECT)
    kind = models.CharField(max_length=40)
    effective_on = models.DateField()
    effective_time = models.TimeField(null=True, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    performed_by = models.CharField(max_length=200, blank=True)
    accepted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    instrument = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="used_in"
    )
    replaces = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by"
    )
    reason = models.TextField(blank=True)
    request_key = models.UUIDField(null=True, blank=True, unique=True)
    body = models.TextField()
    hash = models.CharField(max_length=64, unique=True)

    objects = RecordQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["chain", "seq"], name="record_seq_once"),
            models.CheckConstraint(
                condition=models.Q(replaces__isnull=True) | ~models.Q(reason=""),
                name="record_replaces_needs_reason",
                violation_error_message=_("A correction needs a reason."),
            ),
        ]
        indexes = [
            models.Index(fields=["site", "kind", "effective_on", "id"]),
            models.Index(fields=["instrument", "effective_on"]),
            models.Index(fields=["site", "recorded_at"]),
            models.Index(fields=["site", "effective_on"]),
        ]

    def __str__(self) -> str:
        return f"{self.chain_id}/{self.seq} {self.kind}"


class RecordItem(Evidence):
    """What a record says about one item: its outcome, and whether it can be relied on."""

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="about")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="mentions")
    role = models.CharField(max_length=20, default="subject")
    kind = models.CharField(max_length=40)
    effective_on = models.DateField()
    outcome = models.CharField(max_length=20, blank=True, choices=Outcome.choices)
    fit = models.BooleanField(default=True)
    unfit_because = models.CharField(max_length=200, blank=True)
    accuses = models.BooleanField(default=False)
    valid_until = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["record", "item"], name="record_item_once"),
            models.CheckConstraint(
                condition=models.Q(fit=True) | ~models.Q(unfit_because=""),
                name="record_item_unfit_says_why",
            ),
        ]
        indexes = [
            models.Index(fields=["item", "kind", "outcome", "effective_on", "record"]),
        ]

    def __str__(self) -> str:
        return f"{self.record_id} about {self.item_id}"


class RecordLink(Evidence):
    """A record that speaks about another one: accepts it, closes what it opened ..."""

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="links")
    target = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="linked_from")
    role = models.CharField(max_length=20)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["record", "target", "role"], name="record_link_once"),
        ]

    def __str__(self) -> str:
        return f"{self.record_id} {self.role} {self.target_id}"


class Attachment(Evidence):
    """A file that belongs to a record; its content lies under its SHA-256."""

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="attachments")
    name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["record", "sha256"], name="attachment_once"),
        ]

    def __str__(self) -> str:
        return self.name


class RecordDetail(Evidence):
    """Typed columns of one kind of record, projected from its text."""

    KINDS: ClassVar[tuple[str, ...]] = ()
    OWN_KINDS: ClassVar[bool] = False  # also of the kinds that a site defines itself

    record = models.OneToOneField(
        Record, primary_key=True, on_delete=models.PROTECT, related_name="%(class)s"
    )

    class Meta:
        abstract = True

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        """Column values from a record's text; ``pk_of`` gives an item's key for its code."""
        raise NotImplementedError


class RecordPoint(Evidence):
    """One row of several below a record, such as one result per source."""

    KINDS: ClassVar[tuple[str, ...]] = ()

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="%(class)ss")
    position = models.PositiveSmallIntegerField()

    class Meta:
        abstract = True

    @classmethod
    def project(cls, point: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        """Column values of one point from the record's text."""
        raise NotImplementedError


class ItemDetail(models.Model):
    """Typed columns of one kind of item: an index on its description in force."""

    KIND: ClassVar[str] = ""

    item = models.OneToOneField(
        Item, primary_key=True, on_delete=models.PROTECT, related_name="%(class)s"
    )

    class Meta:
        abstract = True

    @classmethod
    def project(cls, snapshot: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        """Column values from a description; ``pk_of`` gives an item's key for its code."""
        raise NotImplementedError
