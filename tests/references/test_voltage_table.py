"""Pack voltages by cells in series, as trade tables print them, against what the program makes of a pack.

Source: trade summary tables of cell voltages by chemistry (NMC 3.60, also 3.70, full 4.20, usual empty 3.00,
absolute minimum 2.50; LFP 3.20, full 3.65, 2.50, 2.00; LTO 2.40, full 2.85, 1.80, 1.50) and their multiples:
common practice, no source.
"""

from __future__ import annotations

import pytest

from registry.chemistry import VOLTAGES
from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.case.reading import parse_case
from verifier.judge import judge
from verifier.pack import Pack
from verifier.report.model import Report
from verifier.support.voltage import pack_empty_voltage, pack_nominal_voltage
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

    def named(self, normalised: str) -> list[object]:
        return []

    def fitting(self, size: str | None, chemistry: str | None) -> list[object]:
        return []


def case(chemistry: str, series: int | None = None, **claims: float) -> Case:
    observed = f"{{cell: {{chemistry: {chemistry}}}" + ("}" if series is None else f", series: {series}}}")
    claim = ", ".join(f"{name}: {value}" for name, value in claims.items())
    return parse_case(f"claim: {{{claim}}}\nobserved: {observed}\n", "table").case


def pack(chemistry: str, series: int | None = None, **claims: float) -> Pack:
    return Pack(case(chemistry, series, **claims), NoCells())  # type: ignore[arg-type]


def report(chemistry: str, series: int, **claims: float) -> Report:
    return judge(case(chemistry, series, **claims), NoCells())  # type: ignore[arg-type]


def ends(bounds: Bounds) -> tuple[float, float]:
    return round(bounds.low, 6), round(bounds.high, 6)


@each_row
def test_nickel_packs(row: tuple[float, ...]) -> None:
    """A pack of unknown cells would be given voltages that no trade table prints."""
    series, low, high, _, floor, usual, *_ = row
    found = pack("NMC", int(series))
    assert ends(pack_nominal_voltage(found).value) == (low, high)
    assert ends(pack_empty_voltage(found).value) == (floor, usual)


@each_row
def test_iron_phosphate_packs(row: tuple[float, ...]) -> None:
    """An iron phosphate pack would be given the voltages of a nickel one."""
    series, nominal, full = int(row[0]), row[6], row[7]
    found = pack_nominal_voltage(pack("LFP", series)).value
    assert found.low == pytest.approx(nominal)
    assert series * VOLTAGES["LFP"].full_v[1] == pytest.approx(full)
    assert series * VOLTAGES["LFP"].empty_v[0] == pytest.approx(2.0 * series)


@each_row
def test_a_full_voltage_names_its_series_count(row: tuple[float, ...]) -> None:
    """A charger's voltage would be read as that of a pack with a cell more or less."""
    series, full, phosphate = int(row[0]), row[3], row[7]
    for chemistry, volts in (("NMC", full), ("NCA", full), ("LFP", phosphate)):
        found = pack(chemistry, full_voltage_v=volts).series
        assert found is not None
        assert ends(found.value) == (series, series)


@each_row
def test_both_nominal_voltages_of_the_table_are_consistent(row: tuple[float, ...]) -> None:
    """An honest seller who prints 3.7 V a cell would be refuted."""
    series = int(row[0])
    for chemistry, volts in (("NMC", row[1]), ("NMC", row[2]), ("LFP", row[6])):
        found = report(chemistry, series, nominal_voltage_v=volts).finding("nominal_voltage")
        assert found.verdict is Verdict.CONSISTENT, (chemistry, volts)


@each_row
def test_a_full_voltage_is_no_nominal_voltage(row: tuple[float, ...]) -> None:
    """The voltage of a full pack, a sixth higher, would pass as its nominal one."""
    series = int(row[0])
    for chemistry, volts in (("NMC", row[3]), ("LFP", row[7])):
        found = report(chemistry, series, nominal_voltage_v=volts).finding("nominal_voltage")
        assert found.verdict is Verdict.INCONSISTENT, (chemistry, volts)
        assert any("full" in text for text in found.cautions)


@pytest.mark.parametrize(
    ("volts", "chemistry", "counts"),
    [
        (36, "NMC", {10}),
        (48, "NMC", {13, 14}),
        (52, "NMC", {14}),
        (60, "NMC", {16, 17}),
        (72, "NMC", {20}),
        (48, "LFP", {15, 16}),
        (51.2, "LFP", {16}),
    ],
)
def test_the_names_of_the_trade(volts: float, chemistry: str, counts: set[int]) -> None:
    """A "48 V" pack of 13 cells would be called wrong, or one of 12 right. Common practice, no source."""
    assert set(series_for_class(Bounds(volts, volts), VOLTAGES[chemistry], 0.015)) == counts  # type: ignore[index]


def test_titanate_cells() -> None:
    """A titanate pack would be judged as a nickel one (2.40 V, full 2.85 V, 1.80 and 1.50 V empty)."""
    titanate = VOLTAGES["LTO"]
    assert titanate.nominal_v[1] == 2.40
    assert titanate.full_v[1] == 2.85
    assert titanate.empty_v == (1.50, 1.80)
