"""Pack voltages by cells in series, as trade tables print them, against what the program makes of a pack.

Source: trade summary tables of cell voltages by chemistry (NMC 3.60, also 3.70, full 4.20, usual empty 3.00,
absolute minimum 2.50; LFP 3.20, full 3.65, 2.50, 2.00; LTO 2.40, full 2.85, 1.80, 1.50) and their multiples:
common practice, no source.
"""

from __future__ import annotations

import pytest

from registry.chemistry import VOLTAGES
from verifier.case.limits import Limits
from verifier.case.reading import parse_case
from verifier.case_facts import CaseFacts
from verifier.cell_inside import look_inside
from verifier.finding import Finding
from verifier.judge import judge_figure
from verifier.pack.counts import series as cells_in_series
from verifier.pack.voltage import pack_empty_voltage, pack_full_voltage, pack_nominal_voltage
from verifier.quantities import Quantity
from verifier.verdict import Verdict
from verifier.voltage_classes import series_for_class

# Series, NMC nominal (3.6 and 3.7), full, floor (absolute and usual), LFP nominal, full.
TABLE = [
    (10, 36.0, 37.0, 42.0, 25.0, 30.0, 32.0, 36.5),
    (13, 46.8, 48.1, 54.6, 32.5, 39.0, 41.6, 47.45),
    (14, 50.4, 51.8, 58.8, 35.0, 42.0, 44.8, 51.1),
    (16, 57.6, 59.2, 67.2, 40.0, 48.0, 51.2, 58.4),
    (20, 72.0, 74.0, 84.0, 50.0, 60.0, 64.0, 73.0),
]
each_row = pytest.mark.parametrize("row", TABLE, ids=[f"{row[0]}S" for row in TABLE])


class NoCells:
    """A registry without a cell."""

    count = 0
    digest = ""

    def cells(self, *, all: bool = False) -> list[object]:
        return []

    def get(self, cell_id: str) -> None:
        return None

    def named(self, normalised: str, *, retired: bool = False) -> list[object]:
        return []

    def fitting(self, size: str | None, chemistry: str | None) -> list[object]:
        return []


def pack(chemistry: str, series: int | None = None, **claims: float) -> CaseFacts:
    observed = f"{{cell: {{chemistry: {chemistry}}}" + ("}" if series is None else f", series: {series}}}")
    claim = ", ".join(f"{name}: {value}" for name, value in claims.items())
    case = parse_case(f"claim: {{{claim}}}\nobserved: {observed}\n", "table").case
    return CaseFacts(case, look_inside(case, NoCells()), Limits())  # type: ignore[arg-type]


def nominal(chemistry: str, series: int, volts: float) -> Finding:
    return judge_figure("nominal_voltage", pack(chemistry, series, nominal_voltage_v=volts))


def ends(found: Quantity) -> tuple[float, float]:
    return round(found.low, 6), round(found.high, 6)


@each_row
def test_nickel_packs(row: tuple[float, ...]) -> None:
    """A pack of unknown cells would be given voltages that no trade table prints."""
    series, low, high, full, floor, usual, *_ = row
    found = pack("NMC", int(series))
    assert ends(found.find(pack_nominal_voltage)) == (low, high)
    assert ends(found.find(pack_full_voltage)) == (full, full)
    assert ends(found.find(pack_empty_voltage)) == (floor, usual)


@each_row
def test_iron_phosphate_packs(row: tuple[float, ...]) -> None:
    """An iron phosphate pack would be given the voltages of a nickel one."""
    series, low, full = int(row[0]), row[6], row[7]
    found = pack("LFP", series)
    assert found.find(pack_nominal_voltage).low == pytest.approx(low)
    assert found.find(pack_full_voltage).high == pytest.approx(full)
    assert found.find(pack_empty_voltage).low == pytest.approx(2.0 * series)


@each_row
def test_a_full_voltage_names_its_series_count(row: tuple[float, ...]) -> None:
    """A charger's voltage would be read as that of a pack with a cell more or less."""
    series, full, phosphate = int(row[0]), row[3], row[7]
    for chemistry, volts in (("NMC", full), ("NCA", full), ("LFP", phosphate)):
        assert ends(pack(chemistry, full_voltage_v=volts).find(cells_in_series)) == (series, series)


@each_row
def test_both_nominal_voltages_of_the_table_are_consistent(row: tuple[float, ...]) -> None:
    """An honest seller who prints 3.7 V a cell would be refuted."""
    series = int(row[0])
    for chemistry, volts in (("NMC", row[1]), ("NMC", row[2]), ("LFP", row[6])):
        assert nominal(chemistry, series, volts).verdict is Verdict.CONSISTENT, (chemistry, volts)


@each_row
def test_a_full_voltage_is_no_nominal_voltage(row: tuple[float, ...]) -> None:
    """The voltage of a full pack, a sixth higher, would pass as its nominal one."""
    series = int(row[0])
    for chemistry, volts in (("NMC", row[3]), ("LFP", row[7])):
        found = nominal(chemistry, series, volts)
        assert found.verdict is Verdict.INCONSISTENT, (chemistry, volts)
        assert "nominal_is_full" in {each.code for each in found.cautions}


@pytest.mark.parametrize(
    ("volts", "chemistry", "counts"),
    [
        (36, "NMC", {10}),
        (48, "NMC", {13, 14}),
        (52, "NMC", {14}),
        (60, "NMC", {16, 17}),
        (72, "NMC", {20, 21}),
        (48, "LFP", {15, 16}),
        (51.2, "LFP", {16}),
        (12, "LTO", {5, 6}),
        (24, "LTO", {10, 12}),
        (36, "LTO", {15, 16}),
        (48, "LTO", {20, 21, 22}),
    ],
)
def test_the_names_of_the_trade(volts: float, chemistry: str, counts: set[int]) -> None:
    """A "48 V" pack of 13 cells would be called wrong, or one of 12 right. Common practice, no source."""
    assert set(series_for_class(volts, volts, VOLTAGES[chemistry], 0.015)) == counts  # type: ignore[index]


def test_titanate_cells() -> None:
    """A titanate pack would be judged as a nickel one (2.40 V, full 2.85 V, 1.80 and 1.50 V empty)."""
    titanate = VOLTAGES["LTO"]
    assert titanate.nominal_v[1] == 2.40
    assert titanate.full_v[1] == 2.85
    assert titanate.empty_v == (1.50, 1.80)
