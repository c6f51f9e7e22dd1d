"""What holds beside a figure: where it was measured, where it holds, what ends it, how long it lasts.

That "ambient 25 C" beside a figure is where it was measured and no band is common practice, no source.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.sheet_reader.draft import DraftFigure
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.reader import read_document
from registry.sheet_reader.temperatures import temperatures


def read(text: str, name: str) -> list[DraftFigure]:
    text = f"Model: VDL-21700-45\nNominal capacity: 3 Ah\nNominal voltage: 3.6 V\n{text}"
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    return [each for each in draft.figures if each.figure == name]


@pytest.mark.parametrize(
    "printed",
    [
        "25 A (ambient 25 °C)", "25 A at 25 °C", "25 A @25±3℃", "25A（25℃）",
        "25 A   ambient temperature 25 °C", "25 A, 25 °C Umgebung", "25 A (23 °C)",
    ],
)  # fmt: skip
def test_a_single_room_temperature_is_where_a_limit_was_measured(printed: str) -> None:
    """A report would say that the cell may give nothing at 20 C, and accuse an honest seller."""
    (found,) = read(f"Max. continuous discharge current   {printed}", "max_continuous_discharge")
    assert (found.value, found.low_c, found.high_c) == (25, None, None)
    assert found.stated_at_c in (25, 23)


@pytest.mark.parametrize("printed", ["3 A at -10 °C", "3 A at 55 °C"])
def test_a_limit_stated_at_one_temperature_that_is_no_room_is_marked(printed: str) -> None:
    """A limit of the cold would be granted, or one of the warm taken for the usual one."""
    (found,) = read(f"Max. charge current: {printed}", "max_charge")
    assert found.confirm
    assert found.low_c is None


def test_a_charge_of_three_numbers_gives_its_current_its_voltage_and_where_it_ends() -> None:
    """The end current would be the standard charge, or the voltage be lost."""
    line = "Standard charge   CCCV, 2A, 4.20 V, 100 mA"
    assert [(each.value, each.confirm) for each in read(line, "standard_charge")] == [(2, False)]
    assert [each.value for each in read(line, "charge_voltage")] == [4.2]


def test_each_limit_of_a_line_has_its_own_band() -> None:
    """The cold limit would hold in the warm, or the other way round."""
    line = "Max. charging current   1.0 A  (10 to 45 °C)   0.2 A (0 to 10 °C)"
    assert [(f.value, f.low_c, f.high_c) for f in read(line, "max_charge")] == [(1, 10, 45), (0.2, 0, 10)]


@given(
    low=st.integers(-30, 5),
    high=st.integers(20, 60),
    where=st.sampled_from(["{} (0 to 5 °C) and {}", "{}, {}"]),
)
@settings(max_examples=40, deadline=None)
def test_a_band_that_stands_in_the_line_and_is_not_read_marks_the_figure(
    low: int, high: int, where: str
) -> None:
    """A limit would seem to hold at every temperature although its line says otherwise."""
    line = f"Max. charge current 2 A {where.format('at 1 A', f'{low} to {high} °C')} see {low} to {high} °C"
    for found in read(line, "max_charge"):
        assert found.confirm or (found.low_c is not None and found.high_c is not None)


def test_a_footnote_is_the_condition_of_the_figure_with_its_mark() -> None:
    """10 A would hold below 10 C too, and the 0.5 A that the sheet allows there be lost."""
    text = (
        "Charge temperature: 0 to 45 °C\nMax. charge current (3)   3.4 A\n"
        "(3) 10 °C to 45 °C. Below 10 °C: max. 0.5 A."
    )
    found = [(f.value, f.low_c, f.high_c, f.confirm) for f in read(text, "max_charge")]
    assert found == [(3.4, 10, 45, False), (0.5, 0, 10, True)]


@pytest.mark.parametrize("mark", ["(3)", "[a]", "**", "†"])
def test_a_mark_that_nothing_explains_marks_the_figure(mark: str) -> None:
    """The condition that the mark stands for would be forgotten without a word."""
    (found,) = read(f"Max. continuous discharge current {mark}   13.6 A", "max_continuous_discharge")
    assert found.confirm


def test_a_reference_to_another_place_marks_the_figure() -> None:
    """ "See 6.2" may say that the current ends at some temperature."""
    (found,) = read("Max. discharge current   14.5 A continuous (see 6.2)", "max_continuous_discharge")
    assert found.confirm


def test_a_sentence_gives_the_band_of_a_limit_that_the_table_prints_without_one() -> None:
    """The limit would be stored without the temperatures that the same sheet gives it."""
    text = (
        "Max. discharge current   14.5 A continuous\n"
        "The continuous discharge current of 14.5 A is allowed from 0 °C to 45 °C at the surface of the cell."
    )
    (found,) = read(text, "max_continuous_discharge")
    assert (found.low_c, found.high_c, found.confirm) == (0, 45, True)


def test_a_current_until_the_cell_is_hot_keeps_what_ends_it() -> None:
    """45 A until 80 C would be 45 A for good."""
    (found,) = read(
        "Max. discharge current: 45 A with 80 °C cell temperature cut-off", "max_discharge_unspecified"
    )
    assert (found.value, found.cutoff_c) == (45, 80)


@pytest.mark.parametrize(
    ("printed", "low", "high"),
    [
        ("Discharge - -20 to 60 ℃", -20, 60), ("– -20~60℃", -20, 60), ("Temp - +10 to 45 ℃", 10, 45),
        ("- - 20 ~ 60 ℃", -20, 60), ("charge 0 to 45 / discharge -20 to 60 °C", 0, 45),
        ("from 50 °F (10 °C) to 113 °F (45 °C)", 10, 45),
    ],
)  # fmt: skip
def test_dashes_before_signs_and_twins_in_fahrenheit(printed: str, low: float, high: float) -> None:
    """A sheet would end in a traceback, or a limit be lost with its second unit."""
    found = [each for each in temperatures(normal(printed)) if not each.twin]
    assert (found[0].low, found[0].high) == (low, high)


def test_a_dash_that_may_be_no_minus_is_marked() -> None:
    """ "Charge – 10 to 45" would allow charging in the frost."""
    found = read("Charge – 10 to 45 °C", "operating_temperature")
    assert all(each.confirm for each in found)


def test_capacities_keep_the_current_they_are_stated_at() -> None:
    """4.0 Ah at 0.8 A and 3.8 Ah at 10 A would be a contradiction. Rule: IEC 61960-3, rated capacity."""
    text = "Rated capacity: 2.55 Ah at 0.5 A, 25 °C\nMinimum capacity: 2.45 Ah (10 A, 2.5 V cut-off)"
    found = [
        (f.value, f.current_a, f.stated_at_c, f.to_v) for f in read(text, "capacity") if f.kind != "nominal"
    ]
    assert found == [(2.55, 0.5, 25, None), (2.45, 10, None, 2.5)]


def test_storage_keeps_its_months() -> None:
    """Three rows of storage would be one contradiction."""
    text = "Storage temperature | -20~60 °C / -20~45 °C / -20~25 °C | 1 month / 3 months / 1 year"
    assert [(f.high_c, f.months, f.confirm) for f in read(text, "storage_temperature")] == [
        (60, 1, False), (45, 3, False), (25, 12, False),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("note", "base"),
    [
        ("Note: C is counted from the minimum capacity", 2.9),
        ("1C = 3000 mA", 3.0),
        ("C rate based on nominal capacity", 3.0),
    ],
)
def test_the_sheets_own_word_says_what_1c_is(note: str, base: float) -> None:
    """A limit in C would be worked out with another capacity than the maker's."""
    (found,) = read(f"Minimum capacity: 2.9 Ah\nMax. charge current: 1C\n{note}", "max_charge")
    assert (found.value, found.confirm) == (base, False)


def test_without_a_word_on_1c_the_least_capacity_is_taken_and_the_limit_marked() -> None:
    """The higher of two readings would be granted in silence."""
    (found,) = read("Minimum capacity: 2.9 Ah\nMax. charge current: 1C", "max_charge")
    assert (found.value, found.confirm) == (2.9, True)


def test_letters_that_stand_for_digits_are_read_and_marked() -> None:
    """48OO mAh would be 48 mAh, or a misread digit pass unseen."""
    (found,) = read("Minimum capacity: 28OOmAh", "capacity")[1:] or read(
        "Minimum capacity: 28OOmAh", "capacity"
    )
    assert (found.value, found.confirm) == (2.8, True)


def test_a_second_limit_below_the_first_ones_band_is_read_and_marked() -> None:
    """0.5 A would hold at every temperature, or 2.6 A below 10 C."""
    found = read("Max. charge current   2.6 A from 10 to 45 °C; below 10 °C at most 0.5 A", "max_charge")
    assert [(each.value, each.low_c, each.high_c) for each in found] == [(2.6, 10, 45), (0.5, None, 10)]
    assert found[1].confirm


def test_a_band_in_brackets_carries_on_what_the_number_before_was_called() -> None:
    """The cold limit of a list would be lost, and the warm one seem to be all there is."""
    line = "Discharge   continuous 15 A (0 to 60 °C), 5 A (-20 to 0 °C), pulse 25 A (10 s)"
    found = [(each.value, each.low_c, each.high_c) for each in read(line, "max_continuous_discharge")]
    assert found == [(15, 0, 60), (5, -20, 0)]


def test_a_duration_in_brackets_does_not() -> None:
    """A pulse of ten seconds would be a continuous current."""
    line = "Max. discharge current   7.6 A (continuous), 12.5 A (≤ 10 s)"
    assert [each.value for each in read(line, "max_continuous_discharge")] == [7.6]
    assert [(each.value, each.seconds) for each in read(line, "pulse_discharge")] == [(12.5, 10)]


def test_two_resistances_of_one_line_keep_their_own_method() -> None:
    """The dc resistance would be stored as an ac one, and every estimate of heat be too high or too low."""
    line = "Resistance at 1000 Hz: 14 mOhm max.; DC (6 A, 3 s): 24 mOhm typical"
    (ac,), (dc,) = read(line, "ac_resistance"), read(line, "dc_resistance")
    assert (ac.value, ac.kind, ac.at_most, ac.confirm) == (14, "ac", True, False)
    assert (dc.value, dc.kind, dc.at_most, dc.confirm) == (24, "dc", False, False)


@pytest.mark.parametrize(
    "label", ["Résistance interne c.c.", "Resistencia interna c.c.", "Resistenza interna C.C."]
)
def test_a_resistance_for_direct_current_with_points_in_its_letters_is_dc(label: str) -> None:
    """The dc resistance would be taken for the ac one (the abbreviation: common practice, no source)."""
    assert [(each.value, each.confirm) for each in read(f"{label}: 24 mΩ", "dc_resistance")] == [(24, False)]
    assert not read(f"{label}: 24 mΩ", "ac_resistance")


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("AC impedance: 14 mOhm fresh; 24 mOhm after storage", "ac_resistance"),
        ("AC impedance: 14 mOhm maximum; 24 mOhm typical", "ac_resistance"),
        ("Weight: 66 g bare; 72 g with tabs", "mass"),
        ("Standard charge current: 1.5 A at 25 °C; 2.5 A at 40 °C", "standard_charge"),
    ],
)
def test_two_values_with_different_words_under_one_label_never_give_one_unmarked(
    line: str, name: str
) -> None:
    """One of two values would be stored as the only one, and nobody be asked which of them holds."""
    found = read(line, name)
    assert found
    assert all(each.confirm for each in found)


@pytest.mark.parametrize(
    ("label", "note"),
    [
        (
            "Dauerentladestrom 2)",
            "2) 5 bis 40 °C; von -10 bis 5 °C höchstens 1,5C, von 40 bis 55 °C höchstens 2,5C",
        ),
        (
            "Courant de décharge continu maximal [b]",
            "[b] de 5 à 40 °C ; limité à 4,5 A de -10 à 5 °C ; 7,5 A de 40 à 55 °C",
        ),
        (
            "Max. continuous discharge current *1",
            "*1 between 5 and 40 °C. From -10 to 5 °C, at most 4.5 A, from 40 to 55 °C, at most 7.5 A.",
        ),
    ],
)
def test_every_band_of_a_footnote_is_read(label: str, note: str) -> None:
    """The cell would seem to give nothing in the cold, or its full current there."""
    found = read(f"1C = 3 A\n{label}   12 A\n{note}", "max_continuous_discharge")
    assert {(f.value, f.low_c, f.high_c) for f in found} == {(12, 5, 40), (4.5, -10, 5), (7.5, 40, 55)}
    assert all(each.confirm for each in found if each.value != 12)


def test_a_band_at_the_end_of_a_sentence_keeps_its_degrees() -> None:
    """The only temperatures that a limit is given for would be lost to a full stop."""
    text = "Max. continuous discharge current *1   12 A\n*1 from 5 to 40 °C. Surface at most 70 °C."
    (found,) = read(text, "max_continuous_discharge")
    assert (found.low_c, found.high_c, found.cutoff_c) == (5, 40, 70)


CURRENT = "Max. continuous discharge current"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (f"{CURRENT} (1)   20 A\n(1) 0 to 45 °C, only with forced air", "forced air"),
        (f"{CURRENT} (1)   20 A\n(1) 0 to 45 °C; 10 A half of that in the cold", "half of that"),
        (f"{CURRENT} (1)   20 A\n(1) 0 to 45 °C; below 0 °C derate linearly", "derate"),
        (f"{CURRENT}   20 A (0 to 45 °C; half of it outside)", "half of it"),
        (f"{CURRENT} (1)   20 A\n(1) 0~45℃，低温降额", "降额"),
    ],
)
def test_what_a_condition_says_beyond_what_was_read_is_told_and_marks_the_figure(
    text: str, told: str
) -> None:
    """A limit that the sheet narrows further would be stored as if it held without more."""
    (found,) = read(text, "max_continuous_discharge")
    assert found.confirm
    sheet = f"Model: VDL-21700-45\nNominal capacity: 3 Ah\nNominal voltage: 3.6 V\n{text}"
    (draft,) = read_document(rows_of_text(sheet), "sheet.txt").drafts
    unread = [e.text for e in draft.not_understood if e.figure == "max_continuous_discharge"]
    assert [told in each for each in unread] == [True]


@pytest.mark.parametrize(
    "note",
    [
        "0 to 45 °C",
        "ambient 0 to 45 °C",
        "von 0 bis 45 °C Umgebungstemperatur",
        "0 to 45 °C; at most 70 °C surface",
        "0 to 45 °C; from -20 to 0 °C at most 8 A",
        "0~45℃（环境温度），-20~0℃时8A",
    ],
)
def test_a_footnote_that_is_understood_as_a_whole_marks_nothing_more(note: str) -> None:
    """Every footnote would ask to be confirmed, and people would confirm without looking."""
    found, *_ = read(f"{CURRENT} (1)   20 A\n(1) {note}", "max_continuous_discharge")
    assert (found.low_c, found.high_c) == (0, 45)
    assert "not understood" not in (found.why_confirm or "")


@pytest.mark.parametrize(
    "note",
    [
        "C-Raten bezogen auf 2750 mAh.", "C rates refer to 2750 mAh", "All C-rates are based on 2.75 Ah",
        "Les valeurs en C se rapportent à 2750 mAh", "C倍率以2750mAh为基准",
    ],
)  # fmt: skip
def test_a_sheet_that_counts_c_from_a_capacity_gives_the_base_and_no_further_capacity(note: str) -> None:
    """Every current in C would be worked out from another capacity than the sheet says."""
    text = f"Minimum capacity: 2.9 Ah\nMax. charge current: 1C\n{note}"
    (found,) = read(text, "max_charge")
    assert (found.value, found.confirm) == (2.75, False)
    assert [each.value for each in read(text, "capacity")] == [3, 2.9]


@pytest.mark.parametrize(
    "note", ["C rates refer to 27500 mAh", "Stored at 25 °C, based on 2750 mAh", "C rates refer to 25 A"]
)
def test_what_does_not_say_what_c_is_leaves_it_open(note: str) -> None:
    """A slip of a digit, or a note on something else, would set every current in C."""
    (found,) = read(f"Minimum capacity: 2.9 Ah\nMax. charge current: 1C\n{note}", "max_charge")
    assert (found.value, found.confirm) == (2.9, True)


@pytest.mark.parametrize(
    "axis",
    [
        "500  Kapazität in mAh  1500", "4,1  0  500 Kapazität in mAh  1500  2500",
        "0 500 Discharge capacity (mAh) 1500 2500", "0  1  Capacity in Ah  2  3",
    ],
)  # fmt: skip
def test_the_axis_of_a_chart_is_no_capacity(axis: str) -> None:
    """A number along a chart would be the least capacity, and every current in C be counted from it."""
    assert [each.value for each in read(f"Minimum capacity: 2.9 Ah\n{axis}", "capacity")] == [3, 2.9]


def test_a_numbered_line_is_no_axis() -> None:
    """A capacity would be lost because its line has a number."""
    assert [each.value for each in read("4  Minimum capacity in mAh  2900", "capacity")] == [3, 2.9]


@pytest.mark.parametrize(
    ("printed", "doubtful"),
    [
        ("20 A", False), ("20 A (with forced air)", True), ("20 A (heat sink required)", True),
        ("20 A at SOC > 20 %", True), ("20 A, then derate", True), ("20 A per pack of 4P", True),
        ("20 A (not for cycle life)", False), ("20 A (at 25 °C)", False), ("20 A, cut-off 2.5 V", False),
        ("20 A (2 °C to 58 °C)", False), ("≤ 20 A max.", False), ("7C (20.3 A)", False),
    ],
)  # fmt: skip
def test_a_limit_with_words_beside_it_that_nobody_read_is_to_be_confirmed(
    printed: str, *, doubtful: bool
) -> None:
    """A current that needs a fan would be stored as one that holds without. Rule: what is unresolved marks."""
    text = f"Model: SRK-18650-29\nNominal capacity: 2900 mAh\nMax. continuous discharge current: {printed}\n"
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    (limit,) = [each for each in draft.figures if each.figure == "max_continuous_discharge"]
    assert limit.confirm is doubtful
