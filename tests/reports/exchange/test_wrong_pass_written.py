"""What a loaded list must never do to a source: hide a leak that is on record."""

from __future__ import annotations

from datetime import date

import pytest

from inventory.calc import due
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp
from inventory.ledger.models import Item, Record
from reports.exchange.understood import LoadFault
from surveys.leak.actions import accept_leak_test, record_leak_test
from tests import factories
from tests.inventory.asking import state
from tests.pages import NOW, TODAY
from tests.reports.exchange.handmade import (
    WIPED,
    calibration,
    counted,
    declared,
    load,
    monitor,
    reported,
    source,
    wipe,
)

pytestmark = pytest.mark.django_db


def item() -> Item:
    return Item.objects.get(kind="source", source__serial="L-1")


def wipes() -> list[Record]:
    found = Record.objects.filter(kind="leak_test", about__item=item(), about__role="subject")
    return list(found.order_by("seq"))


def close_everything(site) -> None:
    for one in FollowUp.objects.still_open():
        close_follow_up(one, by=factories.rps_of(site), at=NOW, on=TODAY, reason="looked at")


FAILS = {"a figure": reported(activity=900), "a word": declared(False)}


@pytest.mark.parametrize("fails", FAILS)
def test_a_pass_of_the_day_of_a_failure_waits_for_the_supervisor(site, fails):
    """Also once the follow-up of the failure was closed."""
    load(site, source(wipe=wipe(FAILS[fails])))
    load(site, source(wipe=wipe(reported(5.0))))
    close_everything(site)
    assert [bool(one.accepted_by_id) for one in wipes()][1:] == [False]
    assert state(item(), TODAY) == due.NEVER_DONE


def test_a_pass_below_a_failure_of_the_same_day_in_one_list_waits_too(site):
    load(
        site,
        source(wipe=wipe(reported(activity=900))),
        wipe(reported(5.0), subjects=("L-1",)),
    )
    close_everything(site)
    assert state(item(), TODAY) == due.NEVER_DONE


def test_a_failure_beside_a_pass_of_the_same_day_acts_at_once(site):
    load(site, source(wipe=wipe(reported(5.0))))
    load(site, source(wipe=wipe(reported(activity=900))))
    assert state(item(), TODAY) == due.FAILED
    close_everything(site)
    assert state(item(), TODAY) == due.NEVER_DONE


def test_the_supervisor_may_accept_the_one_that_holds(site):
    load(site, source(wipe=wipe(reported(activity=900), on=WIPED)))
    load(site, source(wipe=wipe(reported(5.0))))
    close_everything(site)
    accept_leak_test(wipes()[1], by=factories.rps_of(site), at=NOW, reason="taken after cleaning")
    assert state(item(), TODAY) != due.NEVER_DONE


def test_the_list_loaded_again_does_not_bring_a_corrected_pass_back(site):
    counter = (monitor(calibration=calibration()), source(wipe=wipe(counted())))
    load(site, *counter)
    (old,) = wipes()
    record_leak_test(
        site=site,
        by=factories.rps_of(site),
        at=NOW,
        wipe=factories.make_wipe(item(), old.instrument, WIPED, gross=((90_000, 600.0),)),
        accepted=True,
        replaces=old,
        because="the counts were those of another wipe",
    )
    count = len(wipes())
    assert load(site, *counter).counts["wipes"] == 0
    assert len(wipes()) == count
    assert state(item(), TODAY) == due.FAILED


def test_a_wipe_in_the_future_is_loaded_by_nobody(site):
    with pytest.raises(LoadFault):
        load(site, source(wipe=wipe(on=date(TODAY.year + 1, 1, 1))))
