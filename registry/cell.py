"""What the registry knows of a cell: the cell, its sheets, and each figure with its conditions.

A figure that the sheet does not print is absent (``None``). A figure that was looked for and is not
printed is named in ``Sheet.not_stated``. Zero is a printed limit of nothing: no charging below 0 C.
"""

# No postponed annotations here: pydantic would compile each of them from its text at every start.

import re
from itertools import pairwise
from typing import Annotated, Literal, Self, get_args

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from registry.chemistry import VOLTAGES, ChemistryName
from registry.date_code import date_pattern
from registry.fields import (
    Count,
    Fraction,
    NonNegative,
    Positive,
    StrictModel,
    TemperatureC,
    Text,
    TextOrEmpty,
)
from registry.input_bounds import BANDS, CAPACITIES, MARKINGS, PULSES, SHEETS
from registry.sheet_figures import CITED, FIGURES

Evidence = Literal["own_test", "maker", "reseller", "secondhand"]
EVIDENCE_BEST_FIRST: tuple[Evidence, ...] = get_args(Evidence)
CapacityKind = Literal["minimum", "typical", "nominal", "rated"]
Form = Literal["cylindrical", "prismatic", "pouch"]
TemperatureBasis = Literal["ambient", "surface"]

_ID = re.compile(r"[a-z0-9][a-z0-9._-]*")
_DATE = re.compile(r"\d{4}(-(0[1-9]|1[0-2])(-(0[1-9]|[12]\d|3[01]))?)?", re.ASCII)
_SHA256 = re.compile(r"[0-9a-f]{64}")


def _shaped(pattern: re.Pattern[str], what: str) -> AfterValidator:
    def check(text: str) -> str:
        if not pattern.fullmatch(text):
            raise PydanticCustomError("shape", "{what}", {"what": what})
        return text

    return AfterValidator(check)


CellId = Annotated[
    Text, _shaped(_ID, "an id is small letters, digits, '-', '.' and '_', such as 'lyr-18650-35p'")
]
SheetDate = Annotated[Text, _shaped(_DATE, "a date is 2025, 2025-03 or 2025-03-01")]
Sha256 = Annotated[Text, _shaped(_SHA256, "a SHA-256 digest is 64 hexadecimal digits in small letters")]


def cell_id_from(maker: str, model: str) -> str:
    """Return the id that a maker's and a model's name suggest, such as ``lyr-18650-35p``."""
    return re.sub(r"[^a-z0-9._]+", "-", f"{maker} {model}".lower()).strip("-._")


def model_without_maker(maker: str, printed: str) -> str:
    """Return a model without its maker in front: sheets print "LYR 18650-30V", the registry keeps the two apart."""
    return printed[len(maker) :].strip() if printed.lower().startswith(f"{maker.lower()} ") else printed


def rule(message: str) -> PydanticCustomError:
    """Return a validation error with our own words."""
    return PydanticCustomError("rule", "{message}", {"message": message})


def _readable_date_code(text: str) -> str:
    try:
        date_pattern(text)
    except ValueError as error:
        raise rule(f"{error}; an example: 'yyww?'") from error
    return text


DateCode = Annotated[Text, AfterValidator(_readable_date_code)]


class Figure(StrictModel):
    """A figure with the page it stands on and the line it was read from."""

    page: Count | None = None
    quote: Text | None = None


class Citation(Figure):
    """Where a single-number figure of the sheet stands."""


class Capacity(Figure):
    """One stated capacity and the conditions it holds at."""

    kind: CapacityKind
    value_ah: Positive
    current_a: Positive | None = None
    temperature_c: TemperatureC | None = None
    cutoff_voltage_v: Positive | None = None


class Band(Figure):
    """A temperature band; both ends absent means the sheet names no temperature for the limit."""

    low_c: TemperatureC | None = None
    high_c: TemperatureC | None = None
    basis: TemperatureBasis | None = None

    @model_validator(mode="after")
    def _ends_in_order(self) -> Self:
        if (self.low_c is None) != (self.high_c is None):
            raise rule("a band has both low_c and high_c, or neither when the sheet names no temperature")
        if self.low_c is not None and self.high_c is not None and self.low_c > self.high_c:
            raise rule(f"low_c {self.low_c:g} is above high_c {self.high_c:g}")
        return self


class DischargeBand(Band):
    """A discharge limit over one temperature band, in A or in multiples of C.

    ``max_unspecified`` is a maximum that the sheet does not call continuous, or that holds only until the
    cell reaches ``cutoff_temperature_c``. It bounds what the cell can do from above and grants nothing.
    """

    max_continuous_a: NonNegative | None = None
    max_continuous_c: NonNegative | None = None
    max_unspecified_a: NonNegative | None = None
    max_unspecified_c: NonNegative | None = None
    cutoff_temperature_c: TemperatureC | None = None

    @model_validator(mode="after")
    def _has_one_kind_of_limit(self) -> Self:
        continuous = self.max_continuous_a is not None or self.max_continuous_c is not None
        unspecified = self.max_unspecified_a is not None or self.max_unspecified_c is not None
        if not continuous and not unspecified:
            raise rule("a discharge band needs max_continuous_a or _c, or max_unspecified_a or _c")
        if self.cutoff_temperature_c is not None and not unspecified:
            raise rule("a current with a temperature cut-off is not continuous; give it as max_unspecified_a")
        return self


class ChargeBand(Band):
    """A charge limit over one temperature band, in A or in multiples of C."""

    max_a: NonNegative | None = None
    max_c: NonNegative | None = None

    @model_validator(mode="after")
    def _has_a_limit(self) -> Self:
        if self.max_a is None and self.max_c is None:
            raise rule("a charge band needs max_a or max_c")
        return self


class Pulse(Figure):
    """A short-time discharge limit; ``seconds`` absent means the sheet names no duration."""

    current_a: Positive | None = None
    current_c: Positive | None = None
    seconds: Positive | None = None
    low_c: TemperatureC | None = None
    high_c: TemperatureC | None = None

    @model_validator(mode="after")
    def _has_a_limit(self) -> Self:
        if self.current_a is None and self.current_c is None:
            raise rule("a pulse needs current_a or current_c")
        return self


class Resistance(Figure):
    """Internal resistance of the bare cell: ac at 1 kHz, dc by a pulse of ``dc_seconds``.

    ``ac_max_mohm`` and ``dc_max_mohm`` are printed as a limit ("<= 26 mohm"): the cell has less, and nobody
    says how much less.
    """

    ac_mohm: Positive | None = None
    ac_max_mohm: Positive | None = None
    dc_mohm: Positive | None = None
    dc_max_mohm: Positive | None = None
    dc_seconds: Positive | None = None

    @model_validator(mode="after")
    def _values_below_their_limits(self) -> Self:
        for name, value, most in (
            ("ac", self.ac_mohm, self.ac_max_mohm),
            ("dc", self.dc_mohm, self.dc_max_mohm),
        ):
            if value is not None and most is not None and value > most:
                raise rule(f"{name}_mohm {value:g} is above {name}_max_mohm {most:g}")
        return self


class CycleLife(Figure):
    """How many cycles down to which fraction of capacity, and the conditions of that test."""

    cycles: Count
    to_fraction: Fraction | None = None
    charge_a: Positive | None = None
    discharge_a: Positive | None = None
    temperature_c: TemperatureC | None = None


class TemperatureRange(Figure):
    """A range of operation or storage."""

    low_c: TemperatureC
    high_c: TemperatureC
    basis: TemperatureBasis | None = None

    @model_validator(mode="after")
    def _ends_in_order(self) -> Self:
        if self.low_c > self.high_c:
            raise rule(f"low_c {self.low_c:g} is above high_c {self.high_c:g}")
        return self


class Storage(TemperatureRange):
    """A range of storage for up to so many months, and what is left of the capacity after them."""

    months: Positive | None = None
    recovery_fraction: Fraction | None = None


class Sheet(StrictModel):
    """One document about a cell, or one own test of it: its figures and where they come from."""

    title: TextOrEmpty = ""
    revision: TextOrEmpty = ""
    date: SheetDate | None = None
    evidence: Evidence
    file_sha256: Sha256 | None = None
    capacity: Annotated[tuple[Capacity, ...], Field(strict=False, max_length=CAPACITIES.most)] = ()
    c_rate_capacity_ah: Positive | None = None
    nominal_voltage_v: Positive | None = None
    charge_voltage_v: Positive | None = None
    cutoff_voltage_v: Positive | None = None
    discharge: Annotated[tuple[DischargeBand, ...], Field(strict=False, max_length=BANDS.most)] = ()
    discharge_unspecified_a: Positive | None = None
    charge: Annotated[tuple[ChargeBand, ...], Field(strict=False, max_length=BANDS.most)] = ()
    standard_charge_a: Positive | None = None
    pulse: Annotated[tuple[Pulse, ...], Field(strict=False, max_length=PULSES.most)] = ()
    resistance: Resistance | None = None
    mass_g: Positive | None = None
    mass_max_g: Positive | None = None
    diameter_mm: Positive | None = None
    length_mm: Positive | None = None
    width_mm: Positive | None = None
    thickness_mm: Positive | None = None
    cycle_life: CycleLife | None = None
    discharge_temperature: TemperatureRange | None = None
    charge_temperature: TemperatureRange | None = None
    storage_temperature: TemperatureRange | None = None
    storage: Annotated[tuple[Storage, ...], Field(strict=False)] = ()
    citations: dict[str, Citation] = Field(default_factory=dict)
    not_stated: Annotated[tuple[str, ...], Field(strict=False, max_length=len(FIGURES))] = ()

    @model_validator(mode="after")
    def _figures_agree(self) -> Self:
        self._check_names()
        self._check_capacities()
        self._check_voltages()
        self._check_mass()
        for name, bands in (("discharge", self.discharge), ("charge", self.charge)):
            _check_bands(name, bands)
        self._check_pulses()
        self._check_maximum()
        return self

    def _check_names(self) -> None:
        for name in self.citations:
            if name not in CITED:
                raise rule(
                    f"citations: {name[:60]!r} is not a single-number figure; known: {', '.join(CITED)}"
                )
        for name in self.not_stated:
            if name not in FIGURES:
                raise rule(
                    f"not_stated: {name[:60]!r} is not a figure of a sheet; known: {', '.join(FIGURES)}"
                )
            if getattr(self, name):
                raise rule(f"not_stated names '{name}', yet the sheet holds a value for it")

    def _check_capacities(self) -> None:
        minimum, typical = self.capacities("minimum"), self.capacities("typical")
        if minimum and typical and min(minimum) > max(typical):
            raise rule(f"minimum capacity {min(minimum):g} Ah is above typical capacity {max(typical):g} Ah")

    def _check_voltages(self) -> None:
        ladder = [
            (name, value)
            for name, value in (
                ("cutoff_voltage_v", self.cutoff_voltage_v),
                ("nominal_voltage_v", self.nominal_voltage_v),
                ("charge_voltage_v", self.charge_voltage_v),
            )
            if value is not None
        ]
        for (lower, low), (upper, high) in pairwise(ladder):
            if low >= high:
                raise rule(f"{lower} {low:g} V is not below {upper} {high:g} V")

    def _check_mass(self) -> None:
        if self.mass_g is not None and self.mass_max_g is not None and self.mass_g > self.mass_max_g:
            raise rule(f"mass_g {self.mass_g:g} is above mass_max_g {self.mass_max_g:g}")

    def _check_pulses(self) -> None:
        if not self.pulse:
            return
        bands = [
            (band, self.amperes(band.max_continuous_a, band.max_continuous_c)) for band in self.discharge
        ]
        for pulse in self.pulse:
            current = self.amperes(pulse.current_a, pulse.current_c)
            for band, continuous in bands:
                if current is None or continuous is None or not _meet(band, pulse):
                    continue
                if continuous > current:
                    raise rule(f"continuous limit {continuous:g} A is above the pulse limit {current:g} A")

    def _check_maximum(self) -> None:
        most = self.discharge_unspecified_a
        for band in self.discharge if most is not None else ():
            continuous = self.amperes(band.max_continuous_a, band.max_continuous_c)
            if continuous is not None and most is not None and continuous > most:
                raise rule(f"continuous limit {continuous:g} A is above discharge_unspecified_a {most:g} A")

    def capacities(self, kind: CapacityKind) -> list[float]:
        """Return every stated capacity of one kind, in Ah."""
        return [figure.value_ah for figure in self.capacity if figure.kind == kind]

    @property
    def c_rate_base_ah(self) -> float | None:
        """What 1C refers to: the stated base, else the smallest minimum, rated or other capacity. [Ah]."""
        if self.c_rate_capacity_ah is not None:
            return self.c_rate_capacity_ah
        for kinds in (("minimum",), ("rated",), ("nominal", "typical")):
            stated = [figure.value_ah for figure in self.capacity if figure.kind in kinds]
            if stated:
                return min(stated)
        return None

    def amperes(self, amperes: float | None, c_rate: float | None) -> float | None:
        """Return a limit given in A, in multiples of C, or in both (then the lower one), in A.

        ``None`` when it is given in neither, or in C while no capacity is stated.
        """
        found = [] if amperes is None else [amperes]
        base = self.c_rate_base_ah
        if c_rate is not None and base is not None:
            found.append(c_rate * base)
        return min(found) if found else None


def _meet(band: Band, pulse: Pulse) -> bool:
    if pulse.low_c is None or pulse.high_c is None or band.low_c is None or band.high_c is None:
        return True
    return max(band.low_c, pulse.low_c) < min(band.high_c, pulse.high_c)


def _check_bands(name: str, bands: tuple[DischargeBand, ...] | tuple[ChargeBand, ...]) -> None:
    if len(bands) < 2:
        return
    if any(band.low_c is None for band in bands):
        raise rule(f"{name}: a limit without a temperature cannot stand beside others")
    # A band of the air and one of the cell's surface are two conditions, which hold side by side.
    for surface in (False, True):
        ordered = sorted(
            (band.low_c, band.high_c)
            for band in bands
            if band.low_c is not None and band.high_c is not None and (band.basis == "surface") == surface
        )
        for (low, high), (next_low, next_high) in pairwise(ordered):
            if next_low < high or (low, high) == (next_low, next_high):
                raise rule(f"{name}: bands {low:g}..{high:g} C and {next_low:g}..{next_high:g} C overlap")


class Cell(StrictModel):
    """One cell model and every sheet about it; ``date_code`` is how its maker's are read (`registry.date_code`)."""

    id: CellId
    maker: Text
    model: Text
    form: Form = "cylindrical"
    size: Text | None = None
    chemistry: ChemistryName
    markings: Annotated[tuple[Text, ...], Field(strict=False, max_length=MARKINGS.most)] = ()
    date_code: DateCode | None = None
    sheets: Annotated[tuple[Sheet, ...], Field(strict=False, max_length=SHEETS.most)]
    retired: Text | None = None

    @model_validator(mode="after")
    def _sheets_fit_the_chemistry(self) -> Self:
        if not self.sheets:
            raise rule("sheets: a cell needs at least one sheet")
        full_low, full_high = VOLTAGES[self.chemistry].full_v
        for number, sheet in enumerate(self.sheets):
            charge = sheet.charge_voltage_v
            if charge is not None and not full_low - 0.2 <= charge <= full_high + 0.35:
                raise rule(
                    f"sheets[{number}].charge_voltage_v {charge:g} V does not fit {self.chemistry} "
                    f"({full_low:g} to {full_high:g} V); correct the voltage or the chemistry"
                )
        if len(set(self.markings)) != len(self.markings):
            raise rule("markings: the same marking stands twice")
        return self
