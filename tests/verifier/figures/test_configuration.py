"""Configuration: the counts claimed against those seen, against each other and what else the seller states.

Counts that nobody made are consistent on the seller's word, as long as nothing speaks against them.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest

from verifier.finding import Finding
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def judged(bench: Bench, data: dict[str, Any]) -> Finding:
    found: Finding = bench.figure("configuration", data)
    return found


def codes(found: Finding) -> set[str]:
    return {each.code for each in found.cautions}


def ends(bounds: Any) -> tuple[float, float]:
    return bounds.low, bounds.high


@pytest.mark.parametrize(
    ("claims", "verdict"),
    [
        ({"series": 13, "parallel": 4}, Verdict.CONSISTENT),
        ({"series": 13, "parallel": 4, "cell_count": 52}, Verdict.CONSISTENT),
        ({"cell_count": 52}, Verdict.CONSISTENT),
        ({"series": 13}, Verdict.CONSISTENT),
        ({"designation": "13INR19/66-4"}, Verdict.CONSISTENT),
        ({"series": 14, "parallel": 4}, Verdict.INCONSISTENT),
        ({"series": 13, "parallel": 5}, Verdict.INCONSISTENT),
        ({"cell_count": 40}, Verdict.INCONSISTENT),
        ({"designation": "13INR19/66-5"}, Verdict.INCONSISTENT),
        ({"designation": "10INR19/66-4"}, Verdict.INCONSISTENT),
        ({"series": 13, "parallel": 4, "designation": "13INR19/66-5"}, Verdict.INCONSISTENT),
        ({"series": 13, "parallel": 4, "cell_count": 48}, Verdict.INCONSISTENT),
        ({}, Verdict.NOT_CLAIMED),
    ],
)
def test_the_configuration_as_claimed_against_the_bench(
    bench: Bench, claims: dict[str, Any], verdict: Verdict
) -> None:
    """A pack with a row less than sold would pass. 13INR19/66-4: 13 series, 4 parallel (IEC 61960, 5.1)."""
    data = bench.build(**{f"claim.{name}": value for name, value in claims.items()})
    found = judged(bench, data)
    assert found.verdict is verdict
    assert ends(found.supported) == (52, 52)
    assert (found.claimed is None) is (verdict is Verdict.NOT_CLAIMED)


@pytest.mark.parametrize("path", ["observed.series", "observed.parallel"])
def test_a_configuration_that_was_not_counted_rests_on_the_sellers_word(bench: Bench, path: str) -> None:
    """A seller's count would confirm itself as if somebody had counted.

    Changed: it used to be left open, so that every unopened pack was."""
    data = bench.build(**{"claim.series": 13, "claim.parallel": 4, path: None})
    found = judged(bench, data)
    assert found.verdict is Verdict.CONSISTENT_ON_SELLERS_WORD
    assert found.sellers_word == (path.replace("observed", "claim"),)
    assert path in found.unknown


@pytest.mark.parametrize(
    ("claimed", "seen"),
    [(13, [12, 13]), ([13, 14], 13), ([12, 13], [13, 14])],
    ids=["seen", "claimed", "both"],
)
def test_a_count_known_within_bounds_does_not_settle_the_configuration(
    bench: Bench, claimed: Any, seen: Any
) -> None:
    """Twelve or thirteen rows seen through a slot would confirm thirteen."""
    data = bench.build(**{"claim.series": claimed, "claim.parallel": 4, "observed.series": seen})
    found = judged(bench, data)
    assert found.verdict is Verdict.NOT_SETTLED
    assert found.between == (Verdict.INCONSISTENT, Verdict.CONSISTENT)


def test_a_designation_claims_a_configuration(bench: Bench) -> None:
    """13INR19/66-4 on a label would not be read as 13 in series and 4 in parallel (IEC 61960, clause 5.1)."""
    found = judged(bench, bench.changed({}, {"claim.designation": "13INR19/66-4"}))
    assert ends(found.claimed) == (52, 52)
    assert found.verdict is Verdict.CONSISTENT_ON_SELLERS_WORD
    assert found.sellers_word == ("claim.designation",)


TEXTBOOK = {"series": 13, "parallel": 4, "cell_count": 52, "charge_voltage_v": 54.6}


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({}, Verdict.CONSISTENT_ON_SELLERS_WORD),
        ({"cell_count": None}, Verdict.CONSISTENT_ON_SELLERS_WORD),
        ({"charge_voltage_v": None}, Verdict.CONSISTENT_ON_SELLERS_WORD),
        ({"charge_voltage_v": None, "full_voltage_v": 54.6}, Verdict.CONSISTENT_ON_SELLERS_WORD),
        ({"charge_voltage_v": 58.8, "chemistry": "NMC"}, Verdict.NOT_SETTLED),
        ({"charge_voltage_v": 58.8, "full_voltage_v": 54.6, "chemistry": "NMC"}, Verdict.NOT_SETTLED),
        ({"cell_count": 48}, Verdict.INCONSISTENT),
    ],
)
def test_counts_of_a_listing_are_believed_on_his_word_where_nothing_speaks_against_them(
    bench: Bench, changes: dict[str, Any], verdict: Verdict
) -> None:
    """A listing that excludes itself would be believed, or one whose figures all agree be left open.

    54.6 V / 13 = 4.2 V; 58.8 V is that of 14 cells of 4.2 V; 13 x 4 = 52 cells."""
    claims = {f"claim.{name}": value for name, value in {**TEXTBOOK, **changes}.items() if value is not None}
    found = judged(bench, bench.changed({}, claims))
    assert found.verdict is verdict
    if verdict is Verdict.CONSISTENT_ON_SELLERS_WORD:
        assert {"claim.series", "claim.parallel"} <= set(found.sellers_word)


@pytest.mark.parametrize("seen", [13, None])
def test_a_voltage_for_another_count_refutes_the_voltage_and_not_what_was_counted(
    bench: Bench, seen: int | None
) -> None:
    """58.8 V on 13 counted cells would make the count a lie; uncounted, either of the two may be wrong.

    Changed: the configuration used to be inconsistent in both cases."""
    data = bench.build(**{
        "claim.series": 13, "claim.parallel": 4, "claim.charge_voltage_v": 58.8, "observed.series": seen,
    })  # fmt: skip
    expected = Verdict.CONSISTENT if seen else Verdict.NOT_SETTLED
    assert judged(bench, data).verdict is expected


def test_a_bms_for_another_count_leaves_open_which_is_right(bench: Bench) -> None:
    """A 14-series BMS beside a claim of 13 would decide silently, or call the seller a liar."""
    claims = {f"claim.{name}": value for name, value in TEXTBOOK.items()}
    data = bench.changed({}, {**claims, "observed.bms.series": 14})
    found = judged(bench, data)
    assert found.verdict is Verdict.NOT_SETTLED
    assert "bms_for_another_count" in codes(found)
    agreeing = judged(bench, bench.changed(data, {"observed.bms.series": 13, "claim.charge_voltage_v": None}))
    assert agreeing.verdict is Verdict.CONSISTENT_ON_SELLERS_WORD


def test_a_false_count_stays_false_although_it_stands_in_a_contradiction(bench: Bench) -> None:
    """14 claimed and 13 counted would read as merely open, because the two exclude each other."""
    report = bench.judge(bench.build(**{"claim.series": 14, "claim.parallel": 4}))
    assert report.contradictions
    found = report.finding("configuration")
    assert found.verdict is Verdict.INCONSISTENT
    assert "count_differs" in codes(found)


def test_a_contradiction_of_counts_names_both_spans(bench: Bench) -> None:
    """A reader could not see what was counted and what was claimed."""
    found = judged(bench, bench.build(**{"claim.series": [14, 16], "observed.series": [12, 13]}))
    assert found.verdict is Verdict.INCONSISTENT
    (told,) = [each for each in found.cautions if each.code == "count_differs"]
    assert told.fields == ("claim.series",)
    assert (ends(told.numbers["claimed"]), ends(told.numbers["seen"])) == ((14, 16), (12, 13))


@pytest.mark.parametrize(
    ("changes", "claimed", "supported"),
    [
        ({"claim.series": 13, "claim.parallel": 4}, (52, 52), (52, 52)),
        ({"claim.series": [13, 14], "claim.parallel": 4}, (52, 56), (52, 52)),
        ({"claim.cell_count": 50}, (50, 50), (52, 52)),
        ({"claim.series": 13}, (13, inf), (52, 52)),
        ({"claim.series": 13, "claim.parallel": 4, "observed.parallel": None, "observed.series": [13, 14]},
         (52, 52), (52, 56)),
        ({"claim.series": 13, "observed.parallel": None}, (13, inf), (0, inf)),
        ({"claim.parallel": 4, "observed.series": None}, (4, inf), (0, inf)),
    ],
)  # fmt: skip
def test_cells_are_series_times_parallel(
    bench: Bench, changes: dict[str, Any], claimed: tuple[float, float], supported: tuple[float, float]
) -> None:
    """A pack of 52 cells would be shown as one of another count. 13 x 4 = 52; an unknown count is open.

    Changed: a count claimed alone is shown as so many cells or more, and used to be shown as no claim."""
    found = judged(bench, bench.build(**changes))
    assert (ends(found.claimed), ends(found.supported)) == (claimed, supported)


def test_a_series_count_alone_has_no_cell_count_and_no_margin(bench: Bench) -> None:
    """A margin of cells would be shown against a number of cells that nobody claimed."""
    found = judged(bench, bench.build(**{"claim.series": 13}))
    assert found.claimed is not None
    assert found.claimed.high == float("inf")
    assert found.margin_percent is None
