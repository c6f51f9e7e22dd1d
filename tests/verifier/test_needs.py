"""What a pack must have, all together, to meet a current; and the limit to set for the pack as it is."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from registry.cell import Capacity, Cell, DischargeBand, Resistance, Sheet
from registry.cells import InMemory
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.case_facts import CaseFacts
from verifier.cell_inside import look_inside
from verifier.errors import InvalidQuestion
from verifier.judge import judge
from verifier.needed_parts import Need, parts_needed, short_circuit_a
from verifier.needs import Needs, case_of, needs
from verifier.report.needs import data, render_text
from verifier.verdict import Verdict
from verifier.words.needs import NEEDS


def cell(cell_id: str, amperes: float | None, **figures: Any) -> Cell:
    """Return an invented cell with one band from -20 to 60 C."""
    bands = () if amperes is None else (DischargeBand(low_c=-20, high_c=60, max_continuous_a=amperes),)
    sheet = Sheet(
        evidence="maker", discharge=bands, nominal_voltage_v=3.6, charge_voltage_v=4.2, cutoff_voltage_v=2.5,
        mass_g=48, diameter_mm=18.4, length_mm=65, resistance=Resistance(dc_mohm=29),
        capacity=(Capacity(kind="minimum", value_ah=3.4), Capacity(kind="typical", value_ah=3.5)),
    )  # fmt: skip
    return Cell(
        id=cell_id, maker="Lyr", model=cell_id, size="18650", chemistry="NMC", sheets=(sheet,), **figures
    )


REGISTRY = InMemory(
    (cell("lyr-eight", 8.0), cell("lyr-strong", 20.0), cell("lyr-vague", None), cell("lyr-tiny", 1e-6)),
    "here",
)


def case(**fields: Any) -> Case:
    """Return a case of plain data."""
    return Case.model_validate(fields)


def asked(current_a: float | None, of: Case, **limits: float) -> Needs:
    """Return the needs of a case."""
    return needs(of, REGISTRY, Limits(of.limits).with_overrides(limits), current_a=current_a)


def part(found: Needs, element: str) -> Need:
    """Return the need of one part."""
    return next(each for each in found.needs if each.element == element)


def codes(need: Need) -> list[str]:
    """Return what kinds of build were found for a part."""
    return [each.code for each in need.options]


def test_the_cells_in_parallel_keep_the_reserve() -> None:
    """One cell short, and the pack runs at its cells' limit.

    By hand: 30 A / (2/3 x 8 A) = 5.63, so 6 in parallel; 2/3 x 4 x 8 A = 21.3 A, so 21 A for four.
    """
    found = asked(30.0, case_of(REGISTRY, "lyr-eight", in_series=10, side_by_side=4))
    assert found.cells_needed == pytest.approx(5.625)
    assert found.parallel_needed == 6
    assert part(found, "cells").at_least_a == pytest.approx(45)
    assert part(found, "cells").state == "too little"
    assert found.controller.cells_a == 21.0


def test_a_fuse_lies_between_what_it_must_carry_and_what_its_leads_do() -> None:
    """A smaller fuse ages and fails under way; a larger one lets the leads burn.

    By hand: 30 A / 0.75 = 40 A (common practice, no source); 30 A / (2/3) = 45 A for the reserve of a check.
    10 in series full: 42 V.
    """
    found = asked(30.0, case_of(REGISTRY, "lyr-eight", in_series=10, side_by_side=4))
    window, breaks = part(found, "fuse").options
    (leads,) = part(found, "leads").options
    assert (window.numbers["low_a"], window.numbers["keeps_a"]) == (pytest.approx(40), pytest.approx(45))
    assert window.numbers["high_a"] == leads.numbers["carries_a"] >= 45
    assert breaks.numbers["volts"] == pytest.approx(42)


def test_a_short_circuit_is_the_full_voltage_over_cells_and_leads() -> None:
    """A fuse that cannot break it goes on as an arc.

    By hand: cells of 29 mohm to direct current of nobody knows how many seconds have 29 / 2.5 / 1.6 = 7.25 mohm or
    more at once (verifier.electrical.resistance); 10S4P and leads of 5 mohm: 42 V / (72.5 / 4 + 5) mohm = 1816 A.
    Leads of 5 mohm are 0.5 m there and back of 3.4482 mm2 of copper, 0.017241 ohm mm2/m at 20 C (IEC 60028).
    """
    fields: dict[str, Any] = {
        "observed": {"series": 10, "parallel": 4, "cell": {"id": "lyr-eight"},
                     "leads": {"area_mm2": 3.4482, "length_m": 0.5, "conductor": "copper"}},
        "use": {"temperature_c": 20},
    }  # fmt: skip
    of = case(**fields)
    assert short_circuit_a(CaseFacts(of, look_inside(of, REGISTRY), Limits())) == pytest.approx(1816, abs=0.5)
    del fields["observed"]["leads"]
    bare = case(**fields)
    without = short_circuit_a(CaseFacts(bare, look_inside(bare, REGISTRY), Limits()))
    assert without == pytest.approx(42 / 0.018125)


def built(found: Needs, way: int, in_series: int, named: str) -> Case:
    """Return the pack built as one of the ways says, every rated part at its smallest."""
    links, tabs = part(found, "series_links").options, part(found, "take_off").options
    # The most links of the strip: those of the other take-off of it carry at least as much.
    link = max(
        (each for each in links if all(
            each.numbers[name] == tabs[way].numbers[name] for name in ("material", "thickness_mm", "width_mm")
        )),
        key=lambda each: each.numbers["links"],
    )  # fmt: skip
    (leads,) = part(found, "leads").options
    fuse = part(found, "fuse").options[0]
    tab = tabs[way].numbers
    return case(
        claim={"continuous_current_a": found.current_a},
        observed={
            "series": in_series, "parallel": found.parallel_needed, "cell": {"id": named},
            "strip": {"material": tab["material"], "thickness_mm": tab["thickness_mm"],
                      "width_mm": tab["width_mm"], "layers": tab["layers"]},
            "series_links": {"count": link.numbers["links"]},
            "take_off": {"where": tabs[way].code.removeprefix("take_off_at_"), "layers": tab["layers"]},
            "leads": {"awg": leads.numbers["awg"], "conductor": "copper"},
            "bms": {"continuous_a": part(found, "bms").options[0].numbers["current_a"]},
            "connector": {"continuous_a": part(found, "connector").options[0].numbers["current_a"]},
            "fuse": {"rating_a": fuse.numbers["keeps_a"], "voltage_v": 60, "breaking_a": 2000},
        },
        use={"temperature_c": [0, 40]},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("named", "current_a"), [("lyr-eight", 30.0), ("lyr-strong", 20.0), ("lyr-eight", 12.0)]
)
@pytest.mark.parametrize("in_series", [1, 10, 13])
def test_a_pack_built_as_said_holds_with_reserve(named: str, current_a: float, in_series: int) -> None:
    """Otherwise somebody builds by it and the check of the built pack then says no.

    Source: `verifier.judge`, another way to the same answer.
    """
    found = asked(current_a, case_of(REGISTRY, named, in_series=in_series, side_by_side=None))
    ways = part(found, "take_off").options
    assert ways
    if in_series == 1:
        assert codes(part(found, "series_links")) == ["single_group"]
        return
    for way in range(len(ways)):
        report = judge(built(found, way, in_series, named), REGISTRY)
        finding = report.finding("continuous_current")
        assert finding.verdict is Verdict.HOLDS_WITH_RESERVE, (ways[way], finding.supported)
        assert not any(each.code in ("fuse_above_leads", "bms_above_leads") for each in report.alarms)


def test_the_thinnest_lead_that_carries_it_is_named_and_no_thinner_one() -> None:
    """A thicker lead than needed is only dear; a thinner one runs hot. Source: `verifier.judge`."""
    found = asked(30.0, case_of(REGISTRY, "lyr-eight", in_series=10, side_by_side=4))
    gauge = part(found, "leads").options[0].numbers["awg"]
    for awg, enough in ((gauge, True), (gauge + 2, False)):
        of = case(
            claim={"continuous_current_a": 30}, use={"temperature_c": [0, 40]},
            observed={"leads": {"awg": awg, "conductor": "copper"}},
        )  # fmt: skip
        leads = next(
            each
            for each in judge(of, REGISTRY).finding("continuous_current").elements
            if each.element == "leads"
        )
        assert (leads.supported.low * 2 / 3 >= 30) is enough


def test_parts_that_were_seen_are_told_as_enough_or_too_little() -> None:
    """A part that is too small must be named, and one that nobody has seen must never count as enough."""
    found = asked(
        30.0,
        case(observed={
            "series": 10, "parallel": 8, "cell": {"id": "lyr-eight"}, "bms": {"continuous_a": 40},
            "connector": {"continuous_a": 60}, "fuse": {"fitted": False},
        }),
    )  # fmt: skip
    states = {each.element: each.state for each in found.needs}
    assert states == {
        "cells": "not known", "series_links": "not known", "take_off": "not known", "leads": "not known",
        "bms": "too little", "connector": "enough", "fuse": "not fitted",
    }  # fmt: skip
    assert not found.met


def test_the_controller_is_set_by_the_weakest_part_that_was_seen() -> None:
    """Otherwise the controller draws what the BMS or a thin strip cannot carry.

    By hand: 2/3 x 15 A of the connector = 10 A.
    """
    of = built(asked(30.0, case_of(REGISTRY, "lyr-eight", in_series=10, side_by_side=4)), 0, 10, "lyr-eight")
    weak = of.with_observed(
        connector=of.observed.connector.model_copy(update={"continuous_a": Bounds(15, 15)})
    )
    found = needs(weak, REGISTRY, Limits())
    assert (found.controller.set_a, found.controller.limited_by) == (10.0, "connector")
    assert found.controller.not_checked == ()
    # By hand: 10 x 2.5 V.
    assert found.controller.cutoff_v == pytest.approx(25)


def test_nothing_is_set_on_the_sellers_word_or_on_nothing() -> None:
    """A limit set by what a seller says of himself protects nobody."""
    said = asked(10.0, case(claim={"series": 10, "parallel": 4, "cell_marking": "Lyr lyr-eight"}))
    assert (said.controller.set_a, said.controller.cells_a is not None) == (0.0, True)
    assert said.controller.sellers_word
    unknown = asked(10.0, case(claim={"series": 10, "parallel": 4}))
    assert (unknown.controller.set_a, unknown.controller.cells_a) == (0.0, None)
    assert "cells" in unknown.controller.not_checked
    assert "Set no limit yet" in render_text([said])


def test_an_unknown_cell_is_told_as_what_it_must_carry() -> None:
    """Otherwise a buyer of cells has no figure to look for. By hand: 30 A / (2/3) / 4 = 11.25 A."""
    (option,) = part(asked(30.0, case(observed={"series": 10, "parallel": 4})), "cells").options
    assert (option.code, option.numbers["each_a"]) == ("each_cell_must_carry", pytest.approx(11.25))
    for named in ("lyr-vague", "lyr-tiny"):
        found = asked(30.0, case_of(REGISTRY, named, in_series=10, side_by_side=None))
        assert found.parallel_needed is None
        assert part(found, "cells").state != "enough"


def test_the_claim_is_met_where_no_current_is_named_and_the_load_where_nothing_is_claimed() -> None:
    """The wrong current gives a pack for another claim.

    By hand: the range's upper end; a 500 W motor at 70 % from 10 x 2.5 V takes 28.6 A.
    """
    ranged = case(claim={"continuous_current_a": [20, 25]}, observed={"series": 10})
    assert asked(None, ranged).current_a == 25
    maximum = case(claim={"max_current_a": 30}, observed={"series": 10})
    assert asked(None, maximum).current_a == 30
    loaded = case(observed={"series": 10, "cell": {"id": "lyr-eight"}}, use={"load_power_w": 500})
    assert asked(None, loaded).current_a == pytest.approx(500 / 0.7 / 25)
    with pytest.raises(InvalidQuestion, match="claims no continuous current"):
        asked(None, case(observed={"series": 10}))
    with pytest.raises(InvalidQuestion, match="open while the voltage is"):
        asked(None, case(use={"load_power_w": 500}))


@pytest.mark.parametrize("current_a", [0.0, -1.0, 2e6, float("nan")])
def test_a_current_that_no_pack_has_is_refused(current_a: float) -> None:
    """Otherwise a slip of the keyboard is built."""
    with pytest.raises(InvalidQuestion, match=r"^current:"):
        asked(current_a, case(observed={"series": 10}))


def test_a_name_that_is_no_one_cell_is_refused() -> None:
    """One letter can halve the current, so a near name is never taken."""
    with pytest.raises(InvalidQuestion, match="names no one registered cell"):
        case_of(REGISTRY, "Lyr lyr-eigth", in_series=10, side_by_side=4)


def test_what_is_written_says_what_was_found() -> None:
    """The numbers that somebody buys parts by must stand in the text and in the data. Reader: json."""
    found = asked(30.0, case_of(REGISTRY, "lyr-eight", in_series=10, side_by_side=4))
    text = " ".join(render_text([found]).split())
    for words in (
        "6 in parallel", "8 A each", "rated 40 A or more", "45 A for a check", "copper, 6 AWG or thicker",
        "The cells alone give 21 A", "Not checked: links between groups, main-lead strip, main leads",
    ):  # fmt: skip
        assert words in text
    written = json.loads(json.dumps(data(found), allow_nan=False))
    assert written["parallel_needed"] == 6
    assert [each["element"] for each in written["parts"]] == [
        "cells", "series_links", "take_off", "leads", "bms", "connector", "fuse",
    ]  # fmt: skip
    assert written["controller"]["cells_a"] == 21


def test_every_way_to_build_has_its_sentence() -> None:
    """The answer would end in an error for the one part that cannot be built."""
    source = Path(parts_needed.__code__.co_filename).read_text(encoding="utf-8")
    written = set(re.findall(r"\bway\(\s*\"(\w+)\"", source)) | {"take_off_at_every_cell", "take_off_at_end"}
    assert len(written) > 10
    assert written == set(NEEDS)


@pytest.mark.parametrize(
    ("row", "breaks_a"),
    [
        # 10 x 4.2 V over 10 x 7.25 mohm / P (29 mohm over four, as above), by Ohm's law: 8 in parallel 4634 A.
        (8, 4634.5),
        # 30 A over two thirds of 20 A are 3 in parallel; of the one at hand 579 A, of those to be built 1738 A.
        (1, 1737.9),
    ],
)
def test_a_fuse_must_break_what_the_pack_at_hand_gives(row: int, breaks_a: float) -> None:
    """A fuse of 400 A would be bought for a pack of 4634 A in a short circuit, and burn on as an arc."""
    of = case(
        observed={
            "series": 10, "parallel": row, "cell": {"id": "lyr-strong"},
            "fuse": {"rating_a": 60, "voltage_v": 60, "breaking_a": 400},
        }
    )  # fmt: skip
    fuse = part(asked(30.0, of), "fuse")
    assert fuse.options[1].numbers["breaking_a"] == pytest.approx(breaks_a, abs=0.5)


def test_a_fuse_that_may_not_break_is_not_enough() -> None:
    """ "+ enough" would stand beside a fuse that cannot break the short circuit of this pack. 4634 A, by Ohm's law."""
    pack: dict[str, Any] = {"series": 10, "parallel": 8, "cell": {"id": "lyr-strong"}}

    def state(**fuse: float) -> str:
        return part(asked(30.0, case(observed={**pack, "fuse": {"rating_a": 60, **fuse}})), "fuse").state

    assert state(voltage_v=60, breaking_a=5000) == state() == "enough"
    assert state(voltage_v=60, breaking_a=400) == "not known"
    assert state(voltage_v=32, breaking_a=5000) == "too little"
