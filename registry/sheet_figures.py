"""Every figure of a cell's sheet: where it is kept, what it is called, its unit, how it is typed and read.

One entry a figure that a person may type or a reader may find. From it come the figures that a sheet may
cite or not state, the options and questions of ``cells add``, the names that ``cells accept`` knows, and the
words of reports. A new figure is an entry here, a field in ``registry.cell``, and a rule of the reader's
vocabulary.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

DraftName = Literal[
    "capacity", "nominal_voltage", "charge_voltage", "cutoff_voltage", "standard_charge", "max_charge",
    "max_continuous_discharge", "max_discharge_unspecified", "pulse_discharge", "ac_resistance",
    "dc_resistance", "mass", "diameter", "length", "width", "thickness", "cycle_life", "operating_temperature",
    "storage_temperature",
]  # fmt: skip
"""What a reader of sheets calls a figure."""

Notation = Literal[
    "number", "capacity", "limit", "maximum", "pulse", "resistance", "cycles", "range", "storage"
]
"""How a figure is written where it is typed, and kept."""

# What the resistance of a single cell lies between, and that times its capacity: a larger cell resists less. Sheets of
# lithium cells print 6 to 300 mohm x Ah, titanate at 1 kHz least; beyond five times that, or half, a number is in
# another unit or of another figure. Common practice, no source. [mohm], [mohm Ah]
POSSIBLE_MOHM = (0.05, 5000.0)
POSSIBLE_MOHM_AH = (3.0, 1500.0)


class SheetFigure(NamedTuple):
    """One figure of a sheet.

    Attributes
    ----------
    field : str
        The sheet's field that holds it; several figures may share one.
    words : str
        What it is called.
    notation : str
        How it is typed and kept; ``number`` is a single number with a citation.
    unit : str
        Of its value.
    option : str
        The option that gives it.
    question : str
        What is asked for, without the unit.
    heading : str
        Under which it is asked.
    part : str
        What it is within its field: a capacity's kind, the beginning of a limit's name, a resistance's name.
    field_words : str
        What the whole field is called, where it holds several figures.
    draft, draft_kind : str
        What a reader of sheets calls it, and which kind of that.
    many : bool
        Whether a sheet may state it several times.
    round_cell : bool or None
        Whether only a round cell has it, or only one that is not.
    second : bool
        Whether it is a second place for what another figure may say, so that no sheet is missed to state it.
    possible : tuple of float or None
        Outside of these a number is no such figure of a single cell, whatever stands beside it; common
        practice, no source. [unit]
    """

    field: str
    words: str
    notation: Notation
    unit: str
    option: str
    question: str
    heading: str
    part: str = ""
    field_words: str = ""
    draft: DraftName | None = None
    draft_kind: str = ""
    many: bool = False
    round_cell: bool | None = None
    second: bool = False
    possible: tuple[float, float] | None = None

    @property
    def key(self) -> str:
        """The name that the option's value has in a command."""
        return self.option.removeprefix("--").replace("-", "_")

    @property
    def single(self) -> bool:
        """Whether it is a single number with a citation of its own."""
        return self.notation == "number"


_CAPACITY, _VOLTAGE, _CURRENT = "Capacity", "Voltage", "Current"
_BODY, _LIFE = "Resistance, mass and size", "Life and temperature"


def _number(field: str, words: str, option: str, question: str, heading: str, **more: object) -> SheetFigure:
    unit = {"ah": "Ah", "v": "V", "a": "A", "g": "g", "mm": "mm"}[field.rpartition("_")[2]]
    return SheetFigure(field, words, "number", unit, option, question, heading, **more)  # type: ignore[arg-type]


def _capacity(kind: str, question: str) -> SheetFigure:
    return SheetFigure(
        "capacity", f"capacity, {kind}", "capacity", "Ah", f"--{kind}-ah",
        f"{question}, in Ah, and its conditions if stated: 3.35 at 0.67A, 25degC", _CAPACITY,
        part=kind, field_words="capacity", draft="capacity", draft_kind=kind, many=True,
        possible=(0.003, 500.0),
    )  # fmt: skip


def _resistance(part: str, words: str, question: str, draft: DraftName, kind: str = "") -> SheetFigure:
    return SheetFigure(
        "resistance", words, "resistance", "mohm", f"--{part.replace('_', '-')}", question, _BODY,
        part=part, field_words="resistance", draft=draft, draft_kind=kind, possible=POSSIBLE_MOHM,
    )  # fmt: skip


SHEET_FIGURES: tuple[SheetFigure, ...] = (
    _capacity("minimum", "Minimum capacity"),
    _capacity("typical", "Typical capacity"),
    _capacity("nominal", "Capacity called nominal, without 'minimum' or 'typical'"),
    _capacity("rated", "Capacity called rated, without 'minimum' or 'typical'"),
    _number(
        "c_rate_capacity_ah",
        "1C refers to",
        "--c-rate-base-ah",
        "Capacity that 1C refers to, if stated",
        _CAPACITY,
    ),
    _number(
        "nominal_voltage_v",
        "nominal voltage",
        "--nominal-v",
        "Nominal voltage",
        _VOLTAGE,
        draft="nominal_voltage",
        possible=(1.0, 80.0),
    ),
    _number(
        "charge_voltage_v",
        "charge voltage",
        "--charge-v",
        "Charge voltage, the limit when full",
        _VOLTAGE,
        draft="charge_voltage",
        possible=(2.0, 5.0),
    ),
    _number(
        "cutoff_voltage_v",
        "cut-off voltage",
        "--cutoff-v",
        "Discharge cut-off voltage, when empty",
        _VOLTAGE,
        draft="cutoff_voltage",
        possible=(0.9, 3.6),
    ),
    SheetFigure(
        "discharge",
        "continuous discharge",
        "limit",
        "A",
        "--discharge",
        "Continuous discharge limit, with its band if stated: 8A, or 0..45=8A, or -20..0=0.5C",
        _CURRENT,
        part="max_continuous",
        draft="max_continuous_discharge",
        many=True,
    ),
    SheetFigure(
        "discharge",
        "maximum discharge",
        "maximum",
        "A",
        "--discharge-maximum",
        "Maximum discharge not called continuous, or up to a cell temperature: 25A, or 45A/80C",
        _CURRENT,
        part="max_unspecified",
        draft="max_discharge_unspecified",
        many=True,
    ),
    _number(
        "discharge_unspecified_a",
        "maximum discharge at no temperature",
        "--discharge-unspecified-a",
        "Maximum discharge, not called continuous and without a temperature, beside banded limits",
        _CURRENT,
        second=True,
    ),
    SheetFigure(
        "pulse",
        "pulse discharge",
        "pulse",
        "A",
        "--pulse",
        "Pulse discharge limit and how long it lasts: 15A/5s",
        _CURRENT,
        part="current",
        draft="pulse_discharge",
        many=True,
    ),
    SheetFigure(
        "charge",
        "charge",
        "limit",
        "A",
        "--charge",
        "Maximum charge current, with its band if stated: 1.7A, or 10..45=0.5C",
        _CURRENT,
        part="max",
        draft="max_charge",
        many=True,
    ),
    _number(
        "standard_charge_a",
        "standard charge",
        "--standard-charge-a",
        "Standard charge current",
        _CURRENT,
        draft="standard_charge",
    ),
    _resistance("ac_mohm", "ac resistance, 1 kHz", "Resistance at 1 kHz, in mohm", "ac_resistance"),
    _resistance(
        "ac_max_mohm",
        "ac resistance, 1 kHz, at most",
        "Largest resistance at 1 kHz (printed <=), in mohm",
        "ac_resistance",
        "maximum",
    ),
    _resistance(
        "dc_mohm",
        "dc resistance",
        "DC resistance, in mohm, with the pulse if stated: 32/10s",
        "dc_resistance",
    ),
    _resistance(
        "dc_max_mohm",
        "dc resistance, at most",
        "Largest DC resistance (printed <=), in mohm",
        "dc_resistance",
        "maximum",
    ),
    _number("mass_g", "mass", "--mass-g", "Mass", _BODY, draft="mass", possible=(0.2, 15000.0)),
    _number(
        "mass_max_g",
        "mass, at most",
        "--mass-max-g",
        "Largest mass (printed as a maximum)",
        _BODY,
        draft="mass",
        draft_kind="maximum",
        second=True,
        possible=(0.2, 15000.0),
    ),
    _number(
        "diameter_mm",
        "diameter",
        "--diameter-mm",
        "Diameter",
        _BODY,
        draft="diameter",
        round_cell=True,
        possible=(3.0, 120.0),
    ),
    _number(
        "length_mm", "length", "--length-mm", "Length or height", _BODY, draft="length", possible=(5.0, 600.0)
    ),
    _number(
        "width_mm",
        "width",
        "--width-mm",
        "Width, if it is not round",
        _BODY,
        draft="width",
        round_cell=False,
        possible=(5.0, 600.0),
    ),
    _number(
        "thickness_mm",
        "thickness",
        "--thickness-mm",
        "Thickness, if it is not round",
        _BODY,
        draft="thickness",
        round_cell=False,
        possible=(0.5, 200.0),
    ),
    SheetFigure(
        "cycle_life",
        "cycle life",
        "cycles",
        "cycles",
        "--cycles",
        "Cycle life: 300 to 80%, or 300 to 80% at 1.7A charge, 3.4A discharge, 25degC",
        _LIFE,
        draft="cycle_life",
        possible=(20.0, 50000.0),
    ),
    SheetFigure(
        "discharge_temperature",
        "discharge temperature",
        "range",
        "C",
        "--discharge-temperature",
        "Temperatures for discharge, in C: -20..60",
        _LIFE,
        draft="operating_temperature",
        draft_kind="discharge",
    ),
    SheetFigure(
        "charge_temperature",
        "charge temperature",
        "range",
        "C",
        "--charge-temperature",
        "Temperatures for charge, in C: -20..60",
        _LIFE,
        draft="operating_temperature",
        draft_kind="charge",
    ),
    SheetFigure(
        "storage_temperature",
        "storage temperature",
        "range",
        "C",
        "--storage-temperature",
        "Temperatures for storage, in C: -20..60",
        _LIFE,
        draft="storage_temperature",
    ),
    SheetFigure(
        "storage",
        "storage by duration",
        "storage",
        "C",
        "--storage",
        "Temperatures for storage by duration, and what is left: 3 months -20..45 to 90%",
        _LIFE,
        many=True,
        second=True,
    ),
)
"""In the order in which sheets print them."""

FIGURES: tuple[str, ...] = tuple(dict.fromkeys(figure.field for figure in SHEET_FIGURES))
"""The fields of a sheet that hold figures."""
CITED: tuple[str, ...] = tuple(figure.field for figure in SHEET_FIGURES if figure.single)
"""Those that are a single number, whose page and line stand in ``citations``."""
FIELD_WORDS: dict[str, str] = {
    field: next(each.field_words or each.words for each in SHEET_FIGURES if each.field == field)
    for field in FIGURES
}
"""What each of these fields is called."""
UNITS_READ: dict[DraftName, str] = {figure.draft: figure.unit for figure in SHEET_FIGURES if figure.draft}
"""The unit of each figure by the name that a reader of sheets has for it."""


def figure_of(field: str, part: str = "") -> SheetFigure:
    """Return the figure that a field holds, or the part of it. Raises ``StopIteration`` for none."""
    return next(figure for figure in SHEET_FIGURES if figure.field == field and part in ("", figure.part))


def expected_of(*, round_cell: bool) -> tuple[str, ...]:
    """Return the fields that a sheet of such a cell is expected to state."""
    return tuple(
        dict.fromkeys(
            figure.field
            for figure in SHEET_FIGURES
            if not figure.second and figure.round_cell in (None, round_cell)
        )
    )


def figures_read_as(draft: str, kind: str | None = None) -> tuple[SheetFigure, ...]:
    """Return the figures that a reader of sheets calls by a name, of a kind where one is told."""
    return tuple(
        figure for figure in SHEET_FIGURES if figure.draft == draft and kind in (None, figure.draft_kind)
    )
