"""Nominal voltage: the name in the title against series x cell voltage and the usual names of packs.

Trade names of packs: common practice, no source. The cell has 3.6 V, the format of a trade data sheet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.finding import Finding
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def judged(bench: Bench, data: dict[str, Any], *cells: Any) -> Finding:
    found: Finding = bench.figure("nominal_voltage", data, *cells)
    return found


def codes(found: Finding) -> list[str]:
    return [each.code for each in found.cautions]


@pytest.mark.parametrize(
    ("volts", "series", "verdict"),
    [
        (36, 10, Verdict.CONSISTENT),
        (37, 10, Verdict.CONSISTENT),
        (42, 10, Verdict.INCONSISTENT),
        (48, 13, Verdict.CONSISTENT),
        (46.8, 13, Verdict.CONSISTENT),
        (48, 10, Verdict.INCONSISTENT),
        (48, 12, Verdict.INCONSISTENT),
        (48, 14, Verdict.CONSISTENT),
        (52, 14, Verdict.CONSISTENT),
        (52, 13, Verdict.INCONSISTENT),
        (54.6, 13, Verdict.INCONSISTENT),
        (60, 16, Verdict.CONSISTENT),
        (72, 20, Verdict.CONSISTENT),
        (72, 21, Verdict.CONSISTENT),
        # Changed: 19 x 3.7 V = 70.3 V, so 72 V is off by less than half a cell: unusual, and no lie.
        (72, 19, Verdict.NOT_SETTLED),
        (72, 18, Verdict.INCONSISTENT),
    ],
)
def test_a_nominal_voltage_fits_the_usual_count_or_its_arithmetic(
    bench: Bench, volts: float, series: int, verdict: Verdict
) -> None:
    """Ten cells would be sold as 48 V. Trade names of nickel packs: common practice, no source."""
    data = bench.build(**{"claim.nominal_voltage_v": volts, "observed.series": series})
    found = judged(bench, data)
    assert found.verdict is verdict
    assert (found.supported.low, found.supported.high) == pytest.approx((3.6 * series, 3.6 * series))
    if verdict is Verdict.INCONSISTENT:
        (told,) = [each for each in found.cautions if each.code == "nominal_arithmetic"]
        assert told.numbers["series"].high == series
        assert told.numbers["makes_v"].high == pytest.approx(3.6 * series)
        assert told.numbers["claimed_v"] == volts


@pytest.mark.parametrize(
    ("volts", "series", "verdict"),
    [
        (51.2, 16, Verdict.CONSISTENT),
        (48, 15, Verdict.CONSISTENT),
        (48, 16, Verdict.CONSISTENT),
        (48, 13, Verdict.INCONSISTENT),
        (36, 10, Verdict.INCONSISTENT),
        (36, 12, Verdict.CONSISTENT),
        (12.8, 4, Verdict.CONSISTENT),
        (14.6, 4, Verdict.INCONSISTENT),
    ],
)
def test_iron_phosphate_packs_have_their_own_counts(
    bench: Bench, volts: float, series: int, verdict: Verdict
) -> None:
    """Thirteen iron phosphate cells (41.6 V) would be sold as 48 V. Common practice, no source."""
    data = {
        "claim": {"nominal_voltage_v": volts},
        "observed": {"series": series, "cell": {"chemistry": "LFP"}},
    }
    assert judged(bench, data).verdict is verdict


@pytest.mark.parametrize(("volts", "series"), [(12, 6), (24, 12), (36, 16), (48, 22), (48, 20)])
def test_titanate_packs_are_sold_under_usual_names_too(bench: Bench, volts: float, series: int) -> None:
    """An honest seller of titanate would be called a liar. 2.3 to 2.4 V a cell: common practice, no source."""
    data = {
        "claim": {"nominal_voltage_v": volts},
        "observed": {"series": series, "cell": {"chemistry": "LTO"}},
    }
    assert judged(bench, data).verdict is Verdict.CONSISTENT


@pytest.mark.parametrize(
    ("volts", "verdict"), [(48.5, Verdict.CONSISTENT), (49, Verdict.NOT_SETTLED), (50, Verdict.INCONSISTENT)]
)
def test_an_unusual_name_is_left_open_and_called_wrong_from_half_a_cell_on(
    bench: Bench, volts: float, verdict: Verdict
) -> None:
    """A rounding of the seller's own would be an accusation. 13 x 3.7 V = 48.1 V, half a cell is 1.85 V.

    Changed: 49 V used to be called inconsistent."""
    assert judged(bench, bench.build(**{"claim.nominal_voltage_v": volts})).verdict is verdict


def test_the_rounding_of_a_nominal_voltage_is_a_limits(bench: Bench) -> None:
    """A stricter user could not refuse 48.5 V for 13 cells (46.8 to 48.1 V), within 1.5 % by default."""
    data = bench.build(**{"claim.nominal_voltage_v": 48.5})
    strict = bench.changed(data, {"limits.nominal_voltage_tolerance": 0})
    assert judged(bench, data).verdict is Verdict.CONSISTENT
    assert judged(bench, strict).verdict is Verdict.NOT_SETTLED


def test_a_full_voltage_sold_as_nominal_is_named(bench: Bench) -> None:
    """A buyer of "54.6 V" would not learn that it is a 48 V pack when full (13 x 4.2 V)."""
    found = judged(bench, bench.build(**{"claim.nominal_voltage_v": 54.6}))
    assert codes(found) == ["nominal_arithmetic", "nominal_is_full"]
    assert "nominal_is_full" not in codes(judged(bench, bench.build(**{"claim.nominal_voltage_v": 60})))


@pytest.mark.parametrize("series", [None, [10, 13], [13, 14]])
def test_a_nominal_voltage_on_an_uncertain_count_stays_open(bench: Bench, series: Any) -> None:
    """One of two possible packs would be confirmed. (48 V fits 13 and 14 in series alike, but not 10.)"""
    data = bench.build(**{"claim.nominal_voltage_v": 48, "observed.series": series})
    expected = Verdict.CONSISTENT if series == [13, 14] else Verdict.NOT_SETTLED
    assert judged(bench, data).verdict is expected


@pytest.mark.parametrize("chemistry", [None, "other"])
def test_a_nominal_voltage_on_an_unknown_chemistry_is_no_pass(bench: Bench, chemistry: str | None) -> None:
    """Ten sodium-ion cells of 3.0 V (30 V) would pass as 36 V, because some chemistry would make it."""
    data = {"claim": {"nominal_voltage_v": 36}, "observed": {"series": 10, "cell": {"chemistry": chemistry}}}
    assert judged(bench, data).verdict is Verdict.NOT_SETTLED


def test_a_sheet_decides_over_the_span_of_its_chemistry(bench: Bench) -> None:
    """Ten cells of 3.0 V by their own sheet, 30 V, would pass as 36 V because the chemistry is a wide one."""
    sheet = bench.sheet(nominal_voltage_v=3.0, charge_voltage_v=4.0, cutoff_voltage_v=1.6)
    cell = bench.cell("lyr-18650-26", sheet, chemistry="other")
    data = bench.build(**{"claim.nominal_voltage_v": 36, "observed.series": 10})
    assert judged(bench, data, cell).verdict is Verdict.INCONSISTENT


def test_a_claim_cannot_confirm_itself(bench: Bench) -> None:
    """A bare "48 V" would be found consistent with the count derived from it."""
    found = judged(bench, {"claim": {"nominal_voltage_v": 48, "chemistry": "NMC"}})
    assert found.verdict is Verdict.NOT_SETTLED
    assert "observed.series" in found.unknown


def test_a_count_that_only_the_seller_gives_passes_on_his_word(bench: Bench) -> None:
    """A listing would confirm its own title as if somebody had counted."""
    found = judged(bench, {"claim": {"nominal_voltage_v": 48, "series": 13, "chemistry": "NMC"}})
    assert found.verdict is Verdict.CONSISTENT_ON_SELLERS_WORD
    assert found.sellers_word == ("claim.series", "claim.chemistry")


def test_more_cells_than_any_name_stands_for_are_no_pass(bench: Bench) -> None:
    """A count beyond every name of the trade would fit because nothing was compared with it."""
    data = bench.build(**{"claim.nominal_voltage_v": 48, "observed.series": 300})
    assert judged(bench, data).verdict is Verdict.INCONSISTENT


@pytest.mark.parametrize(
    ("volts", "series", "cell_v", "verdict"),
    [
        # 16 x 3.05 V = 48.8 V, 12 x 3.05 V = 36.6 V: sodium-ion packs are sold by the usual names; practice, no source.
        (48, 16, 3.05, Verdict.CONSISTENT),
        (36, 12, 3.05, Verdict.CONSISTENT),
        (48, 16, 3.1, Verdict.CONSISTENT),
        (48.8, 16, 3.05, Verdict.CONSISTENT),
        (48, 18, 3.05, Verdict.INCONSISTENT),
        (36, 16, 3.05, Verdict.INCONSISTENT),
        (47.5, 16, 3.05, Verdict.NOT_SETTLED),
    ],
)
def test_an_unusual_cell_is_sold_under_the_nearest_usual_name(
    bench: Bench, volts: float, series: int, cell_v: float, verdict: Verdict
) -> None:
    """A sodium-ion pack of which everything is known could never be settled."""
    sodium = bench.cell(
        "lyr-18650-26", bench.sheet(nominal_voltage_v=cell_v, charge_voltage_v=3.95, cutoff_voltage_v=1.5),
        chemistry="other",
    )  # fmt: skip
    data = bench.build(**{"claim.nominal_voltage_v": volts, "observed.series": series})
    assert judged(bench, data, sodium).verdict is verdict


def test_whole_volts_are_printed_of_what_the_cells_make(bench: Bench) -> None:
    """11 cells of 3.6 V, 39.6 V, printed 39 V could never be settled. Rule: rounding down, common practice."""
    data = bench.build(**{"claim.nominal_voltage_v": 39, "observed.series": 11})
    assert judged(bench, data).verdict is Verdict.CONSISTENT


@pytest.mark.parametrize(
    ("claim", "nominal", "charge", "nominal_v"),
    [
        # 13 x 3.6 to 3.7 V, full 13 x 4.2 V.
        ({"chemistry": "NMC", "charge_voltage_v": 54.6}, True, True, (46.8, 48.1)),
        ({"chemistry": "LFP", "charge_voltage_v": 58.4}, True, True, (51.2, 52.8)),
        # Without a chemistry 13 of lithium-ion, 15 of iron phosphate or 20 of titanate, and each is sold as 48 V.
        ({"charge_voltage_v": 54.6}, True, True, (46, 49.5)),
        ({"full_voltage_v": 54.6}, True, True, (46, 49.5)),
        ({"charge_voltage_v": 42}, None, False, None),
        ({}, False, None, None),
    ],
)
def test_two_voltages_that_name_one_pack_are_believed_on_the_sellers_word(
    bench: Bench, claim: dict[str, Any], nominal: bool | None, charge: bool | None, nominal_v: Any
) -> None:
    """The textbook listing could never be settled, or a voltage confirm itself. Counts: common practice, no source."""
    data = {"claim": {"nominal_voltage_v": 48, "capacity_ah": 10, **claim}}
    for figure, passes in (("nominal_voltage", nominal), ("charge_voltage", charge)):
        found = bench.figure(figure, data)
        if passes is not None:
            assert (found.verdict is Verdict.CONSISTENT_ON_SELLERS_WORD) is passes, figure
        assert found.verdict is not Verdict.CONSISTENT
    if nominal_v is not None:
        supported = bench.figure("nominal_voltage", data).supported
        assert (supported.low, supported.high) == pytest.approx(nominal_v)
    assert bench.judge(data).rely_on.continuous_current_a.low == 0


def test_a_charge_voltage_that_names_the_pack_never_makes_it_looser(bench: Bench) -> None:
    """Knowing more would tell less. Rule: 28 V beside 24 V are 10 titanate cells, of 2.4 V by their sheet."""
    sheet = bench.sheet(nominal_voltage_v=2.4, charge_voltage_v=2.8, cutoff_voltage_v=1.5)
    cell = bench.cell("lyr-18650-26", sheet, chemistry="LTO")
    stated = {"nominal_voltage_v": 24, "charge_voltage_v": 28, "cell_marking": "LYR 18650-26"}
    found = bench.figure("nominal_voltage", {"claim": stated}, cell)
    assert (found.supported.low, found.supported.high) == pytest.approx((24, 24))
    assert found.verdict is Verdict.CONSISTENT_ON_SELLERS_WORD
