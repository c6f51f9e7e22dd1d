"""Strip, links, take-off and leads as elements of the current's path. Practice values: common practice, no source.

Nickel strip carries 4 to 6 A/mm2; one layer of 0.15 x 8 mm is 1.2 mm2, so 4.8 to 7.2 A. Plated steel carries 0.5
to 0.67 of it, copper more: at equal heat the square root of the ratio of resistivities.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest

from registry.errors import PlacedError
from verifier.finding import Element
from verifier.pack.strip import STRIP_MATERIALS, strip_material
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

STRIP = {"material": "nickel", "thickness_mm": 0.15, "width_mm": 8, "layers": 1, "pitch_mm": 19}


def element(bench: Bench, name: str, **changes: Any) -> Element:
    found = bench.alone("continuous_current", bench.seen_through(**changes))
    return next(each for each in found.elements if each.element == name)


def ends(bench: Bench, name: str, **changes: Any) -> tuple[float, float]:
    supported = element(bench, name, **changes).supported
    return supported.low, supported.high


@pytest.mark.parametrize(
    ("named", "test", "taken"),
    [
        ("unknown", {"kind": "salt_water", "hours": 1, "rust": False}, "unknown"),
        ("unknown", {"kind": "salt_water", "hours": 6, "rust": True}, "plated_steel"),
        ("unknown", {"kind": "salt_water", "hours": 24, "rust": False}, "nickel"),
        ("unknown", {"kind": "salt_water", "rust": False}, "unknown"),
        ("unknown", {"kind": "spark", "sparks": True}, "plated_steel"),
        ("unknown", {"kind": "spark", "sparks": False}, "unknown"),
        ("nickel", {"kind": "salt_water", "hours": 6, "rust": True}, "plated_steel"),
        ("copper", {"kind": "salt_water", "hours": 24, "rust": False}, "copper"),
        ("nickel", None, "nickel"),
        ("unknown", None, "unknown"),
        # What nobody noted may be copper; what somebody looked at and could not tell is silver-white.
        (None, None, "not_noted"),
    ],
)
def test_what_a_test_of_the_strip_proves(bench: Bench, named: str | None, test: Any, taken: str) -> None:
    """No rust after one hour would pass plated steel off as nickel. Rule: 24 h, limit rust_hours."""
    facts = bench.known(bench.build(**{"observed.strip.material": named, "observed.material_test": test}))
    assert STRIP_MATERIALS[facts.find(strip_material)] == taken


@pytest.mark.parametrize(
    ("material", "low", "high"),
    [
        ("nickel", 4.8, 7.2),
        ("plated_steel", 0.5 * 4.8, 0.67 * 7.2),
        ("unknown", 0.5 * 4.8, 7.2),
    ],
)
def test_a_tab_carries_what_its_metal_does(bench: Bench, material: str, low: float, high: float) -> None:
    """Steel, or a strip of which nobody knows what it is, would be trusted with what nickel carries."""
    changes = {"observed.strip": {**STRIP, "material": material, "layers": 4}}
    found = ends(bench, "take_off", **changes, **{"observed.take_off": {"where": "end", "layers": 1}})
    assert found == pytest.approx((low, high), rel=0.01)


def test_a_thick_bar_is_not_surely_granted_the_density_of_a_thin_strip(bench: Bench) -> None:
    """A copper bar of 20 x 2 mm passes at 240 A, where it glows.

    Source: DIN 43671, 162 A for 30 K over air of 35 C, from memory; by heat it may bear more, so 240 A stays open.
    """
    bar = {**STRIP, "width_mm": 20, "thickness_mm": 2, "material": "copper", "layers": 1}
    low, high = ends(
        bench, "take_off", **{"observed.strip": bar, "observed.take_off": {"where": "end", "layers": 1}}
    )
    assert low < 162 < 240 < high


def test_copper_carries_more_and_what_nobody_noted_may_be_copper(bench: Bench) -> None:
    """A pack on copper would be refused by the limit of nickel because nobody wrote the metal down."""
    tab = {"observed.take_off": {"where": "end", "layers": 1}}
    copper, open_ = (
        ends(bench, "take_off", **tab, **{"observed.strip": {**STRIP, "layers": 4, "material": material}})
        for material in ("copper", None)
    )
    # The square root of 69.3 over 17.2 nohm m is 2.0.
    assert copper[0] > 1.8 * 4.8
    assert open_ == pytest.approx((0.5 * 4.8, copper[1]), rel=0.01)


@pytest.mark.parametrize("count", [1, 4, 7])
def test_links_carry_what_practice_grants_one_of_them(bench: Bench, count: int) -> None:
    """A group joined by one link would be trusted with the current of four."""
    changes = {"observed.strip": STRIP, "observed.series_links.count": count}
    assert ends(bench, "series_links", **changes) == pytest.approx((count * 4.8, count * 7.2))


def test_layers_of_the_rows_say_nothing_sure_of_the_links(bench: Bench) -> None:
    """Links of one layer would be trusted with the three that lie on the rows."""
    changes = {"observed.strip": {**STRIP, "layers": 3}, "observed.series_links.count": 4}
    assert ends(bench, "series_links", **changes) == pytest.approx((4 * 4.8, 3 * 4 * 7.2))


@pytest.mark.parametrize(
    ("links", "parallel", "told"),
    [(1, 4, True), (2, 4, True), (3, 4, True), (4, 4, False), (7, 4, False), ([3, 4], 4, False)],
)
def test_fewer_links_than_cells_are_told(bench: Bench, links: Any, parallel: int, told: bool) -> None:
    """The commonest fault of a cheap pack would go unmentioned; at least one link a cell is usual."""
    found = element(
        bench, "series_links", **{"observed.series_links.count": links, "observed.parallel": parallel}
    )
    assert ("fewer_links_than_cells" in [each.code for each in found.notes]) == told


def test_a_single_group_has_no_links(bench: Bench) -> None:
    """A pack of one group would be refused for want of links that it does not need."""
    changes = {
        "observed.series": 1, "observed.bms.series": 1, "claim.series": 1, "claim.cell_count": None,
        "observed.series_links": None,
    }  # fmt: skip
    found = element(bench, "series_links", **changes)
    assert (found.state, found.supported.low) == ("not fitted", inf)


def test_the_last_stretch_carries_all_but_one_cell(bench: Bench) -> None:
    """A stronger tab on a weak row would be trusted with what the row cannot bring. (P - 1) / P."""
    changes = {"observed.strip": STRIP}
    end = ends(bench, "take_off", **changes, **{"observed.take_off": {"where": "end", "layers": 4}})
    assert end[0] == pytest.approx(4.8 / 0.75)
    # Where the cell at the lead gives more than its share, less passes the stretch.
    assert 7.2 / 0.75 <= end[1] < 7.2 / 0.4
    middle = ends(bench, "take_off", **changes, **{"observed.take_off": {"where": "middle", "layers": 4}})
    assert middle[0] == pytest.approx(4.8 / 0.5), "a tab on one of the two middle cells"
    both = ends(bench, "take_off", **changes, **{"observed.take_off": {"positions": [1, 4], "layers": 4}})
    assert both[0] == pytest.approx(4.8 / 0.25, rel=0.05), "by symmetry each end brings its neighbour"


def test_a_row_of_one_cell_has_no_stretch(bench: Bench) -> None:
    """A single row would be limited by strip between cells that are not there."""
    changes = {
        "observed.parallel": 1, "claim.parallel": None, "claim.cell_count": None,
        "observed.strip": {**STRIP, "layers": 1}, "observed.take_off": {"where": "end", "layers": 3},
    }  # fmt: skip
    assert ends(bench, "take_off", **changes) == pytest.approx((3 * 4.8, 3 * 7.2))


@pytest.mark.parametrize("rows", [1, 3])
def test_layers_of_the_take_off_that_nobody_counted_are_not_those_of_the_rows(
    bench: Bench, rows: int
) -> None:
    """Three layers on the rows would pass one thin tab, or one layer refuse four. Rule: limit strip_layers 1..4."""
    changes = {"observed.strip": {**STRIP, "layers": rows}, "observed.take_off": {"where": "end"}}
    low, high = ends(bench, "take_off", **changes)
    assert low == pytest.approx(4.8)
    assert min(4 * 7.2, rows * 7.2 / 0.75) <= high + 1e-9
    assert high <= 4 * 7.2 + 1e-9
    claim = {"claim.continuous_current_a": 6}
    assert (
        "observed.take_off.layers"
        in bench.alone("continuous_current", bench.seen_through(**changes, **claim)).unknown
    )


def test_a_thin_strip_fed_at_one_end_is_not_enough_for_thirty_amps(bench: Bench) -> None:
    """A 4P row with two layers of 0.10 to 0.15 mm strip would pass at 30 A, and its tab glow.

    The tab carries 0.10 x 8 mm x 2 x 4 A/mm2 to 0.15 x 8 mm x 2 x 6 A/mm2.
    """
    strip = {"thickness_mm": [0.10, 0.15], "width_mm": 8, "layers": 2, "pitch_mm": 19, "material": "nickel"}
    path = {"observed.strip": strip, "observed.take_off": {"where": "end", "layers": 2}}
    assert ends(bench, "take_off", **path) == pytest.approx((6.4, 14.4))
    found = bench.alone(
        "continuous_current", bench.seen_through(**path, **{"claim.continuous_current_a": 30})
    )
    assert (found.verdict, found.limited_by) == (Verdict.DOES_NOT_HOLD, "take_off")


@pytest.mark.parametrize(
    ("gauge", "surely", "perhaps"),
    [(10, True, True), (12, False, True), (14, False, True), (18, False, False)],
)
def test_twelve_awg_is_the_habit_at_thirty_amps(
    bench: Bench, gauge: int, surely: bool, perhaps: bool
) -> None:
    """Leads one size too thin would pass at 30 A in summer.

    75 C conductor; in open air of 35 C 12 AWG carries some 36 A, in a case 15 K warmer some 28 A (heat balance,
    checked in tests/references against handbook tables).
    """
    leads = {"awg": gauge, "conductor": "copper", "length_m": 0.3}
    low, high = ends(bench, "leads", **{"observed.leads": leads, "use.temperature_c": [10, 35]})
    assert (low >= 30, high >= 30) == (surely, perhaps)


@pytest.mark.parametrize("conductor", [None, "unknown"])
def test_a_lead_whose_conductor_nobody_named_may_be_any(bench: Bench, conductor: str | None) -> None:
    """Copper-clad aluminium, which cheap packs have, would be trusted with what copper carries."""

    def carry(conductor: str | None) -> tuple[float, float]:
        return ends(bench, "leads", **{"observed.leads": {"awg": 14, "conductor": conductor}})

    copper, clad, open_ = carry("copper"), carry("copper_clad_aluminium"), carry(conductor)
    assert clad[0] < copper[0]
    assert 0.9 * clad[0] < open_[0] <= clad[0]
    assert copper[1] <= open_[1] < 1.05 * copper[1]


def test_a_gauge_that_only_the_seller_names_bounds_and_grants_nothing(bench: Bench) -> None:
    """ "12 AWG silicone leads" of a listing would pass as leads that somebody has seen."""
    found = element(bench, "leads", **{"observed.leads": None, "claim.lead_awg": 12})
    assert found.supported.low == 0
    assert 20 < found.supported.high < 60
    assert [each.code for each in found.notes] == ["seller_names_gauge"]


@pytest.mark.parametrize(
    "changes",
    [
        {"observed.strip.thickness_mm": 0},
        {"observed.strip.thickness_mm": -0.1},
        {"observed.leads": {"awg": 99}},
        {"observed.strip.layers": 40},
        {"observed.series_links.count": 0},
        {"observed.take_off": {"positions": [0]}},
        {"observed.take_off": {"positions": [5]}},
        {"observed.take_off": {"positions": [2, 2]}},
        {"observed.take_off": {"positions": [2], "where": "end"}},
    ],
    ids=str,
)
def test_a_build_that_cannot_be_is_one_clear_error(bench: Bench, changes: dict[str, Any]) -> None:
    """A slip of the pen would be judged as a pack."""
    with pytest.raises(PlacedError) as caught:
        bench.judge(bench.seen_through(**changes))
    assert "observed" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_what_would_lift_the_limit_really_does(bench: Bench) -> None:
    """A repairer would solder a second take-off that changes nothing."""
    data = bench.seen_through(**{"observed.strip": STRIP, "observed.take_off": {"where": "end", "layers": 1}})
    found = bench.finding("continuous_current", data)
    assert found.limited_by == "take_off"
    assert {each.code for each in found.remedies} >= {"take_off_every_cell"}
    for remedy in found.remedies:
        assert remedy.supported.high > found.supported.high or remedy.supported.low > found.supported.low
    lows = [each.supported.low for each in found.remedies]
    assert lows == sorted(lows, reverse=True), "the best first"
    every = next(each for each in found.remedies if each.code == "take_off_every_cell")
    changed = bench.changed(data, {"observed.take_off": {"where": "every_cell", "layers": 1}})
    assert bench.finding("continuous_current", changed).supported == every.supported


def test_a_remedy_that_changes_nothing_is_not_named(bench: Bench) -> None:
    """A repairer would be told to change what does not limit."""
    found = bench.finding("continuous_current", bench.seen_through(**{"observed.bms.continuous_a": 10}))
    assert (found.limited_by, found.remedies) == ("bms", ())


def test_the_whole_pack_is_solved_when_asked(bench: Bench) -> None:
    """`--explain` would show a network that does not carry the pack's current."""
    data = bench.seen_through(**{"observed.strip": STRIP, "observed.take_off": {"where": "end"}})
    assert bench.judge(data).whole_pack is None
    solved = bench.explained(data).whole_pack
    assert solved is not None
    assert len(solved.cell_a) == 13
    for group in solved.cell_a:
        assert sum(group) == pytest.approx(20)
    assert sum(solved.end_group_after_a) == pytest.approx(20)
    spread = max(solved.cell_a[0]) - min(solved.cell_a[0])
    after = max(solved.end_group_after_a) - min(solved.end_group_after_a)
    assert after < spread, "a group evens out as it empties"


# -- how warm the strip gets, which decides nothing ----------------------------------------------------------


def warmth(bench: Bench, name: str, symbol: str, **changes: Any) -> Any:
    """Return a step of one layer of nickel of 0.15 x 8 mm, in air of 25 C outside and up to 40 C inside."""
    strip = {**STRIP, "pitch_mm": 20}
    data = {"observed.strip": strip, "observed.take_off": {"where": "end", "layers": 1},
            "observed.series_links.count": 1, "use.temperature_c": 25}  # fmt: skip
    steps = {step.symbol: step.value for step in element(bench, name, **{**data, **changes}).steps}
    return steps.get(symbol)


def test_a_tab_far_from_any_cell_is_told_with_its_rise(bench: Bench) -> None:
    """A run to the lead would look as cool as a link. Source: independent balance, 45 K at 6 A and 40 C, 5 W/m2K."""
    rise = warmth(bench, "take_off", "dT_tab", **{"claim.continuous_current_a": 6})
    assert rise.high == pytest.approx(45, rel=0.015)
    assert 0 < rise.low < rise.high
    # Two layers carry it with half the heat, over some more surface.
    double = {"where": "end", "layers": 2}
    cooler = warmth(
        bench, "take_off", "dT_tab", **{"claim.continuous_current_a": 6, "observed.take_off": double}
    )
    assert cooler.high < rise.high / 2


def test_a_tab_that_runs_away_is_told_to_melt(bench: Bench) -> None:
    """A strip that burns through would be told to have no limit. Copper melts at 1085 C, nickel later."""
    rise = warmth(bench, "take_off", "dT_tab", **{"claim.continuous_current_a": 100})
    assert (rise.low, rise.high) == (1085 - 40, inf)


def test_a_link_is_told_with_its_rise_and_its_heat(bench: Bench) -> None:
    """A welder would not see what one link for a whole group does. Source: boundary-value solver.

    20 mm of elemental nickel of 69.3 nohm m under 10 A are 2.42 K above their ends; at 40 C it has 77.4 nohm m.
    """
    ten = {"claim.continuous_current_a": 10}
    rise = warmth(bench, "series_links", "dT_link", **ten)
    assert rise.low == pytest.approx(2.42 * 77.4 / 69.3, rel=0.03)
    # Half of its heat at 40 C: 10 A squared x 77.4 nohm m x 20 mm / 1.2 mm2 = 0.129 W, most of it into the cells.
    heat = warmth(bench, "series_links", "Q_link", **ten)
    assert 0.8 * 0.129 < heat.low < 1.01 * 0.129


@pytest.mark.parametrize(
    "missing",
    [
        {"claim.continuous_current_a": None},
        {"observed.strip.width_mm": None},
        {"claim.continuous_current_a": 1e6},
    ],
)
def test_without_a_current_or_a_strip_no_rise_is_told(bench: Bench, missing: dict[str, Any]) -> None:
    """A rise would be made up for a strip nobody measured, or a current that no strip survives."""
    data = {"claim.continuous_current_a": 10, **missing}
    assert warmth(bench, "series_links", "dT_link", **data) is None
    assert warmth(bench, "take_off", "dT_tab", **data) is None


def test_the_rise_decides_nothing(bench: Bench) -> None:
    """A verdict would rest on a limit that nobody has published."""
    cool, hot = (ends(bench, "series_links", **{"use.temperature_c": air}) for air in (10, 40))
    assert cool == hot


def test_links_of_a_row_of_a_few_lengths_hold_each_of_them(bench: Bench) -> None:
    """Five to seven would exclude six. Rule: the middle of an odd row is one cell, that of an even one is two."""
    seen = {
        "observed.take_off": {"where": "middle"},
        "observed.series_links.count": 12,
        "observed.bms": {"series": 13},
    }
    held = [ends(bench, "series_links", **{**seen, "observed.parallel": count}) for count in (5, 6, 7)]
    low, high = ends(bench, "series_links", **{**seen, "observed.parallel": [5, 7]})
    assert low <= min(each[0] for each in held)
    assert high >= max(each[1] for each in held)
    # Six share otherwise than the two beside it.
    assert max(held[1][1], *held[0][1:], *held[2][1:]) == high
