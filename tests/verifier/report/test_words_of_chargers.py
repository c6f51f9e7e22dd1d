"""What is said of a charge voltage is of the thing that has it: a charger at hand, or what a pack is said to read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tests.verifier.report.test_how_to_act import under
from verifier.report import as_text
from verifier.words import alarm_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def test_what_a_pack_reads_when_full_is_no_charger(bench: Bench) -> None:
    """ "DO NOT charge with it" would be read of the charger that comes with it, which is right.

    By hand: 46.2 V on 10 is 4.62 V a cell; 10 x 4.2 V is the charger's 42 V.
    """
    claim = {
        "series": 10,
        "nominal_voltage_v": 36,
        "chemistry": "NMC",
        "full_voltage_v": 46.2,
        "charge_voltage_v": 42,
    }
    report = bench.judge({"claim": claim})
    text = " ".join(as_text.render([report], full=True).split())
    assert "46.2 V when full, as the seller says, on 10 in series" in text
    assert "that voltage or the count is wrong" in text
    assert "DO NOT charge with it" not in text


def test_a_charger_that_leaves_a_pack_part_empty_is_said_to(bench: Bench) -> None:
    """ "Fits" would be read of a charger for another pack. By hand: 42 V on 12 is 3.5 V a cell, full are 3.6 V."""
    case: dict[str, Any] = {
        "case": {"stage": "arrived"},
        "claim": {"series": 12, "nominal_voltage_v": 38.4, "chemistry": "LFP"},
        "observed": {"charger": {"voltage_v": 42}},
    }
    (told,) = under("charge with", bench.judge(case))
    assert told.startswith(
        "the 42 V charger at hand leaves such a pack part empty, which takes 43.2 to 43.8 V"
    )
    (right,) = under("charge with", bench.judge(bench.changed(case, {"observed.charger.voltage_v": 43.8})))
    assert "part empty" not in right


def test_an_alarm_names_no_field(bench: Bench) -> None:
    """A clerk would read "(groups_v)" and "(charged_above_full: yes or no)" in what may burn his shop."""
    case = {"observed": {"series": 12, "cell": {"chemistry": "LFP"}, "charger": {"voltage_v": 50.4}}}
    texts = [alarm_text(each.remark) for each in bench.judge(case).alarms]
    assert len(texts) == 2
    assert not any("_" in each for each in texts)


def test_a_load_inside_its_claim_leaves_less_than_the_reserve(bench: Bench) -> None:
    """ "No reserve is left" of 27 % that are. By hand: 22 A of 30 A claimed; 22 / (2/3) is 33 A."""
    case = {
        "claim": {"series": 13, "nominal_voltage_v": 46.8, "continuous_current_a": 30, "chemistry": "NMC"},
        "use": {"load_power_w": 500},
    }
    (load,) = under("your load", bench.judge(case))
    assert "it leaves less than our reserve of the 30 A claimed" in load
