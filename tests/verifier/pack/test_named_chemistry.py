"""What a nominal voltage over the cells in series says of the chemistry, where nobody else does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.report import as_text
from verifier.words import alarm_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def pack(volts: float, count: int, **observed: Any) -> dict[str, Any]:
    """Return a pack in hand of which the seller says a nominal voltage and the cells in series."""
    claim = {"nominal_voltage_v": volts, "series": count}
    return {"case": {"stage": "arrived"}, "claim": claim, "observed": observed}


def alarmed(bench: Bench, case: dict[str, Any]) -> dict[str, str]:
    """Return the alarms of a case, by their codes."""
    return {each.code: alarm_text(each.remark) for each in bench.judge(case).alarms}


@pytest.mark.parametrize(
    ("nominal", "count", "rest", "deep"),
    [
        # 36 V / 10 = 3.6 V a cell: lithium-ion, empty at 2.5 V: 25 V. Common practice, no source.
        (36, 10, 18, True), (36, 10, 24, True), (36, 10, 26, False),
        # 38.4 V / 12 = 3.2 V: LiFePO4, empty at 2.0 V: 24 V.
        (38.4, 12, 26, False), (38.4, 12, 23, True),
        # 24 V / 10 = 2.4 V: titanate, empty at 1.5 V.
        (24, 10, 18, False),
        # A voltage that no such pack is sold under names nothing.
        (30, 10, 18, False),
    ],
)  # fmt: skip
def test_a_pack_far_below_empty_is_an_alarm_by_its_own_label(
    bench: Bench, nominal: float, count: int, rest: float, deep: bool
) -> None:
    """A dead 36 V pack of which nobody says the chemistry would be plugged in: "42 V is right for lithium-ion"."""
    assert ("deeply_discharged" in alarmed(bench, pack(nominal, count, resting_voltage_v=rest))) is deep


def test_the_alarm_says_what_it_hangs_on(bench: Bench) -> None:
    """A guess of the chemistry would be read as a finding, and one beyond doubt as a guess."""
    said = alarmed(bench, pack(36, 10, resting_voltage_v=18))["deeply_discharged"]
    assert "if it is lithium-ion as 36 V on so many says" in said
    # 1.2 V a cell is below the empty cell of every chemistry.
    assert "if it is" not in alarmed(bench, pack(36, 10, resting_voltage_v=12))["deeply_discharged"]
    named = pack(36, 10, resting_voltage_v=18)
    named["claim"]["chemistry"] = "NMC"
    assert "if it is" not in alarmed(bench, named)["deeply_discharged"]


def test_a_group_far_below_empty_is_an_alarm_by_the_label_too(bench: Bench) -> None:
    """One dead group among ten would be charged. By hand: 1.9 V is below 2.5 V and above titanate's 1.5 V."""
    said = alarmed(bench, pack(36, 10, groups_v=[3.6] * 9 + [1.9]))["group_deeply_discharged"]
    assert "group 10 stands at 1.9 V" in said
    assert "if it is lithium-ion" in said


@pytest.mark.parametrize(
    ("nominal", "count", "charger", "wrong"),
    [
        # By hand: 12 x 3.65 = 43.8 V, 12 x 4.2 = 50.4 V; 10 x 4.2 = 42 V; common practice, no source.
        (38.4, 12, 50.4, True), (38.4, 12, 43.8, False), (36, 10, 42, False), (51.2, 16, 67.2, True),
        (51.2, 16, 58.4, False), (48, 13, 54.6, False), (12, 4, 16.8, False),
    ],
)  # fmt: skip
def test_a_charger_too_strong_for_what_the_label_names_is_wrong(
    bench: Bench, nominal: float, count: int, charger: float, wrong: bool
) -> None:
    """The 50.4 V charger on a 38.4 V pack of 12 would be called right for lithium-ion: it burns."""
    case = pack(nominal, count, charger={"voltage_v": charger})
    assert ("wrong_charger" in alarmed(bench, case)) is wrong
    assert ("right for lithium-ion" in " ".join(as_text.render([bench.judge(case)], full=True).split())) is (
        charger in (42, 54.6, 16.8)
    )


def test_such_a_charger_is_told_with_what_the_pack_takes(bench: Bench) -> None:
    """Who is told "wrong" and no right voltage buys the next wrong one, or looks for groups above 4.45 V."""
    found = alarmed(bench, pack(38.4, 12, charger={"voltage_v": 50.4}))
    assert "as 38.4 V on so many says, it is LiFePO4" in found["wrong_charger"]
    assert "such a pack takes 43.2 to 43.8 V" in found["wrong_charger"]
    assert "one above 3.65 V" in found["may_be_overcharged"]
