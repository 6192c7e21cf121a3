"""The words that sites use over their columns, by kind of list: common practice, no source.

A phrase is a set of plain words; ``heads`` makes plain words of what stands over a column
(``Ser. No.`` and ``S/N`` are ``serial``). ``-`` marks columns that are known and not used, because
the register works them out itself.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

#: Known columns that nothing is taken from.
UNUSED: Final = "-"

#: How one word is written; ``no`` stands for every way to say number, tag or identity.
WORDS: Final[Mapping[str, str]] = {
    word: plain
    for plain, words in {
        "serial": "ser sn s/n serialno serialnr serialnumber",
        "no": "nr number num numbers # id ident identity identifier nummer nos",
        "nuclide": "isotope radionuclide radioisotope nuclides isotopes radionuclides nuklid",
        "activity": "act activities aktivitat",
        "reference": "ref",
        "calibration": "cal calib calibrated calibrations",
        "certificate": "cert certif cert. certificates",
        "maker": "manufacturer mfr mfg manuf make manufacturers brand",
        "model": "modell mod models",
        "location": "loc locations",
        "background": "bkg bkgd bg bgd backgr blank",
        "laboratory": "lab labs laboratories",
        "remark": "remarks comment comments note notes observations bemerkung",
        "wipe": "swipe swab smear wipes wiped swabs smears",
        "date": "day dated datum",
        "test": "tests tested testing tst",
        "count": "counted counting",
        "counts": "cts",
        "instrument": "instr instruments meter survey-meter",
        "monitor": "monitors",
        "received": "recvd rcvd recd receipt arrived arrival delivered delivery",
        "uncertainty": "uncert unc +/- ± error",
        "efficiency": "eff effic efficiencies yield",
        "leak": "leaktest leakage leaks",
        "gauge": "gage gauges gages",
        "device": "devices equipment equip",
        "housing": "holder shield container housings",
        "certified": "stated",
        "sample": "sampled sampling samples",
        "minutes": "min mins minute",
        "result": "results",
        "detection": "detectable",
        "quantity": "qty quant",
        "analysed": "analyzed analysis analyst",
        "source": "sources",
        "gross": "brutto",
        "supplier": "vendor supplied distributor",
        "approved": "accepted",
        "type": "typ kind",
        "expires": "expiry expiration expire",
    }.items()
    for word in words.split()
}

#: Words that change nothing.
STOP: Final = frozenset(
    {
        *("of", "the", "in", "at", "on", "for", "to", "a", "an", "is", "was", "were", "be"),
        *("our", "this", "with", "per", "and", "or", "from", "as", "if"),
    }
)

_IDENTITY: Final = {
    "nuclide": "nuclide|nuclide source|source nuclide|nuclide name|nuclide symbol",
    "serial": "serial|serial no|source serial|source serial no|source no|capsule no|"
    "capsule serial|source|item|sealed source|sealed source no|plate no|source tag",
    "gauge": "gauge|gauge no|gauge tag|device|device no|device tag|housing|housing no|tag|tag no|"
    "instrument tag|gauge name|loop tag|position tag",
    "place": "location|area|building|room|place|department|site area|plant area|position|where|"
    "bay|hall|storage|storage location|plant|unit area|floor|line|section|kept|where kept|kept at",
    "maker": "maker|source maker|maker source",
    "model": "model|type|model type|model no|type no|source model|source type|capsule|"
    "capsule type|capsule model|design|maker model|catalogue no",
    "remark": "remark|remark special|further information|information",
    "status": "status|condition|state|use|source status|disposition",
}

_WIPE: Final = {
    "wiped_on": "wipe date|wipe|last wipe|last wipe date|leak test date|last leak test|leak test|"
    "last leak test date|last test date|test date|last test|wipe taken|wipe test date|wipe test|"
    "last wipe test",
    "result": "result|test result|wipe result|last wipe result|leak test result|last result|"
    "last test result|removable activity|leak activity|wipe activity|wipe reading|last leak test "
    "result|last leak test activity|wipe test result|measured activity|activity found|"
    "removable contamination|activity wipe|contamination",
    "uncertainty": "uncertainty|wipe uncertainty|last wipe uncertainty|result uncertainty|u|"
    "expanded uncertainty|uncertainty k=2",
    "claimed": "pass fail|pass|ok|passed|verdict|outcome|leak test pass fail|wipe pass fail|"
    "test pass fail|result pass fail|assessment|conclusion|last test ok|leak test ok|ok?|"
    "last leak test pass fail",
    "leaking": "leak|leaking|leaking yes no|leak yes no|leak found",
    "wiped_by": "wipe by|last wipe by|test by|leak test by|taken by|sample by|last test by|by|"
    "last leak test by|tester|wiper|performed by|done by|technician|inspector|operator",
    "laboratory": "laboratory|laboratory name|analysed by|testing body|test laboratory|"
    "test house|contractor|agency|analysis laboratory|reported by|analysing laboratory",
    "report": "report|report no|laboratory report|laboratory reference|laboratory no|"
    "test report|laboratory report no",
    "detection_limit": "mda|mdl|lld|detection limit|minimum detection activity|lod|dl|"
    "limit detection|mdc",
    "counter": "counter|counter no|count instrument|counter used|count with|instrument|"
    "instrument no|instrument used|monitor|monitor no|counter tag|monitor used|counter serial",
    "gross": "gross counts|gross|counts|sample counts|gross count|total counts|wipe counts|"
    "gross cpm|gross cps|sample cpm|sample count|wipe count|cpm|cps|counts sample",
    "background": "background counts|background|background count|background cpm|background cps",
    "seconds": "count time|time|gross time|sample time|count duration|sample count time|"
    "gross count time|count period|time count|count length",
    "background_seconds": "background time|background count time|background duration",
    "counted_on": "count on|count date|analysed date|measured date|measured on|analysed|"
    "laboratory date|date measurement|date count",
    "counted_by": "count by|counter person|measured by",
}

_NEVER: Final = (
    "next due|due|due date|next test|next test due|next wipe|next wipe due|next leak test|"
    "next leak test due|leak test due|wipe due|test due|frequency|interval|leak test interval|"
    "wipe interval|test frequency|months|overdue|days left|days overdue|next date|next check"
)
_COMPUTED: Final = (
    "current activity|activity today|activity now|present activity|decayed activity|"
    "half life|t1/2|category|d value|a d|activity d|remaining activity|decay factor|age|"
    "net cpm|net counts|net cps|net|net count|net rate|row|line no|item no|s no|no|#|permit|"
    "licence|"
    "permitted activity|maximum activity|licensed activity|max activity|limit|action level|"
    "signature|initials|approved by|checked by|photo"
)

_SOURCES: Final = {
    **_IDENTITY,
    "activity": "activity|original activity|nominal activity|initial activity|certified activity|"
    "source strength|strength|activity quantity|activity source|reference activity|"
    "activity certificate",
    "activity_unit": "activity unit|unit|units",
    "reference": "reference date|activity date|assay date|assay|reference|calibration activity "
    "date|calibration date|date activity|reference date activity|"
    "activity date certificate|activity measured date|assayed|assayed date",
    "serial_why": "serial unknown because|serial unknown why|why serial unknown",
    "housing_serial": "housing serial|gauge serial|device serial|housing serial no|"
    "gauge serial no|device serial no",
    "gauge_model": "gauge model|gauge type|device model|device type|housing type|housing model|"
    "gauge maker model",
    "received": "received|received date|date received|received on|acquired|acquisition date|"
    "installed|installation date|date installed|in service|in service since|purchase date|"
    "purchased|date purchase|installed on",
    "supplier": "supplier|bought|source supplier|supplier name",
    "certificate_on": "certificate date|leak certificate date|maker certificate date|"
    "leak test certificate date|certificate leak test date|date certificate",
    "certificate": "certificate|certificate no|source certificate|source certificate no|"
    "special form certificate|special form|iso class|source certificate number",
    "quantity": "quantity|source quantity|pieces",
    "result_unit": "result unit|wipe unit|wipe result unit",
    **{name: phrases for name, phrases in _WIPE.items() if name != "result"},
    "result": _WIPE["result"],
    UNUSED: f"{_NEVER}|{_COMPUTED}",
}
_SOURCES["counter"] = "counter|counter no|counter used|counter tag|count instrument"
_SOURCES["gross"] = "gross counts|gross|counts|gross cpm|wipe counts|sample counts|cpm"

_WIPES: Final = {
    "nuclide": _IDENTITY["nuclide"],
    "serial": _IDENTITY["serial"] + "|source wipe|source tested",
    "gauge": _IDENTITY["gauge"],
    "place": _IDENTITY["place"],
    "maker": _IDENTITY["maker"],
    "model": _IDENTITY["model"],
    "remark": _IDENTITY["remark"],
    **_WIPE,
    "wiped_on": _WIPE["wiped_on"] + "|date|sample date|date sample|date taken|sample on|test on",
    "result": _WIPE["result"] + "|activity|dpm|bq|wipe bq|activity measured|result activity",
    "result_unit": "unit|units|result unit|activity unit",
    "nominal": "nominal activity|source activity|activity source|original activity",
    UNUSED: f"{_NEVER}|{_COMPUTED}|sample no|wipe no|efficiency|sample|laboratory sample no|"
    "count efficiency|count efficiency factor",
}

_CALIBRATED: Final = {
    "calibrated_on": "calibration date|calibration|calibration on|last calibration|"
    "date calibration|last calibration date|calibration certificate date",
    "valid_until": "valid until|calibration valid until|expires|expires date|valid to|"
    "certificate valid until|certificate expires|calibration expires",
    "certificate": "certificate|certificate no|calibration certificate|"
    "calibration certificate no|calibration no|calibration report",
    "laboratory": "laboratory|calibration by|calibration laboratory|calibration house|"
    "calibration agency|test house|calibration place",
    "passed": "result|pass fail|pass|ok|verdict|outcome|calibration result|as left|"
    "within tolerance|"
    "calibration ok|calibration pass fail|passed",
    "remark": _IDENTITY["remark"],
    "nuclide": "efficiency nuclide|nuclide|reference source|reference nuclide",
    "efficiency": "efficiency|count efficiency|response|detector efficiency",
}
_MONITOR_TAG: Final = (
    "tag|tag no|instrument|instrument no|monitor|monitor no|asset|asset no|device no|no|"
    "instrument tag|monitor tag|counter|counter no|device|instrument name|monitor name|"
    "asset tag|unit|item"
)
_MONITORS: Final = {
    "tag": _MONITOR_TAG,
    "serial": "serial|serial no|instrument serial|instrument serial no|monitor serial",
    "monitor_kind": "type|instrument type|monitor type|use|description|used|instrument "
    "description|measures|purpose|function",
    "maker": "maker|instrument maker",
    "model": "model|model no|maker model|instrument model|rate meter|ratemeter|rate unit",
    "probe": "probe|probe model|detector|probe type|detector type|probe no|probe serial",
    "place": _IDENTITY["place"] + "|kept|stored|kept in",
    "received": "received|received on|purchased|received date|in service|purchase date",
    "status": "status|condition",
    **_CALIBRATED,
    UNUSED: "calibration due|due|next due|next calibration|next calibration due|due date|interval|"
    "calibration interval|months|overdue|calibration due date|battery|"
    "quantity|range|signature|issued to|user|responsible",
}
_CALIBRATIONS: Final = {
    "tag": _MONITOR_TAG + "|monitor calibration",
    "serial": _MONITORS["serial"],
    "maker": "maker",
    "model": "model|model no|maker model",
    **_CALIBRATED,
    "calibrated_on": _CALIBRATED["calibrated_on"] + "|date|done on",
    UNUSED: _MONITORS[UNUSED],
}
_GAUGES: Final = {
    "tag": "gauge|gauge no|gauge tag|tag|tag no|device|device no|device tag|housing|housing no|no|"
    "gauge name|loop tag|item|position tag",
    "place": _IDENTITY["place"],
    "maker": "maker|gauge maker|device maker",
    "model": "model|type|gauge model|gauge type|device type|model no|device model",
    "housing_serial": "housing serial|housing serial no|serial|serial no|gauge serial|"
    "gauge serial no|device serial",
    "whom_to_ask": "whom ask|contact|ask|control room|call before closing|call before close|"
    "responsible|contact before closing|owner|call first",
    "received": "received|received on|received date|installed|installed on|installation date|"
    "date installed|in service",
    "status": "status|condition|state",
    "remark": _IDENTITY["remark"],
    UNUSED: "shutter check|shutter check date|last shutter check|next shutter check|survey|"
    "shutter|mounting|process|vessel|drawing|next due|due|medium",
}


_WORD: Final = re.compile(r"t1/2|s/n|\+/-|k=2|[^\W\d_]+|#|±|%|\d+")


def plain_words(text: str) -> frozenset[str]:
    """The words of a head that matter, each in its plain form; an ``on`` at the end is a date."""
    found = _WORD.findall(text.replace("_", " ").lower())
    if len(found) > 1 and found[-1] == "on":
        found[-1] = "date"
    plain = (WORDS.get(word, word) for word in found)
    return frozenset(word for word in plain if word not in STOP and not word.isdigit())


def _table(phrases: Mapping[str, str]) -> dict[str, tuple[frozenset[str], ...]]:
    return {
        name: tuple(plain_words(phrase) for phrase in text.split("|"))
        for name, text in phrases.items()
    }


#: Kind of list -> field -> the phrases that name it.
PHRASES: Final[Mapping[str, Mapping[str, tuple[frozenset[str], ...]]]] = {
    "sources": _table(_SOURCES),
    "wipes": _table(_WIPES),
    "monitors": _table(_MONITORS),
    "calibrations": _table(_CALIBRATIONS),
    "gauges": _table(_GAUGES),
}
#: Fields that say what was done, and words of a head beside which nothing was: it is to be done, or
#: somebody says what it may show.
EVIDENCE: Final = frozenset({*_WIPE, "calibrated_on", "passed"})
NOT_YET: Final = frozenset(
    {
        *("due", "next", "expires", "valid", "until", "planned", "plan", "scheduled", "schedule"),
        *("deadline", "target", "required", "future", "coming", "upcoming", "overdue", "interval"),
        *("frequency", "retest", "limit", "permitted", "allowed", "tolerance", "criterion"),
        *("criteria", "reminder"),
    }
)
#: Without these a row of the list says nothing; one of each group must be there.
NEEDED: Final[Mapping[str, tuple[tuple[str, ...], ...]]] = {
    "sources": (("nuclide",),),
    "wipes": (("wiped_on",), ("result", "claimed", "leaking", "gross"), ("serial", "gauge")),
    "monitors": (("tag", "serial"),),
    "calibrations": (("tag", "serial"), ("calibrated_on",)),
    "gauges": (("tag",),),
}
#: Heads of the shipped template, whatever else they could mean.
TEMPLATE: Final[Mapping[str, str]] = {
    "reference_date": "reference",
    "serial_unknown_because": "serial_why",
    "received_on": "received",
    "last_wipe_on": "wiped_on",
    "last_wipe_result": "result",
    "last_wipe_uncertainty": "uncertainty",
    "last_wipe_by": "wiped_by",
}
