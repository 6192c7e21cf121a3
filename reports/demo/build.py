"""Tell the demo's story to the ledger in the order in which it happened."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from config.accounts.models import Role, Site, SiteRole, User
from inventory.items.actions import open_site
from inventory.ledger.models import Item, ItemKind
from inventory.nuclides.actions import load_nuclides
from reports.demo import (
    checks,
    garnet_bluff,
    later,
    plans,
    rules,
    things,
    thornmere,
    wipes,
    wipes_away,
)
from reports.demo.story import PEOPLE, THE_SITE, DemoSite
from reports.demo.telling import SiteStory
from reports.demo.told_things import BEGINS

SITES = (thornmere.SITE, garnet_bluff.SITE)


class Story:
    """The scenario relative to one day: both sites, their people and four years of records."""

    def __init__(self, now: datetime, password: str) -> None:
        self.now = now
        self.password = password

    def tell(self) -> list[Site]:
        """Everything, in order."""
        people = {
            username: User.objects.create_user(
                username, password=self.password, first_name=first, last_name=last
            )
            for username, first, last, _role in PEOPLE
        }
        start = self.now - timedelta(days=BEGINS + 1)
        load_nuclides(by=people["supervisor"], at=start)
        return [self._tell(told, people, start) for told in SITES]

    def _tell(self, told: DemoSite, people: dict[str, User], start: datetime) -> Site:
        site = open_site(
            slug=told.slug,
            name=told.name,
            time_zone=told.time_zone,
            address=told.address,
            by=people["supervisor"],
            at=start,
        )
        self._give_roles(site, people, site.day(start))
        story = SiteStory(told, site, people, site.day(self.now))
        story.items[THE_SITE] = Item.objects.get(site=site, kind=ItemKind.SITE)
        for part in (rules, things, later, wipes, wipes_away, checks, plans):
            part.gather(story)
        story.tell(self.now)
        return site

    def _give_roles(self, site: Site, people: dict[str, User], on: date) -> None:
        SiteRole.objects.filter(site=site).delete()
        for username, _first, _last, role in PEOPLE:
            SiteRole.objects.create(user=people[username], site=site, role=Role(role), from_on=on)
