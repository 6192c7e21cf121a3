"""Tell the demo's story to the ledger in the order in which it happened."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from config.accounts.models import Role, Site, SiteRole, User
from inventory.calc.units import parse_activity
from inventory.custody.actions import Movement, move
from inventory.items.actions import (
    SourceText,
    describe_new,
    gauge_snapshot,
    location_snapshot,
    open_site,
)
from inventory.ledger.models import Item, ItemKind
from inventory.ledger.write import writing
from inventory.nuclides.actions import load_nuclides
from inventory.requirements.actions import set_schedule
from reports.demo import thornmere as story
from surveys.leak.actions import record_leak_test
from surveys.leak.wipe import Counted, DeclaredBy, Wipe
from surveys.monitors.actions import Certificate, monitor_snapshot, record_calibration
from surveys.monitors.in_force import Efficiency

Act = Callable[[datetime], object]


class Story:
    """The scenario relative to one day. Acts are gathered first and told in the order of their
    moments: the ledger refuses a clock that runs backwards."""

    def __init__(self, today: date, password: str) -> None:
        self.today = today
        self.password = password
        self.people: dict[str, User] = {}
        self.items: dict[str, Item] = {}
        self.acts: list[tuple[datetime, int, Act]] = []

    def day(self, days_ago: int) -> date:
        """A day counted back from the demo day."""
        return self.today - timedelta(days=days_ago)

    def at(self, days_ago: int, act: Act, hour: int = 9) -> None:
        """Tell an act on a day; acts of the same hour keep their order."""
        moment = datetime.combine(self.day(days_ago), time(hour), tzinfo=UTC)
        self.acts.append((moment, len(self.acts), act))

    def tell(self) -> Site:
        """Everything, in order."""
        self._make_people()
        start = datetime.combine(self.day(story.BEGINS), time(8), tzinfo=UTC)
        load_nuclides(by=self.people["supervisor"], at=start)
        self.site = open_site(
            slug=story.SLUG,
            name=story.NAME,
            time_zone=story.TIME_ZONE,
            address=story.ADDRESS,
            by=self.people["supervisor"],
            at=start,
        )
        self._give_roles()
        self._gather()
        for place, (moment, _order, act) in enumerate(sorted(self.acts, key=lambda one: one[:2])):
            act(moment + timedelta(seconds=place))
        return self.site

    def _make_people(self) -> None:
        for username, first, last, _role in story.PEOPLE:
            self.people[username] = User.objects.create_user(
                username, password=self.password, first_name=first, last_name=last
            )

    def _give_roles(self) -> None:
        SiteRole.objects.filter(site=self.site).delete()
        for username, _first, _last, role in story.PEOPLE:
            SiteRole.objects.create(
                user=self.people[username],
                site=self.site,
                role=Role(role),
                from_on=self.day(story.BEGINS),
            )

    def _gather(self) -> None:
        self.at(story.BEGINS, self._schedule)
        for name, kind in story.PLACES:
            snapshot = location_snapshot(name, place_kind=kind)
            self._describe(story.BEGINS, name, ItemKind.LOCATION, snapshot)
        for tag, place, ask in story.GAUGES:
            snapshot = gauge_snapshot(tag, maker="Invented Gauges", whom_to_ask=ask)
            self._describe(story.BEGINS, tag, ItemKind.GAUGE, snapshot)
            self._move(story.BEGINS, "received", tag, place)
        for monitor in story.MONITORS:
            self._monitor(*monitor)
        for source in story.SOURCES:
            self._source(source)
        for wipe in story.WIPES:
            self._wipe(wipe)
        self._declared(*story.DECLARED)

    def _schedule(self, moment: datetime) -> None:
        set_schedule(
            self.site,
            by=self.people["supervisor"],
            at=moment,
            rule_set="gb",
            version=1,
            from_on=self.day(story.BEGINS),
        )

    def _describe(self, days_ago: int, name: str, kind: str, snapshot: dict[str, object]) -> None:
        def act(moment: datetime) -> None:
            with writing(self.site, by=self.people["supervisor"], at=moment) as ledger:
                self.items[name] = describe_new(ledger, kind, snapshot, self.day(days_ago))

        self.at(days_ago, act)

    def _move(self, days_ago: int, verb: str, name: str, to: str, supplier: str = "") -> None:
        def act(moment: datetime) -> None:
            movement = Movement(
                verb, self.items[name], self.items[to], self.day(days_ago), supplier=supplier
            )
            move(movement, by=self.people["supervisor"], at=moment)

        self.at(days_ago, act)

    def _monitor(
        self, tag: str, kind: str, calibrated: Sequence[int], stated: Sequence[Any]
    ) -> None:
        snapshot = monitor_snapshot(tag, monitor_kind=kind, maker="Invented Instruments")
        self._describe(story.BEGINS, tag, ItemKind.MONITOR, snapshot)
        self._move(story.BEGINS, "received", tag, "Counting room")
        for number, days_ago in enumerate(calibrated, 1):
            certificate = Certificate(
                on=self.day(days_ago),
                passed=True,
                certificate=f"{tag}/{number}",
                laboratory="Invented Calibration Laboratory",
                efficiencies=[Efficiency(*row) for row in stated],
            )
            self.at(days_ago - 3, self._calibration(tag, certificate))

    def _calibration(self, tag: str, certificate: Certificate) -> Act:
        def act(moment: datetime) -> None:
            record_calibration(
                self.items[tag],
                certificate,
                by=self.people["supervisor"],
                at=moment,
                accepted=True,
            )

        return act

    def _source(self, source: story.DemoSource) -> None:
        activity = parse_activity(source.activity)
        reference = self.day(source.reference_days_ago)
        if source.reference_precision == "year":
            reference = date(reference.year, 12, 31)
        text = SourceText(
            nuclide=source.nuclide,
            maker="Invented Sources",
            model=source.model,
            serial=source.serial,
            serial_unknown_because=source.serial_unknown_because,
            activity_text=activity.text,
            activity_bq=Decimal(activity.decimal),
            reference_text=str(reference.year)
            if source.reference_precision == "year"
            else reference.isoformat(),
            reference_on=reference,
            reference_precision=source.reference_precision,
        )
        days_ago = source.received_days_ago
        self._describe(days_ago, source.name, ItemKind.SOURCE, text.snapshot())
        inside = source.to in {tag for tag, _place, _ask in story.GAUGES}
        supplier = "Invented Sources"
        self._move(
            days_ago, "received", source.name, "Source store" if inside else source.to, supplier
        )
        if inside:
            self._move(days_ago - 5, "installed", source.name, source.to)

    def _wipe(self, wipe: story.DemoWipe) -> None:
        def act(moment: datetime) -> None:
            by = self.people[wipe.by]
            counter = self.people["technician"].name
            counted = Counted(
                self.items[wipe.counter],
                self.day(wipe.days_ago),
                [(wipe.gross, wipe.seconds)],
                [(wipe.background, wipe.background_seconds)],
                counter,
            )
            record_leak_test(
                site=self.site,
                by=self.people["supervisor"] if wipe.accepted else by,
                at=moment,
                accepted=wipe.accepted,
                wipe=Wipe(
                    sources=[self.items[name] for name in wipe.sources],
                    wiped_on=self.day(wipe.days_ago),
                    result=counted,
                    sampled_by=counter,
                    point_wiped="nearest accessible point of the housing",
                    method="moist paper, plastic tongs",
                    remark=wipe.remark,
                ),
            )

        self.at(wipe.days_ago, act, hour=15)

    def _declared(self, name: str, days_ago: int, document: str) -> None:
        def act(moment: datetime) -> None:
            record_leak_test(
                site=self.site,
                by=self.people["supervisor"],
                at=moment,
                wipe=Wipe(
                    [self.items[name]],
                    self.day(days_ago),
                    DeclaredBy(True, "the seller", document),
                    sampled_by="the seller",
                ),
            )

        self.at(days_ago - 10, act, hour=15)
