"""The kinds of values that the fields of a case hold."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema

from registry.cell import rule
from registry.chemistry import CHEMISTRIES, ChemistryName
from registry.fields import Text
from verifier.bounds import Bounds
from verifier.case.quantity import Quantity

# A quantity of a pack is never zero by accident: a field that is not known is left out.
Volts = Annotated[Bounds, Quantity(1e-6, 1e6, "V")]
# A plug that a BMS has switched off has none.
VoltsOrNone = Annotated[Bounds, Quantity(0, 1e6, "V")]
GroupVolts = Annotated[Bounds, Quantity(0, 10, "V")]
Amps = Annotated[Bounds, Quantity(1e-6, 1e6, "A")]
AmpHours = Annotated[Bounds, Quantity(1e-6, 1e6, "Ah")]
WattHours = Annotated[Bounds, Quantity(1e-6, 1e6, "Wh")]
Watts = Annotated[Bounds, Quantity(1e-6, 1e6, "W")]
Hours = Annotated[Bounds, Quantity(1e-6, 1e6, "h")]
HoursOrNone = Annotated[Bounds, Quantity(0, 1e6, "h")]
Seconds = Annotated[Bounds, Quantity(1e-6, 1e6, "s")]
Years = Annotated[Bounds, Quantity(0, 100, "years")]
Millivolts = Annotated[Bounds, Quantity(1e-6, 1e6, "mV")]
Milliohms = Annotated[Bounds, Quantity(1e-6, 1e6, "mohm")]
Kilograms = Annotated[Bounds, Quantity(1e-6, 1e6, "kg")]
Grams = Annotated[Bounds, Quantity(1e-6, 1e6, "g")]
Metres = Annotated[Bounds, Quantity(1e-6, 1e6, "m")]
Kilometres = Annotated[Bounds, Quantity(1e-6, 1e6, "km")]
SquareMillimetres = Annotated[Bounds, Quantity(1e-6, 1e6, "mm2")]
KilometresPerHour = Annotated[Bounds, Quantity(1e-6, 1e6, "km/h")]
Cycles = Annotated[Bounds, Quantity(1e-6, 1e6, "cycles")]
CyclesSoFar = Annotated[Bounds, Quantity(0, 1e6, "cycles")]
Amount = Annotated[Bounds, Quantity(1e-6, 1e6)]
NonNegative = Annotated[Bounds, Quantity(0, 1e6)]
TemperatureC = Annotated[Bounds, Quantity(-60, 150, "C")]
Fraction = Annotated[Bounds, Quantity(0.01, 1, "fraction")]
Count = Annotated[Bounds, Quantity(1, 10_000, whole=True)]
# 0 is 1/0, and each aught more counts one down: 4/0 is -3.
Gauge = Annotated[Bounds, Quantity(-3, 40, "AWG", whole=True)]
Thickness = Annotated[Bounds, Quantity(0.02, 5, "mm")]
Width = Annotated[Bounds, Quantity(0.5, 200, "mm")]
CellSize = Annotated[Bounds, Quantity(2, 1000, "mm")]
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


def _in_words(value: Any) -> Any:
    # YAML reads a bare yes as true.
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else value


YesNoUnknown = Annotated[
    Literal["yes", "no", "unknown"],
    BeforeValidator(_in_words),
    WithJsonSchema({"enum": ["yes", "no", "unknown", True, False]}),
]
"""An answer that somebody gave: that nobody knows is one too, other than never having asked."""


def _day(value: str) -> str:
    try:
        return date.fromisoformat(value).isoformat()
    except ValueError as error:
        raise rule("must be a day such as 2026-03-01") from error


Day = Annotated[Text, AfterValidator(_day), Field(json_schema_extra={"format": "date"})]


def _moment(value: str) -> str:
    try:
        if len(value.strip()) <= len("2026-03-01"):
            return date.fromisoformat(value.strip()).isoformat()
        found = datetime.fromisoformat(value.strip())
    except ValueError as error:
        raise rule("must be a day such as 2026-03-01, or a day and time such as 2026-03-01 18:30") from error
    if found.tzinfo is not None:
        raise rule("must be a local time without a zone, such as 2026-03-01 18:30")
    return found.isoformat(" ", "minutes")


Moment = Annotated[Text, AfterValidator(_moment)]
"""A day, with or without the time of day."""
