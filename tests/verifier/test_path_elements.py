"""Links, take-off, leads and the rest of the path as elements of a case. Practice values: no source."""

from __future__ import annotations

from typing import Any

import pytest

from registry.errors import PlacedError
from verifier.support.leads import lead_support_a
from verifier.support.strips import strip_material

STRIP = {"material": "nickel", "thickness_mm": 0.15, "width_mm": 8, "layers": 1, "pitch_mm": 19}


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
        ("nickel", None, "nickel"),
        (None, None, "unknown"),
    ],
)
def test_what_a_test_of_the_strip_proves(bench: Any, named: str | None, test: Any, taken: str) -> None:
    """No rust after one hour would pass plated steel off as nickel."""
    data = bench.build(**{"observed.strip.material": named, "observed.material_test": test})
    assert strip_material(bench.pack(data))[0] == taken


@pytest.mark.parametrize(
    ("count", "low", "high"),
    [(4, 4 * 6.0, 4 * 8.4), (7, 7 * 6.0, 7 * 8.4), (1, 6.0, 8.4)],
)
def test_links_carry_what_practice_grants_one_of_them(
    bench: Any, count: int, low: float, high: float
) -> None:
    """A group joined by one link would be trusted with the current of four. 5..7 A/mm2 x 0.15 x 8 mm."""
    data = bench.seen_through(**{"observed.strip": STRIP, "observed.series_links.count": count})
    links = bench.element("series_links", data).supported
    assert (links.low, links.high) == pytest.approx((low, high))


@pytest.mark.parametrize(("count", "told"), [(1, True), (2, True), (4, False), (7, False)])
def test_one_or_two_links_for_a_group_are_told(bench: Any, count: int, told: bool) -> None:
    """The commonest fault of a cheap pack would go unmentioned; seven links for four cells are good."""
    finding = bench.finding(
        "continuous_current", bench.seen_through(**{"observed.series_links.count": count})
    )
    assert any("one link a cell is common practice" in text for text in finding.cautions) == told


def test_a_row_fed_at_one_end_through_thin_strip_is_not_enough_for_thirty_amps(bench: Any) -> None:
    """A 4P row with two layers of 0.10 to 0.15 mm strip would pass at 30 A, and its tab glow."""
    strip = {"thickness_mm": [0.10, 0.15], "width_mm": 8, "layers": 2, "pitch_mm": 19}
    path = {"observed.take_off": {"where": "end"}}
    nickel = bench.seen_through(**{"observed.strip": {**strip, "material": "nickel"}, **path})
    steel = bench.seen_through(**{"observed.strip": {**strip, "material": "plated_steel"}, **path})
    with_nickel, with_steel = (bench.element("take_off", each).supported for each in (nickel, steel))
    assert with_nickel.high == pytest.approx(0.15 * 8 * 2 * 7)
    assert with_nickel.high < 30
    assert with_steel.high < with_nickel.high
    assert with_steel.low < with_nickel.low


def test_the_last_stretch_carries_all_but_one_cell(bench: Any) -> None:
    """A stronger tab on a weak row would be trusted with what the row cannot bring. (P - 1) / P."""
    data = bench.seen_through(**{"observed.strip": STRIP, "observed.take_off": {"where": "end", "layers": 4}})
    found = bench.element("take_off", data)
    assert found.supported.low == pytest.approx(min(4 * 6.0, 6.0 / 0.75))
    middle = bench.changed(data, {"observed.take_off": {"where": "middle", "layers": 4}})
    assert bench.element("take_off", middle).supported.low == pytest.approx(6.0 / 0.5)
    several = bench.changed(data, {"observed.take_off": {"positions": [1, 4], "layers": 4}})
    assert bench.element("take_off", several).supported.low == pytest.approx(6.0 / 0.5)


@pytest.mark.parametrize(("gauge", "enough"), [(12, True), (14, False), (16, False), (10, True)])
def test_twelve_awg_suits_thirty_amps_and_fourteen_is_the_cheaper_habit(
    bench: Any, gauge: int, enough: bool
) -> None:
    """Leads one size too thin would pass at 30 A in summer. 75 C conductor in 35 C air."""
    leads = {"awg": gauge, "conductor": "copper", "length_m": 0.3}
    data = bench.seen_through(**{"observed.leads": leads, "use.temperature_c": [10, 35]})
    assert (bench.element("leads", data).supported.low >= 30) == enough


def test_eighteen_awg_is_fine_for_a_charge_lead(bench: Any) -> None:
    """A sound 2 A charge lead would be called too thin, or a hair of a wire good."""
    seen = {"observed.charger": {"voltage_v": 54.6, "current_a": 2}}
    fine = bench.build(**{"observed.charge_leads": {"awg": 18, "conductor": "copper"}, **seen})
    thin = bench.build(**{"observed.charge_leads": {"awg": 36, "conductor": "copper"}, **seen})
    assert any("charge leads carry 2 A" in text for text in bench.finding("build", fine).cautions)
    assert not any("charge leads carry 2 A" in text for text in bench.finding("build", thin).cautions)


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
def test_a_build_that_cannot_be_is_one_clear_error(bench: Any, changes: dict[str, Any]) -> None:
    """A slip of the pen would be judged as a pack."""
    with pytest.raises(PlacedError) as caught:
        bench.judge(bench.seen_through(**changes))
    assert "observed" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_what_would_lift_the_limit_really_does(bench: Any) -> None:
    """A repairer would solder a second take-off that changes nothing."""
    data = bench.seen_through(**{"observed.strip": STRIP, "observed.take_off": {"where": "end"}})
    finding = bench.finding("continuous_current", data)
    assert finding.limited_by == "take_off"
    assert finding.lifts
    assert all(each.supported.high > finding.supported.high for each in finding.lifts)
    every = next(each for each in finding.lifts if each.change == "a take-off at every cell")
    changed = bench.changed(data, {"observed.take_off": {"where": "every_cell", "layers": 1}})
    assert bench.finding("continuous_current", changed).supported == every.supported


def test_the_whole_pack_is_solved_when_asked(bench: Any) -> None:
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


def test_the_build_is_recorded_and_never_a_score(bench: Any) -> None:
    """Neat welds would pass for a good pack, or their lack fail a claim."""
    build = {"weld_marks_per_cell": 2, "positive_insulators": False, "balance_leads": 12}
    found = bench.finding("build", bench.build(**{"observed.build": build}))
    assert found.verdict == "not claimed"
    text = " ".join(found.cautions)
    assert "2 weld marks a cell make 1 weld" in text
    assert "no insulating rings" in text
    assert "12 balance leads for 13 groups" in text


def test_clad_aluminium_carries_less_than_copper_of_the_same_gauge(bench: Any) -> None:
    """A 12 AWG lead of clad aluminium is granted what copper carries, and runs hot beside the cells.

    Source: 62 to 68 % of the conductivity of copper, from memory; at equal heat the current goes
    with the root of it, 0.79 to 0.82.
    """
    carried = {}
    for conductor in ("copper", "copper_clad_aluminium"):
        pack = bench.pack(
            bench.build(**{"observed.leads": {"awg": 12, "conductor": conductor}}), bench.cell()
        )
        found = lead_support_a(pack, pack.observed.leads)
        assert found is not None
        carried[conductor] = found[0]
    copper, clad = carried["copper"], carried["copper_clad_aluminium"]
    # Its strands may also be laid otherwise than those of a copper lead, which takes a little more.
    assert 0.7 < clad.low / copper.low < 0.62**0.5 + 0.02
    assert 0.75 < clad.high / copper.high < 0.68**0.5 + 0.02
