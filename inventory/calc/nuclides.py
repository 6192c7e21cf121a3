"""The nuclide table: what is known about each nuclide, and how people write its name.

A blank in the table is unknown and stays unknown (None); ``unlimited`` means that no value exists.
"""

from __future__ import annotations

import csv
import difflib
import math
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from .decay import DAYS_PER_YEAR
from .errors import DomainError
from .explain import Scalar

FIXTURE: Final = Path(__file__).resolve().parents[2] / "fixtures" / "nuclides.csv"

#: Days in each unit of a half-life.
UNIT_DAYS: Final = {"y": DAYS_PER_YEAR, "d": 1.0, "h": 1 / 24}

KINDS: Final = ("nuclide", "source assembly", "material")


@dataclass(frozen=True, slots=True)
class NuclideData:
    """One row of the nuclide table; units stand in the names, sources beside the values."""

    name: str
    aliases: tuple[str, ...]
    element: str
    kind: str
    main_use_emission: str
    alpha_emitter: bool
    neutron_source: bool
    gas: bool
    half_life: float
    half_life_unit: str
    half_life_uncertainty: float | None
    half_life_days: float
    half_life_source: str
    daughters: tuple[tuple[str, float], ...]
    d_tbq: float | None
    d_unlimited: bool
    d_source: str
    hass_tbq: float | None
    hass_unlimited: bool
    hass_source: str
    exempt_bq: float | None
    exempt_source: str
    cfr37_category_1_tbq: float | None
    cfr37_category_2_tbq: float | None
    a1_tbq: float | None
    a1_unlimited: bool
    a2_tbq: float | None
    a2_unlimited: bool
    a_source: str
    h10_usv_m2_per_gbq_h: float | None
    air_kerma_ugy_m2_per_gbq_h: float | None
    gamma_constant_source: str
    neutrons_low_per_s_per_gbq: float | None
    neutrons_high_per_s_per_gbq: float | None
    wipe_counting: str
    typical_uses: str
    caveat: str
    notes: str

    @property
    def most_counts_per_decay(self) -> float:
        """The most counts that one decay of the parent can give: each daughter counts once."""
        return 1 + math.fsum(ratio for _, ratio in self.daughters)

    @property
    def category_d_tbq(self) -> float | None:
        """D in TBq as a basis for a category: a value known from memory only is none."""
        return None if "from memory" in self.d_source else self.d_tbq


# --- the file ------------------------------------------------------------------------------


def read_nuclides(path: Path | None = None) -> dict[str, NuclideData]:
    """The nuclide table by name, each row checked; ``path`` defaults to the shipped file.

    Raises DomainError nuclide_column_missing {column}, nuclide_row_bad {row, column, text},
    nuclide_name_twice {row, text}. ``row`` is the line of the file.
    """
    table: dict[str, NuclideData] = {}
    seen: set[str] = set()
    with (path or FIXTURE).open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file)
        for cells in rows:
            nuclide = _nuclide(_Row(rows.line_num, cells))
            names = {_loose(name) for name in (nuclide.name, *nuclide.aliases)}
            if names & seen:
                values: dict[str, Scalar] = {"row": rows.line_num, "text": nuclide.name}
                raise DomainError("nuclide_name_twice", values)
            seen |= names
            table[nuclide.name] = nuclide
    return table


def nuclide_from_cells(cells: Mapping[str, str | None]) -> NuclideData:
    """One nuclide from the cells of its row (column head: text). Raises as ``read_nuclides``."""
    return _nuclide(_Row(0, cells))


@dataclass(frozen=True, slots=True)
class _Row:
    """The cells of one line, read by kind of value; a bad cell is named by row and column."""

    number: int
    cells: Mapping[str, str | None]

    def text(self, column: str) -> str:
        if self.cells.get(column) is None:
            raise DomainError("nuclide_column_missing", {"column": column, "row": self.number})
        return str(self.cells[column]).strip()

    def bad(self, column: str) -> DomainError:
        text = self.text(column)
        values: dict[str, Scalar] = {"row": self.number, "column": column, "text": text}
        return DomainError("nuclide_row_bad", values, field=column)

    def checked(self, column: str, good: Callable[[str], bool] = bool) -> str:
        if not good(self.text(column)):
            raise self.bad(column)
        return self.text(column)

    def yes(self, column: str) -> bool:
        return self.checked(column, ("yes", "no").__contains__) == "yes"

    def number_or_none(self, column: str) -> float | None:
        if not self.text(column):
            return None
        try:
            value = float(self.text(column))
        except ValueError:
            raise self.bad(column) from None
        if not (math.isfinite(value) and value > 0):
            raise self.bad(column)
        return value

    def limit(self, column: str) -> tuple[float | None, bool]:
        """A value in TBq and whether none exists (``unlimited``); blank is unknown."""
        if self.text(column) == "unlimited":
            return None, True
        return self.number_or_none(column), False

    def required(self, column: str) -> float:
        value = self.number_or_none(column)
        if value is None:
            raise self.bad(column)
        return value

    def parts(self, column: str) -> list[str]:
        return [part.strip() for part in self.text(column).split(";") if part.strip()]


def _nuclide(row: _Row) -> NuclideData:
    d_tbq, d_unlimited = row.limit("D_TBq")
    hass_tbq, hass_unlimited = row.limit("HASS_TBq")
    a1_tbq, a1_unlimited = row.limit("A1_TBq")
    a2_tbq, a2_unlimited = row.limit("A2_TBq")
    return NuclideData(
        name=row.checked("nuclide"),
        aliases=tuple(row.parts("aliases")),
        element=row.checked("element"),
        kind=row.checked("kind", KINDS.__contains__),
        main_use_emission=row.checked("main_use_emission"),
        alpha_emitter=row.yes("alpha_emitter"),
        neutron_source=row.yes("neutron_source"),
        gas=row.yes("gas"),
        half_life=row.required("half_life"),
        half_life_unit=row.checked("half_life_unit", UNIT_DAYS.__contains__),
        half_life_uncertainty=_uncertainty(row),
        half_life_days=_half_life_days(row),
        half_life_source=row.checked("half_life_source"),
        daughters=tuple(_daughters(row)),
        d_tbq=d_tbq,
        d_unlimited=d_unlimited,
        d_source=row.text("D_source"),
        hass_tbq=hass_tbq,
        hass_unlimited=hass_unlimited,
        hass_source=row.text("HASS_source"),
        exempt_bq=row.number_or_none("exempt_Bq"),
        exempt_source=row.text("exempt_source"),
        cfr37_category_1_tbq=row.number_or_none("cfr37_cat1_TBq"),
        cfr37_category_2_tbq=row.number_or_none("cfr37_cat2_TBq"),
        a1_tbq=a1_tbq,
        a1_unlimited=a1_unlimited,
        a2_tbq=a2_tbq,
        a2_unlimited=a2_unlimited,
        a_source=row.text("A_source"),
        h10_usv_m2_per_gbq_h=row.number_or_none("h10_20keV_uSv_m2_per_GBq_h"),
        air_kerma_ugy_m2_per_gbq_h=row.number_or_none("air_kerma_20keV_uGy_m2_per_GBq_h"),
        gamma_constant_source=row.text("gamma_constant_source"),
        neutrons_low_per_s_per_gbq=row.number_or_none("neutrons_low_per_s_per_GBq_from_memory"),
        neutrons_high_per_s_per_gbq=row.number_or_none("neutrons_high_per_s_per_GBq_from_memory"),
        wipe_counting=row.text("wipe_counting"),
        typical_uses=row.text("typical_uses_from_memory"),
        caveat=row.text("caveat_from_memory"),
        notes=row.text("notes"),
    )


def _uncertainty(row: _Row) -> float | None:
    """The half-life's uncertainty (k = 1), which must be in the unit of the half-life."""
    value = row.number_or_none("half_life_uncertainty")
    if value is not None and row.text("half_life_uncertainty_unit") != row.text("half_life_unit"):
        raise row.bad("half_life_uncertainty_unit")
    return value


def _half_life_days(row: _Row) -> float:
    """The half-life in days, which must be the stated value times its unit."""
    days = row.required("half_life_days")
    unit = row.checked("half_life_unit", UNIT_DAYS.__contains__)
    # Nine digits are printed in the table.
    if not math.isclose(days, row.required("half_life") * UNIT_DAYS[unit], rel_tol=1e-8):
        raise row.bad("half_life_days")
    return days


def _daughters(row: _Row) -> Iterator[tuple[str, float]]:
    """Daughters in equilibrium and their activity per activity of the parent."""
    for part in row.parts("daughters_in_equilibrium"):
        found = re.fullmatch(r"([A-Z][a-z]?-[0-9]+m?) ([0-9.]+)", part)
        if found is None:
            raise row.bad("daughters_in_equilibrium")
        yield found[1], float(found[2])


# --- names as people write them ------------------------------------------------------------

_ELEMENTS: Final = """
H hydrogen He helium Li lithium Be beryllium B boron C carbon N nitrogen O oxygen F fluorine
Ne neon Na sodium Mg magnesium Al aluminium Si silicon P phosphorus S sulfur Cl chlorine Ar argon
K potassium Ca calcium Sc scandium Ti titanium V vanadium Cr chromium Mn manganese Fe iron
Co cobalt Ni nickel Cu copper Zn zinc Ga gallium Ge germanium As arsenic Se selenium Br bromine
Kr krypton Rb rubidium Sr strontium Y yttrium Zr zirconium Nb niobium Mo molybdenum
Tc technetium Ru ruthenium Rh rhodium Pd palladium Ag silver Cd cadmium In indium Sn tin
Sb antimony Te tellurium I iodine Xe xenon Cs caesium Ba barium La lanthanum Ce cerium
Pr praseodymium Nd neodymium Pm promethium Sm samarium Eu europium Gd gadolinium Tb terbium
Dy dysprosium Ho holmium Er erbium Tm thulium Yb ytterbium Lu lutetium Hf hafnium Ta tantalum
W tungsten Re rhenium Os osmium Ir iridium Pt platinum Au gold Hg mercury Tl thallium Pb lead
Bi bismuth Po polonium At astatine Rn radon Fr francium Ra radium Ac actinium Th thorium
Pa protactinium U uranium Np neptunium Pu plutonium Am americium Cm curium Bk berkelium
Cf californium Es einsteinium Fm fermium
"""
_NAMES: Final = _ELEMENTS.split()

#: Element symbol by the symbol or the name in small letters.
_SYMBOLS: Final = {
    **{symbol.lower(): symbol for symbol in _NAMES[::2]},
    **dict(zip(_NAMES[1::2], _NAMES[::2], strict=True)),
    "cesium": "Cs",
    "aluminum": "Al",
    "sulphur": "S",
}

#: A daughter written beside its parent: the source decays with the parent.
PARENT_WITH_DAUGHTER: Final = {
    "Sr-90/Y-90": "Sr-90",
    "Cs-137/Ba-137m": "Cs-137",
    "Ge-68/Ga-68": "Ge-68",
    "Ru-106/Rh-106": "Ru-106",
    "Mo-99/Tc-99m": "Mo-99",
}

_MASS: Final = r"(?P<mass>[1-9][0-9]{0,2})"
_FORMS: Final = (
    re.compile(rf"(?P<element>[a-z]+)[ -]*{_MASS} ?(?P<m>m?)"),
    # Without the m first: 54Mn is manganese, not metastable nitrogen.
    re.compile(rf"{_MASS}[ -]*(?P<m>)(?P<element>[a-z]+)"),
    re.compile(rf"{_MASS} ?(?P<m>m)[ -]*(?P<element>[a-z]+)"),
)
_HYPHENS: Final = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-"))
_LONGEST_NAME: Final = 40


def normalise(text: str) -> str:
    """A nuclide name as the table writes it: ``137Cs``, ``Caesium 137``, ``cs137`` -> ``Cs-137``.

    ``Am-241:Be`` -> ``Am-241/Be``, ``Sr-90/Y-90`` -> ``Sr-90``. A text that is no such name comes
    back tidied, and is for ``resolve`` to refuse. Whether the nuclide exists is not asked here.
    """
    tidy = " ".join(unicodedata.normalize("NFKC", text).translate(_HYPHENS).split())
    if tidy.lower() == "tritium":
        return "H-3"
    return _one_nuclide(tidy) or _pair(tidy) or tidy


def _one_nuclide(text: str) -> str | None:
    for form in _FORMS:
        found = form.fullmatch(text.lower())
        if found and found["element"] in _SYMBOLS:
            return f"{_SYMBOLS[found['element']]}-{found['mass']}{found['m']}"
    return None


def _pair(text: str) -> str | None:
    """An (alpha,n) assembly, or a parent with its daughter."""
    if found := re.fullmatch(r"(.+?)[ /:+(-]*be(?:ryllium)?\)?", text, re.IGNORECASE):
        alpha = _one_nuclide(found[1])
        return f"{alpha}/Be" if alpha else None
    if found := re.fullmatch(r"([^/+]+)[/+]([^/+]+)", text):
        pair = f"{_one_nuclide(found[1].strip())}/{_one_nuclide(found[2].strip())}"
        return PARENT_WITH_DAUGHTER.get(pair)
    return None


def _loose(name: str) -> str:
    """A name without the signs that people leave out or swap."""
    return re.sub(r"[\s/:()-]", "", name).lower()


def resolve(text: str, table: Mapping[str, NuclideData]) -> NuclideData:
    """The nuclide that a text names, by name or alias.

    Nothing is guessed: raises DomainError nuclide_unknown {text, nearest} with the nearest name of
    the table for a person to choose.
    """
    name = normalise(text[:_LONGEST_NAME]) if len(text) <= _LONGEST_NAME else ""
    if name in table:
        return table[name]
    for nuclide in table.values():
        # A plain nuclide is read by ``normalise`` or not at all: Co-6-0 is a slip, not cobalt-60.
        spelled = nuclide.aliases + ((nuclide.name,) if nuclide.kind != "nuclide" else ())
        if name and _loose(name) in map(_loose, spelled):
            return nuclide
    shown = " ".join(text[:_LONGEST_NAME].split())
    values = {"text": shown, "nearest": _nearest(normalise(shown), table)}
    raise DomainError("nuclide_unknown", values, field="nuclide")


def _nearest(name: str, table: Mapping[str, NuclideData]) -> str:
    """The name of the table most like ``name``; swapped digits are the commonest slip."""

    def likeness(other: str) -> tuple[float, bool]:
        ratio = difflib.SequenceMatcher(None, name.lower(), other.lower()).ratio()
        return ratio, sorted(name.lower()) == sorted(other.lower())

    return max(table, key=likeness, default="")
