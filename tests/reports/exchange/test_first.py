import pytest
from tests.reports.exchange.handmade import *
from inventory.ledger.verify import check_everything
from tests.inventory.asking import rows_of_every_table
pytestmark = pytest.mark.django_db

def test_it(site):
    rows=[row(source(f"S-{n}"),line=n) for n in range(2,6)]
    rows+= [row(source("", gauge="G9", of={"serial_unknown_because":"plate"}),line=9), row(monitor(calibration=calibration()),line=10),
     row(wipe(counted(),subjects=["S-2"],on=date(2025,11,3)),line=11), row(wipe(declared(),gauge="G9",on=date(2025,1,3)),line=12)]
    p=planned(site,*rows)
    for one in p.rows: print(one.row.key, one.status, one.writes, one.faults, one.notes, one.open_points)
    print(p.counts)
    out=load(site,*rows)
    print(out)
    assert list(check_everything())==[]
    before=rows_of_every_table()
    p=planned(site,*rows)
    for one in p.rows: print(one.row.key, one.status, one.writes, one.faults, one.notes, one.differences)
    out=load(site,*rows)
    assert out.seq is None
    assert before==rows_of_every_table()
