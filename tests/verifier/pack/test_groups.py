"""Groups measured at rest: what the lowest of them leaves of the capacity, and when that is sure.

Charge by voltage: the measured curves of `verifier.electrical.open_circuit`, whose sources stand there. The highest
group ends the charge and the lowest the discharge: arithmetic.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest

from verifier.electrical.open_circuit import charge_apart_at_most_percent
from verifier.pack.groups import charge_apart, groups, groups_measured
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

# Four cells of 2.6 Ah make 10.4 Ah new.
PACK: dict[str, Any] = {
    "observed.series": 4, "observed.parallel": 4, "observed.cell.marking": "LYR 18650-26", "claim.capacity_ah": 10,
}  # fmt: skip


def test_a_group_that_is_nearly_empty_beside_half_full_ones_opens_the_capacity(bench: Bench) -> None:
    """A pack that gives half its ampere-hours would be said to hold them all.

    At 3.1 V the measured nickel-rich curves lie below 5 %, at 3.8 V between 52 and 60 %.
    """
    data = bench.changed({}, {**PACK, "observed.groups_v": [3.8, 3.1, 3.8, 3.8]})
    found = bench.figure("capacity", data)
    assert found.verdict is Verdict.NOT_SETTLED
    even = bench.figure("capacity", bench.changed({}, {**PACK, "observed.groups_v": [3.8] * 4}))
    assert even.verdict is Verdict.HOLDS
    assert found.supported.high == even.supported.high
    # Half of it, and less within the spread of the curves.
    assert 0.2 * 10.4 < found.supported.low < 0.55 * 10.4
    told = next(each for each in found.cautions if each.code == "groups_unbalanced")
    assert (told.numbers["lowest"], told.numbers["highest"]) == (2, 1)
    assert told.numbers["low_percent"] < 52 < told.numbers["high_percent"]
    assert "observed.capacity_ah" in found.unknown


@pytest.mark.parametrize(
    ("groups_v", "chemistry"),
    [
        ([3.8, 3.7, 3.8, 3.8], "NMC"),
        # A range leaves open whether any group is lower.
        ([3.8, [3.1, 3.8], 3.8, 3.8], "NMC"),
        ([3.8], "NMC"),
        # Flat in the middle: any charge from a fifth upwards; and no curve of titanate is known.
        ([3.30, 3.28, 3.30, 3.30], "LFP"),
        ([2.4, 2.0, 2.4, 2.4], "LTO"),
    ],
)
def test_a_spread_that_may_be_none_leaves_the_capacity(bench: Bench, groups_v: Any, chemistry: str) -> None:
    """A sound pack would be sent back for the error of a meter, or for a flat curve."""
    facts = {"observed.cell.chemistry": chemistry, "observed.series": 4, "observed.groups_v": groups_v}
    assert not bench.known(bench.changed({}, facts)).find(charge_apart).surely


def test_a_capacity_that_was_measured_goes_before_the_spread(bench: Bench) -> None:
    """A pack that gave its ampere-hours would be said to hold fewer. Rule: a measurement decides."""
    test = {
        "observed.capacity_ah": 10.6,
        "observed.capacity_current_a": 2,
        "observed.capacity_temperature_c": 22,
    }
    data = bench.changed({}, {**PACK, **test, "observed.groups_v": [3.8, 3.1, 3.8, 3.8]})
    assert bench.figure("capacity", data).verdict is Verdict.HOLDS


def test_ranges_are_ordered_by_what_is_sure(bench: Bench) -> None:
    """A group that is only read badly would be called the lowest. Rule: the surest goes first."""
    facts = bench.known(bench.changed({}, {"observed.groups_v": [[3.0, 3.9], [3.6, 3.7], [3.8, 4.2]]}))
    found = facts.find(groups)
    assert (found.lowest_place, found.lowest) == (2, (3.0, 3.7))
    assert (found.highest_place, found.highest) == (3, (3.8, 4.2))
    assert facts.find(groups_measured).low == 3


def test_uneven_groups_bound_the_capacity_by_whatever_is_possible(bench: Bench) -> None:
    """A pack would hold all its ampere-hours at 150 mV apart, and half of them at 200 mV. Rule: a low end is sure.

    The farther apart the groups, the less is sure, without a step; at 10 mV a spread is good (trade page).
    """

    def surely(spread_mv: float, top_v: float = 3.7, chemistry: str | None = None) -> float:
        groups_v = [top_v, top_v - spread_mv / 1000, top_v, top_v]
        of = (
            {}
            if chemistry is None
            else {"observed.cell.chemistry": chemistry, "observed.cell.marking": "OSK 18650-L"}
        )
        data = bench.changed({}, {**PACK, "observed.groups_v": groups_v, **of})
        cells = [] if chemistry is None else bench.cells()
        return bench.figure("capacity", data, *cells).supported.low

    assert surely(0) == surely(10) == pytest.approx(10.4)
    found = [surely(mv) for mv in range(11, 400, 7)]
    assert found == sorted(found, reverse=True)
    assert max(one - other for one, other in pairwise([10.4, *found])) < 0.08 * 10.4
    # From 3.742 to 3.581 V and 50 to 30 % of one measured power cell: a fifth at least is missing.
    assert surely(161, 3.742) < 0.8 * 10.4
    # Iron phosphate is flat: 90 mV may be most of it.
    assert surely(90, 3.29, "LFP") < 0.6 * 6


@pytest.mark.parametrize(("low_v", "high_v", "apart"), [(3.7, 3.7, 0), (3.581, 3.742, 20), (2.5, 4.2, 100)])
def test_two_cells_of_one_kind_keep_to_one_curve(low_v: float, high_v: float, apart: float) -> None:
    """Even groups would be called uneven for the spread between makers. Curve: `POWER_21700` of the module."""
    assert charge_apart_at_most_percent(chemistry="NMC", low_v=low_v, high_v=high_v) >= apart
    assert charge_apart_at_most_percent(chemistry="NMC", low_v=low_v, high_v=high_v) <= 1.75 * apart
    assert charge_apart_at_most_percent(chemistry="LTO", low_v=2.2, high_v=2.3) == 100
