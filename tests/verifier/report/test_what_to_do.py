"""What the first lines tell somebody to do: nothing that harms, nothing that contradicts the line beside it.

Rule for all of it, no source: a reader sees the first lines only, and does what they say.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from verifier.alarms import LEAVE_ALONE
from verifier.answer import Conclusion
from verifier.bounds import Bounds
from verifier.case.fields import case_fields
from verifier.case_report import Report
from verifier.finding import remark
from verifier.observations import OBSERVATIONS
from verifier.report import as_html, as_label, as_markdown, as_text, rows
from verifier.report.opening import lines
from verifier.verdict import Verdict
from verifier.words import ENGLISH, InEnglish, Language, alarm_text, handling, language_of, languages
from verifier.words.alarms import ALARMS

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

LANGUAGES = [language_of(code) for code in languages()]
in_each_language = pytest.mark.parametrize("language", LANGUAGES, ids=languages())
# One pack for each alarm that can be made with the bench's cell; those with a load left out are of a table only.
ALARMED: dict[str, dict[str, Any]] = {
    "deeply_discharged": {"observed.resting_voltage_v": 13},
    "group_deeply_discharged": {"observed.groups_v": [3.7] * 12 + [1.2]},
    "over_charge_limit": {"observed.resting_voltage_v": 58},
    "swollen": {"observed.build.swollen": True},
    "damaged": {"observed.build.damaged": True},
    "no_fuse": {"observed.fuse": {"fitted": False}},
    "wrong_charger": {"observed.charger.voltage_v": 67.2},
    "fuse_above_leads": {"observed.leads.awg": 18, "observed.leads.conductor": "copper"},
}
UNDER_LOAD = ("observed.capacity_ah", "observed.cell.dc_mohm")


def under(label: str, report: Report, language: Language = ENGLISH) -> list[str]:
    """Return what stands under a label of the opening, by its English words."""
    found, last = [], ""
    for name, text in lines(report, language):
        last = name or last
        if last == label:
            found.append(text)
    return found


def everywhere(report: Report) -> list[str]:
    """Return the report in each format that opens with the whole answer."""
    made: list[Callable[[], str]] = [
        lambda: as_text.render([report], width=1000),
        lambda: as_markdown.render([report]),
        lambda: as_html.render([report]),
    ]
    return [" ".join(each().split()) for each in made]


def used_up(bench: Bench, **changes: Any) -> dict[str, Any]:
    """Return a used pack whose capacity and current only a test can tell."""
    return bench.seen_through(**{"case.condition": "used", "claim.capacity_ah": 9, **changes})


@pytest.mark.parametrize("code", ALARMED)
def test_nothing_is_asked_under_an_alarm_that_it_forbids(bench: Bench, code: str) -> None:
    """ "DO NOT CHARGE" would stand beside a wish for a full discharge, and somebody would charge a dead pack for it."""
    report = bench.judge(used_up(bench, **ALARMED[code]))
    assert code in {each.code for each in report.alarms}
    asked = {each.observe for each in report.answer.ask_first} | {each.observe for each in report.next_steps}
    assert not asked & set(UNDER_LOAD)
    for text in everywhere(report):
        assert "full discharge" not in text
    if code in LEAVE_ALONE:
        assert not report.answer.ask_first
        assert not any(each.effort == "take a sample" for each in report.next_steps)


def test_without_an_alarm_the_same_pack_is_to_be_tested(bench: Bench) -> None:
    """The test above would pass because nobody is ever asked for a test."""
    asked = [each.observe for each in bench.judge(used_up(bench)).answer.ask_first]
    assert "observed.capacity_ah" in asked


@pytest.mark.parametrize(("chemistry", "asked"), [(None, False), ("NMC", True)])
def test_cells_that_nobody_knows_are_not_discharged_to_find_out(
    bench: Bench, chemistry: str | None, asked: bool
) -> None:
    """LiFePO4, NMC or titanate would be drained without a voltage to stop at. Rule: a discharge needs its cut-off.

    3.0 V harms no cell that stands above it when full; from memory.
    """
    cell = {"marking": "scraped", "size": "18650", "chemistry": chemistry}
    said = {"claim.chemistry": None, "claim.cell_marking": None}
    report = bench.judge(bench.seen_through(**{"observed.cell": cell, "case.condition": "used", **said}))
    fields = {each.observe for each in report.answer.ask_first if "no lower than 3.0 V" not in each.text}
    assert bool(fields & set(UNDER_LOAD)) is asked
    assert report.answer.ask_first


def test_every_observation_that_loads_cells_is_known_as_one() -> None:
    """A new observation that takes a discharge would be asked of a dead pack.

    Rule: what is read off a load or a discharge says so where it tells how it is found out.
    """
    for each in OBSERVATIONS:
        field = case_fields()[each.field]
        loads = any(word in field.look for word in ("discharge", "a load", "charge it", "ride"))
        assert field.under_load == loads, each.field


def test_a_pack_to_be_left_alone_is_not_opened_for_a_look(bench: Bench) -> None:
    """Somebody would open a swollen pack to count its cells."""
    claim = {"series": 13, "nominal_voltage_v": 48, "capacity_ah": 10}
    case = {"case": {"stage": "arrived"}, "claim": claim, "observed": {"build": {"swollen": True}}}
    closed = bench.judge(case)
    assert not [each for each in closed.next_steps if each.effort in ("open the case", "take a sample")]
    del case["observed"]
    assert [each for each in bench.judge(case).next_steps if each.effort == "open the case"]


def test_alarms_of_cells_are_those_that_are_left_alone() -> None:
    """A pack would be handed to the post of which its own page says not to."""
    assert {code for code in ALARMS if handling([code])} == LEAVE_ALONE


@in_each_language
def test_why_less_may_be_used_than_is_claimed_is_said(bench: Bench, language: Language) -> None:
    """ "At most 20 A" beside 31.2 A that hold would be a riddle: which of the two is meant?

    By hand: 4 in parallel x 3 x 2.6 Ah = 31.2 A; two thirds of it are 20.8 A.
    """
    tight = bench.judge(
        bench.seen_through(**{"claim.continuous_current_a": 31.2, "claim.load_power_w": None})
    )
    assert tight.finding("continuous_current").verdict is Verdict.HOLDS_WITHOUT_RESERVE
    said = under("use at most", tight, language)
    assert len(said) == 2
    assert any(each in said[1] for each in ("31.2 A", "31,2 A"))
    easy = bench.judge(bench.seen_through(**{"claim.continuous_current_a": 20, "claim.load_power_w": None}))
    assert len(under("use at most", easy, language)) == 1


@in_each_language
def test_a_power_that_holds_is_told_from_the_motor_that_is_granted(bench: Bench, language: Language) -> None:
    """600 W that hold beside a motor of less: is the advertised motor to be fitted or not?"""
    claims = {"claim.continuous_current_a": 15, "claim.load_power_w": None, "claim.power_w": 310}
    report = bench.judge(bench.seen_through(**claims))
    assert report.finding("power").verdict is Verdict.HOLDS_WITH_RESERVE
    assert max(each.motor_w or 0 for each in report.answer.use_at_most) < 310
    assert "310 W" in under("use at most", report, language)[-1]
    small = bench.judge(bench.seen_through(**{**claims, "claim.power_w": 100}))
    assert len(under("use at most", small, language)) == 1


def test_what_is_granted_is_said_to_be_continuous_and_until_empty(bench: Bench) -> None:
    """20 A would be read as a peak, and 270 W as what a full pack drives."""
    (first, *_) = under("use at most", bench.judge(bench.seen_through()))
    assert "A continuous (a motor of" in first
    assert "until nearly empty" in first


@pytest.mark.parametrize(
    ("condition", "said"), [(None, "for new and genuine cells"), ("used", "for genuine cells")]
)
def test_whatever_holds_is_said_of_genuine_cells(bench: Bench, condition: str | None, said: str) -> None:
    """Who reads "without reserve" or "if the seller's word holds" would take copies of the cells for as good."""
    tight = bench.judge(bench.seen_through(**{"case.condition": condition}))
    by_word = bench.judge(
        {
            "case": {"stage": "listed", "condition": condition},
            "claim": {"series": 13, "cell_marking": bench.MARKING, "nominal_voltage_v": 48},
        }
    )
    assert by_word.answer.conclusion is Conclusion.IF_SELLERS_WORD_HOLDS
    assert said in by_word.answer.sentence
    if condition is None:
        assert tight.answer.conclusion is Conclusion.WITHOUT_RESERVE
        assert said in tight.answer.sentence


def test_an_alarm_of_a_charger_says_whose_numbers_they_are_and_what_is_right(bench: Bench) -> None:
    """ "54.6 V on 10 in series (the seller's word)": one would not know which of the two was seen.

    By hand: 10 x 4.2 V = 42 V; 54.6 / 10 = 5.46 V a cell.
    """
    case: dict[str, Any] = {"claim": {"nominal_voltage_v": 36, "series": 10, "chemistry": "NMC"}}
    never = {"charged_above_full": "no"}
    case["observed"] = {"charger": {"voltage_v": 54.6}, **never}
    assert [each.text for each in bench.judge(case).answer.alarms] == [
        "WRONG CHARGER: it is marked 54.6 V, on 10 in series (only the seller says so), 5.46 V a cell; do not charge "
        "with it; such a pack takes 42 V"
    ]
    case["observed"] = {"series": 10, "charger": {"no_load_v": 54.6}, **never}
    assert [each.text for each in bench.judge(case).answer.alarms] == [
        "WRONG CHARGER: it was measured to give 54.6 V, on 10 in series, 5.46 V a cell; do not charge with it; such a "
        "pack takes 42 V"
    ]
    said = alarm_text(remark("charger_overcharges", volts=54.6, series=10))
    assert said.startswith("DO NOT CHARGE: 54.6 V, as the seller says, on 10 in series, 5.46 V a cell")


def test_no_right_voltage_is_named_where_cells_of_two_kinds_are_possible(bench: Bench) -> None:
    """A pack of iron phosphate would be given a charger for lithium-ion."""
    case = {"claim": {"nominal_voltage_v": 36}, "observed": {"series": 10, "charger": {"voltage_v": 67.2}}}
    (said,) = [each.text for each in bench.judge(case).answer.alarms if each.code == "wrong_charger"]
    assert "such a pack takes" not in said


@pytest.mark.parametrize("code", ["no_fuse", "fuse_above_leads"])
def test_an_alarm_of_a_fuse_says_which_to_fit(bench: Bench, code: str) -> None:
    """One would learn that the fuse is wrong, and fit the next wrong one. By hand: 13 x 4.2 V = 54.6 V.

    Rule: a fuse protects what the leads surely carry, rounded down.
    """
    report = bench.judge(bench.seen_through(**ALARMED[code], **{"observed.leads.length_m": 0.3}))
    leads = next(
        each for each in report.finding("continuous_current").elements if each.element == "leads"
    ).supported
    (said,) = [each.text for each in report.answer.alarms if each.code == code]
    most = float(said.partition("fit a fuse of at most ")[2].partition(" A")[0])
    assert 0.9 * leads.low <= most <= leads.low
    assert "54.6 V d.c. or more" in said


@pytest.mark.parametrize(
    ("bounds", "said"), [((0, 168), "at best 168 A"), ((5, 9), "5 to 9 A"), ((0, 0), "0 A")]
)
def test_a_range_that_begins_at_nothing_reads_as_no_grant(
    bench: Bench, bounds: tuple[float, float], said: str
) -> None:
    """ "0 to 168 A" under "supported" would be taken for 168 A."""
    finding = replace(
        bench.judge(bench.seen_through()).finding("continuous_current"), supported=Bounds(*bounds)
    )
    assert rows.figure_row(finding)[2] == said


@in_each_language
def test_a_withdrawn_datasheet_is_told_as_such(bench: Bench, language: Language) -> None:
    """A pack whose wrapper was read right would be told to contradict itself, and nobody say what to do."""
    cell = bench.cell(retired="the maker recalled the sheet")
    report = bench.judge(bench.seen_through(), cell)
    assert report.answer.conclusion is Conclusion.NOT_SETTLED
    assert report.rely_on.continuous_current_a.low == 0
    assert not report.answer.use_at_most
    assert not under("cannot be true", report, language)
    (said,) = under("cells", report, language)
    assert "the maker recalled the sheet" in said
    assert "packclaim cells history lyr-18650-26" in said
    first = under("ask first", report, language)[0]
    assert "packclaim cells retire lyr-18650-26 --undo" in first
    assert not isinstance(first, InEnglish)
    for text in everywhere(report):
        assert "contradicts itself" not in text.partition("What is claimed")[0]
        assert "could make this" not in text


def test_a_listing_is_asked_of_its_seller_and_not_looked_into(bench: Bench) -> None:
    """Somebody would be sent to count cells of a pack that he has only read about."""
    claim = {
        "series": 13, "parallel": 4, "cell_marking": bench.MARKING, "nominal_voltage_v": 48, "capacity_ah": 10,
        "continuous_current_a": 20, "charge_voltage_v": 54.6, "mass_kg": 3.5,
    }  # fmt: skip
    listed = bench.judge({"case": {"stage": "listed"}, "claim": claim})
    asked = [each.text for each in listed.answer.ask_first]
    assert asked
    assert all("counted" not in each and "open pack" not in each for each in asked)
    assert all("nobody should open it" in each for each in asked if "groups" in each or "BMS" in each)
    # What he can tell and show of the closed pack comes first.
    assert asked[0].startswith("its age")
    arrived = bench.judge({"case": {"stage": "arrived"}, "claim": claim})
    assert any("counted" in each.text for each in arrived.answer.ask_first)


@pytest.mark.parametrize(
    ("charger", "named"),
    [
        # By hand: 13 x 4.2 V, and two thirds of 4 x 1.3 A are 3.46 A.
        ({"voltage_v": 54.6, "current_a": 2}, True),
        ({"voltage_v": 54.6, "current_a": 4}, False),
        ({"voltage_v": 54.6}, False),
        # 12 in series: it charges this pack to 3.9 V a cell only.
        ({"voltage_v": 50.4, "current_a": 2}, False),
        ({"voltage_v": 54.6, "no_load_v": 50.4, "current_a": 2}, False),
    ],
)
def test_a_right_charger_at_hand_is_named(bench: Bench, charger: dict[str, float], named: bool) -> None:
    """The owner would buy another charger, or be sent to one that is too strong."""
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=[{"low_c": 10, "high_c": 45, "max_a": 1.3}]))
    leads = {"awg": 16, "conductor": "copper", "length_m": 0.3}
    seen = {"observed.charge_leads": leads, "observed.charger": charger}
    told = " ".join(under("charge with", bench.judge(bench.seen_through(**seen), cell), ENGLISH))
    assert ("the charger at hand (54.6 V, 2 A)" in told) == named


@in_each_language
def test_the_charger_of_a_good_pack_is_said(bench: Bench, language: Language) -> None:
    """The owner of a good pack would have to guess its charger. By hand: 13 x 4.2 V; two thirds of 4 x 1.3 A."""
    charge = [
        {"low_c": 0, "high_c": 10, "max_a": 0.4, "basis": "ambient"},
        {"low_c": 10, "high_c": 45, "max_a": 1.3, "basis": "ambient"},
    ]
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=charge))
    leads = {"awg": 16, "conductor": "copper", "length_m": 0.3}
    report = bench.judge(bench.seen_through(**{"observed.charge_leads": leads}), cell)
    (said,) = under("charge with", report, language)
    for number in ("54.6 V", "3.4 A", "10 "):
        assert number in said.replace(",", ".")
    # The cold band grants less than that, on the label and on the page alike.
    assert not re.search(r"\b0 A", said)
    if language.english:
        # Two thirds of 4 x 0.4 A in the cold, where the next one charges it in a hallway.
        assert said.startswith(
            "54.6 V, at most 3.4 A by cells and charge leads, from 10 to 45 C; at most 1 A from 0 to 10 C; what its BMS"
        )
        assert "54.6 V, at most 3.4 A, from 10 to 45 C" in as_label.render([report])
    unseen = bench.judge(bench.seen_through(), cell)
    assert "A," not in under("charge with", unseen, language)[0]


@in_each_language
def test_charge_leads_that_carry_less_in_hot_air_do_not_stand_for_a_room(
    bench: Bench, language: Language
) -> None:
    """A charger that is right in a room would be left out because of leads in air of 45 C.

    By hand: from 25 to 45 C, each 15 K warmer inside, the rise left to 75 C falls from 35 to 15 K, and the current with
    its root to 0.65 (rule of thumb of conductor tables, from memory).
    """
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=[{"low_c": 0, "high_c": 45, "max_a": 10}]))
    leads = {"awg": 20, "conductor": "copper", "length_m": 0.3}
    seen = {"observed.charge_leads": leads, "observed.charger": {"voltage_v": 54.6, "current_a": 5}}
    (said,) = under("charge with", bench.judge(bench.seen_through(**seen), cell), language)
    amps = [float(each) for each in re.findall(r"(\d+(?:\.\d+)?) A", said.replace(",", "."))]
    room, warm, hot = amps[1:4]
    assert amps[0] == 5 <= room
    assert 0.55 <= hot / room <= 0.75
    # What leads carry at 45 C says as little of 30 C, and the charger fits up to where they carry what it gives.
    assert hot < 5 <= warm < room
    if language.english:
        assert (
            f"at most {room:g} A by cells and charge leads, from 0 to 25 C; at most {warm:g} A from 25 to 40 C; at "
            f"most {hot:g} A from 40 to 45 C" in said
        )
        assert said.startswith("the charger at hand (54.6 V, 5 A) or another")
        assert "with the charger at hand never above 40 C" in said
        # Where the air of charging is stated, it is judged in that one.
        stated = {**seen, "use.charge_temperature_c": [5, 30]}
        (there,) = under("charge with", bench.judge(bench.seen_through(**stated), cell), language)
        assert "from 0 to 30 C" in there
        hottest = {**seen, "use.charge_temperature_c": [5, 45]}
        (there,) = under("charge with", bench.judge(bench.seen_through(**hottest), cell), language)
        assert (
            f"at most {hot:g} A by cells and charge leads, from 0 to 45 C; the charger at hand gives 5 A"
            in there
        )


def test_what_is_charged_passes_the_strip_too(bench: Bench) -> None:
    """A strip that surely carries 4 A would be charged with more for hours. By hand: 0.2 x 5 mm x 4 A/mm2; two thirds.

    A charger gives what it gives: in the cold, or above what is advised, the one at hand cannot be told to give less.
    """
    charge = [
        {"low_c": 0, "high_c": 10, "max_a": 0.5, "basis": "ambient"},
        {"low_c": 10, "high_c": 45, "max_a": 2.6, "basis": "ambient"},
    ]
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=charge))
    strip = {"material": "nickel", "thickness_mm": 0.2, "width_mm": 5, "layers": 1, "pitch_mm": 20}
    seen = {
        "observed.charge_leads": {"awg": 12, "conductor": "copper", "length_m": 0.3}, "observed.strip": strip,
        "observed.take_off": {"where": "end", "layers": 1},
    }  # fmt: skip

    def said(charger_a: float) -> str:
        charger = {"observed.charger": {"voltage_v": 54.6, "current_a": charger_a}}
        return " ".join(
            under("charge with", bench.judge(bench.seen_through(**seen, **charger), cell), ENGLISH)
        )

    assert "at most 2.6 A, limited by the main-lead strip, from 10 to 45 C" in said(2)
    assert "with the charger at hand never below 10 C" in said(2)
    assert "never below" not in said(0.5)
    assert said(3).startswith("54.6 V, at most 2.6 A")
    assert "the charger at hand gives 3 A: more than we advise" in said(3)


def test_no_charger_is_named_on_a_sellers_word_or_under_an_alarm(bench: Bench) -> None:
    """A charger would be bought for a count that nobody made, or a dead pack be charged."""
    said = bench.judge({"claim": {"series": 13, "cell_marking": bench.MARKING, "nominal_voltage_v": 48}})
    dead = bench.judge(bench.seen_through(**{"observed.resting_voltage_v": 13}))
    assert not under("charge with", said)
    assert not under("charge with", dead)


@in_each_language
@pytest.mark.parametrize(
    ("capacity_ah", "words"),
    [
        (
            60,
            {
                "en": "no cell ever made that could be inside",
                "de": "keine je gebaute Zelle",
                "zh": "从来没有一种",
            },
        ),
        (14, {"en": "none of them can do what is claimed", "de": "keine davon kann", "zh": "没有一种能"}),
        (10, {"en": "1 of them could do what is claimed", "de": "1 davon könnten", "zh": "其中 1 种"}),
    ],
)
def test_which_cells_could_be_inside_and_which_could_do_it_is_one_line(
    bench: Bench, capacity_ah: float, words: dict[str, str], language: Language
) -> None:
    """ "3 registered cells fit" would stand beside "no cell ever made can do it", and one of them be believed."""
    case = bench.seen_through(
        **{
            "observed.cell": {"size": "18650"},
            "claim.cell_marking": None,
            "claim.capacity_ah": capacity_ah,
            "claim.energy_wh": None,
            "claim.cell_capacity_ah": None,
            "claim.continuous_current_a": None,
        }
    )
    report = bench.judge(case, *bench.cells())
    (said,) = under("cells", report, language)
    assert words[language.code] in said
    for text in everywhere(report):
        assert "cells fit" not in text
        assert ("ever made" in text) == (capacity_ah == 60)


def test_bands_outside_the_air_of_use_do_not_seem_to_refute(bench: Bench) -> None:
    """ "x does not hold" for frost would stand below "as advertised" for summer. Rule: `--full` shows every band."""
    report = bench.judge(bench.seen_through(**{"claim.load_power_w": None, "claim.continuous_current_a": 15}))
    assert report.answer.use_at_most
    assert "-20 to 5 C" not in as_text.render([report])
    assert "-20 to 5 C" in as_text.render([report], full=True)


def test_a_weak_bms_says_nothing_of_what_cells_there_are(bench: Bench) -> None:
    """ "No cell ever made can do it" would be said of 31 A that cells give, because a BMS of 20 A does not."""
    case = {
        "claim": {"nominal_voltage_v": 36, "continuous_current_a": 31},
        "observed": {"series": 10, "parallel": 4, "cell": {"size": "18650"}, "bms": {"continuous_a": 20}},
        "use": {"temperature_c": 25},
    }
    report = bench.judge(case)
    assert report.finding("continuous_current").verdict is Verdict.DOES_NOT_HOLD
    assert under("cells", report) == ["unknown; 1 of 1 registered cells could be inside"]
    assert not any("ever made" in text for text in everywhere(report))


def test_a_name_of_several_cells_is_asked_for_what_tells_them_apart(bench: Bench) -> None:
    """Somebody would be sent for a datasheet that the registry has twice."""
    twins = [bench.cell(each, markings=["PN 2900"]) for each in ("lyr-18650-26", "tarn-18650-w")]
    case = bench.build(**{"observed.cell.marking": "PN 2900", "claim.capacity_ah": 10})
    asked = [each.text for each in bench.judge(case, *twins).answer.ask_first]
    assert asked[0].startswith("which of the cells of the name 'PN 2900' it is (lyr-18650-26, tarn-18650-w)")


def test_counts_that_exclude_each_other_are_told_with_who_says_them(bench: Bench) -> None:
    """ "13 in series and 14 in series": one would not know whether to count again or to write to the seller."""
    case = {"claim": {"series": 13}, "observed": {"bms": {"series": 14}}}
    (told,) = bench.judge(case).answer.cannot_be_true
    assert told.text == (
        "a BMS made for 14 in series and 13 in series claimed do not go together, unless the BMS can be set to fewer"
    )


def test_the_least_of_several_airs_is_said_to_decide(bench: Bench) -> None:
    """ "At most 5.2 A possible" would stand above 20 A granted in summer, and neither be believed.

    By hand: 4 x 0.5 x 2.6 Ah = 5.2 A below 5 C, 4 x 3 x 2.6 Ah = 31.2 A above it.
    """
    changes = {"use.temperature_c": [-10, 30], "claim.load_power_w": None}
    refuted = under("use at most", bench.judge(bench.seen_through(**changes)))
    assert len(refuted) == 3
    assert "the least of these decides" in refuted[-1]
    held = under(
        "use at most", bench.judge(bench.seen_through(**changes, **{"claim.continuous_current_a": 3}))
    )
    assert len(held) == 2


def test_a_load_that_is_told_is_not_told_again_in_the_notes(bench: Bench) -> None:
    """The same two currents would stand twice on one screen, and their difference be looked for."""
    changes = {"claim.load_power_w": 350, "use.load_power_w": 350}
    text = as_text.render([bench.judge(bench.seen_through(**changes))])
    assert "350 W takes" in text
    assert "a 350 W motor draws" not in text
    other = bench.judge(bench.seen_through(**{**changes, "use.load_power_w": 200}))
    assert any("a 350 W motor draws" in each for each in rows.notes(other, brief=True))


def test_what_an_alarm_has_said_is_not_said_again_below_it(bench: Bench) -> None:
    """Under three sentences of one charger somebody would look for three faults. Rule: `--full` shows all of them."""
    cases: tuple[tuple[dict[str, Any], str], ...] = (
        ({"observed.charger.voltage_v": 67.2, "claim.charge_voltage_v": 67.2}, "overcharges the pack"),
        ({"observed.resting_voltage_v": 13}, "below the 2.5 V of an empty one"),
    )
    for changes, again in cases:
        report = bench.judge(bench.seen_through(**changes))
        assert report.alarms
        assert again not in " ".join(as_text.render([report]).split())
        assert again in " ".join(as_text.render([report], full=True).split())


def test_a_pack_to_be_left_alone_is_not_to_be_mended_nor_charged_in_the_warm(bench: Bench) -> None:
    """Beside "hand it over" would stand which fuse to fit into the swollen pack, and from what air to charge it."""
    charge = [{"low_c": 10, "high_c": 45, "max_a": 1.3, "basis": "ambient"}]
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=charge))
    changes = {"observed.fuse": {"fitted": False}, "use.temperature_c": [-5, 30]}
    alone = bench.judge(bench.seen_through(**changes, **{"observed.build.swollen": True}), cell)
    assert not any("fit a fuse" in each.text for each in alone.answer.alarms)
    assert not under("beware", alone)
    sound = bench.judge(bench.seen_through(**changes), cell)
    assert any("fit a fuse" in each.text for each in sound.answer.alarms)
    assert under("beware", sound)


def test_what_is_said_to_be_open_is_asked_for(bench: Bench) -> None:
    """ "Cannot tell yet: continuous current" stood above three questions, and none of them was about the current."""
    claims = {
        "nominal_voltage_v": 48, "capacity_ah": 10.4, "configuration": "13S4P", "cell_marking": bench.MARKING,
        "continuous_current_a": 20, "charge_voltage_v": 54.6, "energy_wh": 480,
    }  # fmt: skip
    report = bench.judge({"case": {"stage": "listed"}, "claim": claims}, bench.cell("lyr-18650-26"))
    open_ = {each.figure for each in report.findings if each.verdict is Verdict.NOT_SETTLED}
    assert "continuous_current" in open_
    named = {name for each in report.answer.ask_first for name in (each.settles or each.waiting)}
    assert open_ & named
    assert "observed.bms.continuous_a" in {each.observe for each in report.answer.ask_first}
