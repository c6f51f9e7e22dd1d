"""Charge current: the sheet's bands over the air of charging, how the row shares, and the charge leads.

The cell has 0.1C at 0..5 C, 0.2C at 5..15 C and 0.5C at 15..55 C of 2.6 Ah, the format of a trade data sheet
of an 18650 NMC cell; four in parallel make 1.04, 2.08 and 5.2 A where they share evenly.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.finding import Element, Finding
from verifier.verdict import PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

BANDS = [
    {"low_c": 0, "high_c": 5, "max_c": 0.1},
    {"low_c": 5, "high_c": 15, "max_c": 0.2},
    {"low_c": 15, "high_c": 55, "max_c": 0.5},
]
FROST = {"low_c": -20, "high_c": 0, "max_a": 0}
THICK = {"awg": 4, "conductor": "copper"}
LEADS = {"awg": 16, "conductor": "copper"}


def judged(bench: Bench, bands: list[dict[str, Any]] | None = None, /, **changes: Any) -> Finding:
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=BANDS if bands is None else bands))
    data = bench.seen_through(**{
        "claim.charge_current_a": 2, "observed.charge_leads": LEADS, "use.charge_temperature_c": [15, 40],
        **changes,
    })  # fmt: skip
    found: Finding = bench.figure("charge_current", data, cell)
    return found


def codes(found: Finding) -> set[str]:
    return {each.code for each in found.cautions}


def numbers(found: Finding, code: str) -> dict[str, Any]:
    (told,) = [each for each in found.cautions if each.code == code]
    return dict(told.numbers)


def element(found: Finding, name: str) -> Element:
    return next(each for each in found.elements if each.element == name)


@pytest.mark.parametrize(
    ("temperature_c", "amperes"),
    [([15, 40], 5.2), ([10, 40], 2.08), ([0, 40], 1.04), (3, 1.04), (5, 2.08)],
)
def test_the_worst_band_of_the_air_of_charging_governs(
    bench: Bench, temperature_c: Any, amperes: float
) -> None:
    """The summer current would be granted to cold cells, which plates lithium. 4 x 2.6 Ah x 0.5 C."""
    found = judged(bench, **{"use.charge_temperature_c": temperature_c})
    assert (found.supported.low, found.supported.high) == (pytest.approx(amperes), pytest.approx(amperes))


@pytest.mark.parametrize(("temperature_c", "most_a"), [([-5, 40], 1.04), ([15, 60], 5.2)])
def test_charging_in_air_of_which_the_sheet_says_nothing_is_open(
    bench: Bench, temperature_c: Any, most_a: float
) -> None:
    """A charger would be refuted, or granted, by what a sheet does not say. Rule: outside every band nothing is."""
    found = judged(bench, **{"use.charge_temperature_c": temperature_c})
    assert (found.supported.low, found.supported.high) == (0, pytest.approx(most_a))


def test_riding_in_frost_does_not_refute_charging_indoors(bench: Bench) -> None:
    """Every pack ridden at -10 C would be called a lie for its charger. Before, charging was judged over the
    air of riding: 0 A, does not hold."""
    changes = {"use.temperature_c": [-10, 35], "use.charge_temperature_c": [15, 30]}
    found = judged(bench, [FROST, *BANDS], **changes)
    assert found.verdict is Verdict.HOLDS_WITH_RESERVE
    assert numbers(found, "no_charging_below") == {"start_c": 0}


@pytest.mark.parametrize(("bands", "verdict"), [(BANDS, Verdict.HOLDS_WITH_RESERVE), (BANDS[:1], None)])
def test_a_room_that_nobody_stated_carries_a_pass_with_a_caution_and_never_a_refusal(
    bench: Bench, bands: list[dict[str, Any]], verdict: Verdict | None
) -> None:
    """A default of ours would refuse a pack, or pass it in silence. Default: 20 to 25 C, a room. With the
    sheet's cold band alone (0 to 5 C) it grants nothing in a room."""
    found = judged(bench, bands, **{"use.charge_temperature_c": None, "claim.charge_current_a": 1})
    assert found.verdict is (verdict or Verdict.NOT_SETTLED)
    assert ("default_charging_air" in codes(found)) is (verdict is not None)
    if verdict is None:
        assert "use.charge_temperature_c" in found.unknown


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (3.4, Verdict.HOLDS_WITH_RESERVE),
        (5.2, Verdict.HOLDS_WITHOUT_RESERVE),
        (5.3, Verdict.DOES_NOT_HOLD),
    ],
)
def test_the_verdict_on_a_charge_current(bench: Bench, claim: float, verdict: Verdict) -> None:
    """A fast charger would pass that the cells do not take. 2/3 x 5.2 A = 3.47 A."""
    assert judged(bench, **{"claim.charge_current_a": claim}).verdict is verdict


def test_the_larger_of_both_claims_is_judged(bench: Bench) -> None:
    """A claim would be judged at its modest end: the larger upper end decides, of equals the larger lower."""
    for one, other, asked in (
        ([1, 4], [2, 3], (1, 4)), ([1, 4], [2, 4], (2, 4)), ([2, 4], [1, 4], (2, 4)), (3, [1, 4], (1, 4)),
        (2, 8, (8, 8)), (8, 4, (8, 8)), (None, 4, (4, 4)), (4, None, (4, 4)),
    ):  # fmt: skip
        found = judged(bench, **{"claim.charge_current_a": one, "claim.max_charge_current_a": other})
        assert found.claimed is not None
        assert (found.claimed.low, found.claimed.high) == asked


@pytest.mark.parametrize("bands", [[FROST, *BANDS], BANDS])
def test_no_charging_in_frost_is_said(bench: Bench, bands: list[dict[str, Any]]) -> None:
    """0 A below 0 C, printed or by silence, would read as a figure that is not known."""
    found = judged(bench, bands, **{"use.charge_temperature_c": [-5, 40]})
    assert found.verdict is Verdict.DOES_NOT_HOLD
    assert numbers(found, "no_charging_below") == {"start_c": 0}
    assert "no_charging_below" not in codes(judged(bench, bands))


def test_band_by_band(bench: Bench) -> None:
    """The user would not see from which temperature on the charger is right."""
    found = judged(bench, [FROST, *BANDS])
    rows = [
        (band.low_c, band.high_c, round(band.cells.low, 9), band.verdict) for band in found.by_temperature
    ]
    assert rows == [
        (-20, 0, 0, Verdict.DOES_NOT_HOLD),
        (0, 5, 1.04, Verdict.DOES_NOT_HOLD),
        (5, 15, 2.08, Verdict.HOLDS_WITHOUT_RESERVE),
        (15, 55, 5.2, Verdict.HOLDS_WITH_RESERVE),
    ]


def test_thin_charge_leads_limit(bench: Bench) -> None:
    """A 5 A charger would pass through leads that glow: 30 AWG is 0.05 mm2."""
    found = judged(bench, **{"observed.charge_leads": {"awg": 30, "conductor": "copper"}})
    assert found.limited_by == "charge_leads"
    assert found.supported.high < 5


def test_leads_of_which_nobody_named_the_conductor_are_not_copper(bench: Bench) -> None:
    """Copper-clad aluminium, which carries less, would pass as copper. Rule: not stated is not known."""
    named = element(judged(bench), "leads").supported
    found = judged(bench, **{"observed.charge_leads": {"awg": 16}})
    assert element(found, "leads").supported.low < named.low
    assert "observed.charge_leads.conductor" in element(found, "leads").unknown


def test_the_hottest_cell_of_a_row_decides(bench: Bench) -> None:
    """16 A into 4 x 4 A would hold, while the first cell of a row fed at one end takes more than 4 A.

    Rule: the network is linear, so a row shares when charging as it does when discharging; a thin steel strip
    fed at one end makes the first cell take 1.3 times the mean or more."""
    bands = [{"low_c": 0, "high_c": 45, "max_a": 4}]
    thin = {"material": "plated_steel", "thickness_mm": 0.1, "width_mm": 5, "layers": 1, "pitch_mm": 20}
    data = {"claim.charge_current_a": 16, "observed.charge_leads": THICK}
    assert judged(bench, bands, **data).verdict in PASSES
    found = judged(bench, bands, **{
        **data, "observed.strip": thin, "observed.take_off": {"where": "end"}, "observed.series_links.count": 1,
    })  # fmt: skip
    assert element(found, "cells").supported.low < 16 / 1.3
    assert found.verdict not in PASSES
    share = next(step.value for step in found.steps if step.symbol == "f_share")
    assert element(found, "cells").supported.low == pytest.approx(16 / share.high)


def test_an_unseen_take_off_grants_the_charge_of_one_cell(bench: Bench) -> None:
    """A row that nobody has seen would be granted even sharing. However it shares, one cell takes its 1.3 A."""
    found = judged(bench, **{"observed.take_off": None})
    cells = element(found, "cells").supported
    assert (cells.low, cells.high) == (pytest.approx(1.3), pytest.approx(5.2))
    assert "observed.take_off.where" in found.unknown


@pytest.mark.parametrize(
    "missing",
    [
        ["observed.cell", "claim.cell_marking"],
        ["observed.parallel", "claim.parallel", "claim.cell_count"],
        ["observed.charge_leads"],
    ],
)
def test_a_missing_fact_never_passes(bench: Bench, missing: list[str]) -> None:
    """A charge current would pass into cells, or through leads, that nobody has seen."""
    assert judged(bench).verdict in PASSES
    found = judged(bench, **dict.fromkeys(missing))
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(name.startswith(missing[0]) for name in found.unknown)


def test_a_sheet_without_a_charge_limit_grants_its_standard_charge_in_a_room_only(bench: Bench) -> None:
    """The current at which capacity was measured would be granted in frost, or taken for the limit."""
    cell = bench.cell("lyr-18650-26", bench.sheet(standard_charge_a=1.3))
    data = bench.seen_through(**{"claim.charge_current_a": 3, "observed.charge_leads": LEADS})
    for temperature_c, low in (([20, 25], 5.2), ([10, 40], 0)):
        changed = bench.changed(data, {"use.charge_temperature_c": temperature_c})
        found = bench.figure("charge_current", changed, cell)
        assert found.supported.low == pytest.approx(low)
        assert element(found, "cells").supported.high == inf
        assert "only_standard_charge" in codes(found)
    assert judged(bench, []).verdict is Verdict.NOT_SETTLED


def test_of_two_sheets_of_one_grade_the_low_end_is_the_lower_and_the_high_end_the_higher(
    bench: Bench,
) -> None:
    """The kinder of two sheets would set the charger, or a claim that one maker's sheet supports be refuted.

    Changed: the lower one used to be both ends."""
    sheets = [
        bench.sheet(title=f"sheet of {amps}", charge=[{"low_c": 0, "high_c": 45, "max_a": amps}])
        for amps in (1.3, 2.6)
    ]
    for two in (sheets, sheets[::-1]):
        cell = bench.cell("lyr-18650-26", *two)
        data = bench.seen_through(**{"claim.charge_current_a": 8, "observed.charge_leads": THICK})
        found = bench.figure("charge_current", data, cell)
        supported = element(found, "cells").supported
        assert (supported.low, supported.high) == (pytest.approx(5.2), pytest.approx(10.4))
        assert found.verdict is Verdict.NOT_SETTLED
        assert "sheets_differ" in codes(found)


def test_an_element_with_an_upper_end_limits_before_one_that_is_not_known(bench: Bench) -> None:
    """A report would name the cells, of which nothing is known, and not the thin leads that are seen."""
    leads = {"awg": 20, "conductor": "copper"}
    data = bench.build(**{"observed.cell": None, "observed.charge_leads": leads})
    assert bench.figure("charge_current", data).limited_by == "charge_leads"
    assert judged(bench).limited_by == "cells"


# -- chargers and regeneration -------------------------------------------------------------------------------


def test_a_charger_that_gives_more_is_told_although_nothing_is_claimed(bench: Bench) -> None:
    """An 8 A charger on cells for 5.2 A would lie on the bench unmentioned."""
    found = judged(bench, **{"claim.charge_current_a": None, "observed.charger.current_a": 8})
    assert found.verdict is Verdict.NOT_CLAIMED
    assert "charger_too_strong" in codes(found)


@pytest.mark.parametrize(
    ("parallel", "charger", "said"),
    [
        (4, 5.2, None), (4, 5.3, "charger_too_strong"), (4, [5, 5.3], "charger_may_be_too_strong"),
        (4, [5.2, 5.3], "charger_may_be_too_strong"), (4, [5.25, 5.3], "charger_too_strong"),
        ([3, 4], 3.9, None), ([3, 4], 4.5, "charger_may_be_too_strong"), ([3, 4], 5.3, "charger_too_strong"),
    ],
)  # fmt: skip
def test_a_charger_is_told_where_it_gives_more_than_the_pack_takes(
    bench: Bench, parallel: Any, charger: Any, said: str | None
) -> None:
    """A charger that the cells do not take would go unsaid, or one that fits be warned of. 1.3 A a cell."""
    found = judged(bench, **{"observed.parallel": parallel, "observed.charger.current_a": charger,
                             "observed.charge_leads": THICK})  # fmt: skip
    told = codes(found) & {"charger_too_strong", "charger_may_be_too_strong"}
    assert told == ({said} if said else set())


@pytest.mark.parametrize(
    ("temperature_c", "amps", "said"),
    [
        ([20, 40], 5, None),
        ([20, 40], 5.3, "regeneration_too_strong"),
        ([0, 5], 5, "regeneration_too_strong"),
        (0, 1, None),
        ([0, 5], [1, 2], "regeneration_may_be_too_strong"),
        ([20, 40], None, None),
    ],
)
def test_braking_into_the_pack_is_charging_at_the_temperatures_of_riding(
    bench: Bench, temperature_c: Any, amps: Any, said: str | None
) -> None:
    """5 A of braking current at 0 to 5 C would plate lithium unmentioned: 4 x 0.1C of 2.6 Ah are 1.04 A."""
    found = judged(bench, **{"use.temperature_c": temperature_c, "use.regeneration_a": amps})
    told = codes(found) & {"regeneration_too_strong", "regeneration_may_be_too_strong"}
    assert told == ({said} if said else set())


def test_braking_into_cells_that_nobody_knows_is_told(bench: Bench) -> None:
    """Nothing said would read as fine."""
    found = judged(bench, **{"observed.cell": None, "claim.cell_marking": None, "use.regeneration_a": 5})
    assert "regeneration_may_be_too_strong" in codes(found)


@given(
    st.integers(1, 8),
    st.integers(0, 4),
    st.floats(0, 1),
    st.floats(-10, 50),
    st.floats(0, 30),
    st.floats(0, 1),
)
def test_every_point_inside_the_ranges_lies_inside_the_whole(
    bench: Bench, fewest: int, more: int, part: float, low_c: float, width: float, at: float
) -> None:
    """A count or a temperature inside what is known would be granted more, or less, than the report says."""

    def supported(count: Any, temperature_c: Any) -> Any:
        return judged(bench, **{
            "observed.parallel": count, "use.charge_temperature_c": temperature_c, "claim.parallel": None,
            "claim.cell_count": None, "observed.take_off": {"where": "end"},
        }).supported  # fmt: skip

    air = [low_c, low_c + width]
    wide = supported([fewest, fewest + more], air)
    count = fewest + round(part * more)
    assert wide.low <= supported(count, min(low_c + at * width, low_c + width)).low * (1 + 1e-9)
    fixed = supported(count, air)
    assert wide.low * (1 - 1e-9) <= fixed.low <= fixed.high <= wide.high * (1 + 1e-9)
