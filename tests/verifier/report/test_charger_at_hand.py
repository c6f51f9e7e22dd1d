"""A charger that somebody holds in the hand: what is said of it before it is plugged in.

Rule for all of it, no source: whoever has seen a charger is told of it in the first lines, at every stage.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tests.verifier.report.test_how_to_act import under
from verifier.report import as_html, as_json, as_markdown, as_text
from verifier.report.as_json import report_data

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

# "36 V" of ten in series, with the usual charger of twelve of iron phosphate: 43.8 / 10 is 4.38 V a cell.
OF_TWELVE: dict[str, Any] = {
    "claim": {"nominal_voltage_v": 36, "configuration": "10S3P"},
    "observed": {"charger": {"voltage_v": 43.8}},
}


@pytest.mark.parametrize("stage", ["listed", "arrived", "opened", "tested"])
def test_a_charger_that_fits_only_unusual_cells_is_not_plugged_in(bench: Bench, stage: str) -> None:
    """It goes on overnight, for nothing says a word of it. 4.2 V a cell is the limit of usual cells: IEC 61960-3."""
    report = bench.judge({**OF_TWELVE, "case": {"stage": stage}})
    (charge,) = under("charge with", report)
    assert "do not plug in the 43.8 V charger at hand" in charge
    warned = [*under("beware", report), *under("decision", report)]
    (told,) = [each for each in warned if "43.8 V, as the charger is marked" in each]
    assert "overcharges NMC, NCA, LCO, LMO, LFP and LTO cells (4.38 V a cell)" in told
    # By hand: ten of 4.2 V.
    assert told.endswith("10 usual lithium-ion cells take 42 V: do not use it before the chemistry is known")
    # Whoever holds it knows whether it was on this pack before: what it did then, no right charger undoes.
    assert report.answer.ask_first[0].observe == "observed.charged_above_full"
    answered = bench.changed(OF_TWELVE, {"case.stage": stage, "observed.charged_above_full": "no"})
    assert "observed.charged_above_full" not in [
        each.observe for each in bench.judge(answered).answer.ask_first
    ]


def test_a_charger_right_for_some_kinds_names_those_it_overcharges(bench: Bench) -> None:
    """Forty volts on ten are gentle on NMC, 4 V a cell, and burn LFP: 3.65 V, from memory."""
    report = bench.judge(
        bench.changed({**OF_TWELVE, "case": {"stage": "arrived"}}, {"observed.charger.voltage_v": 40})
    )
    (told,) = [each for each in under("beware", report) if "40 V" in each]
    assert "overcharges LFP and LTO cells (4 V a cell), right only for NMC, NCA, LCO, LMO" in told


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"observed.fuse": {"fitted": False}}, "before what the alarm says is done"),
        ({"claim.series": 13}, "before it is clear what the pack is"),
    ],
)
def test_a_charger_at_hand_waits_for_what_goes_before_it(
    bench: Bench, changes: dict[str, Any], told: str
) -> None:
    """Beside another alarm, or counts that exclude each other, a charger in the hand would go without a word."""
    case = {**OF_TWELVE, "case": {"stage": "arrived"}}
    report = bench.judge(bench.changed(case, {"observed.charger.voltage_v": 42, **changes}))
    (charge,) = under("charge with", report)
    assert charge == f"do not plug in the 42 V charger at hand {told}"


def test_a_pack_never_to_be_charged_is_not_to_be_read_after_a_full_charge(bench: Bench) -> None:
    """Below DO NOT CHARGE a note would tell somebody to charge it full; a cell below 1 V is never charged again."""
    groups = [3.44] * 12 + [0.41]
    report = bench.judge(
        bench.seen_through(**{"observed.groups_v": groups, "observed.resting_voltage_v": 41.7})
    )
    assert "group_deeply_discharged" in [each.code for each in report.answer.alarms]
    for text in (
        as_text.render([report], full=True), as_markdown.render([report]), as_html.render([report]),
        as_json.render([report]),
    ):  # fmt: skip
        assert "full charge" not in " ".join(text.split())


def test_a_program_reads_not_to_plug_it_in(bench: Bench) -> None:
    """JSON has the sentence and misses "do not plug in": what a shop's system shows would let it be charged."""
    report = bench.judge({**OF_TWELVE, "case": {"stage": "arrived"}})
    said = report_data(report)["answer"]
    assert said["charge_with"] == under("charge with", report)
    assert said["beware"] == under("beware", report)
    listed = report_data(bench.judge({**OF_TWELVE, "case": {"stage": "listed"}}))["answer"]
    assert [each[:10] for each in listed["decision"]] == ["do not buy"]


def test_a_controller_above_what_may_be_used_is_told_at_once(bench: Bench) -> None:
    """A controller inside the whole limit and above two thirds of it would take the reserve, for hours."""
    plain = bench.judge(bench.seen_through())
    most = min(each.continuous_a for each in plain.answer.use_at_most)
    for more in ({}, {"use.load_power_w": 50}):
        changes = {**more, "use.controller_current_a": round(most * 1.2, 1)}
        said = under("your load", bench.judge(bench.seen_through(**changes)))
        assert any(each.endswith(f"to use at most: set it to {most:g} A") for each in said)
    assert not under("your load", bench.judge(bench.seen_through(**{"use.controller_current_a": most})))


def test_a_load_is_held_against_what_may_be_used_not_against_the_claim(bench: Bench) -> None:
    """ "It may take more than the 20 A claimed" beside "use at most 15 A" lets him draw the 20."""
    plain = bench.judge(bench.seen_through())
    most = min(each.continuous_a for each in plain.answer.use_at_most)
    (said,) = under("your load", bench.judge(bench.seen_through(**{"use.load_power_w": 60 * most})))
    assert "claimed" not in said


def test_nobody_is_sent_into_a_pack_that_is_to_be_left_alone(bench: Bench) -> None:
    """ "No opening" above ten rows of "open the case", for a current that must not be used."""
    groups = [3.44] * 12 + [0.41]
    report = bench.judge(bench.seen_through(**{"observed.groups_v": groups, "observed.connector": None}))
    for text in (as_text.render([report], full=True), as_html.render([report]), as_markdown.render([report])):
        assert "open the case" not in text
        assert "poor balance" not in text
        assert "the resistance of a cell to direct current" not in text
    assert not report_data(report)["next_steps"]


@pytest.mark.parametrize(("stage", "told"), [("arrived", False), ("opened", True), ("tested", True)])
def test_a_repairer_is_told_what_to_look_at_first_in_an_open_pack(
    bench: Bench, stage: str, told: bool
) -> None:
    """ "It goes to somebody who repairs such packs" tells that somebody nothing. Common practice, no source."""
    groups = [3.44] * 6 + [0.41] + [3.44] * 4 + [0.9] + [3.44]
    report = bench.judge(bench.seen_through(**{"case.stage": stage, "observed.groups_v": groups}))
    said = [each for each in under("use it for", report) if each.startswith("if you repair such packs")]
    assert bool(said) is told
    if told:
        assert "what emptied group 7 and 12 alone" in said[0]
        assert "none of its cells is ever charged again" in said[0]


def test_a_right_charger_is_named_though_its_leads_are_not_seen(bench: Bench) -> None:
    """He has the right one in his hand and is not told. By hand: 13 x 4.2 V is 54.6 V."""
    charger = {"voltage_v": 54.6, "current_a": 2}
    report = bench.judge(bench.seen_through(**{"observed.charger": charger, "observed.charge_leads": None}))
    (charge,) = under("charge with", report)
    assert "the charger at hand (54.6 V, 2 A) fits by its voltage" in charge
    assert "look whether the charge leads carry its 2 A" in charge


CHARGERS: tuple[dict[str, Any], ...] = (
    {"voltage_v": 54.6}, {"voltage_v": 54.6, "current_a": 2}, {"voltage_v": 54.6, "current_a": 8},
    {"no_load_v": 54.6, "current_a": 2}, {"voltage_v": 53}, {"voltage_v": 42, "current_a": 2}, {"voltage_v": 58.4},
    {"voltage_v": [50, 56]}, {"voltage_v": 67.2, "current_a": 2}, {"current_a": 2},
)  # fmt: skip
_NO_NAME = {"claim.cell_marking": None, "claim.chemistry": None}
PACKS: dict[str, dict[str, Any]] = {
    "known": {},
    "leads open": {"observed.charge_leads": None},
    "scraped": {"observed.cell": {"marking": "scraped", "size": "18650"}, **_NO_NAME},
    "unknown": {"observed.cell": None, **_NO_NAME},
    "count open": {"observed.series": None, "observed.bms.series": None},
    "count a range": {"observed.series": [13, 14], "observed.bms.series": None, "claim.series": None},
    "perhaps worn out": {"case.condition": "used", "observed.capacity_ah": 7.9},
    "worn out": {"case.condition": "used", "observed.capacity_ah": 6},
    "dead": {"observed.resting_voltage_v": 13},
    "no fuse": {"observed.fuse": {"fitted": False}},
    "contradicting": {"claim.energy_wh": 2000, "claim.cell_count": 70},
}  # fmt: skip


@pytest.mark.parametrize("pack", PACKS)
@pytest.mark.parametrize("stage", ["listed", "arrived", "opened"])
def test_a_charger_at_hand_is_never_without_a_word(bench: Bench, stage: str, pack: str) -> None:
    """Nobody who holds a charger reads on where no line names it: he plugs it in.

    Rule, no source: whatever is known of the pack and of the charger, one line under alarm, charge with, beware or
    decision speaks of the charger, by its voltage where it was read.
    """
    for charger in CHARGERS:
        changes = {**PACKS[pack], "case.stage": stage, "observed.charger": charger}
        report = bench.judge(bench.seen_through(**changes))
        lines = [
            each for label in ("alarm", "charge with", "beware", "decision") for each in under(label, report)
        ]
        volts = charger.get("voltage_v", charger.get("no_load_v"))
        about = [each for each in lines if "charger" in each.lower()]
        if volts is None:
            assert about, (charger, lines)
        else:
            text = "50 to 56 V" if isinstance(volts, list) else f"{volts:g} V"
            assert any(text in each for each in about), (charger, lines)


def test_a_charger_of_another_pack_is_not_passed_over(bench: Bench) -> None:
    """ "54.6 V" alone would be read as leave to use the 50 V one that lies there. By hand: 13 x 4.2 V is 54.6 V."""
    for volts, said in (
        (50, "do not use the charger at hand (50 V)"),
        (53, "fits by its voltage: read its current"),
    ):
        report = bench.judge(bench.seen_through(**{"observed.charger": {"voltage_v": volts}}))
        (charge,) = under("charge with", report)
        assert charge.startswith("54.6 V")
        assert said in charge


def test_a_count_that_is_open_is_not_called_an_open_chemistry(bench: Bench) -> None:
    """Somebody looks for the chemistry of cells whose wrapper he has read, and never counts the groups."""
    changes = {**PACKS["count a range"], "observed.charger": {"voltage_v": 54.6}}
    (charge,) = under("charge with", bench.judge(bench.seen_through(**changes)))
    assert "before its groups in series are counted" in charge


# Fifteen of iron phosphate: 15 x 3.6 to 3.65 V is 54 to 54.75 V, by hand.
PHOSPHATE: dict[str, Any] = {
    "case": {"stage": "opened"},
    "claim": {"nominal_voltage_v": 48, "configuration": "15S2P"},
    "observed": {
        "series": 15, "parallel": 2, "cell": {"chemistry": "LFP"},
        "charger": {"voltage_v": 54.6, "current_a": 3},
    },
}  # fmt: skip


def test_a_chemistry_that_was_read_is_not_called_unknown(bench: Bench) -> None:
    """He has read LiFePO4 off the cells and is told that nobody knows it: 3.6 and 3.65 V are both in use."""
    (charge,) = under("charge with", bench.judge(PHOSPHATE))
    assert "not known, nor" not in charge
    assert charge.startswith("54 to 54.8 V; the charger at hand (54.6 V, 3 A) fits by its voltage")
    said = {"case.stage": "arrived", "observed.series": None, "observed.cell": None, "claim.chemistry": "LFP"}
    (charge,) = under("charge with", bench.judge(bench.changed(PHOSPHATE, said)))
    assert "fits only if what the seller says is true" in charge
    # By the seller's word 49 V is not that of such a pack: 3.27 V a cell.
    low = {**said, "observed.charger": {"voltage_v": 49}}
    (charge,) = under("charge with", bench.judge(bench.changed(PHOSPHATE, low)))
    assert charge == "do not plug in the 49 V charger at hand: a pack as the seller says takes 54 to 54.8 V"


def test_a_charger_that_is_itself_the_alarm_is_not_to_wait_for_it(bench: Bench) -> None:
    """ "Not before what the alarm says is done" of an alarm that says never. By hand: 4 x 1.3 A are 5.2 A."""
    sheet = {**bench.sheet(), "charge": [{"low_c": 0, "high_c": 45, "max_a": 1.3}]}
    for amps, said in ((8, "it gives more current than the cells take"), (3, "fits")):
        charger = {"voltage_v": 54.6, "current_a": amps}
        report = bench.judge(
            bench.seen_through(**{"observed.charger": charger}), bench.cell("lyr-18650-26", sheet)
        )
        (charge,) = under("charge with", report)
        assert said in charge


def test_a_controller_is_told_of_before_anything_is_granted(bench: Bench) -> None:
    """ "Only 0 A is surely carried" tells nothing, and without a line he rides with 60 A.

    By hand: two thirds of 4 x 3 x 2.6 A are 20.8 A.
    """
    case = {"case": {"stage": "arrived"}, "claim": {"configuration": "13S4P", "cell_marking": bench.MARKING}}
    for draws, said in (
        (60, "more than the 20 A to use even if"),
        (15, "cannot tell yet whether the pack carries it"),
    ):
        report = bench.judge(
            bench.changed(case, {"use": {"controller_current_a": draws, "temperature_c": [10, 40]}})
        )
        assert not report.answer.use_at_most
        (load,) = under("your load", report)
        assert load.startswith(f"the controller draws {draws} A")
        assert said in load
        assert " 0 A is surely carried" not in " ".join(as_text.render([report], full=True).split())


def test_a_load_is_held_against_the_best_where_nothing_is_granted_yet(bench: Bench) -> None:
    """ "May take more than the 31 A claimed" beside "at best 20 A": he sets the controller to 31.

    By hand: two thirds of 4 x 3 x 2.6 A are 20.8 A; 700 W by a drive of 70 to 85 % take
    21 A and more below 39 V, and 500 W up to 22 A at 32.5 V.
    """
    claim = {"configuration": "13S4P", "cell_marking": bench.MARKING, "continuous_current_a": 31}
    case = {
        "case": {"stage": "arrived"},
        "claim": claim,
        "use": {"temperature_c": [10, 40]},
    }
    for watts, said in (
        (700, "more than the 20 A to use even if"),
        (500, "it may take more than the 20 A to use"),
    ):
        (load,) = under("your load", bench.judge(bench.changed(case, {"use.load_power_w": watts})))
        assert said in load
        assert "claimed" not in load


def test_under_an_alarm_a_charger_of_another_pack_is_told_as_such(bench: Bench) -> None:
    """ "Before what the alarm says is done" lets him plug 50 V into a pack of 54.6 V once he has fitted a fuse."""
    unfused = {"observed.fuse": {"fitted": False}, "use.controller_current_a": 20}
    report = bench.judge(
        bench.seen_through(**unfused, **{"observed.charger": {"voltage_v": 50, "current_a": 2}})
    )
    assert under("charge with", report) == [
        "do not plug in the 50 V charger at hand, it is of another pack: this one takes 54.6 V"
    ]
    # Nor is it open whether the pack carries what it is not to be used for.
    assert not any(
        "cannot tell yet whether the pack carries it" in each for each in under("your load", report)
    )
