"""Wipes that were sent away in the register of leak tests: compared with the texts by hand."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest

from inventory.calc.asof import AsOf
from reports.registers.csv_out import to_csv
from reports.registers.kinds import KINDS, build
from surveys.awaited.actions import Report, give_up, record_report
from surveys.awaited.sending import Parcel, Taken, correct_sent
from surveys.leak.actions import record_leak_test
from surveys.leak.wipe import DeclaredBy, Wipe
from tests import factories
from tests.oracle import leak_register_by_hand

pytestmark = pytest.mark.django_db


def test_the_wipes_that_were_sent_away(site):
    """One awaited, one whose sending was corrected, one given up, one with its result, and one
    whose result was corrected."""
    laboratory = factories.make_laboratory(site)
    sources = [factories.make_source(site) for _ in range(5)]
    taken = date(2025, 10, 1)
    sent = [factories.send_wipe(source, laboratory, taken) for source in sources]
    who = {"by": factories.rps_of(site)}
    correct_sent(
        sent[1],
        Parcel(laboratory, date(2025, 10, 3), date(2025, 10, 24)),
        Taken([sources[1]], taken, "B. Sampler"),
        **who,
        at=factories.tick(),
        reason="sent a day later",
    )
    give_up(sent[2], **who, at=factories.tick(), on=date(2025, 12, 1), reason="lost in the post.")
    report = Report(date(2025, 11, 3))
    results = [(one.seq, DeclaredBy(False, "Hill Laboratory")) for one in sent[3:]]
    *_, last = record_report(laboratory, report, results, **who, at=factories.tick())
    wipe = Wipe([sources[4]], taken, DeclaredBy(True, "Hill Laboratory"), sampled_by="B. Sampler")
    because = {"replaces": last, "because": "read again"}
    record_leak_test(site=site, wipe=wipe, at=factories.tick(), **who, **because)
    for day in (taken, date(2025, 11, 30), date(2025, 12, 1), date(2026, 3, 1)):
        register = build(KINDS["leak"], site, AsOf(day), by=who["by"], made_at=factories.tick())
        found = list(csv.DictReader(io.StringIO(to_csv(register).decode("utf-8-sig"))))
        verdicts = {row["Record"]: row.pop("Verdict") for row in found}
        for row in found:
            row.pop("Corrections and late entries")
        assert found == leak_register_by_hand.rows(site, day)
        said = verdicts[str(sent[2].seq)]
        assert said.startswith("Given up on 1 Dec 2025: lost in the post. Sent to Hill") == (
            day >= date(2025, 12, 1)
        )
