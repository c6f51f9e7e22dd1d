"""What no other test noticed when the judging of build and arrival was changed on purpose."""

from __future__ import annotations

from math import inf
from typing import Any

import pytest

from verifier.case.limits import Limits
from verifier.support.leads import lead_support_a


def words(found: Any) -> str:
    return " | ".join(found.cautions)


def built(bench: Any, **changes: Any) -> Any:
    return bench.finding("build", bench.build(**changes))


# -- build ---------------------------------------------------------------------------------------------------

BUILD_FIELDS = (
    "weld_marks_per_cell", "positive_insulators", "leads_isolated", "wires_free", "spacers", "shipping_mark",
    "balance_leads",
)  # fmt: skip


def test_a_build_that_nobody_saw_is_an_observation_of_nothing(bench: Any) -> None:
    """A report would show workmanship that nobody looked at as observed."""
    found = built(bench)
    assert (found.evidence, found.cautions) == (None, ())
    assert set(found.unknown) == {f"observed.build.{name}" for name in BUILD_FIELDS}
    assert (found.supported.low, found.supported.high) == (0, inf)
    seen = built(bench, **{"observed.build.spacers": True})
    assert seen.evidence == "observation"
    assert "observed.build.spacers" not in seen.unknown
    assert len(seen.unknown) == len(BUILD_FIELDS) - 1


@pytest.mark.parametrize(
    "name", ["positive_insulators", "leads_isolated", "wires_free", "spacers", "shipping_mark"]
)
def test_what_was_seen_and_what_was_seen_missing_are_told_apart(bench: Any, name: str) -> None:
    """A pinched wire would be told as none, or nothing be said of it."""
    good, bad = (words(built(bench, **{f"observed.build.{name}": seen})) for seen in (True, False))
    assert good
    assert bad
    assert good != bad
    consequence = {"spacers": "apart", "shipping_mark": "is marked", "wires_free": "no wire is",
                   "leads_isolated": "kept apart", "positive_insulators": "cannot short"}  # fmt: skip
    assert consequence[name] in good
    assert consequence[name] not in bad


@pytest.mark.parametrize(
    ("marks", "single"), [(2, True), (3, True), (4, False), (8, False), ([2, 8], True), ([4, 8], False)]
)
def test_a_cell_on_a_single_weld_is_told(bench: Any, marks: Any, single: bool) -> None:
    """One weld that may fail would read as two. A weld leaves two marks: common practice, no source."""
    assert (
        "one weld that fails" in words(built(bench, **{"observed.build.weld_marks_per_cell": marks}))
    ) is single


@pytest.mark.parametrize(
    ("leads", "series", "unwatched"),
    [(12, 13, True), (13, 13, False), (14, 13, False), ([12, 14], 13, False), ([11, 12], 13, True),
     (13, [13, 14], False), (12, [13, 14], True)],
)  # fmt: skip
def test_too_few_balance_leads_are_told(bench: Any, leads: Any, series: Any, unwatched: bool) -> None:
    """A group that no lead watches would be charged blindly, or a usual BMS be accused."""
    said = words(built(bench, **{"observed.build.balance_leads": leads, "observed.series": series}))
    assert ("not watched at all" in said) is unwatched
    assert ("usual: 13 or 14" in said) is not unwatched


@pytest.mark.parametrize(
    ("sensor", "said"), [(True, "sits on the cells"), (False, "no temperature sensor"), (None, "")]
)
def test_a_temperature_sensor_is_told_as_seen(bench: Any, sensor: bool | None, said: str) -> None:
    """A BMS that cannot feel the frost would be told as one that can."""
    found = words(built(bench, **{"observed.bms.temperature_sensor": sensor}))
    assert said in found
    assert ("sensor" in found) is (sensor is not None)


def test_charge_leads_carry_may_carry_or_do_not_carry_the_charger(bench: Any) -> None:
    """Thin leads would be told to carry a charger that heats them."""
    leads = {"awg": 20, "conductor": "copper"}
    data = {"observed.charge_leads": leads}
    pack = bench.pack(bench.build(**data))
    found = lead_support_a(pack, pack.observed.charge_leads)
    assert found is not None
    low, high = found[0].low, found[0].high
    assert 0 < low < high < inf
    for amps, said in (
        (low / 2, "carry"), (low, "carry"), ((low + high) / 2, "may not carry"), (high, "may not carry"),
        ([low / 2, 2 * high], "may not carry"), ([high, 2 * high], "may not carry"),
        ([1.01 * high, 2 * high], "do not carry"), (2 * high, "do not carry"),
    ):  # fmt: skip
        for charger in ("observed.charger.current_a", "claim.charge_current_a"):
            assert f"the charge leads {said} " in words(built(bench, **data, **{charger: amps})), amps
    assert words(built(bench, **data)) == ""
    assert words(built(bench, **{"observed.charger.current_a": 2})) == ""


@pytest.mark.parametrize(
    ("test", "named", "taken_for", "proved"),
    [
        ({"kind": "salt_water", "hours": 30, "rust": True}, "nickel", "plated steel", True),
        ({"kind": "spark", "sparks": True}, "nickel", "plated steel", True),
        ({"kind": "salt_water", "hours": 30, "rust": True}, "plated_steel", "plated steel", False),
        ({"kind": "salt_water", "hours": 30, "rust": True}, "unknown", "plated steel", False),
        ({"kind": "salt_water", "hours": 30, "rust": True}, None, "plated steel", False),
        ({"kind": "salt_water", "hours": 30, "rust": False}, None, "nickel", False),
        ({"kind": "salt_water", "hours": 30, "rust": False}, "copper", "copper", False),
        (
            {"kind": "salt_water", "hours": 1, "rust": False},
            None,
            "anything from plated steel to nickel",
            False,
        ),
    ],
)
def test_a_test_of_the_strip_is_told_with_what_it_proves(
    bench: Any, test: dict[str, Any], named: str | None, taken_for: str, proved: bool
) -> None:
    """Rust would not overrule a name on the listing, or one clean hour would be told as nickel."""
    said = words(built(bench, **{"observed.material_test": test, "observed.strip.material": named}))
    assert f"the strip is taken for {taken_for}" in said
    assert ("proves steel" in said) is proved


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
