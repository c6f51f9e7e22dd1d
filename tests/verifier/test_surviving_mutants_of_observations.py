"""What no other test noticed when the judging of arrival was changed on purpose."""

from __future__ import annotations

from typing import Any

import pytest

from verifier.case.limits import Limits


def words(found: Any) -> str:
    return " | ".join(found.cautions)


# -- arrival -------------------------------------------------------------------------------------------------


def arrived(bench: Any, volts_per_cell: float, chemistry: str | None = "NMC", **options: Any) -> Any:
    cell = {"cell": {"chemistry": chemistry}} if chemistry else {}
    data = {"observed": {"series": 10, "resting_voltage_v": 10 * volts_per_cell, **cell}}
    return bench.finding("arrival_charge", data, **options)


@pytest.mark.parametrize(
    ("chemistry", "volts", "flat"),
    [("LFP", 3.3, True), ("LFP", 2.2, False), ("LFP", 3.6, False), ("NMC", 3.74, False), ("NCA", 3.5, False)],
)
def test_only_iron_phosphate_in_its_middle_is_called_flat(
    bench: Any, chemistry: str, volts: float, flat: bool
) -> None:
    """A voltage that tells the charge well would be called useless, or one that does not be trusted."""
    assert ("flat in the middle" in words(arrived(bench, volts, chemistry))) is flat


@pytest.mark.parametrize(
    ("chemistry", "volts", "listed"), [("NMC", 3.7, False), (None, 3.7, True), (None, 4.3, False)]
)
def test_the_chemistries_are_listed_where_several_are_possible(
    bench: Any, chemistry: str | None, volts: float, listed: bool
) -> None:
    """A pack of unknown chemistry would be told one charge as if it were sure."""
    assert ("by chemistry:" in words(arrived(bench, volts, chemistry))) is listed


def test_a_breach_of_the_rule_for_air_is_told_only_when_it_is_sure(bench: Any) -> None:
    """A sender would be accused at exactly the charge that is allowed. IATA: not more than 30 %."""
    found = arrived(bench, 3.742)
    low, high = found.supported.low, found.supported.high
    assert low < high
    for most, said in (
        (low - 0.1, "against the rule"), (low, "is allowed"), ((low + high) / 2, "is allowed"), (high, ""),
    ):  # fmt: skip
        told = words(arrived(bench, 3.742, limits=Limits().with_overrides({"air_charge_percent": most})))
        assert said in told
        assert ("against the rule" in told) is (said == "against the rule")
        assert ("by air at most" in told) is (said == "is allowed")


def test_a_deeply_discharged_pack_is_not_told_of_the_rule_for_air(bench: Any) -> None:
    """The one line that says not to charge it would stand beside advice on shipping."""
    told = words(arrived(bench, 2.5, limits=Limits().with_overrides({"air_charge_percent": 0})))
    assert "do not charge it" in told
    assert "by air at most" not in told


@pytest.mark.parametrize(
    ("volts", "said"),
    [(2.4, "is below the 2.5 V"), (2.5, ""), ([2.4, 2.5], "reaches below the 2.5 V"), (2.8, "")],
)
def test_a_cell_is_called_deeply_discharged_below_its_cut_off_and_not_at_it(
    bench: Any, volts: Any, said: str
) -> None:
    """A pack that is merely empty would be thrown away, or one that is damaged charged. Sheet: 2.5 V."""
    resting = [13 * each for each in volts] if isinstance(volts, list) else 13 * volts
    data = bench.build(**{"observed.resting_voltage_v": resting})
    exact = Limits().with_overrides({"meter_error": 0})
    told = words(bench.finding("arrival_charge", data, limits=exact))
    assert said in told
    assert ("deeply discharged" in told) is bool(said)
