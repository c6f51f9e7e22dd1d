"""Lists of labels in one line, cycles without a unit, sizes with tabs, limits of mass, names before a dash.

Every sheet here is invented. How sheets word them is common practice, no source.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.acceptance import sheet_record
from registry.sheet_reader.draft import DraftFigure, SheetDraft
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.names import clean_name
from registry.sheet_reader.reader import read_document


def draft_of(text: str) -> SheetDraft:
    (draft,) = read_document(
        rows_of_text(f"Model: WVB-21700-44\nMax. charge current: 2 A\n{text}"), "sheet.txt"
    ).drafts
    return draft


def read(text: str, name: str) -> list[DraftFigure]:
    return [each for each in draft_of(f"Nominal capacity: 4 Ah\n{text}").figures if each.figure == name]


@pytest.mark.parametrize(
    "line",
    [
        "Voltage, nominal / full / empty: 3.62 V / 4.1 V / 2.8 V", "Nominal / full / empty voltage: 3.62 / 4.1 / 2.8 V",
        "Voltage (nominal / charge / cut-off): 3.62 / 4.1 / 2.8 V",
        "Voltage empty / full / nominal   2.8 / 4.1 / 3.62 V",
        "Spannung (Nenn / Ladeschluss / Entladeschluss): 3,62 / 4,1 / 2,8 V", "电压（标称/充电/截止）：3.62/4.1/2.8 V",
        "Voltage, nominal / end of charge / end of discharge: 3.62 V / 4.1 V / 2.8 V",
    ],
)  # fmt: skip
def test_three_labels_of_one_line_have_a_value_each(line: str) -> None:
    """All three voltages would be lost, or the full one be stored as the nominal one."""
    values = {
        name: [each.value for each in read(line, name)]
        for name in ("nominal_voltage", "charge_voltage", "cutoff_voltage")
    }
    assert values == {"nominal_voltage": [3.62], "charge_voltage": [4.1], "cutoff_voltage": [2.8]}


def test_more_labels_than_values_make_no_figure() -> None:
    """A voltage would be put under the label beside its own."""
    line = "Voltage, nominal / full / empty: 4.1 V / 2.8 V"
    assert all(each.confirm for each in read(line, "nominal_voltage"))
    assert not read(line, "charge_voltage")


@pytest.mark.parametrize(
    "line",
    [
        "Cycles: 650, then 75 % or more (1.5 A in, 3 A out)", "Cycle life: 650 to 75 %", "Zyklen | 650 bis 75 %",
        "Cycle life | 650, 75 % of capacity", "循环寿命：650，容量≥75%",
    ],
)  # fmt: skip
def test_a_count_of_cycles_needs_no_unit_although_a_share_follows(line: str) -> None:
    """The cycle life of the sheet would be lost."""
    assert [(each.value, each.to_fraction, each.confirm) for each in read(line, "cycle_life")] == [
        (650, 0.75, False)
    ]


def test_a_size_after_cycles_states_no_cycle_life() -> None:
    """The cycles after which a cell has swollen would be those that it lasts."""
    assert not read("Thickness: 7.9 mm max. after 650 cycles", "cycle_life")


def test_how_deep_the_cycles_go_is_not_what_is_left_after_them() -> None:
    """ "At 80 % DOD" would be stored as 80 % of the capacity left."""
    assert [each.to_fraction for each in read("Life cycles: 650 at 80 % DOD", "cycle_life")] == [None]


@pytest.mark.parametrize(
    "line",
    [
        "Length with tabs: 91 mm", "Length (incl. tabs): 91 mm", "Length: 91 mm including leads", "Tab length: 22 mm",
        "Length over tabs 91 mm", "Länge: 91 mm (mit Ableitern)", "长度（含极耳）: 91 mm", "長さ: 91 mm（タブを含む）",
        "길이: 91 mm (탭 포함)", "Length with/without tabs: 91 / 77 mm", "Length | 91 mm | with soldered lugs",
    ],
)  # fmt: skip
def test_a_length_with_tabs_or_of_tabs_is_marked(line: str) -> None:
    """A cell would be stored longer than its body, and a pack be judged by it."""
    found = read(line, "length")
    assert found
    assert all(each.confirm for each in found)


@pytest.mark.parametrize(
    "line",
    [
        "Length: 77 mm without tabs, 91 mm with", "Length (without tabs): 77 mm", "Length: 77 mm, tabs not included",
        "Length w/o tabs: 77 mm", "Length: 77 mm (with sleeve)", "长度：77 mm（不含极耳）", "長さ: 77 mm（タブを除く）",
    ],
)  # fmt: skip
def test_a_length_without_tabs_is_that_of_the_body(line: str) -> None:
    """The length of the cell would be asked about, or be lost beside the one with tabs."""
    assert [(each.value, each.confirm) for each in read(line, "length")] == [(77, False)]


def test_a_flat_cell_has_a_width_and_a_thickness_and_no_diameter() -> None:
    """They would be lost, although the registry keeps both; or one of them be taken for a diameter."""
    draft = draft_of(
        "Nominal capacity: 4 Ah\nThickness: 7.5 mm\nWidth: 55 mm\nLength: 77 mm\nTab width: 8 mm"
    )
    sizes = [(each.figure, each.value) for each in draft.figures if each.unit == "mm"]
    assert sizes == [("thickness", 7.5), ("width", 55), ("length", 77)]
    assert "diameter" not in draft.not_stated
    record = sheet_record(draft, [each for each in draft.figures if each.unit == "mm"], None)
    assert (record["thickness_mm"], record["width_mm"], record["length_mm"]) == (7.5, 55, 77)


def test_a_round_cell_lacks_no_width() -> None:
    """A user would be told that a round cell's sheet does not state its width."""
    draft = draft_of("Nominal capacity: 4 Ah\nDiameter: 21.3 mm\nHeight: 70.2 mm")
    assert not {"width", "thickness"} & {*draft.not_stated}


@pytest.mark.parametrize(
    "line",
    ["Weight: 62 g max.", "Weight ≤ 62 g", "Weight: 62 g or less", "Weight | 62 g | max.", "Gewicht: höchstens 62 g",
     "重量: 62g以下", "Weight below 62 g", "중량: 62 g 이하"],
)  # fmt: skip
def test_a_largest_mass_is_kept_as_a_limit(line: str) -> None:
    """What a cell weighs at most would be stored as what it weighs, and an honest pack look too light."""
    draft = draft_of(f"Nominal capacity: 4 Ah\n{line}")
    (found,) = [each for each in draft.figures if each.figure == "mass"]
    assert (found.value, found.at_most, found.confirm) == (62, True, False)
    record = sheet_record(draft, [found], None)
    assert record["mass_max_g"] == 62
    assert "mass_g" not in record


def test_what_a_cell_weighs_and_what_it_weighs_at_most_are_two_figures() -> None:
    """One of them would be lost, or both be called a contradiction."""
    found = read("Weight: 60 g (typ.), 62 g (max.)", "mass")
    assert [(each.value, each.at_most, each.confirm) for each in found] == [
        (60, False, False),
        (62, True, False),
    ]


@pytest.mark.parametrize(
    ("printed", "name"),
    [
        ("WVB-557790-31 - soft pouch, two tabs", "WVB-557790-31"), ("WVB-557790-31 – Pouchzelle", "WVB-557790-31"),
        ("WVB18650HP - high power", "WVB18650HP"), ("WVB-557790-31 - 2 tabs", "WVB-557790-31"),
        ("WVB 18650 - 26P", "WVB 18650 - 26P"), ("KX - Power 18650-30", "KX - Power 18650-30"),
    ],
)  # fmt: skip
def test_a_dash_with_words_behind_it_ends_a_name(printed: str, name: str) -> None:
    """The cell would get an id that no other sheet of it has."""
    assert clean_name(printed) == name


@pytest.mark.parametrize("line", ["10 A，24±2℃", "10 A、24±2℃", "10 A,24±2°C", "10 A, 24 ± 2 °C"])
def test_a_tolerance_behind_a_comma_is_no_temperature(line: str) -> None:
    """10 A would be stated at 2 C."""
    (found,) = read(f"最大持续放电电流: {line}", "max_continuous_discharge")
    assert (found.stated_at_c, found.confirm) == (24, False)


@pytest.mark.parametrize(
    ("text", "months"),
    [
        ("Storage, up to 2 months: -20 to 50 °C\nStorage, up to 9 months: -20 to 30 °C", [2, 9]),
        ("Storage temperature up to 2 months -20 to 50 °C\n                    up to 9 months -20 to 30 °C", [2, 9]),
        ("Storing at: -20 to 50 C for one month, -10 to 30 C for half a year", [1, 6]),
        ("Lagerung, drei Monate: -20 bis 50 °C\nLagerung, ein Jahr: -20 bis 30 °C", [3, 12]),
        ("储存温度（三个月）: -20～50℃\n储存温度（半年）: -20～30℃", [3, 6]),
    ],
)  # fmt: skip
def test_each_storage_range_keeps_its_months(text: str, months: list[float]) -> None:
    """The ranges would contradict each other, or the short one hold for good."""
    found = read(text, "storage_temperature")
    assert [(each.months, each.confirm) for each in found] == [(each, False) for each in months]


@pytest.mark.parametrize(
    "words", ["one and a half years", "several months", "a year and a half", "3 to 6 months"]
)
def test_a_time_of_storage_that_was_not_read_marks_the_range(words: str) -> None:
    """A range for some months would be one without any end."""
    assert [each.confirm for each in read(f"Storage: -20 to 45 °C for {words}", "storage_temperature")] == [
        True
    ]


@pytest.mark.parametrize(
    "said",
    [
        "Every C-rate in this sheet refers to the minimum capacity.", "The minimum capacity is taken as 1C.",
        "C-rates: based on min. capacity", "Alle C-Angaben beziehen sich auf die Mindestkapazität.",
        "In this paper C always means the minimum capacity.", "本规格书中的倍率均以最小容量计算。",
    ],
)  # fmt: skip
def test_what_c_is_may_be_said_in_many_words(said: str) -> None:
    """Currents in C would be asked about although the sheet says what C is."""
    (found,) = read(
        f"Minimum capacity: 3.8 Ah\nMax. continuous discharge: 2C\n{said}", "max_continuous_discharge"
    )
    assert (found.value, found.confirm) == (7.6, False)


def test_this_is_1c_beside_a_capacity_says_what_c_is() -> None:
    """The remark in the capacity's own row would be passed over."""
    text = "Rated capacity | 3.8 Ah | 0.2C, this is 1C\nMax. continuous discharge | 2C"
    (found,) = read(text, "max_continuous_discharge")
    assert (found.value, found.confirm) == (7.6, False)


@pytest.mark.parametrize(
    "said",
    [
        "The cell discharged at 1C must give the minimum capacity.",
        "Tests at 1C are based on the minimum capacity.",
    ],
)
def test_a_test_at_1c_does_not_say_what_c_is(said: str) -> None:
    """A sentence about a test would decide what every current is."""
    (found,) = read(
        f"Minimum capacity: 3.8 Ah\nMax. continuous discharge: 2C\n{said}", "max_continuous_discharge"
    )
    assert found.confirm


def test_a_remark_about_the_surface_holds_for_the_whole_item() -> None:
    """The range of the surface would be taken for one of the air."""
    text = (
        "No. | Item                  | Specification          | Remark\n"
        "1   | Operating temperature | Charge: 0 to 45 °C     | at the surface of the cell\n"
        "    |                       | Discharge: -20 to 70 °C |"
    )
    assert [each.basis for each in read(text, "operating_temperature")] == ["surface", "surface"]


def test_a_current_under_the_heading_of_discharging_is_a_discharge_current() -> None:
    """A plain figure would be asked about only because its line names the air too."""
    text = "Discharging\nContinuous, at 22 °C ambient: 19 A\nPulse, 4 s: 50 A"
    found = read(text, "max_continuous_discharge")
    assert [(each.value, each.stated_at_c, each.confirm) for each in found] == [(19, 22, False)]
