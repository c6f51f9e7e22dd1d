"""The time of a pulse beside that of its pause, and note marks that stand at the head of a column.

Every sheet here is invented. How sheets word them is common practice, no source.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import DraftFigure
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document


def read(text: str, name: str) -> list[DraftFigure]:
    """Return the figures of one name, in order."""
    text = f"Model: WVB-21700-44\nNominal capacity: 4 Ah\n{text}"
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    return [each for each in draft.figures if each.figure == name]


@pytest.mark.parametrize(
    "printed",
    [
        "45 A (pulse for 6 s, then 30 s of rest)", "45 A for 6 s, rest 30 s", "45 A (6 s), rest 30 s",
        "45 A / 6 s (pause 30 s)", "45 A, 6 s on / 30 s off", "45 A, 6 s, alle 30 s", "45 A (6 s, repos 30 s)",
        "45 A（6秒、休止30秒）", "45 A (6초, 휴지 30초)", "45 A（6 s，静置 30 s）", "45 A pulse 6 s rest 30 s",
        "45 A for 6 s, then let it cool for 2 min", "45 A, rest of 30 s, pulse of 6 s",
    ],
)  # fmt: skip
def test_the_time_of_a_pause_is_never_that_of_the_pulse(printed: str) -> None:
    """45 A that the sheet allows for 6 s would be granted for 30 s, and the cell burn."""
    (found,) = read(f"Pulse discharge current: {printed}", "pulse_discharge")
    assert (found.value, found.seconds, found.confirm) == (45, 6, False)


@pytest.mark.parametrize("printed", ["45 A (30 s of rest between pulses)", "45 A, once every 30 s"])
def test_a_pause_alone_says_nothing_of_how_long_the_pulse_is(printed: str) -> None:
    """The pause would be stored as the length of the pulse."""
    (found,) = read(f"Pulse discharge current: {printed}", "pulse_discharge")
    assert (found.value, found.seconds) == (45, None)


@pytest.mark.parametrize(
    "printed",
    [
        "45 A 6 s rest 30 s", "45 A, duty 6 s / 30 s", "45 A (ventilate 30 s)", "45 A, every pulse 6 s",
        "45 A, at least 30 s between two pulses of 6 s", "45 A for 6 s in any 30 s",
    ],
)  # fmt: skip
def test_a_time_that_may_be_of_either_is_marked(printed: str) -> None:
    """A guess at which of two times is the pulse's would be stored without a question."""
    (found,) = read(f"Pulse discharge current: {printed}", "pulse_discharge")
    assert found.confirm


def test_both_halves_of_a_pair_are_read_although_the_second_has_two_times() -> None:
    """The continuous limit would be lost with the words behind the pulse."""
    line = "Discharge current, continuous / burst: 12 A / 24 A (burst for 4 s, then 25 s of rest)"
    assert [(each.value, each.confirm) for each in read(line, "max_continuous_discharge")] == [(12, False)]
    assert [(each.value, each.seconds) for each in read(line, "pulse_discharge")] == [(24, 4)]


def test_a_band_behind_a_pair_marks_the_first_of_it() -> None:
    """The continuous limit would hold at every temperature although the bracket may be meant for both."""
    line = "Discharge current, continuous / burst: 12 A / 24 A (10 to 40 °C)"
    assert [each.confirm for each in read(line, "max_continuous_discharge")] == [True]


@pytest.mark.parametrize("mark", ["*)", "**", "†", "(1)", "※", "※2", "2)"])
def test_a_mark_at_the_head_of_a_column_is_followed(mark: str) -> None:
    """Every pulse of a matrix would be stored without the seconds that its note gives."""
    rows = (
        f"Cell temperature | max. charge current | max. pulse discharge current {mark}\n"
        f"0 to 12 °C | 1 A | 12 A\n12 to 40 °C | 3 A | 36 A\n{mark} at most 7 s"
    )
    found = [(each.value, each.low_c, each.seconds, each.confirm) for each in read(rows, "pulse_discharge")]
    assert found == [(12, 0, 7, False), (36, 12, 7, False)]
    assert [each.seconds for each in read(rows, "max_charge")] == [None, None]


@pytest.mark.parametrize("mark", ["*)", "‡", "※3", "³"])
def test_a_mark_at_the_head_of_a_column_that_leads_nowhere_marks_its_figures(mark: str) -> None:
    """What the lost note says of the pulses would be forgotten without a word."""
    rows = (
        f"Cell temperature | max. charge current | max. pulse discharge current {mark}\n"
        "0 to 12 °C | 1 A | 12 A\n12 to 40 °C | 3 A | 36 A"
    )
    assert [each.confirm for each in read(rows, "pulse_discharge")] == [True, True]
    assert [each.confirm for each in read(rows, "max_charge")] == [False, False]


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("Weight: 61 g *)", "mass"),
        ("Weight: 61 g (see note)", "mass"),
        ("Weight (note 4): 61 g", "mass"),
        ("Diameter (2): 21.3 mm", "diameter"),
        ("Charge voltage: 4.2 V²", "charge_voltage"),
    ],
)
def test_a_mark_that_leads_nowhere_marks_any_figure(line: str, name: str) -> None:
    """Only currents would be asked about, although a note may bound any figure."""
    assert [each.confirm for each in read(line, name)] == [True]


@pytest.mark.parametrize(
    ("line", "note"),
    [
        ("最大連続放電電流: 9 A ※1", "※1　セル表面温度が72 ℃を超えないこと。"),
        ("최대 연속 방전 전류: 9 A ※1", "※1 셀 표면 온도 72 ℃를 초과하지 않을 것"),
        ("最大持续放电电流: 9 A ※1", "※1 电芯表面温度不超过72℃"),
    ],
)
def test_a_note_that_bounds_the_surface_is_a_condition_of_its_current(line: str, note: str) -> None:
    """9 A until the cell is 72 C hot would be 9 A for good."""
    (found,) = read(f"{line}\n{note}", "max_continuous_discharge")
    assert (found.value, found.cutoff_c, found.confirm) == (9, 72, True)
