"""What a rule set may say: frozen data, a closed table of conditions, no expressions.

Conditions of one row are joined by AND; OR is a second row. Rows of one requirement that hold on a
day are weighed by ``inventory.rules.strictest``; ``inventory.calc.due`` turns them into dates.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from inventory.calc.explain import Cite, Scalar
from inventory.calc.stays import KEEPINGS, WHEREABOUTS

LEAK_TEST, CALIBRATION = "leak_test", "calibration"
ACCOUNTING, MISSING = "accounting_check", "missing"
#: The requirements there are: kind of subject, kind of record that can satisfy it. A record of a
#: check says by the name of the requirement what it is a check of.
REQUIREMENTS: dict[str, tuple[str, str]] = {
    LEAK_TEST: ("source", "leak_test"),
    ACCOUNTING: ("source", ACCOUNTING),
    "working_life": ("source", "working_life"),
    "special_form": ("source", "special_form"),
    "shutter_check": ("gauge", "shutter_check"),
    "label_check": ("gauge", "label_check"),
    "dose_survey": ("gauge", "dose_survey"),
    "device_inspection": ("gauge", "device_inspection"),
    CALIBRATION: ("monitor", "calibration"),
    "function_check": ("monitor", "function_check"),
    "check_device_reading": ("monitor", "check_device_reading"),
    "area_survey": ("location", "area_survey"),
    "contamination_survey": ("location", "contamination_survey"),
    "store_check": ("location", "store_check"),
    "local_rules_review": ("site", "local_rules_review"),
    "risk_assessment_review": ("site", "risk_assessment_review"),
    "contingency_rehearsal": ("site", "contingency_rehearsal"),
    "stock_report": ("site", "stock_report"),
    "permit_validity": ("permit", "permit_validity"),
    "appointment": ("person", "appointment"),
    "training": ("person", "training"),
}
#: Kinds of requirement that a site defines itself begin with this.
OWN = "own-"
#: The kind of record after which the result that satisfies a requirement is awaited.
AWAITED_AFTER: dict[str, str] = {LEAK_TEST: "wipe_sent"}
#: Other records that tell against a requirement of a subject: a source reported missing.
#: Requirements that a paper answers, wherever the thing itself is.
ON_PAPER = ("working_life", "special_form")
ACCUSED_BY: dict[str, tuple[str, ...]] = {ACCOUNTING: (MISSING,)}

#: What a source is used for; a row for radiography must not hold for a gauge.
USES = (
    *("gauge", "portable_gauge", "check_source", "static_eliminator", "radiography"),
    *("well_logging", "energy_compensation", "medical", "irradiator", "shielding", "other"),
)
#: What happens to a thing and calls for a test at once.
HAPPENINGS = ("damage", "capsule_work", "repair", "servicing", "end_of_use", "relocation")
#: Traits that a condition may ask for, and the type of its value.
CONDITIONS: dict[str, type] = {
    "gas": bool,
    "alpha_emitter": bool,
    "neutron_source": bool,
    "nuclide": str,
    "use": str,
    "in_device": bool,  # inside a gauge, installed or stored with it
    "portable": bool,  # the gauge, or the gauge that the source is in
    "whereabouts": str,
    "keeping": str,
    "inaccessible": bool,
    "visiting": bool,  # a contractor's, from a day until a day
    "type_approved": bool,
    "required_by_law": bool,
    "presence_only": bool,
    "detects_leak_in_water": bool,
    "monitor_kind": str,
    "radiation": str,  # what a monitor can measure
    "place_kind": str,
    "designation": str,
    "hass": bool,  # by the rule set's own basis
    "working_life_past": bool,
    # numbers, each with below, at_most, above or at_least
    "activity_bq": float,
    "half_life_days": float,
    "age_months": float,  # since it was made, or since the reference date of its activity
    "kept_months": float,  # since it was received
    "quotient": float,  # activity by the value of a nuclide table
    "device_quotient": float,  # the sum over every source in the same device
    "contents_beta_gamma_bq": float,  # of every source in the device that emits no alpha
    "contents_alpha_bq": float,
    "contains_only": str,  # the nuclide of every source in the device
    # a series of other records without a gap longer than so many months
    "series": str,
}
#: What a trait can be, where that is a closed list: a misspelt value would hold for nothing.
VALUES: dict[str, tuple[str, ...]] = {
    "whereabouts": WHEREABOUTS,
    "keeping": KEEPINGS,
    "use": USES,
    "monitor_kind": ("wipe_counter", "contamination", "dose_rate", "personal", "neutron"),
    "radiation": ("photon", "beta", "alpha", "neutron"),
    "place_kind": ("plant_area", "source_store", "workshop", "off_site"),
    "designation": ("none", "supervised", "controlled", "exclusion"),
    "series": tuple(REQUIREMENTS),
}
#: Conditions that change as activity decays: what such a change loosens waits for a person.
BY_DECAY = frozenset(
    {"activity_bq", "quotient", "device_quotient", "hass"}
    | {"contents_beta_gamma_bq", "contents_alpha_bq"}
)
#: Conditions that look at everything in a device together.
OF_CONTENTS = frozenset(
    {"device_quotient", "contents_beta_gamma_bq", "contents_alpha_bq", "contains_only"}
)
#: How a number is compared.
COMPARATORS = ("below", "at_most", "above", "at_least")
#: Units in which a rule set may want results of wipe tests, as ``calc.units`` spells them.
RESULT_UNITS = ("Bq", "kBq", "uCi", "nCi", "pCi", "dpm")

INTERVAL, UNTIL, ENTRY = "interval", "until", "entry"
HOLD, NOT_DECIDED, NOT_ASKED = "on_hold", "undecided", "not_required"
#: What a row can ask: a test at intervals; a date stated on the thing; a test when something
#: begins (``entry``); nothing while it is kept so (``on_hold``); a number that nobody has set;
#: nothing.
RESULTS = (INTERVAL, UNTIL, ENTRY, HOLD, NOT_DECIDED, NOT_ASKED)
#: How a row stands to others: see ``strictest``.
MODES = ("default", "replaces", "adds", "exempts", "suspends")
#: The mode of a row that does not say one.
USUAL_MODE = {HOLD: "suspends"}
#: Where an interval ends: on the anniversary, or on 31 December of the year in which the
#: anniversary falls. ``calendar_year`` is the same day said in the words of *once per year*.
#: ``same_year``: with the calendar year in which it was done, whatever its length.
ENDS = ("anniversary", "calendar_year", "end_of_year", "same_year")
#: What the next interval is counted from when a test was late.
LATE_FROM = ("test", "old_due")
#: What calls for a test: first use, use after storage, receipt, a happening, transfer.
ENTRIES = ("first_use", "after_storage", "receipt", "happening")
#: Dates of a thing that a row may name.
TRAIT_DATES = ("made_on", "working_life_until", "special_form_until", "valid_until", "quality_on")


@dataclass(frozen=True, slots=True)
class Bound:
    """A number that a trait is compared with; ``table`` names the nuclide table of a quotient,
    ``months`` the longest gap of a series."""

    comparator: str
    value: float
    table: str = ""


Wanted = Scalar | tuple[str, ...] | Bound


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a rule set for one requirement; fields that its result does not use are empty."""

    id: str
    requirement: str
    result: str
    months: int | None
    lead_days: int
    mode: str
    when: tuple[tuple[str, Wanted], ...]
    cite: Cite
    note: str = ""
    days: int | None = None  # instead of months
    ends: str = "anniversary"
    late_from: str = "test"
    unused_months: int | None = None  # unused for longer: counted from the test after all
    grace_days: int = 0
    # until: the date, or so many months after it
    trait: str = ""
    # entry
    entry: str = ""
    happenings: tuple[str, ...] = ()
    stored_months: int = 0  # after storage of at least so long
    stored_comparator: str = "at_least"
    fresh_months: int = 0  # a test is still new enough so long before
    fresh_days: int = 0
    within_days: int = 0  # done in time so many days after
    # on hold
    seen_months: int = 12  # an accounting check must have seen it there within
    ceiling_months: int | None = None  # never longer than so many months after the last test
    in_force_from: date | None = None  # of the clause
    authority: str = "template"  # or label, registration, permit, site, adviser
    loosened_because: str = ""
    decided_by: str = ""
    decided_on: date | None = None

    @property
    def interval_text(self) -> str:
        """``24 months`` or ``1 days``, for explanations; empty without a number."""
        if self.days:
            return f"{self.days} d"
        return f"{self.months} months" if self.months else ""


@dataclass(frozen=True, slots=True)
class LimitRow:
    """The limit of a wipe test: activity on the wipe, comparator, required detection limit."""

    bq: float
    comparator: str
    required_detection_bq: float
    action_fraction: float
    cite: Cite
    unit: str = "Bq"  # in which the register must state results; one of RESULT_UNITS


@dataclass(frozen=True, slots=True)
class NuclideTable:
    """A value in Bq per nuclide, and what holds for one that is not listed."""

    name: str
    title: str
    bq: Mapping[str, float]
    cite: Cite
    other_bq: float | None = None
    other_alpha_bq: float | None = None

    def value(self, nuclide: str, alpha: bool = False) -> float | None:
        """The value of a nuclide, or None where the table has none."""
        found = self.bq.get(nuclide)
        if found is not None:
            return found
        return self.other_alpha_bq if alpha else self.other_bq


#: What must be reported when ...
TRIGGERS = (
    *("leak_failed", "shutter_failed", "device_damaged", "missing", "record_wrong", "received"),
    *("transferred", "disposed", "over_exposure", "spill", "stock_at_year_end", "leak_tested"),
)


@dataclass(frozen=True, slots=True)
class ReportRow:
    """Whom to tell of what, by when. ``at_once``: before anything else; ``hours`` or ``days``
    after the event, or ``month_day`` (MM-DD) of the following year."""

    id: str
    trigger: str
    tell: str
    form: str  # telephone, written, register
    cite: Cite
    at_once: bool = False
    hours: int | None = None
    days: int | None = None
    months: int | None = None
    month_day: str = ""
    when: tuple[tuple[str, Wanted], ...] = ()
    content: tuple[str, ...] = ()
    note: str = ""


#: From what a record is kept so long. Whichever is later where a kind has several rows.
KEEP_FROM = (
    *("record", "next_record", "disposal", "employment_end", "licence_end", "series_end"),
    *("calendar_year_end", "for_ever"),
)


@dataclass(frozen=True, slots=True)
class RetentionRow:
    """How long records of a kind are kept. Nothing is ever deleted by itself."""

    id: str
    record_kind: str
    kept_from: str
    months: int
    cite: Cite
    alternative: str = ""  # group of rows of which one is enough
    notice_days: int = 0
    note: str = ""


@dataclass(frozen=True, slots=True)
class AreaRow:
    """A class of area: the quantity (rate in uSv/h, hour_dose in uSv, day_average in uSv/h,
    year_dose in mSv), how it is compared, where and over what it is measured."""

    id: str
    name: str
    quantity: str
    value: float
    comparator: str
    cite: Cite
    distance_m: float | None = None
    averaging: str = ""
    note: str = ""


AREA_QUANTITIES = ("rate", "hour_dose", "day_average", "year_dose")


@dataclass(frozen=True, slots=True)
class ContaminationRow:
    """A level of surface contamination, with its purpose."""

    id: str
    purpose: str  # transport, designation, release
    nuclides: str  # the class in words: beta_gamma, alpha, low_toxicity_alpha, ...
    kind: str  # removable, fixed, total
    value: float
    unit: str  # Bq/cm2, dpm/100cm2
    comparator: str
    cite: Cite
    averaging_cm2: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class MonitorRow:
    """What a calibration or a check of a monitor must show: largest error, in per cent."""

    id: str
    applies_to: str  # calibration or function_check
    tolerance_percent: float
    comparator: str  # within: at_most or below
    cite: Cite
    when: tuple[tuple[str, Wanted], ...] = ()
    qualified_person: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Basis:
    """What else a rule set decides once for all its rows."""

    activity_on: str = "day"  # or reference: as stated on the certificate
    working_life_months: int | None = None
    working_life_cite: Cite | None = None
    category_scheme: str = "iaea"
    hass_on: str = "day"  # or manufacture
    hass_comparator: str = "at_least"
    hass_table: str = ""  # a nuclide table; empty: the HASS value of the nuclide itself
    hass_cite: Cite | None = None
    pickup_fraction: float | None = None
    wipe_area_cm2: float | None = None


@dataclass(frozen=True, slots=True)
class OwnKind:
    """A kind of requirement that a site defines itself."""

    name: str  # own-...
    title: str
    subject: str


@dataclass(frozen=True, slots=True)
class RuleSet:
    """A released version of a rule set; ``sha256`` is that of its file."""

    id: str
    version: int
    title: str
    sha256: str
    rows: tuple[Row, ...]
    leak_limit: LimitRow
    note: str = ""
    tables: Mapping[str, NuclideTable] = field(default_factory=dict)
    reports: tuple[ReportRow, ...] = ()
    retention: tuple[RetentionRow, ...] = ()
    areas: tuple[AreaRow, ...] = ()
    contamination: tuple[ContaminationRow, ...] = ()
    monitors: tuple[MonitorRow, ...] = ()
    basis: Basis = Basis()
    words: Mapping[str, str] = field(default_factory=dict)  # supervisor, accounting_check, ...
    own_kinds: tuple[OwnKind, ...] = ()
    _rows: Mapping[str, tuple[Row, ...]] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """The rows of each requirement: asked for once per thing and day."""
        found: dict[str, tuple[Row, ...]] = {}
        for row in self.rows:
            found[row.requirement] = (*found.get(row.requirement, ()), row)
        object.__setattr__(self, "_rows", found)

    @property
    def name(self) -> str:
        """How documents name it."""
        return f"{self.title}, version {self.version}"

    def rows_for(self, requirement: str) -> tuple[Row, ...]:
        """The rows of one requirement, in the order of the file."""
        return self._rows.get(requirement, ())

    def subject_of(self, requirement: str) -> str:
        """The kind of item that a requirement is about; empty for an unknown one."""
        if requirement in REQUIREMENTS:
            return REQUIREMENTS[requirement][0]
        return next((one.subject for one in self.own_kinds if one.name == requirement), "")

    @property
    def requirements(self) -> tuple[str, ...]:
        """The requirements that it says something about, in the order of its rows."""
        return tuple(self._rows)
