"""Every worked example of the counting side, with its own tolerance and source."""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable
from pathlib import Path
from statistics import NormalDist
from typing import Any

import pytest

from surveys.calc import counting
from surveys.calc.counting import Count, Estimate, Pair, Weight
from surveys.calc.leak import Counted, Factor, Limit, Reported, judge
from tests.oracle import counting_forms as forms

FILE = Path(__file__).parents[2] / "data" / "examples.csv"
TOPICS = {"NET", "EFF", "LIM", "MDC", "ISO", "ZERO", "DEC", "CERT", "TIME", "RATE", "CHECK"}
#: Run with the inventory's arithmetic.
ELSEWHERE = {"P-SUM-01", "P-SUM-02", "P-TREND-01"}

Row = dict[str, Any]
with FILE.open(encoding="utf-8", newline="") as file:
    ROWS: list[Row] = [
        {k: json.loads(v) if k in ("inputs", "expected", "tolerance") else v for k, v in r.items()}
        for r in csv.DictReader(file)
    ]
MINE = [row for row in ROWS if row["topic"] in TOPICS or row["id"] == "P-SUM-03"]


def _pair(i: Row) -> Pair:
    gross = Count(i.get("n_gross", 0), i["t_gross_s"])
    return Pair(gross, Count(i["n_bkg"], i["t_bkg_s"]))


def _weight(i: Row) -> Weight:
    if "w" in i:
        return Weight(i["w"], i["u_rel_w"])
    return Weight(1 / i["eff"], i["u_rel_eff"])


def net(i: Row) -> Row:
    if "counts" in i:
        rate = counting.net_rate(Pair(Count(i["counts"], i["time_min"]), Count(0, 1)))
        return {"rate_cpm": rate.value, "u_cpm": rate.u}
    if "mean_background_counts" in i:
        blank = Count(i["mean_background_counts"], 1)
        return {"sd_net_counts": counting.net_rate(Pair(blank, blank)).u}
    pair = _pair(i)
    rate = counting.net_rate(pair)
    return {"rg": pair.gross.rate, "r0": pair.background.rate, "rn": rate.value, "u_rn": rate.u}


def eff(i: Row) -> Row:
    if "n_std" in i:
        a_ref = i["A_ref_Bq"]
        found = counting.efficiency_from_reference(
            Count(i["n_std"], i["t_std_s"]),
            Count(i["n_bkg"], i["t_bkg_s"]),
            Estimate(a_ref, a_ref * i["u_rel_A"]),
            days=i["days_since_ref"],
            half_life_days=i["T_half_d"],
        )
        return {
            "decay_factor": found.decay_factor,
            "activity_now_Bq": found.activity_bq,
            "eff": found.efficiency,
            "u_rel_eff": found.u_rel,
        }
    if "limit_dpm" in i:
        # The count rate at which the limit is met: r_n = A/w.
        w = counting.weight([Estimate(i["eff"], 0.0)])
        return {"action_level_cpm": i["limit_dpm"] / w.w}
    parts = [
        Estimate(i["eff"], i["u_eff"]),
        Estimate(i["volume"], i["u_volume"]),
        Estimate(i["self_absorption"], counting.rectangular(i["self_absorption_halfwidth"])),
    ]
    w = counting.weight(parts)
    return {"w": w.w, "u_rel_w": w.u_rel}


def lim(i: Row) -> Row:
    if "B_counts" in i:
        return forms.currie(i["B_counts"])
    if "t_sample_min" in i:
        rate = i["n_bkg"] / i["t_bkg_min"]
        return {"LLD_cpm": forms.lld_rate(rate, i["t_sample_min"], i["t_bkg_min"])}
    q = i["t_sample_s"] / i["t_bkg_s"]
    if "n_bkg" in i:
        n, seconds = i["n_bkg"], i["t_sample_s"]
        # Net counts per sample time: the threshold y* with w = the sample time.
        pair = Pair(Count(0, seconds), Count(n, i["t_bkg_s"]))
        shipped = counting.stapleton_threshold(Count(n, i["t_bkg_s"]), seconds)
        assert shipped == pytest.approx(forms.stapleton_sc(n, q), rel=1e-12)
        assert counting.decision_threshold(pair, Weight(seconds, 0)) == pytest.approx(
            forms.marlap_a(n, q), rel=1e-12
        )
        return {
            "SC_A": forms.marlap_a(n, q),
            "SC_C": forms.marlap_c(n, q),
            "SC_Stapleton": shipped,
        }
    return _table_20_3(i["mean_bkg_counts"], i["t_sample_s"], i["t_bkg_s"])


def _table_20_3(mean: float, t_s: float, t_b: float) -> Row:
    q = t_s / t_b
    shipped = counting.detection_limit(Pair(Count(0, t_s), Count(mean / q, t_b)), Weight(t_s, 0))
    # A critical value from the mean background, and what equation 20.73 makes of it.
    assert shipped == pytest.approx(forms.marlap_sd(forms.marlap_a(mean / q, q), mean, q))
    return {
        "SD_A": shipped,
        "SD_A_true": forms.exact_sd(forms.marlap_a, mean, q),
        "SD_C": forms.marlap_sd(forms.marlap_c(mean / q, q), mean, q),
        "SD_C_true": forms.exact_sd(forms.marlap_c, mean, q),
        "SD_Stapleton": forms.stapleton_sd(mean, q),
    }


def mdc(i: Row) -> Row:
    if "B_counts" in i:
        return {"mdc_dpm": forms.mdc_271(i["B_counts"], i["t_min"], i["eff"])}
    t_s, t_b, rate = i["t_sample_min"] * 60, i["t_bkg_min"] * 60, i["r_bkg_cpm"] / 60
    bq = counting.mdc_nureg_1507(Count(rate * t_b, t_b), t_s, i["eff"])
    return {"mdc_Bq": bq, "mdc_dpm": bq * 60}


def _best(y: float, u: float, gamma: float) -> Row:
    b = counting.best_estimate(y, u, gamma)
    assert b is not None
    return {
        "omega": b.omega,
        "best": b.best,
        "ubest": b.u_best,
        "sym_lo": b.symmetric[0],
        "sym_hi": b.symmetric[1],
        "short_lo": b.shortest[0],
        "short_hi": b.shortest[1],
    }


def iso(i: Row) -> Row:
    if "y" in i:
        return _best(i["y"], i["u"], i["gamma"])
    pair, w = _pair(i), _weight(i)
    k = i["k_alpha"] if "k_alpha" in i else NormalDist().inv_cdf(1 - i["alpha"])
    y = counting.activity(pair, w)
    return {
        "y": y.value,
        "u": y.u,
        "ystar": counting.decision_threshold(pair, w, k),
        "yhash": counting.detection_limit(pair, w, k),
        **_best(y.value, y.u, i["gamma"]),
    }


def zero(i: Row) -> Row:
    if "n" in i:
        return {"upper_counts": counting.poisson_upper(i["n"], i["confidence"])}
    background = Count(i["n_bkg"], i["t_bkg_s"])
    seconds = i["t_sample_s"]
    smallest = next(
        n for n in range(100) if counting.is_detected(Pair(Count(n, seconds), background))
    )
    return {
        "SC_net_counts": counting.stapleton_threshold(background, seconds),
        "smallest_gross_count_detected": smallest,
    }


def dec(i: Row) -> Row:
    if "upper_limit" in i:
        return {"probability": forms.conformance_probability(i["y"], i["u"], i["upper_limit"])}
    counted = Counted(
        ((i["n_gross"], i["t_gross_s"]),),
        ((i["n_bkg"], i["t_bkg_s"]),),
        Factor(i["eff"], i["u_rel_eff"]),
    )
    v = judge(counted, _limit(i), nuclide="Cs-137").value
    y, u = v.activity_bq, v.standard_uncertainty_bq
    assert y is not None and u is not None
    # The one-sided ISO limit is the upper end of the interval that starts at zero.
    best = counting.best_estimate(y, u, 0.05)
    one_sided = best and y - NormalDist().inv_cdf(best.omega * 0.05) * u
    return {
        "y": y,
        "u": u,
        "ystar": v.decision_threshold_bq,
        "yhash": v.detection_limit_bq,
        "detected": v.detected,
        "lower95": v.lower_bound_bq,
        "upper95": v.upper_bound_bq,
        "z_background": v.z_background,
        "low_counts": v.low_counts,
        "outcome": v.outcome,
        "finding": v.finding,
        "iso_one_sided_upper95": one_sided,
    }


def _limit(i: Row) -> Limit:
    return Limit(i["limit_Bq"], "reaches" if i["limit_reached_is_fail"] else "exceeds")


def cert(i: Row) -> Row:
    reported = Reported(
        activity_bq=i.get("y_Bq"),
        expanded_uncertainty_bq=i.get("U_Bq"),
        coverage_factor=i.get("k"),
        less_than_bq=i.get("less_than_Bq"),
    )
    v = judge(reported, _limit(i), nuclide="Cs-137").value
    return {
        "lower95": v.lower_bound_bq,
        "upper95": v.upper_bound_bq,
        "outcome": v.outcome,
        "finding": v.finding,
    }


def time(i: Row) -> Row:
    seconds = counting.counting_time(i["target_Bq"], i["r_bkg_cps"], _weight(i), i["k"])
    return {"time_s": seconds}


def check(i: Row) -> Row:
    found = counting.check_reading(
        Estimate(i["now_net"], 0.0), i["ref_net"], i["days"], i["T_half_d"], i["tolerance"]
    )
    return {
        "expected": found.expected_per_s,
        "deviation": found.deviation,
        "within": found.state == "within",
    }


def rate(i: Row) -> Row:
    if "wait_s" in i:
        return {"fraction": counting.settled_fraction(i["wait_s"], i["tau_s"])}
    if "r_cps" in i:
        reading = counting.ratemeter(i["r_cps"], i["tau_s"], i.get("resolution_cps", 0.0))
        return {"u_cps": reading.u, "u_rel": reading.u_rel}
    gross = counting.ratemeter_count(i["r_gross_cps"], i["tau_s"])
    pair = Pair(gross, counting.ratemeter_count(i["r_bkg_cps"], i["tau_s"]))
    w = _weight(i)
    y = counting.activity(pair, w)
    return {
        "y": y.value,
        "u": y.u,
        "ystar": counting.decision_threshold(pair, w),
        "yhash": counting.detection_limit(pair, w),
    }


def mixture(i: Row) -> Row:
    return {"gross_limit": forms.mixture_limit(i["fractions"], i["limits"])}


RUNNERS: dict[str, Callable[[Row], Row]] = {
    "NET": net, "EFF": eff, "LIM": lim, "MDC": mdc, "ISO": iso, "ZERO": zero, "DEC": dec,
    "CERT": cert, "TIME": time, "RATE": rate, "SUM": mixture, "CHECK": check,
}  # fmt: skip


def agrees(found: Any, wanted: Any, tolerance: Row) -> bool:
    if wanted is None or isinstance(wanted, bool | str) or tolerance.get("exact"):
        return bool(found == wanted)
    rel, absolute = tolerance.get("rel", 0.0), tolerance.get("abs", 0.0)
    # A relative tolerance says nothing at zero.
    absolute = absolute or (1e-12 if wanted == 0 else 0.0)
    return math.isclose(found, wanted, rel_tol=rel, abs_tol=absolute)


@pytest.mark.parametrize("row", MINE, ids=lambda row: row["id"])
def test_gives_the_published_values(row: Row) -> None:
    found = RUNNERS[row["topic"]](row["inputs"])
    for key, wanted in row["expected"].items():
        tolerance = row["tolerance"].get(key, row["tolerance"].get("default"))
        assert agrees(found[key], wanted, tolerance), (key, found[key], wanted, row["source"])


def test_leaves_no_row_unrun() -> None:
    others = {row["id"] for row in ROWS if row not in MINE and row["topic"] != "UNIT"}
    assert others == ELSEWHERE
    assert len({row["id"] for row in MINE}) == len(MINE) == 63
