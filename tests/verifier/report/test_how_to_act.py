"""What a repairer and a rider, who had nothing but a report, could not act by.

Rule for all of it, no source: a sentence that tells somebody to do something says with what, up to what, and why; one
that nobody can follow on the pack at hand is not said.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.report import as_markdown, as_text, rows
from verifier.report.opening import lines
from verifier.verdict import Verdict
from verifier.words import certificate_text, remark_text, remedy_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench
    from verifier.case_report import Report

# 0.2 x 8 mm of one layer, its metal not noted: plated steel carries half of 4 A/mm2 at least, 3.2 A.
THIN = {
    "observed.strip": {"material": "unknown", "thickness_mm": 0.2, "width_mm": 8, "layers": 1, "pitch_mm": 20},
    "observed.take_off": {"where": "end", "layers": 1},
}  # fmt: skip
NICKEL = {
    "observed.strip": {"material": "nickel", "thickness_mm": 0.2, "width_mm": 10, "layers": 2, "pitch_mm": 20},
    "observed.take_off": {"where": "end", "layers": 2},
}  # fmt: skip


def under(label: str, report: Report) -> list[str]:
    """Return what stands under a label of the opening."""
    found, last = [], ""
    for name, text in lines(report):
        last = name or last
        if last == label:
            found.append(text)
    return found


def alarm(report: Report, code: str) -> str:
    """Return the text of the one alarm of a code."""
    (found,) = [each.text for each in report.answer.alarms if each.code == code]
    return found


# -- the fuse, and what nothing stops ------------------------------------------------------------------------


def test_a_fuse_to_fit_names_the_part_it_is_for_and_what_it_must_break(bench: Bench) -> None:
    """ "At most 16 A" beside leads of 31 A would be a riddle, and a fuse of 20 A breaking capacity would explode.

    By hand: nickel of 0.2 x 10 mm x 2 layers at 4 A/mm2 is 16 A at the end of a row of 4, whose stretch carries three
    quarters of the pack's. A short of 54.6 V through 13 groups of four cells is U / (13 R / 4),
    R that at 1 kHz: a fuse breaks long before ten seconds.
    """
    cell = bench.cell(
        "lyr-18650-26", {**bench.sheet(), "resistance": {"ac_mohm": 25, "dc_mohm": 40, "dc_seconds": 10}}
    )
    report = bench.judge(bench.seen_through(**{"observed.fuse": {"fitted": False}, **NICKEL}), cell)
    said = alarm(report, "no_fuse")
    assert "fit a fuse of at most 16 A (sold: 15 A; for hours 11 A), by its main-lead strip" in said
    told = float(said.partition("that breaks ")[2].partition(" A")[0])
    by_hand = 54.6 / (13 * 0.025 / 4)
    assert by_hand <= told <= 1.1 * by_hand


def test_a_part_that_bears_next_to_nothing_is_strengthened_and_not_fused(bench: Bench) -> None:
    """ "A fuse of at most 3.2 A" would be fitted as a 3 A one, blow, and the 30 A one would go back in."""
    report = bench.judge(bench.seen_through(**{"observed.fuse": {"fitted": False}, **THIN}))
    said = alarm(report, "no_fuse")
    assert "at most" not in said
    assert "first strengthen its main-lead strip (3.2 A)" in said
    assert any("strengthen that part before any use" in each for each in under("beware", report))


def test_what_nothing_stops_says_what_would(bench: Bench) -> None:
    """A reader would learn that BMS and fuse are too large, and not which are right.

    By hand: 4 x 3 x 2.6 A = 31.2 A.
    """
    big = {"observed.bms.continuous_a": 60, "observed.fuse.rating_a": 60}
    (told,) = [
        each for each in under("beware", bench.judge(bench.seen_through(**big))) if "the cells bear" in each
    ]
    assert told.endswith("a BMS or fuse of at most 31 A would")


def test_worn_cells_are_no_part_that_somebody_could_look_at(bench: Bench) -> None:
    """ "Less if a part not seen yet carries less" of a pack of which every part was seen sends somebody looking."""
    worn = {"case.condition": "used", "observed.capacity_ah": 9, "observed.fuse": {"fitted": False}}
    assert "not seen yet" not in alarm(bench.judge(bench.seen_through(**worn)), "no_fuse")


def test_a_fuse_above_its_leads_still_clears_a_short(bench: Bench) -> None:
    """ "Protects nothing" is false: 35 A blows at hundreds of amperes. It does not protect the leads from overload."""
    said = alarm(bench.judge(bench.seen_through(**{"observed.leads.awg": 18})), "fuse_above_leads")
    assert "does not keep them from overheating" in said


# -- under an alarm ------------------------------------------------------------------------------------------


def test_a_rider_with_the_charger_in_hand_is_told_of_it(bench: Bench) -> None:
    """He would plug the charger in "to see": it fits such a pack and is not the wrong one. Nor does he ask by how much
    a dead pack could drive his motor, or which cells could make it."""
    case = {
        "case": {"stage": "arrived"},
        "claim": {
            "nominal_voltage_v": 36,
            "configuration": "10S4P",
            "capacity_ah": 10,
            "charge_voltage_v": 42,
        },
        "observed": {"resting_voltage_v": 15, "charger": {"voltage_v": 42, "current_a": 2}},
        "use": {"load_power_w": 250},
    }
    report = bench.judge(case)
    assert under("charge with", report) == ["nothing: do not plug in the charger (42 V), not even to see"]
    assert not under("your load", report)
    assert not any("could do what is claimed" in each for each in under("cells", report))
    (use,) = under("use it for", report)
    assert "no bus or train" in use
    assert "charge it back to life" in use
    assert "step by step" in as_text.render([report])


@pytest.mark.parametrize("said", [None, "yes"])
def test_what_tells_an_overcharged_group_is_said_with_its_figure(bench: Bench, said: str | None) -> None:
    """ "Measure every group" leaves a repairer with thirteen numbers.

    Rule: a group above full, or one that falls in a day, is never charged again. By hand: full is 4.2 V by the sheet.
    """
    changes = {"observed.charger": {"voltage_v": 67.2}, "observed.charged_above_full": said}
    report = bench.judge(bench.seen_through(**changes))
    text = alarm(report, "may_be_overcharged" if said is None else "charged_above_full")
    assert "one above 4.2 V, or one that falls" in text
    assert "now and a day later" in text
    # What keeps the alarm when the charger is replaced is named, before anybody replaces it.
    assert ("first write down whether it was" in text) is (said is None)


COLD = {
    "charge": [{"low_c": 0, "high_c": 10, "max_a": 0.35}, {"low_c": 10, "high_c": 45, "max_a": 1.2}],
}  # fmt: skip


def test_a_pack_that_is_charged_too_fast_is_used_once_it_is_not(bench: Bench) -> None:
    """ "Until mended" of a pack in which nothing is to be mended: it is charged elsewhere, and ridden as before.

    By hand: 4 cells take 4.8 A above 10 C; two thirds of it, 3.2 A, are less than the charger's 4 A.
    """
    cell = bench.cell("lyr-18650-26", {**bench.sheet(), **COLD})
    changes = {"observed.charger": {"voltage_v": 54.6, "current_a": 4}, "use.charge_temperature_c": [2, 8]}
    report = bench.judge(bench.seen_through(**changes), cell)
    said = alarm(report, "charger_above_cells")
    assert "where it allows 4.8 A: all of it, for our reserve would leave 3.2 A" in said
    sound = bench.judge(bench.seen_through(), cell)
    assert report.answer.once_charged_so == sound.answer.use_at_most != ()
    first, *then = under("use it for", report)
    assert "mended" not in first
    assert len(then) == len(sound.answer.use_at_most)
    assert all(each.startswith("charged as the alarm says: ") for each in then)
    # Nothing is granted by it: any other alarm takes it away.
    both = bench.judge(bench.seen_through(**changes, **{"observed.fuse": {"fitted": False}}), cell)
    assert not report.answer.use_at_most
    assert not both.answer.once_charged_so


def test_a_damaged_pack_does_not_travel_as_a_sound_one(bench: Bench) -> None:
    """ "UN 3480 alone" below an alarm would be taken to a carrier.

    Source: special provision 376 of ADR, from memory.
    """
    swollen = bench.judge(bench.seen_through(**{"observed.build.swollen": True}))
    (text,) = [certificate_text(each) for each in swollen.certificates]
    assert "special provision 376" in text
    (text,) = [certificate_text(each) for each in bench.judge(bench.seen_through()).certificates]
    assert "376" not in text
    assert "shows that it is above 100 Wh, if it holds what is claimed" in text


# -- use, load, charging -------------------------------------------------------------------------------------


def test_a_load_above_what_is_advised_says_how_to_ride_it(bench: Bench) -> None:
    """ "Inside its limit, but not with our reserve" answers no rider who asks whether he may.

    By hand: 600 W at 80 % from 13 x 2.5 V = 32.5 V take 23.1 A; 31.2 A is the limit, 20.8 A are advised.
    """
    report = bench.judge(bench.seen_through(**{"use.load_power_w": 600}))
    (load,) = under("your load", report)
    assert "yes, with the controller set to 20 A" in load
    assert f"({report.answer.use_at_most[0].motor_w:g} W when nearly empty)" in load
    # A motor that takes more than that even when the pack is full never gets its power.
    (load,) = under("your load", bench.judge(bench.seen_through(**{"use.load_power_w": 800})))
    assert "yes" not in load


def test_a_seller_s_word_gets_no_milder_sentence_than_a_measured_limit(bench: Bench) -> None:
    """ "Fits" for 18 A of the 18 A claimed; of a measured limit the same is "not with our reserve".

    By hand: 300 W from ten cells down to 2.5 V each take up to 17.2 A by a poor drive of 70 %; 17.2 / (2/3) = 25.8 A.
    """
    claim = {"nominal_voltage_v": 36, "configuration": "10S4P", "cell_marking": bench.MARKING}
    case = {
        "case": {"stage": "listed"},
        "claim": claim,
        "use": {"load_power_w": 300, "temperature_c": [10, 40]},
    }
    (load,) = under("your load", bench.judge(bench.changed(case, {"claim.continuous_current_a": 18})))
    assert "fits" not in load
    assert "it leaves less than our reserve of the 18 A claimed: that would need 26 A or more" in load
    # Of an opened pack its parts decide.
    opened = bench.changed(case, {"claim.continuous_current_a": 40, "case.stage": "opened"})
    (load,) = under("your load", bench.judge(opened))
    assert "fits if" not in load


def test_a_pack_that_is_known_to_be_too_weak_is_not_said_to_be_unknown(bench: Bench) -> None:
    """ "Too little is known" of a strip that is known to glow sends somebody to look instead of mending it."""
    changes = {"observed.cell": {"size": "18650"}, "claim.cell_marking": None, **THIN}
    (use,) = under("use it for", bench.judge(bench.seen_through(**changes)))
    assert use == "nothing as it is: too weak: main-lead strip"


def test_around_cells_that_nobody_knows_nothing_is_rebuilt(bench: Bench) -> None:
    """Somebody would weld heavier strip to cells that he throws away once he knows them."""
    assert "To lift the limit" in as_text.render([bench.judge(bench.seen_through(**THIN))])
    unknown = {"observed.cell": {"size": "18650"}, "claim.cell_marking": None, **THIN}
    assert "To lift the limit" not in as_text.render([bench.judge(bench.seen_through(**unknown))])


def test_the_charger_at_hand_is_named_where_its_current_is_not_judged(bench: Bench) -> None:
    """Who has charged a pack 260 times with it would not know whether to plug it in tonight."""
    worn = {"case.condition": "used", "observed.charger": {"voltage_v": 54.6, "current_a": 2}}
    report = bench.judge(
        bench.seen_through(**worn, **{"observed.charge_leads": {"awg": 12, "conductor": "copper"}})
    )
    (charge,) = under("charge with", report)
    assert "as the charger at hand gives (54.6 V, 2 A)" in charge
    assert "with no stronger one, and watched" in charge
    unknown = {"observed.cell": {"size": "18650"}, "claim.cell_marking": None, "claim.chemistry": None}
    (charge,) = under("charge with", bench.judge(bench.seen_through(**worn, **unknown)))
    assert "do not plug in the 54.6 V charger at hand" in charge


# -- a listing -----------------------------------------------------------------------------------------------

LISTED: dict[str, Any] = {
    "case": {"stage": "listed"},
    "claim": {"nominal_voltage_v": 48, "configuration": "13S4P", "chemistry": "NMC", "continuous_current_a": 18},
}  # fmt: skip


def test_a_buyer_knows_a_good_answer_from_a_bad_one(bench: Bench) -> None:
    """Asked for "its voltage after a full charge" he would get 49 V and take it for good. By hand: 13 x 4.2 V = 54.6 V.

    Iron phosphate falls to nine tenths by itself: of it no least is told.
    """
    (first, *_) = bench.judge(LISTED).answer.ask_first
    assert "(full: some 52 to 54.6 V; above or below, leave it)" in first.text
    phosphate = bench.changed(LISTED, {"claim.chemistry": "LFP", "claim.configuration": "15S4P"})
    (first, *_) = bench.judge(phosphate).answer.ask_first
    assert "leave it" not in first.text


def test_nobody_is_asked_for_the_charge_leads_of_a_closed_pack(bench: Bench) -> None:
    """The third of three questions would be of a wire that carries 2 A, and none of the BMS, which decides."""
    claim = {"claim.charge_current_a": 2, "claim.cell_marking": bench.MARKING, "claim.capacity_ah": 10.4}
    asked = [each.observe for each in bench.judge(bench.changed(LISTED, claim)).answer.ask_first]
    assert not any(each.startswith("observed.charge_leads") for each in asked)
    assert "observed.bms.continuous_a" in asked


def test_nothing_is_said_to_be_right_beside_a_charger_that_may_overcharge(bench: Bench) -> None:
    """ "Nothing wrong found in the advert" above a note that its charger may burn the house."""
    claim = {"nominal_voltage_v": 48, "configuration": "13S4P", "charge_voltage_v": 56.5}
    report = bench.judge({"case": {"stage": "listed"}, "claim": claim})
    assert bench.told(report.finding("charge_voltage"), "overcharges_most")
    (decision,) = under("decision", report)
    assert decision.startswith("do not buy before it is clear which charger is right: 56.5 V")
    right = bench.judge({"case": {"stage": "listed"}, "claim": {**claim, "charge_voltage_v": 54.6}})
    assert under("decision", right)[0].startswith("nothing wrong found in the advert")


def test_the_best_cell_ever_made_stands_beside_no_claim(bench: Bench) -> None:
    """ "60 A, at best 168 A" reads as a pack that carries three times as much; nobody has seen any part of it."""
    claim = {"claim.capacity_ah": 11, "claim.cell_size": "18650", "claim.mass_kg": 3}
    report = bench.judge(bench.changed(LISTED, claim))
    for figure in ("continuous_current", "capacity", "mass"):
        finding = report.finding(figure)
        assert finding.verdict is Verdict.NOT_SETTLED
        assert rows.figure_row(finding)[2] == "not known"
    # What refutes a claim is told, and what was seen of a pack.
    over = bench.judge(bench.changed(LISTED, {**claim, "claim.capacity_ah": 90}))
    assert rows.figure_row(over.finding("capacity"))[2].startswith("at best")


# -- what a verdict is open by -------------------------------------------------------------------------------


def test_groups_that_cost_capacity_say_so(bench: Bench) -> None:
    """A full discharge would be made for nothing: without the groups 10.4 Ah hold, with 20 mV apart they are open."""
    apart = {"observed.groups_v": [3.71] * 11 + [3.70, 3.72]}
    finding = bench.finding("capacity", bench.seen_through(**apart))
    assert finding.verdict is Verdict.NOT_SETTLED
    told = remark_text(bench.remark(finding, "groups_may_cost"))
    assert told.startswith("groups 20 mV apart at rest may cost up to ")
    # As many per cent as the lower end is less.
    percent = float(told.partition("up to ")[2].partition(" %")[0])
    assert finding.supported.low == pytest.approx(10.4 * (1 - percent / 100), rel=0.002)
    even = bench.finding("capacity", bench.seen_through(**{"observed.groups_v": [3.71] * 13}))
    assert bench.told(even, "groups_may_cost") is None


@pytest.mark.parametrize(("claimed_ah", "typical"), [(14, True), (14.3, False)])
def test_a_label_by_the_typical_capacity_is_called_that(
    bench: Bench, claimed_ah: float, typical: bool
) -> None:
    """ "Cannot tell yet" of 4 x 3.5 Ah reads like a suspicion: labels are printed by what datasheets call typical.

    By hand: 4 x 3.3 Ah = 13.2 Ah are guaranteed, 5.7 % less than 14 Ah.
    """
    capacity = [{"kind": "minimum", "value_ah": 3.3}, {"kind": "typical", "value_ah": 3.5}]
    cell = bench.cell("lyr-18650-26", {**bench.sheet(), "capacity": capacity})
    claim = {"claim.capacity_ah": claimed_ah, "claim.cell_capacity_ah": None, "claim.energy_wh": None}
    finding = bench.finding("capacity", bench.seen_through(**claim), cell)
    assert finding.verdict is Verdict.NOT_SETTLED
    told = bench.told(finding, "by_typical")
    assert (told is not None) is typical
    if told is not None:
        assert remark_text(told).endswith("guaranteed is 13.2 Ah, 5.71 % less")


@pytest.mark.parametrize(("material", "copper_alone"), [(None, True), ("nickel", False)])
def test_what_only_copper_could_carry_is_said_so(
    bench: Bench, material: str | None, copper_alone: bool
) -> None:
    """ "Does not hold or holds" of a grey strip: whoever sees that it is not red knows the answer.

    By hand: 0.2 x 8 mm of nickel carries 6 A/mm2 x 1.6 mm2 = 9.6 A at most.
    """
    strip = {**THIN["observed.strip"], "material": material}
    changes = {**THIN, "observed.strip": strip, "claim.continuous_current_a": 15}
    finding = bench.finding("continuous_current", bench.seen_through(**changes))
    assert (bench.told(finding, "only_copper") is not None) is copper_alone
    within = bench.finding(
        "continuous_current", bench.seen_through(**{**changes, "claim.continuous_current_a": 6})
    )
    assert bench.told(within, "only_copper") is None


def test_a_power_that_only_a_full_pack_gives_is_said_to_be_so(bench: Bench) -> None:
    """1600 W "cannot tell yet" although it holds for some minutes only. By hand: 31.2 A x 46.8 V = 1460 W at most."""
    finding = bench.finding("power", bench.seen_through(**{"claim.power_w": 1600}))
    assert finding.verdict is Verdict.NOT_SETTLED
    told = bench.remark(finding, "power_of_full_pack")
    assert told.numbers["nominal_w"] <= 31.2 * 46.8 * 1.001
    assert (
        bench.told(bench.finding("power", bench.seen_through(**{"claim.power_w": 900})), "power_of_full_pack")
        is None
    )


def test_each_end_of_a_band_names_its_own_part(bench: Bench) -> None:
    """ "At best 20 A, main leads": the 20 A are the BMS's, and somebody would buy thicker leads for them."""
    wide = {
        **bench.sheet(),
        "discharge": [{"low_c": -20, "high_c": 70, "max_continuous_c": 3, "basis": "ambient"}],
    }
    small = {
        "observed.bms.continuous_a": 20,
        "observed.fuse.rating_a": 20,
        "observed.leads.awg": 8,
        "claim.continuous_current_a": 15,
    }
    report = bench.judge(bench.seen_through(**small), bench.cell("lyr-18650-26", wide))
    unlike = [
        each
        for each in report.finding("continuous_current").by_temperature
        if not each.supported.exact and each.surely_limited_by != each.limited_by
    ]
    assert unlike
    for band in unlike:
        decides = rows.band_row(band)[-1]
        assert decides == "main leads (low end), BMS (high end)"
        assert decides in as_markdown.render([report])


def test_layers_of_a_link_can_be_noted(bench: Bench) -> None:
    """The report would call them "not noted" and refuse the field: half of what the links carry could never be shown.

    By hand: 3 links of 0.2 x 10 mm nickel carry 3 x 8 = 24 A at least of one layer, 48 A of two.
    """
    seen = {
        **NICKEL,
        "observed.take_off": {"where": "every_cell", "layers": 2},
        "observed.series_links": {"count": 4},
    }
    one, noted = (
        bench.element("series_links", bench.seen_through(**seen, **{"observed.series_links.layers": layers}))
        for layers in (None, 2)
    )
    assert (one.supported.low, noted.supported.low) == (
        pytest.approx(32, rel=0.05),
        pytest.approx(64, rel=0.05),
    )
    assert any("layers of a link not noted" in remark_text(each) for each in one.notes)
    assert not any(each.code == "link_layers_open" for each in noted.notes)
    limits = {**seen, "observed.series_links": {"count": 1, "layers": 1}, "claim.continuous_current_a": 30}
    report = bench.judge(bench.seen_through(**limits))
    told = [remedy_text(each) for each in report.finding("continuous_current").remedies]
    assert "one more layer on the links" in told


# -- what was noted, and what is left to count ---------------------------------------------------------------


def test_a_pack_whose_groups_were_counted_is_not_to_be_counted_again(bench: Bench) -> None:
    """Somebody who counted 13 groups would be told to count them, and never that the chemistry is open."""
    claim = {"nominal_voltage_v": 48, "full_voltage_v": 54.6}
    opened = {"case": {"stage": "opened"}, "claim": claim}
    (counted,) = under("charge with", bench.judge({**opened, "observed": {"series": 13}}))
    assert "the chemistry of its cells is not known" in counted
    (not_counted,) = under("charge with", bench.judge(opened))
    assert "before its groups in series are counted" in not_counted


def test_a_listing_with_a_test_beside_it_is_not_called_unseen(bench: Bench) -> None:
    """A report that rests on a test would be headed "nothing seen"."""
    listed = {"case": {"stage": "listed"}, "claim": {"capacity_ah": 12, "series": 13}}
    assert "listing only, nothing seen" in as_text.render([bench.judge(listed)])
    tested = as_text.render([bench.judge({**listed, "observed": {"capacity_ah": 3}})])
    assert "nothing seen" not in tested


def test_the_usual_charger_of_a_plain_advert_is_no_danger(bench: Bench) -> None:
    """Every advert of a 48 V pack with its 54.6 V charger would read "do not buy". By hand: 13 x 4.2 V is 54.6 V."""
    listed = {"case": {"stage": "listed"}, "claim": {"nominal_voltage_v": 48, "charge_voltage_v": 54.6}}
    report = bench.judge(listed)
    assert not under("beware", report)
    assert "nothing wrong found" in under("decision", report)[0]
    unusual = bench.judge(
        {**listed, "claim": {"nominal_voltage_v": 36, "series": 10, "charge_voltage_v": 43.8}}
    )
    assert "overcharge" in as_text.render([unusual])
