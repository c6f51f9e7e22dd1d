"""Tables that were copied one cell a line: conditions between or behind values, and labels of two lines.

This is what PDF viewers give where a table is copied as text (common practice, no source); every sheet here is
invented, and what is true of it was written down before it was read.
"""

from __future__ import annotations

import time

import pytest

from registry.sheet_reader.draft import DraftFigure
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.flattened import with_conditions_beside
from registry.sheet_reader.reader import read_document
from registry.sheet_reader.spaced_columns import with_spaced_columns

HEAD = """Cell type QNB-21700-42
Nominal capacity
4200 mAh
Nominal voltage
3.6 V
Charge voltage
4.2 V
"""


def figures(lines: str, name: str) -> list[DraftFigure]:
    """Return the figures of one name of a sheet with further items, parted by strokes for its lines."""
    text = HEAD + "\n".join(part.strip() for part in lines.split("/")) + "\nCut-off voltage\n2.5 V\n"
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    return [each for each in draft.figures if each.figure == name]


def limits(
    lines: str, name: str = "max_charge"
) -> list[tuple[float | None, float | None, float | None, bool]]:
    """Return value, temperatures and whether it is marked of each figure of one name."""
    return [(each.value, each.low_c, each.high_c, each.confirm) for each in figures(lines, name)]


@pytest.mark.parametrize(
    "lines",
    [
        "Max. charge current 1.3 A / 0 to 10 °C / 4.2 A / 10 to 45 °C",
        "Max. charge current / 1.3 A / 0 to 10 °C / 4.2 A / 10 to 45 °C",
        "Max. charge current / 0 to 10 °C / 1.3 A / 10 to 45 °C / 4.2 A",
    ],
)
def test_each_condition_right_beside_its_value_goes_with_it(lines: str) -> None:
    """The current that is allowed in the cold would be lost, or be marked without need."""
    assert limits(lines) == [(1.3, 0.0, 10.0, False), (4.2, 10.0, 45.0, False)]


@pytest.mark.parametrize(
    "lines",
    [
        "Max. charge current 1.3 A / 4.2 A / 0 to 10 °C / 10 to 45 °C",
        "3.7 Max. charge current / 1.3 A / 4.2 A / 0 °C to 10 °C / 10 °C to 45 °C",
        "Max. charge current / 0 to 10 °C / 10 to 45 °C / 1.3 A / 4.2 A",
        "最大充电电流 / 1.3 A / 4.2 A / 0~10℃ / 10~45℃",
    ],
)
def test_a_column_of_values_and_one_of_temperatures_are_paired_in_order_and_marked(lines: str) -> None:
    """The larger current would be allowed at the colder temperatures, and nobody would be asked."""
    assert limits(lines) == [(1.3, 0.0, 10.0, True), (4.2, 10.0, 45.0, True)]


@pytest.mark.parametrize(
    ("lines", "values"),
    [
        ("Max. charge current / 4.2 A / 0 to 10 °C / 1.3 A", {4.2, 1.3}),
        ("Max. charge current / 1.3 A / 4.2 A / 0 to 45 °C", {4.2, 1.3}),
        ("Max. charge current / 4.2 A / 0 to 10 °C / 10 to 45 °C", {4.2}),
        ("Max. charge current / 1.3 A / 4.2 A / CC/CV / 0 to 10 °C", {4.2, 1.3}),
    ],
)
def test_where_columns_do_not_fit_no_value_gets_a_temperature(lines: str, values: set[float]) -> None:
    """A current would be allowed at temperatures that are those of another one."""
    lines = lines.replace("CC/CV", "CC-CV")
    found = limits(lines)
    assert {value for value, *_ in found} == values
    assert all(low is None and high is None and marked for _, low, high, marked in found)


def test_temperatures_behind_a_column_of_values_of_several_labels_mark_the_currents() -> None:
    """The last current would get the first temperatures, unmarked."""
    lines = (
        "Standard charge current / Max. charge current / Max. continuous discharge current / 1 A / 2 A / 10 A"
        " / 0 to 10 °C / 10 to 45 °C / -20 to 60 °C"
    )
    for name in ("standard_charge", "max_charge", "max_continuous_discharge"):
        ((_, low, high, marked),) = limits(lines, name)
        assert (low, high, marked) == (None, None, True)


@pytest.mark.parametrize(
    ("lines", "marked"),
    [
        ("Storage temperature / -20 to 50 °C / 1 month / -20 to 25 °C / 1 year", False),
        ("Storage temperature -20 to 50 °C / -20 to 25 °C / less than 1 month / less than 1 year", True),
        ("Storage temperature / 1 month / 1 year / -20 to 50 °C / -20 to 25 °C", True),
    ],
)
def test_ranges_of_storage_go_with_their_times(lines: str, marked: bool) -> None:
    """The range of a month would be that of a year."""
    found = [
        (each.months, each.low_c, each.high_c, each.confirm) for each in figures(lines, "storage_temperature")
    ]
    assert found == [(1.0, -20.0, 50.0, marked), (12.0, -20.0, 25.0, marked)]


@pytest.mark.parametrize(
    "lines", ["Weight / 68 g / typ. / 70 g / max.", "Weight / typ. / 68 g / max. / 70 g"]
)
def test_a_word_on_a_line_of_its_own_says_which_value_it_is(lines: str) -> None:
    """The largest weight would be the usual one, or two weights would be in doubt."""
    assert [(each.value, each.at_most, each.confirm) for each in figures(lines, "mass")] == [
        (68.0, False, False),
        (70.0, True, False),
    ]


def test_a_word_behind_a_single_value_is_of_it() -> None:
    """A printed maximum of the weight would be taken for its usual value."""
    (found,) = figures("Weight / 70 g / max. / Charge temperature / 0 to 45 °C", "mass")
    assert (found.value, found.at_most, found.confirm) == (70.0, True, False)


def test_a_word_that_the_next_line_goes_on_with_is_of_that_line() -> None:
    """The maximum of a current would become one of the weight above it."""
    lines = "Weight / 70 g / Max. / continuous discharge current / 20 A"
    (found,) = figures(lines, "mass")
    assert (found.value, found.at_most) == (70.0, False)
    assert limits(lines, "max_continuous_discharge") == [(20.0, None, None, False)]


def test_a_heading_below_a_value_is_no_word_of_it() -> None:
    """The temperatures of charging would become those of discharging."""
    lines = "Charge / Temperature / 0 to 45 °C / Discharge / Temperature / -20 to 60 °C"
    assert all(each.confirm for each in figures(lines, "operating_temperature"))


@pytest.mark.parametrize("name", ["current", "Current"])
def test_the_name_of_a_figure_may_stand_on_the_second_line_of_its_label(name: str) -> None:
    """The continuous current would be lost, or become that of the pulse below it."""
    lines = f"Max. continuous discharging / {name} / 14.4 A 3C / Max. pulse discharging / {name} / 24 A, 10 s"
    assert limits(lines, "max_continuous_discharge") == [(14.4, None, None, False)]
    assert [(each.value, each.seconds) for each in figures(lines, "pulse_discharge")] == [(24.0, 10.0)]


def test_a_condition_in_brackets_may_stand_below_the_label_and_before_the_value() -> None:
    """The pulse current of a sheet whose label has two lines would be lost."""
    lines = "Max. pulse current / (8 s, state of charge above 50 %)          31 A"
    (found,) = figures(lines, "pulse_discharge")
    assert (found.value, found.seconds) == (31.0, 8.0)


def test_a_discharge_to_no_less_than_a_voltage_ends_there() -> None:
    """The cut-off voltage of a mail would be lost."""
    text = "Model: QNB-21700-42\nNominal capacity: 4200 mAh\nVoltage: 3.6 V nominal. Charge to 4.2 V, "
    (draft,) = read_document(rows_of_text(f"{text}discharge to no less than 2.7 V.\n"), "mail.txt").drafts
    found = [(each.value, each.confirm) for each in draft.figures if each.figure == "cutoff_voltage"]
    assert found == [(2.7, True)]


def test_a_standard_capacity_beside_a_minimum_is_the_nominal_one() -> None:
    """A sheet that calls its nominal capacity standard would have none but the minimum."""
    text = "Cell type QNB-2\nStandard capacity: 2900 mAh\nMinimum capacity: 2800 mAh\nCharge voltage: 4.2 V\n"
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    found = {(each.kind, each.value, each.confirm) for each in draft.figures if each.figure == "capacity"}
    assert found == {("nominal", 2.9, True), ("minimum", 2.8, False)}


def test_a_list_of_conditions_may_stand_before_its_value() -> None:
    """The pulse current of a table with a column of conditions before the values would be lost."""
    (found,) = figures("Max. pulse current / 10 s, SOC > 50 % / 15 A", "pulse_discharge")
    assert (found.value, found.seconds) == (15.0, 10.0)


@pytest.mark.parametrize(
    "lines",
    ["Max. charge current / 1.3 A / 0.5C", "Max. charge current / 1.3 A / 4.2 A / 0.5C / 1C"],
)
def test_a_rate_below_its_amperes_is_no_further_current(lines: str) -> None:
    """A remark would become a second current that disagrees with the first."""
    assert {value for value, *_ in limits(lines)} == {1.3, 4.2} - ({4.2} if "4.2" not in lines else set())


def test_a_tolerance_on_the_next_line_is_no_value() -> None:
    """A cell of 68 g would weigh 1 g, too."""
    assert [each.value for each in figures("Weight 68 g / ± 1 g", "mass")] == [68.0]


def test_the_column_of_a_sub_item_is_paired_as_that_of_a_label_and_marked() -> None:
    """The current below "Maximum" would be allowed at all temperatures, unmarked."""
    lines = "Charge current Standard 0.5 A / Maximum 0.8 A / 6 A / 0 °C ≤ T < 10 °C / 10 °C ≤ T ≤ 50 °C"
    assert limits(lines) == [(0.8, 0.0, 10.0, True), (6.0, 10.0, 50.0, True)]
    assert limits(lines, "standard_charge") == [(0.5, None, None, False)]


def test_a_heading_with_a_colon_ends_the_values_above_it() -> None:
    """The discharge currents would stand below the label of the charge currents."""
    lines = "Charging: / 1.25 A (standard) / 5 A (max.) / Discharging: / 25 A (max. continuous) / 40 A (5 s pulse)"
    assert limits(lines) == [(5.0, None, None, False)]
    assert limits(lines, "max_continuous_discharge") == [(25.0, None, None, False)]


def test_conditions_of_two_kinds_go_with_the_value_before_them() -> None:
    """The time or the temperatures of a pulse would be lost."""
    found = figures(
        "Max. pulse current / 24 A / 10 s / 0 to 45 °C / 30 A / 2 s / 20 to 45 °C", "pulse_discharge"
    )
    assert [(f.value, f.seconds, f.low_c, f.high_c) for f in found] == [(24, 10, 0, 45), (30, 2, 20, 45)]


def test_what_turns_its_order_is_not_told() -> None:
    """A value would get the temperatures between it and the next one, though they may be of either."""
    assert all(
        marked for *_, marked in limits("Max. charge current / 1.3 A / 0 to 10 °C / 10 to 45 °C / 4.2 A")
    )


def test_a_long_text_of_short_lines_is_read_in_linear_time() -> None:
    """A file of many short lines would keep the reader busy for minutes."""

    def seconds(count: int) -> float:
        lines = ["Max. charge current", "1.3 A", "4.2 A", "Min. Typ. Max. Unit", "0 to 10 °C"] * count
        rows = rows_of_text(HEAD + "\n".join(lines)).rows
        began = time.process_time()
        with_conditions_beside(with_spaced_columns(rows))
        return time.process_time() - began

    seconds(20)
    assert seconds(1600) < 12 * max(seconds(200), 0.01)


def test_labels_below_their_values_are_told_by_their_kinds_and_marked() -> None:
    """A sheet with large values over small labels would give each value to the label above it, unmarked."""
    text = (
        "MNE-21700-45 (invented)\nRatings\n4500 mAh\nNominal capacity\n3.6 V\nNominal voltage\n4.2 V\n"
        "Charge voltage\n4.5 A\nMaximum charge current\n13.5 A\nMaximum continuous discharge current\n"
    )
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    assert {(each.figure, each.value, each.confirm) for each in draft.figures} == {
        ("capacity", 4.5, True), ("nominal_voltage", 3.6, True), ("charge_voltage", 4.2, True),
        ("max_charge", 4.5, True), ("max_continuous_discharge", 13.5, True),
    }  # fmt: skip


def test_what_stands_in_brackets_below_a_value_is_of_it() -> None:
    """Currents whose kind and temperatures stand on the next line would be lost or be in doubt."""
    lines = "Ladestrom / 2,75 A / (Standard) / 5,5 A / (max., 10 bis 45 °C) / 1,65 A / (max., 0 bis 10 °C)"
    assert limits(lines, "standard_charge") == [(2.75, None, None, False)]
    assert limits(lines) == [(5.5, 10.0, 45.0, False), (1.65, 0.0, 10.0, False)]


def test_a_number_below_a_value_that_was_not_read_marks_it() -> None:
    """A range of storage whose time is in unknown words would hold for any time, unmarked."""
    (found,) = figures(
        "Storage temperature / -20 to 50 °C / 1 lunation / Weight / 70 g", "storage_temperature"
    )
    assert found.confirm


def test_a_word_behind_the_first_side_is_of_that_side() -> None:
    """The height of a cell would be its diameter."""
    (found,) = figures("Dimensions: 18.3 mm dia. x 35.2 mm", "diameter")
    assert found.value == 18.3


def test_a_current_beside_one_that_was_read_is_seen() -> None:
    """A printed current without a word for its kind would be "not stated"."""
    text = HEAD + "Charge: 0.55 A, max. 1.1 A\nDischarge: max. 3.3 A, 5.5 A for 5 s\n"
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    assert not {"standard_charge", "pulse_discharge"} & {*draft.not_stated}


def test_a_voltage_without_a_word_for_its_kind_may_be_any() -> None:
    """A charge voltage below a heading would be "not stated" because it was taken for a nominal one."""
    text = "Cell type QNB-3\nCharge\nCurrent, standard\n2 A\nVoltage\n4.2 V\nCapacity\nNominal\n4200 mAh\n"
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    assert "charge_voltage" not in draft.not_stated
    assert all(each.confirm for each in draft.figures if each.figure == "nominal_voltage")
