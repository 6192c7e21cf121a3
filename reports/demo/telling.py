"""One site of the demo while its story is told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta

from config.accounts.models import Site, User
from inventory.ledger.models import Item
from reports.demo.story import DemoSite

#: What an act is given: the moment of recording.
Act = Callable[[datetime], object]


@dataclass
class SiteStory:
    """One site while its story is told: its people, its things and records by name. Acts are
    gathered first and told in the order of their moments, for no ledger's clock runs backwards."""

    told: DemoSite
    site: Site
    people: dict[str, User]
    today: date
    items: dict[str, Item] = field(default_factory=dict)
    acts: list[tuple[datetime, int, Act]] = field(default_factory=list)

    @property
    def supervisor(self) -> User:
        """Who writes unless the story says otherwise."""
        return self.people["supervisor"]

    @property
    def technician(self) -> User:
        """Who takes and counts wipes."""
        return self.people["technician"]

    def day(self, days_ago: int) -> date:
        """A day counted back from the demo day."""
        return self.today - timedelta(days=days_ago)

    def at(self, days_ago: int, act: Act, hour: int = 9) -> None:
        """Tell an act on a day; acts of the same hour keep their order."""
        # Midnight of the site lies within this day of UTC for every zone of the demo.
        moment = datetime.combine(self.day(days_ago), time(hour + 6), tzinfo=UTC)
        self.acts.append((moment, len(self.acts), act))

    def tell(self, now: datetime) -> None:
        """Everything, in order; what happens on the demo day itself happened by now."""
        for place, (moment, _order, act) in enumerate(sorted(self.acts, key=lambda one: one[:2])):
            act(min(moment + timedelta(seconds=place), now))
