"""A case: one pack, what its seller claims, what was seen of it, and how it is to be used.

Any number may be given as ``[low, high]`` where only bounds are known. A missing field is unknown: never
zero and never fine.
"""

# No postponed annotations here: pydantic would compile each of them from its text at every start.

from functools import cache
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    Field,
    GetJsonSchemaHandler,
    model_validator,
)
from pydantic_core import CoreSchema

from registry.cell import rule
from registry.fields import StrictModel, model_in
from registry.printed import UnreadableQuantity, read_quantity, read_two_sides
from verifier.case.configuration import Configuration, counts_filled_in
from verifier.case.dimensions import Dimensions
from verifier.case.fields import case_fields
from verifier.case.group_readings import hours_filled_in
from verifier.case.kinds import (
    Amount,
    AmpHours,
    Amps,
    CellSize,
    Chemistry,
    Code,
    Count,
    Currency,
    Cycles,
    CyclesSoFar,
    Day,
    Fraction,
    Gauge,
    Grams,
    GroupVolts,
    Hours,
    HoursOrNone,
    Kilograms,
    Kilometres,
    KilometresPerHour,
    Layers,
    LimitValue,
    Links,
    Metres,
    Milliohms,
    Millivolts,
    Moment,
    NonNegative,
    Seconds,
    SquareMillimetres,
    TemperatureC,
    Thickness,
    Volts,
    VoltsOrNone,
    WattHours,
    Watts,
    Width,
    Years,
    YesNoUnknown,
)
from verifier.case.limits import DEFAULTS

# What a listing may say in two places, differently, so that it contradicts itself.
StatedDifferently = Literal[
    "nominal_voltage_v", "capacity_ah", "energy_wh", "continuous_current_a", "power_w", "series", "parallel",
    "cell_count", "cell_marking", "cell_size", "chemistry",
]  # fmt: skip

Stage = Literal["listed", "arrived", "opened", "tested"]
# What is observed by its field, and may be told by the seller.
TOLD = ("cycles", "age_years")
STAGES: tuple[Stage, ...] = ("listed", "arrived", "opened", "tested")


def in_units_of_limits(data: Any) -> Any:
    """Return limits with what is typed as a text, such as "66%" or "2/3", in the unit of each limit."""
    if not isinstance(data, dict):
        return data
    return {name: _in_unit_of(name, value) for name, value in data.items()}


def _in_unit_of(name: str, value: Any) -> Any:
    if not isinstance(value, str) or name not in DEFAULTS:
        return value
    unit = {"-": "fraction", "%": "percent"}.get(DEFAULTS[name].unit, DEFAULTS[name].unit)
    try:
        return list(read_quantity(value, unit))
    except UnreadableQuantity:
        # The limit itself refuses it, at its own place.
        return value


@cache
def group_in(model: type[BaseModel], name: str) -> type[BaseModel] | None:
    """Return the group that a field stands for, None where it is a single value."""
    group: type[BaseModel] | None = model_in(model.model_fields[name].annotation)
    return group


class CaseGroup(StrictModel):
    """A group of fields; ``at`` is its dotted name, by which the catalogue of fields describes it."""

    at: ClassVar[str] = ""

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe every field as the catalogue of fields does."""
        made: dict[str, Any] = handler.resolve_ref_schema(handler(schema))
        known = case_fields()
        for name, entry in made.get("properties", {}).items():
            entry["description"] = known[f"{cls.at}.{name}".removeprefix(".")].described
        return made


class CaseInfo(CaseGroup):
    """What the case is called, how far the examination has come, and for whom it is made."""

    at: ClassVar[str] = "case"

    title: Code = "untitled case"
    stage: Stage | None = None
    condition: Literal["new", "used"] | None = None
    job: Code | None = None
    customer: Code | None = None
    date: Day | None = None
    by: Code | None = None
    notes: Code | None = None
    photos: Annotated[tuple[Code, ...], Field(strict=False)] = ()


class Claim(CaseGroup):
    """What the seller states of this pack."""

    at: ClassVar[str] = "claim"

    configuration: Configuration | None = None
    nominal_voltage_v: Volts | None = None
    full_voltage_v: Volts | None = None
    cutoff_voltage_v: Volts | None = None
    capacity_ah: AmpHours | None = None
    energy_wh: WattHours | None = None
    continuous_current_a: Amps | None = None
    peak_current_a: Amps | None = None
    peak_seconds: Seconds | None = None
    max_current_a: Amps | None = None
    power_w: Watts | None = None
    bms_current_a: Amps | None = None
    load_power_w: Watts | None = None
    charge_voltage_v: Volts | None = None
    charge_current_a: Amps | None = None
    max_charge_current_a: Amps | None = None
    charge_hours: Hours | None = None
    series: Count | None = None
    parallel: Count | None = None
    cell_count: Count | None = None
    designation: Code | None = None
    cell_size: Code | None = None
    cell_capacity_ah: AmpHours | None = None
    cell_marking: Code | None = None
    chemistry: Chemistry | None = None
    mass_kg: Kilograms | None = None
    cycles: Cycles | None = None
    range_km: Kilometres | None = None
    lead_awg: Gauge | None = None
    certificates: Annotated[tuple[Code, ...], Field(strict=False)] = ()
    ingress: Code | None = None
    dimensions: Dimensions | None = None
    price: Amount | None = None
    currency: Currency | None = None
    stated_differently: Annotated[tuple[StatedDifferently, ...], Field(strict=False)] = ()

    _counts = model_validator(mode="before")(counts_filled_in)


# What people write where nothing can be read on a cell.
UNREADABLE_MARKINGS = frozenset(
    {
        "scraped", "scraped off", "scratched off", "scratched", "removed", "sanded off", "illegible", "unreadable",
        "not readable", "not legible", "blank", "none", "no marking", "unmarked", "missing", "worn off", "unlesbar",
        "abgekratzt", "leer", "无", "看不清", "刮掉",
    }
)  # fmt: skip


class ObservedCell(CaseGroup):
    """What is printed on, or measured of, a cell in the open pack."""

    at: ClassVar[str] = "observed.cell"

    id: Code | None = None
    marking: Code | None = None
    marking_unreadable: bool | None = None
    size: Code | None = None
    chemistry: Chemistry | None = None
    date_code: Code | None = None
    mass_g: Grams | None = None
    diameter_mm: CellSize | None = None
    length_mm: CellSize | None = None
    ac_mohm: Milliohms | None = None
    dc_mohm: Milliohms | None = None
    dc_seconds: Seconds | None = None
    capacity_ah: AmpHours | None = None
    capacity_current_a: Amps | None = None
    capacity_temperature_c: TemperatureC | None = None

    @model_validator(mode="before")
    @classmethod
    def _said_to_be_unreadable(cls, data: Any) -> Any:
        """Take "scraped" and the like for what they say: nothing can be read, so they match no cell."""
        marking = data.get("marking") if isinstance(data, dict) else None
        if not isinstance(marking, str) or marking.strip().casefold() not in UNREADABLE_MARKINGS:
            return data
        return {
            **{name: each for name, each in data.items() if name != "marking"},
            "marking_unreadable": True,
        }

    @model_validator(mode="after")
    def _read_or_not(self) -> Self:
        if self.marking_unreadable and self.marking is not None:
            raise rule("a marking that was read is not marking_unreadable")
        return self


class Bms(CaseGroup):
    """The protection BMS as its own markings state it."""

    at: ClassVar[str] = "observed.bms"

    series: Count | None = None
    continuous_a: Amps | None = None
    peak_a: Amps | None = None
    trip_a: Amps | None = None
    trip_mv: Millivolts | None = None
    shunt_mohm: Milliohms | None = None
    balance_a: Amps | None = None
    temperature_sensor: bool | None = None


class Leads(CaseGroup):
    """A pair of leads: gauge or cross-section, conductor (unknown where left out), one-way length."""

    at: ClassVar[str] = "observed.leads"

    awg: Gauge | None = None
    area_mm2: SquareMillimetres | None = None
    conductor: Literal["copper", "tinned_copper", "copper_clad_aluminium", "unknown"] | None = None
    length_m: Metres | None = None

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.awg is not None and self.area_mm2 is not None:
            raise rule("give the gauge or the cross-section, not both")
        return self


class Strip(CaseGroup):
    """The strip that joins the cells of a group and carries the take-off."""

    at: ClassVar[str] = "observed.strip"

    material: Literal["nickel", "plated_steel", "copper", "unknown"] | None = None
    thickness_mm: Thickness | None = None
    width_mm: Width | None = None
    layers: Layers | None = None
    pitch_mm: Width | None = None

    @model_validator(mode="before")
    @classmethod
    def _both_sides(cls, data: Any) -> Any:
        """Read "0.15 x 8 mm" as people say a strip, in either field: the thinner side is the thickness."""
        if not isinstance(data, dict):
            return data
        found = dict(data)
        for name in ("thickness_mm", "width_mm"):
            typed = data.get(name)
            sides = read_two_sides(typed, "mm") if isinstance(typed, str) else None
            if sides is None:
                continue
            for side, value in zip(("thickness_mm", "width_mm"), sides, strict=True):
                if side != name and data.get(side) not in (None, typed, value):
                    raise rule(
                        f"'{typed}' and another {side.partition('_')[0]} of {data[side]}: leave one out"
                    )
                found[side] = value
        return found


class SeriesLinks(CaseGroup):
    """Links from one group to the next."""

    at: ClassVar[str] = "observed.series_links"

    count: Links | None = None
    layers: Layers | None = None


class TakeOff(CaseGroup):
    """Where the main lead leaves the end group: a word, or the cells of the row, counted from 1."""

    at: ClassVar[str] = "observed.take_off"

    where: Literal["end", "middle", "every_cell"] | None = None
    positions: Annotated[tuple[Annotated[int, Field(ge=1, le=10_000)], ...], Field(strict=False)] = ()
    layers: Layers | None = None

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.where is not None and self.positions:
            raise rule("give where the lead leaves or the cells that it leaves at, not both")
        if len(set(self.positions)) != len(self.positions):
            raise rule("positions: the same cell stands twice")
        return self


class Connector(CaseGroup):
    """The discharge connector; ``fitted: false`` when the leads go on without one."""

    at: ClassVar[str] = "observed.connector"

    continuous_a: Amps | None = None
    fitted: bool | None = None

    @model_validator(mode="after")
    def _rated_only_when_fitted(self) -> Self:
        if self.fitted is False and self.continuous_a is not None:
            raise rule("a connector that is not fitted has no continuous_a")
        return self


class Fuse(CaseGroup):
    """The pack's fuse; ``fitted: false`` when there is none."""

    at: ClassVar[str] = "observed.fuse"

    rating_a: Amps | None = None
    voltage_v: Volts | None = None
    breaking_a: Amps | None = None
    fitted: bool | None = None

    @model_validator(mode="after")
    def _rated_only_when_fitted(self) -> Self:
        rated = next((name for name in ("rating_a", "voltage_v", "breaking_a") if getattr(self, name)), None)
        if self.fitted is False and rated:
            raise rule(f"a fuse that is not fitted has no {rated}")
        return self


class Charger(CaseGroup):
    """What is printed on the charger."""

    at: ClassVar[str] = "observed.charger"

    voltage_v: Volts | None = None
    current_a: Amps | None = None
    no_load_v: Volts | None = None
    cut_off_a: Amps | None = None


class MaterialTest(CaseGroup):
    """A test of what the strip is made of."""

    at: ClassVar[str] = "observed.material_test"

    kind: Literal["salt_water", "spark"]
    hours: HoursOrNone | None = None
    rust: bool | None = None
    sparks: bool | None = None


class Build(CaseGroup):
    """How the pack is put together."""

    at: ClassVar[str] = "observed.build"

    weld_marks_per_cell: NonNegative | None = None
    positive_insulators: bool | None = None
    balance_leads: NonNegative | None = None
    leads_isolated: bool | None = None
    wires_free: bool | None = None
    spacers: bool | None = None
    shipping_mark: bool | None = None
    swollen: bool | None = None
    damaged: bool | None = None


class Observed(CaseGroup):
    """What was seen or measured of this pack."""

    at: ClassVar[str] = "observed"

    configuration: Configuration | None = None
    series: Count | None = None
    parallel: Count | None = None
    mass_kg: Kilograms | None = None
    resting_voltage_v: VoltsOrNone | None = None
    groups_v: Annotated[tuple[GroupVolts, ...], Field(strict=False)] = ()
    groups_date: Moment | None = None
    groups_temperature_c: TemperatureC | None = None
    groups_before_v: Annotated[tuple[GroupVolts, ...], Field(strict=False)] = ()
    groups_before_date: Moment | None = None
    groups_before_temperature_c: TemperatureC | None = None
    groups_hours: Hours | None = None
    temperature_c: TemperatureC | None = None
    capacity_ah: AmpHours | None = None
    capacity_current_a: Amps | None = None
    capacity_cutoff_v: Volts | None = None
    capacity_temperature_c: TemperatureC | None = None
    group_dc_mohm: Milliohms | None = None
    group_dc_seconds: Seconds | None = None
    group_dc_temperature_c: TemperatureC | None = None
    cycles: CyclesSoFar | None = None
    age_years: Years | None = None
    charged_above_full: YesNoUnknown | None = None
    # A group that says nothing holds nothing to validate: made without, no group needs a validator of its own.
    cell: ObservedCell = ObservedCell.model_construct()
    bms: Bms = Bms.model_construct()
    leads: Leads = Leads.model_construct()
    charge_leads: Leads = Leads.model_construct()
    strip: Strip = Strip.model_construct()
    series_links: SeriesLinks = SeriesLinks.model_construct()
    take_off: TakeOff = TakeOff.model_construct()
    connector: Connector = Connector.model_construct()
    fuse: Fuse = Fuse.model_construct()
    charger: Charger = Charger.model_construct()
    material_test: MaterialTest | None = None
    build: Build = Build.model_construct()

    _counts = model_validator(mode="before")(counts_filled_in)
    _hours = model_validator(mode="before")(hours_filled_in)


class Use(CaseGroup):
    """How the pack is to be used."""

    at: ClassVar[str] = "use"

    temperature_c: TemperatureC | None = None
    charge_temperature_c: TemperatureC | None = None
    load_power_w: Watts | None = None
    regeneration_a: Amps | None = None
    controller_current_a: Amps | None = None
    efficiency: Fraction | None = None
    rider_kg: Kilograms | None = None
    vehicle_kg: Kilograms | None = None
    speed_km_h: KilometresPerHour | None = None


class Case(CaseGroup):
    """One pack: its claims, its observations, its use, and the limits it is judged by."""

    at: ClassVar[str] = ""

    case: CaseInfo = CaseInfo.model_construct()
    claim: Claim = Claim.model_construct()
    observed: Observed = Observed.model_construct()
    use: Use = Use.model_construct()
    limits: Annotated[dict[str, LimitValue], BeforeValidator(in_units_of_limits)] = Field(
        default_factory=dict, json_schema_extra={"propertyNames": {"enum": [*sorted(DEFAULTS)]}}
    )

    def with_observed(self, **fields: Any) -> "Case":
        """Return the case with observed fields put in place of what was known, such as ``take_off``."""
        return self.model_copy(update={"observed": self.observed.model_copy(update=fields)})

    @property
    def stage(self) -> Stage:
        """The stage stated, else the earliest that explains what is known."""
        if self.case.stage is not None:
            return self.case.stage
        return "opened" if self.is_seen else "listed"

    @property
    def is_seen(self) -> bool:
        """Whether anything was observed of the pack; what a seller may tell of its use is nothing seen of it."""
        return self.observed.model_copy(update=dict.fromkeys(TOLD)) != Observed.model_construct()
