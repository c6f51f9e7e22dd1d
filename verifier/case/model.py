"""A case: one pack, what its seller claims, what was seen of it, and how it is to be used.

Any number may be given as ``[low, high]`` where only bounds are known. A missing field is unknown: never
zero and never fine.
"""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, Field, WithJsonSchema, model_validator

from registry.cell import rule
from registry.chemistry import CHEMISTRIES, ChemistryName
from registry.fields import StrictModel, Text, model_in
from verifier.bounds import Bounds
from verifier.case.limits import DEFAULTS
from verifier.case.quantity import Quantity

Stage = Literal["listed", "arrived", "opened", "tested"]
STAGES: tuple[Stage, ...] = ("listed", "arrived", "opened", "tested")


# A quantity of a pack is never zero by accident: a field that is not known is left out.
Positive = Annotated[Bounds, Quantity(1e-6, 1e6)]
NonNegative = Annotated[Bounds, Quantity(0, 1e6)]
TemperatureC = Annotated[Bounds, Quantity(-60, 150)]
Fraction = Annotated[Bounds, Quantity(0.01, 1)]
Count = Annotated[Bounds, Quantity(1, 10_000, whole=True)]
Gauge = Annotated[Bounds, Quantity(0, 40, whole=True)]
Thickness = Annotated[Bounds, Quantity(0.02, 5)]
Width = Annotated[Bounds, Quantity(0.5, 200)]
Layers = Annotated[Bounds, Quantity(1, 20, whole=True)]
Links = Annotated[Bounds, Quantity(1, 1000, whole=True)]
LimitValue = Annotated[Bounds, Quantity(-1e6, 1e6)]


def _as_text(value: Any) -> Any:
    # YAML reads a code such as 18650 as a number; the case reader keeps how it was written.
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return getattr(value, "as_written", str(value))
    return value


Code = Annotated[
    Text, BeforeValidator(_as_text), WithJsonSchema({"type": ["string", "number"], "maxLength": 2000})
]


def _currency(value: str) -> str:
    if not (len(value) == 3 and value.isascii() and value.isalpha()):
        raise rule("must be the three letters of ISO 4217, such as EUR")
    return value.upper()


# Which three letters is the user's own affair; prices are ranked only among packs that share them.
Currency = Annotated[Text, AfterValidator(_currency), Field(json_schema_extra={"pattern": "^[A-Za-z]{3}$"})]


def _chemistry(value: Any) -> Any:
    if isinstance(value, str):
        for name in CHEMISTRIES:
            if value.strip().casefold() == name.casefold():
                return name
    return value


Chemistry = Annotated[ChemistryName, BeforeValidator(_chemistry)]


@cache
def group_in(model: type[BaseModel], name: str) -> type[BaseModel] | None:
    """Return the group that a field stands for, None where it is a single value."""
    group: type[BaseModel] | None = model_in(model.model_fields[name].annotation)
    return group


class CaseInfo(StrictModel):
    """What the case is called and how far the examination has come."""

    title: Code = "untitled case"
    stage: Stage | None = None


class Claim(StrictModel):
    """What the seller states of this pack."""

    nominal_voltage_v: Positive | None = None
    full_voltage_v: Positive | None = None
    cutoff_voltage_v: Positive | None = None
    capacity_ah: Positive | None = None
    energy_wh: Positive | None = None
    continuous_current_a: Positive | None = None
    peak_current_a: Positive | None = None
    peak_seconds: Positive | None = None
    power_w: Positive | None = None
    bms_current_a: Positive | None = None
    load_power_w: Positive | None = None
    charge_voltage_v: Positive | None = None
    charge_current_a: Positive | None = None
    max_charge_current_a: Positive | None = None
    charge_hours: Positive | None = None
    series: Count | None = None
    parallel: Count | None = None
    cell_count: Count | None = None
    designation: Code | None = None
    cell_size: Code | None = None
    cell_capacity_ah: Positive | None = None
    cell_marking: Code | None = None
    chemistry: Chemistry | None = None
    mass_kg: Positive | None = None
    cycles: Positive | None = None
    range_km: Positive | None = None
    lead_awg: Gauge | None = None
    certificates: Annotated[tuple[Code, ...], Field(strict=False)] = ()
    ingress: Code | None = None
    price: Positive | None = None
    currency: Currency | None = None


class ObservedCell(StrictModel):
    """What is printed on, or measured of, a cell in the open pack."""

    id: Code | None = None
    marking: Code | None = None
    size: Code | None = None
    chemistry: Chemistry | None = None
    date_code: Code | None = None
    mass_g: Positive | None = None


class Bms(StrictModel):
    """The protection BMS as its own markings state it."""

    series: Count | None = None
    continuous_a: Positive | None = None
    peak_a: Positive | None = None
    temperature_sensor: bool | None = None


class Leads(StrictModel):
    """A pair of leads: gauge or cross-section, conductor, one-way length."""

    awg: Gauge | None = None
    area_mm2: Positive | None = None
    conductor: Literal["copper", "tinned_copper", "unknown"] | None = None
    length_m: Positive | None = None

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.awg is not None and self.area_mm2 is not None:
            raise rule("give awg or area_mm2, not both")
        return self


class Strip(StrictModel):
    """The strip that joins the cells of a group and carries the take-off."""

    material: Literal["nickel", "plated_steel", "copper", "unknown"] | None = None
    thickness_mm: Thickness | None = None
    width_mm: Width | None = None
    layers: Layers | None = None
    pitch_mm: Width | None = None


class SeriesLinks(StrictModel):
    """Links from one group to the next."""

    count: Links | None = None


class TakeOff(StrictModel):
    """Where the main lead leaves the end group: a word, or the cells of the row, counted from 1."""

    where: Literal["end", "middle", "every_cell"] | None = None
    positions: Annotated[tuple[Annotated[int, Field(ge=1, le=10_000)], ...], Field(strict=False)] = ()
    layers: Layers | None = None

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.where is not None and self.positions:
            raise rule("give where or positions, not both")
        if len(set(self.positions)) != len(self.positions):
            raise rule("positions: the same cell stands twice")
        return self


class Connector(StrictModel):
    """The discharge connector; ``fitted: false`` when the leads go on without one."""

    continuous_a: Positive | None = None
    fitted: bool | None = None

    @model_validator(mode="after")
    def _rated_only_when_fitted(self) -> Self:
        if self.fitted is False and self.continuous_a is not None:
            raise rule("a connector that is not fitted has no continuous_a")
        return self


class Fuse(StrictModel):
    """The pack's fuse; ``fitted: false`` when there is none."""

    rating_a: Positive | None = None
    fitted: bool | None = None

    @model_validator(mode="after")
    def _rated_only_when_fitted(self) -> Self:
        if self.fitted is False and self.rating_a is not None:
            raise rule("a fuse that is not fitted has no rating_a")
        return self


class Charger(StrictModel):
    """What is printed on the charger."""

    voltage_v: Positive | None = None
    current_a: Positive | None = None


class MaterialTest(StrictModel):
    """A test of what the strip is made of."""

    kind: Literal["salt_water", "spark"]
    hours: NonNegative | None = None
    rust: bool | None = None
    sparks: bool | None = None


class Build(StrictModel):
    """How the pack is put together."""

    weld_marks_per_cell: NonNegative | None = None
    positive_insulators: bool | None = None
    balance_leads: NonNegative | None = None
    leads_isolated: bool | None = None
    wires_free: bool | None = None
    spacers: bool | None = None
    shipping_mark: bool | None = None


class Observed(StrictModel):
    """What was seen or measured of this pack."""

    series: Count | None = None
    parallel: Count | None = None
    mass_kg: Positive | None = None
    resting_voltage_v: Positive | None = None
    temperature_c: TemperatureC | None = None
    capacity_ah: Positive | None = None
    cell: ObservedCell = ObservedCell()
    bms: Bms = Bms()
    leads: Leads = Leads()
    charge_leads: Leads = Leads()
    strip: Strip = Strip()
    series_links: SeriesLinks = SeriesLinks()
    take_off: TakeOff = TakeOff()
    connector: Connector = Connector()
    fuse: Fuse = Fuse()
    charger: Charger = Charger()
    material_test: MaterialTest | None = None
    build: Build = Build()


class Use(StrictModel):
    """How the pack is to be used."""

    temperature_c: TemperatureC | None = None
    load_power_w: Positive | None = None
    controller_current_a: Positive | None = None
    efficiency: Fraction | None = None
    rider_kg: Positive | None = None
    vehicle_kg: Positive | None = None
    speed_km_h: Positive | None = None


class Case(StrictModel):
    """One pack: its claims, its observations, its use, and the limits it is judged by."""

    case: CaseInfo = CaseInfo()
    claim: Claim = Claim()
    observed: Observed = Observed()
    use: Use = Use()
    limits: dict[str, LimitValue] = Field(
        default_factory=dict, json_schema_extra={"propertyNames": {"enum": [*sorted(DEFAULTS)]}}
    )

    def with_observed(self, **fields: Any) -> Case:
        """Return the case with observed fields put in place of what was known, such as ``take_off``."""
        return self.model_copy(update={"observed": self.observed.model_copy(update=fields)})

    @property
    def stage(self) -> Stage:
        """The stage stated, else the earliest that explains what is known."""
        if self.case.stage is not None:
            return self.case.stage
        return "listed" if self.observed == Observed() else "opened"
