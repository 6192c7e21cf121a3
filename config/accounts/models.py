"""People, sites and dated roles. The lowest layer: it knows nothing of sources."""

from __future__ import annotations

from datetime import date, datetime
from typing import Self
from zoneinfo import ZoneInfo, available_timezones

from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

#: Open end of every dated row: one comparison instead of two.
OPEN_END = date(9999, 12, 31)


class User(AbstractUser):
    """A person who logs in."""

    @property
    def name(self) -> str:
        """The name that registers print."""
        return self.get_full_name() or self.username


class Role(models.TextChoices):
    """What a person does on a site."""

    RPS = "rps", _("radiation protection supervisor")
    TECHNICIAN = "technician", _("technician")
    MANAGER = "manager", _("site manager")
    INSPECTOR = "inspector", _("inspector")


def check_time_zone(name: str) -> None:
    """Refuse a time zone that does not exist."""
    if name not in available_timezones():
        raise ValidationError(_("%(name)s is not a time zone.") % {"name": name})


class SiteQuerySet(models.QuerySet["Site"]):
    """The gate to sites."""

    def visible_to(self, user: User, on: date) -> Self:
        """Sites on which the person holds a role on that day; all others do not exist for them."""
        if not user.is_authenticated:
            return self.none()
        held = SiteRole.objects.on(on).filter(user=user)
        return self.filter(pk__in=held.values("site"))


class Site(models.Model):
    """A site; everything belongs to exactly one. The slug is part of the evidence: it stays."""

    slug = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=200)
    address = models.TextField(blank=True)
    time_zone = models.CharField(max_length=60, default="UTC", validators=[check_time_zone])

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def day(self, moment: datetime) -> date:
        """The calendar day of a moment here."""
        return moment.astimezone(ZoneInfo(self.time_zone)).date()


class SiteRoleQuerySet(models.QuerySet["SiteRole"]):
    """Questions about dated roles."""

    def on(self, day: date) -> Self:
        """Roles held on that day."""
        return self.filter(from_on__lte=day, until_on__gte=day)


class SiteRole(models.Model):
    """A role that a person holds on a site, from a day until a day."""

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="site_roles")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="site_roles")
    role = models.CharField(max_length=20, choices=Role.choices)
    from_on = models.DateField()
    until_on = models.DateField(default=OPEN_END)

    objects = SiteRoleQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["user", "site", "role", "from_on"], name="role_once"),
            models.CheckConstraint(
                condition=models.Q(until_on__gte=models.F("from_on")),
                name="role_from_before_until",
                violation_error_message=_("A role cannot end before it begins."),
            ),
        ]
        indexes = [models.Index(fields=["user", "until_on"])]

    def __str__(self) -> str:
        return f"{self.user} {self.role} {self.site}"


def roles_on(user: User, site: Site, on: date) -> frozenset[str]:
    """The roles that a person holds on a site on a day."""
    held = SiteRole.objects.on(on).filter(user=user, site=site)
    return frozenset(held.values_list("role", flat=True))
