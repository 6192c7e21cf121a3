"""The register of leak tests by a day, a second time, from the texts of the records."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from tests.oracle.told import OUTCOMES, UNFIT, about, acceptance, called, counts, told, where

WAYS = {
    "counts": "counted here",
    "reported": "reported by a laboratory",
    "declared": "declared without figures",
}
COMPARATORS = {
    "reaches": "reaching the limit fails",
    "exceeds": "only more than the limit fails",
    None: "",
}
HEADS = (
    *("Record", "Wiped", "Code", "Source", "Where", "Nuclide", "How the result came"),
    *("Activity on the wipe (Bq)", "Standard uncertainty (Bq)", "Decision threshold (Bq)"),
    *("Detection limit (Bq)", "Upper bound (95 %) (Bq)", "Limit (Bq)", "Comparator", "Outcome"),
    *("Relied on", "Accepted by", "Accepted on", "Sampled by", "Counted by", "Counted on"),
    *("Laboratory", "Report", "Reported on", "Declared by", "Counter", "Calibration (record)"),
    *("Calibrated on", "Certificate", "Schedule", "Entered by", "Entered on"),
)
FIGURES = {
    "Activity on the wipe (Bq)": "activity_bq",
    "Standard uncertainty (Bq)": "standard_uncertainty_bq",
    "Decision threshold (Bq)": "decision_threshold_bq",
    "Detection limit (Bq)": "detection_limit_bq",
    "Upper bound (95 %) (Bq)": "upper_bound_bq",
    "Limit (Bq)": "limit_bq",
}


def rows(
    site: Any, day: date, known: datetime | None = None, since: date | None = None
) -> list[dict[str, str]]:
    """One line for every result of every wipe by the day, corrected ones among them."""
    all_told = told(site, known)
    first = since or date.min
    wipes = [
        one
        for one in all_told
        if first <= one["day"] <= day
        and (one["kind"] == "leak_test" or _has_no_result(one, all_told, day))
    ]
    wipes.sort(key=lambda one: (one["day"], one["effective_time"] or "99", int(one["seq"])))
    out = []
    for one in wipes:
        if one["kind"] == "leak_test":
            out += [_line(one, point, all_told, day) for point in one["points"]]
        else:
            out += [_away(one, item["item"], all_told, day) for item in one["items"]]
    return out


def _has_no_result(one: Any, all_told: Any, day: date) -> bool:
    """A wipe that went to a laboratory and of which no standing result is there by the day."""
    if one["kind"] != "wipe_sent":
        return False
    ended = [other["kind"] for other in _ending(one, all_told, day)]
    return "leak_test" not in ended


def _ending(one: Any, all_told: Any, day: date) -> list[Any]:
    link = {"seq": one["seq"], "role": "completes"}
    return [
        other
        for other in all_told
        if link in other["links"] and other["live"] and other["day"] <= day
    ]


def _away(one: Any, code: str, all_told: Any, day: date) -> dict[str, str]:
    given_up = _ending(one, all_told, day)
    relied = "satisfies nothing" if given_up else ""
    outcome = "given up" if given_up else "result awaited"
    if not one["live"]:
        newer = next(other for other in all_told if other["replaces"] == one["seq"])
        relied, outcome = f"no: corrected by record {newer['seq']}", "result awaited"
    found = {
        "Record": one["seq"],
        "Wiped": one["day"].isoformat(),
        "Code": code,
        "Source": called(code, all_told, one["day"]),
        "Where": where(about(code, all_told), all_told, one["day"]) or "not on site",
        "How the result came": "sent to a laboratory",
        "Outcome": outcome,
        "Relied on": relied,
        "Sampled by": one["performed_by"],
        "Laboratory": one["detail"]["laboratory_name"],
        "Entered by": one["recorded_by"]["name"],
        "Entered on": one["entered_on"].isoformat(),
    }
    return {head: found.get(head, "") for head in HEADS}


def _line(one: Any, point: Any, all_told: Any, day: date) -> dict[str, str]:
    detail, verdict, wiped = one["detail"], point["verdict"], one["day"]
    code = point["item"]
    return {
        "Record": one["seq"],
        "Wiped": wiped.isoformat(),
        "Code": code,
        "Source": called(code, all_told, wiped),
        "Where": where(about(code, all_told), all_told, wiped) or "not on site",
        "Nuclide": point["nuclide"] or "",
        "How the result came": WAYS[detail["way"]],
        **{head: verdict[name] or "" for head, name in FIGURES.items()},
        "Comparator": COMPARATORS[verdict["comparator"]],
        "Outcome": OUTCOMES[verdict["outcome"]],
        "Relied on": _relied(one, code, all_told, day),
        **_accepted(one, all_told, day),
        "Sampled by": one["performed_by"],
        "Counted by": detail.get("counted_by") or "",
        "Counted on": detail.get("counted_on") or "",
        "Laboratory": detail["laboratory"],
        "Report": detail.get("report") or "",
        "Reported on": detail.get("reported_on") or "",
        "Declared by": detail.get("declared_by") or "",
        **_counter(one, all_told),
        "Schedule": "{title}, version {version}".format(**detail["schedule"]),
        "Entered by": one["recorded_by"]["name"],
        "Entered on": one["entered_on"].isoformat(),
    }


def _relied(one: Any, code: str, all_told: Any, day: date) -> str:
    item = next(item for item in one["items"] if item["item"] == code)
    if not one["live"]:
        newer = next(other for other in all_told if other["replaces"] == one["seq"])
        said = f"no: corrected by record {newer['seq']}"
    elif not item["fit"]:
        said = f"no: {UNFIT[item['unfit_because'].removeprefix('counter_calibration_')]}"
    elif item["outcome"] == "fail":
        said = "acts at once"
    elif item["outcome"] != "pass":
        said = "satisfies nothing"
    else:
        said = "yes" if counts(one, item, all_told, day) else "no: entered, not accepted"
    accuses = item["accuses"] and item["outcome"] != "fail"
    return said + (", accuses: act as on a leak" if accuses else "")


def _accepted(one: Any, all_told: Any, day: date) -> dict[str, str]:
    if one["accepted_by"]:
        name, on = one["accepted_by"]["name"], one["entered_on"]
        return {"Accepted by": name, "Accepted on": on.isoformat()}
    later = acceptance(one, all_told, day)
    if later is None:
        return {"Accepted by": "", "Accepted on": ""}
    return {"Accepted by": later["recorded_by"]["name"], "Accepted on": later["effective_on"]}


def _counter(one: Any, all_told: Any) -> dict[str, str]:
    counter, calibration = "", {"seq": "", "effective_on": "", "detail": {"certificate": ""}}
    if one["instrument"]:
        counted = date.fromisoformat(one["detail"]["counted_on"])
        counter = called(one["instrument"], all_told, counted)
    if one["detail"]["calibration"]:
        calibration = next(
            other for other in all_told if other["seq"] == one["detail"]["calibration"]
        )
    return {
        "Counter": counter,
        "Calibration (record)": calibration["seq"],
        "Calibrated on": calibration["effective_on"],
        "Certificate": calibration["detail"]["certificate"],
    }
