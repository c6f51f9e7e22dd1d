"""What is known of a pack: facts asked for by name, gaps that are noted, and what only the seller says."""

from __future__ import annotations

from dataclasses import fields
from math import inf
from typing import TYPE_CHECKING, Any

import pytest

from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case_facts import CaseFacts
from verifier.cell_figures import CellFigures
from verifier.cell_inside import look_inside
from verifier.fact_names import MISSING, RESTS_ON, NameSet
from verifier.pack.capacity import rated_capacity
from verifier.pack.counts import series
from verifier.pack.elements import cells
from verifier.verdict import ON_SELLERS_WORD, PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


@pytest.mark.parametrize("names", [MISSING, RESTS_ON])
def test_a_set_of_names_reads_as_the_names_that_went_in(names: NameSet) -> None:
    """A report would ask for another fact than the one that is missing."""
    for place, name in enumerate(names.names):
        other = names.names[place - 1]
        assert names.in_words(names.bit(name)) == (name,)
        assert set(names.in_words(names.bit(name, other))) == {name, other}
    assert names.in_words(0) == ()
    assert names.bit_or_none("of nobody") == 0


def test_more_names_than_a_column_has_bits_are_refused() -> None:
    """The last facts of a table would be those of other packs. Source: an int64 has 63 bits beside its sign."""
    with pytest.raises(ValueError, match="at most 62"):
        NameSet([f"fact {number}" for number in range(63)])
    with pytest.raises(ValueError, match="different"):
        NameSet(["the same", "the same"])


@pytest.mark.parametrize(
    "claims",
    [
        {"claim.chemistry": "LFP", "claim.nominal_voltage_v": 48, "observed.series": 16},
        {"claim.full_voltage_v": 54.6, "claim.nominal_voltage_v": 48, "observed.series": 13},
        {"claim.charge_voltage_v": 54.6, "claim.nominal_voltage_v": 48, "observed.series": 13},
        {
            "claim.nominal_voltage_v": 9, "claim.energy_wh": 100, "observed.capacity_ah": 14,
            "observed.cell.chemistry": "NMC",
        },
        {
            "claim.nominal_voltage_v": 48, "claim.energy_wh": 100, "observed.capacity_ah": 14,
            "claim.chemistry": "LFP",
        },
        {"claim.series": 13, "claim.nominal_voltage_v": 48, "observed.cell.chemistry": "NMC"},
        {
            "claim.designation": "13INR19/66-4", "claim.nominal_voltage_v": 48,
            "observed.cell.chemistry": "NMC",
        },
    ],
)  # fmt: skip
def test_a_pass_on_the_sellers_word_alone_says_so(bench: Bench, claims: dict[str, Any]) -> None:
    """A missing fact would read as a pass: chemistry, voltage or count known from the listing only."""
    findings = bench.judge(bench.changed({}, claims)).findings
    passed = [each for each in findings if each.verdict in PASSES]
    assert all(each.verdict in ON_SELLERS_WORD and each.sellers_word for each in passed), passed


def test_a_temperature_of_use_that_is_not_stated_is_the_default_and_said(bench: Bench) -> None:
    """A pack for the frost would be judged for a summer that nobody asked for, without a word."""
    air = bench.known({}).air
    assert (air.low_c, air.high_c, air.assumed) == (0, 40, True)
    stated = bench.known({"use": {"temperature_c": [-5, 35]}}).air
    assert (stated.low_c, stated.high_c, stated.assumed) == (-5, 35, False)
    passed = bench.seen_through(**{"use.temperature_c": None, "claim.continuous_current_a": 5})
    found = bench.finding("continuous_current", passed)
    assert found.verdict in PASSES
    assert bench.told(found, "default_air") is not None


def test_a_temperature_given_with_the_limits_wins(bench: Bench) -> None:
    """--temperature would be ignored where the case names one."""
    case = bench.case({"use": {"temperature_c": [-5, 35]}})
    limits = Limits({"use_temperature_c": Bounds(50, 50)})
    air = CaseFacts(case, look_inside(case, bench.registry()), limits).air
    assert (air.low_c, air.high_c, air.assumed) == (50, 50, False)


def test_a_fact_in_dispute_is_asked_for_in_vain(bench: Bench) -> None:
    """A count that excludes another would go on supporting a claim. Rule: what is contradicted supports nothing."""
    facts = bench.known(bench.build())
    without = facts.without(RESTS_ON.bit("observed.parallel", "observed.cell.marking"))
    assert facts.number("observed.parallel").low == 4
    assert without.number("observed.parallel").high == inf
    assert without.number("observed.parallel").missing == MISSING.bit("observed.parallel")
    assert without.number("observed.series").low == 13
    assert (facts.cell.known, without.cell.known) == (True, False)


@pytest.mark.parametrize("value", [None, [3, 5]])
def test_a_gap_in_a_fact_is_always_noted(bench: Bench, value: Any) -> None:
    """Nobody would be asked for what would settle the claim: unknown, and known only as a range."""
    facts = bench.known(bench.build(**{"observed.parallel": value}))
    assert facts.number("observed.parallel").missing == MISSING.bit("observed.parallel")
    assert bench.known(bench.build()).number("observed.parallel").missing == 0


@pytest.mark.parametrize(
    ("size", "capacity_ah"),
    [("46950", 30), ("1865140", 5.5), ("prismatic 20 Ah", 20), (None, 20)],
)
def test_a_size_of_which_nothing_is_known_bounds_nothing(
    bench: Bench, size: str | None, capacity_ah: float
) -> None:
    """A single prismatic or 46 mm cell of 20 Ah would be called impossible by the sizes that are known."""
    data = bench.changed(
        {}, {"claim.capacity_ah": capacity_ah, "observed.parallel": 1, "observed.cell.size": size}
    )
    found = bench.finding("capacity", data)
    assert found.verdict is Verdict.NOT_SETTLED


@pytest.mark.parametrize(
    "data",
    [
        {"claim": {"designation": "INR18650", "capacity_ah": 10}},
        {
            "claim": {"designation": "13 INR 19/66-4", "capacity_ah": 10},
            "observed": {"series": 13, "parallel": 4},
        },
        {"claim": {"designation": "best quality"}},
    ],
)
def test_a_designation_that_cannot_be_read_hides_no_figure(bench: Bench, data: dict[str, Any]) -> None:
    """What a seller prints in an older form would stop the whole case, or fail one check of it."""
    report = bench.judge(data)
    assert not report.failed


def test_what_no_temperature_changes_is_found_once_for_every_band(bench: Bench) -> None:
    """One change on the page would judge the whole pack again for each band, and a room of people would wait.

    Rule: of a cell only what its datasheet gives by temperature hangs on the air.
    """
    facts = bench.known(bench.build(**{"use.temperature_c": [-5, 35]}))
    for function, hangs in ((series, False), (rated_capacity, False), (cells, True)):
        asked = facts.noted(function)[1].asked
        assert ("use.temperature_c" in asked) is hangs, function.__name__
    cold = facts.in_air(-5, 0)
    assert cold.noted(rated_capacity)[1] is facts.noted(rated_capacity)[1]
    assert cold.noted(cells)[1] is not facts.noted(cells)[1]


def test_each_figure_of_the_cell_is_that_of_its_air(bench: Bench) -> None:
    """A current of a room would be granted in the frost. Rule: the datasheet's band at the air of use decides."""
    facts = bench.known(bench.build(**{"use.temperature_c": [-5, 35]}))
    for low_c, high_c in ((-20, -10), (-5, 0), (20, 25), (50, 55)):
        here = facts.in_air(low_c, high_c)
        assert here.inside.cell is not None
        whole = here.figures_of(here.inside.cell)
        for each in fields(CellFigures):
            assert getattr(here.cell, each.name) == getattr(whole, each.name), each.name
        for name in whole.cited:
            assert here.cell.source(name) == whole.source(name)
        for name in whole.remarks:
            assert here.cell.said(name) == whole.said(name)
