"""A charge held against the cells: too high, too cold, too fast; and a log of charges alone beside a case."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
import yaml

from registry.cell import Cell
from registry.cells import InMemory
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.case.reading import parse_case
from verifier.discharge_log.against_claims import against_claims
from verifier.discharge_log.charging import held_against_sheet
from verifier.discharge_log.model import LogReading
from verifier.discharge_log.same_pack import refuse_other_pack, with_possible_counts
from verifier.errors import UnreadableInput
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.discharge_log.conftest import Read


def charge(
    end_v: float,
    temperature_c: float = 20.0,
    amps: float = 3.0,
    series: int = 13,
    group_v: float | None = None,
) -> str:
    """Return a charge at a constant current, then falling at a voltage; with a high group where one is named."""
    heading = "time_s,voltage_v,current_a,cell temp (C)"
    lines = [heading + ",Cell 1 (V),Cell 2 (V)" if group_v is not None else heading]
    rows = [(3.2 * series, 0.0)] * 30
    rows += [(3.2 * series + (end_v - 3.2 * series) * n / 1000, amps) for n in range(1000)]
    rows += [(end_v, amps * (1 - n / 220)) for n in range(200)]
    rows += [(end_v * 0.998, 0.0)] * 30
    for n, (volts, current) in enumerate(rows):
        line = f"{10 * n},{volts:.3f},{current:.3f},{temperature_c:.1f}"
        if group_v is not None:
            high = 3.2 + (group_v - 3.2) * min(max(n - 30, 0) / 1000, 1)
            line += f",{high:.3f},{volts - high:.3f}"
        lines.append(line)
    return "\n".join(lines) + "\n"


def case_of(series: int = 13, **more: Any) -> Case:
    data = {
        "claim": {"capacity_ah": 9, "charge_hours": 4, "charge_current_a": 3, "chemistry": "NMC"},
        "observed": {"series": series, **more},
    }
    return parse_case(yaml.safe_dump(data), "case").case


def told(reading: LogReading, case: Case) -> LogReading:
    refuse_other_pack(reading, case)
    return with_possible_counts(reading, case)


@pytest.mark.parametrize("chemistry", ["NMC", None])
def test_a_log_of_a_charge_alone_is_judged(chemistry: str | None, read: Read) -> None:
    """A charger's log ends in a fault of the program as soon as the case states the count."""
    data = {"claim": {"configuration": "13S4P", "capacity_ah": 10, "charge_hours": 4, "chemistry": chemistry}}
    case = parse_case(yaml.safe_dump(data), "case").case
    reading = told(read(charge(54.3)), case)
    assert reading.warnings == ()
    assert {each.figure for each in against_claims(reading, case, Limits())} >= {"capacity", "charge_time"}


def test_an_overcharge_is_told_and_is_no_other_pack(read: Read) -> None:
    """A pack at 4.35 V a cell is charged on: the log is refused as another's. Sheets: 4.20 +- 0.05 V a cell."""
    case = case_of()
    reading = told(read(charge(56.5)), case)
    (said,) = reading.warnings
    assert "overcharged: it was charged to 4.35 V a cell, where a full one has 4.2 V" in said
    assert "another pack, of 14 in series" in said
    found = {each.figure: each for each in against_claims(reading, case, Limits())}
    assert found["charge_time"].verdict == Verdict.NOT_SETTLED


def test_a_full_charge_is_none(read: Read) -> None:
    """Every charge to 4.2 V a cell is an alarm. Sheets: 4.20 +- 0.05 V a cell."""
    assert told(read(charge(54.6)), case_of()).warnings == ()


def test_what_no_charge_reaches_is_another_packs_and_says_both(read: Read) -> None:
    """A 16S pack's charge is taken for 13S: at 5.2 V a cell it burns. Common practice, no source: 4.6 V."""
    with pytest.raises(UnreadableInput, match="charged far too high and must not be charged on"):
        refuse_other_pack(read(charge(67.2)), case_of())


def test_one_group_too_high_is_an_overcharge(read: Read) -> None:
    """The mean hides a group at 4.35 V. Sheets: 4.20 +- 0.05 V a cell."""
    reading = told(read(charge(8.3, series=2, group_v=4.35)), case_of(series=2))
    assert any("overcharged: a group went to 4.35 V" in each for each in reading.warnings)


@pytest.mark.parametrize(("chemistry", "cold"), [("NMC", True), ("LFP", True), ("LTO", False)])
def test_a_charge_in_frost_is_told(chemistry: str, cold: bool, read: Read) -> None:
    """Lithium plates in the cells and nobody hears of it. Sheets of lithium-ion: no charging below 0 C, from memory."""
    full = {"NMC": 4.2, "LFP": 3.6, "LTO": 2.75}[chemistry]
    data = {"observed": {"series": 13, "cell": {"chemistry": chemistry}}}
    case = parse_case(yaml.safe_dump(data), "case").case
    reading = with_possible_counts(read(charge(13 * full, temperature_c=-5.0)), case)
    assert any("charged at -5 C" in each for each in reading.warnings) is cold


CELL = {
    "id": "invented-21700", "maker": "Invented", "model": "I-50", "form": "cylindrical", "size": "21700",
    "chemistry": "NMC",
    "sheets": [{
        "title": "I-50", "evidence": "maker", "charge_voltage_v": 4.2,
        "capacity": [{"kind": "minimum", "value_ah": 4.8}],
        "charge": [
            {"low_c": 0, "high_c": 10, "max_a": 0.5, "basis": "ambient"},
            {"low_c": 10, "high_c": 45, "max_a": 2.0, "basis": "ambient"},
        ],
    }],
}  # fmt: skip


@pytest.mark.parametrize(
    ("temperature_c", "amps", "words"),
    [
        (20.0, 1.5, "the cells' sheet allows it"),
        (5.0, 3.0, "where the cells' sheet allows the pack 1 A at most"),
        (20.0, 5.0, "where the cells' sheet allows the pack 4 A at most"),
        (-5.0, 0.5, "where the cells' sheet allows it from 0 to 45 C"),
    ],
)
def test_the_current_is_held_against_the_sheet(
    temperature_c: float, amps: float, words: str, read: Read
) -> None:
    """A charge that is too fast for the cold passes. The sheet: 0.5 A from 0 to 10 C, then 2 A; 2 beside."""
    data = {"observed": {"series": 13, "parallel": 2, "cell": {"id": "invented-21700"}}}
    case = parse_case(yaml.safe_dump(data), "case").case
    registry = InMemory((Cell.model_validate(CELL),), "test")
    reading = held_against_sheet(read(charge(54.5, temperature_c, amps)), case, registry, Limits())
    assert any(words in each for each in (*reading.warnings, *reading.remarks))
