"""Single fields of a case: typed, shown, and written into the file without touching what stands around them."""

from __future__ import annotations

import json

import pytest

from verifier.case.editing import LISTS, differing, edited_text, question_of, shown, with_field, with_typed
from verifier.case.fields import case_fields
from verifier.case.interview import BadAnswer, value_at
from verifier.case.reading import parse_case

TEXT = """\
# mine
case: {title: x, stage: listed}
claim:
  capacity_ah: 14  # from the title
  nominal_voltage_v: 48
observed:
  # the strip
  strip:
    material: nickel # sparks: none
  series: 13
"""


def data_of(text: str) -> dict[str, object]:
    return parse_case(text, "x").data


@pytest.mark.parametrize(
    ("name", "typed", "value"),
    [
        ("claim.capacity_ah", "13,5Ah", 13.5),
        ("claim.capacity_ah", "10900 mAh", 10.9),
        ("observed.fuse.fitted", "no", False),
        ("observed.strip.thickness_mm", "0,10..0,15 mm", [0.1, 0.15]),
        ("observed.groups_v", "3.91 3.92; 3,9", [3.91, 3.92, 3.9]),
        ("observed.groups_v", "3.91, 3.92", [3.91, 3.92]),
        ("observed.groups_v", "3.91,3.92,0.42", [3.91, 3.92, 0.42]),
        ("observed.groups_v", "3,91 V; 3,92V; 420 mV", [3.91, 3.92, 0.42]),
        ("observed.groups_v", "3850 3840 420 mV", [3.85, 3.84, 0.42]),
        ("observed.groups_v", "3850,3840,420mV", [3.85, 3.84, 0.42]),
        ("observed.groups_v", "3850mV; 3840 mV; 420mV", [3.85, 3.84, 0.42]),
        ("observed.groups_v", "1: 3.85V 2: 3.84V 3: 0.42V", [3.85, 3.84, 0.42]),
        ("observed.groups_v", "Cell 1: 3850 mV\nCell 2: 420 mV", [3.85, 0.42]),
        ("observed.take_off.positions", "1, 4", [1, 4]),
        ("claim.certificates", "UN38.3, CE; FCC", ["UN38.3", "CE", "FCC"]),
        ("case.title", "  Quay pack ", "Quay pack"),
    ],
)
def test_what_is_typed_is_taken_in_the_field_s_unit(name: str, typed: str, value: object) -> None:
    """Otherwise a number on the page means another one in the file. Values: decimal units by definition of SI."""
    assert value_at(with_typed(data_of(TEXT), name, typed), name) == value


def test_voltages_of_groups_in_mv_without_their_unit_are_told_as_the_likely_slip() -> None:
    """Otherwise a BMS app's list is refused without a hint, and a dead group in it is not found. Values: SI."""
    with pytest.raises(BadAnswer, match=r"3712\? did you mean 3\.712 V; write 3712 mV"):
        with_typed(data_of(TEXT), "observed.groups_v", "3712; 3705")


@pytest.mark.parametrize(
    "typed", ["2: 3.85 1: 3.84", "1: 3.85 3: 3.84", "1: 3.85 3.84", "48 V; 3.8", "mV", ";"]
)
def test_voltages_of_groups_that_are_not_one_list_are_refused(typed: str) -> None:
    """Otherwise group 3 is told to be dead where it is group 4. Rule: nothing in silence."""
    with pytest.raises(BadAnswer):
        with_typed(data_of(TEXT), "observed.groups_v", typed)


def test_nothing_typed_leaves_the_field_out() -> None:
    """Otherwise an emptied field reads as zero or as text. Rule: a missing field is unknown."""
    data = with_typed(data_of(TEXT), "claim.capacity_ah", "  ")
    assert value_at(data, "claim.capacity_ah") is None


def test_a_new_configuration_replaces_the_counts_of_the_old_one() -> None:
    """Otherwise 10S4P after 13S4P is a contradiction that nobody stated."""
    data = with_typed(data_of("claim: {}\n"), "claim.configuration", "13S4P")
    assert value_at(with_typed(data, "claim.configuration", "10S5P"), "claim.series") == 10


@pytest.mark.parametrize(
    ("name", "typed"), [("claim.capacity_ah", "14 mm"), ("observed.fuse.fitted", "maybe")]
)
def test_what_is_no_answer_is_refused(name: str, typed: str) -> None:
    """Otherwise a slip is stored. Rule: nothing in silence."""
    with pytest.raises(BadAnswer):
        with_typed(data_of(TEXT), name, typed)


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [("claim.capacity_ah", 14.0, "14 Ah"), ("claim.capacity_ah", [10.0, 12.0], "10..12 Ah"), ("claim.series", 13, "13"),
     ("observed.fuse.fitted", False, "no"), ("observed.groups_v", [3.9, 3.8], "3.9; 3.8"),
     ("claim.price", 1234567.0, "1234567"),
     ("observed.strip.material", "unknown", ""), ("claim.capacity_ah", None, "")],
)  # fmt: skip
def test_a_value_is_shown_as_it_is_typed(name: str, value: object, text: str) -> None:
    """Otherwise saving an untouched form changes the case."""
    assert shown(case_fields()[name], value) == text


def test_every_field_shows_what_it_takes() -> None:
    """Otherwise saving an untouched form changes the case. Rule: shown text reads back to the same value."""
    tried = 0
    for name, field in case_fields().items():
        if not field.group or any(each.startswith(f"{name}.") for each in case_fields()):
            continue
        for typed in (*question_of(name).choices[:2], "3", "0.5", "13S4P", "2026-03-01", "EUR"):
            try:
                data = with_typed({"case": {"title": "x"}}, name, typed)
            except BadAnswer:
                continue
            if value_at(data, name) is None:
                # A cross-section typed for a gauge goes to the field beside it.
                continue
            again = with_typed(data, name, shown(field, value_at(data, name)))
            assert again == data, name
            tried += 1
    assert tried > 100
    assert set(LISTS) <= set(case_fields())


def test_a_line_is_changed_where_it_stands() -> None:
    """Otherwise remarks that a person wrote into the file are lost. Rule: neither side's work lost."""
    data = data_of(TEXT)
    for name, typed in (
        ("claim.capacity_ah", "13.5"), ("claim.nominal_voltage_v", ""), ("observed.strip.width_mm", "8 mm"),
        ("observed.bms.continuous_a", "30A"), ("claim.certificates", "CE"),
    ):  # fmt: skip
        data = with_typed(data, name, typed)
    text = edited_text(TEXT, data, schema=None)
    assert data_of(text) == data
    lines = text.splitlines()
    for line in ("# mine", "  capacity_ah: 13.5  # from the title", "  # the strip",
                 "    material: nickel # sparks: none", "    width_mm: 8", "    continuous_a: 30"):  # fmt: skip
        assert line in lines
    assert "nominal_voltage_v" not in text


@pytest.mark.parametrize(
    "before",
    ["", "claim: {capacity_ah: 14}\n", "claim:\n    capacity_ah:\n        14\n", "claim:\n  capacity_ah: '14'  # x\n",
     '{"claim": {"capacity_ah": 14}}'],
)  # fmt: skip
def test_any_layout_of_a_file_takes_a_change(before: str) -> None:
    """Otherwise a file written by another program cannot be gone on with."""
    old = data_of(before) if before else {}
    data = with_typed(old, "claim.capacity_ah", "20")
    text = edited_text(before, data, schema=None)
    assert data_of(text) == data
    assert value_at(data, "claim.capacity_ah") == 20


def test_a_change_can_be_taken_back() -> None:
    """Otherwise undo gives something else than what stood there."""
    before = data_of(TEXT)
    after = with_typed(before, "observed.strip.material", "copper")
    assert differing(before, after) == ["observed.strip.material"]
    assert with_field(after, "observed.strip.material", "nickel") == before


def test_json_stays_json() -> None:
    """Otherwise another program that keeps cases as JSON can no longer read its own file. Rule: nothing lost."""
    before = '{"case": {"title": "x"}, "claim": {"capacity_ah": [10, 12.5]}}'
    text = edited_text(before, with_typed(data_of(before), "observed.series", "13"), schema="s.json")
    wanted = {"case": {"title": "x"}, "claim": {"capacity_ah": [10, 12.5]}, "observed": {"series": 13}}
    assert json.loads(text) == wanted
    # A count stays a count to whoever reads it.
    assert '"series": 13\n' in text


def test_a_gauge_never_writes_over_a_cross_section() -> None:
    """Otherwise 12 typed as a gauge makes leads of 12 mm2 out of 4. Rule: nothing is lost in silence."""
    before = {"observed": {"leads": {"area_mm2": 4}}}
    with pytest.raises(BadAnswer, match="the gauge or the cross-section, not both"):
        with_typed(before, "observed.leads.awg", "12")


def test_what_is_typed_as_unknown_leaves_the_field_out() -> None:
    """Otherwise "?" stands as the name of a cell. Source: a repairer at the page."""
    before = {"observed": {"cell": {"marking": "X"}, "series": 13}}
    assert with_typed(before, "observed.cell.marking", "?") == {"observed": {"series": 13}}
    assert with_typed(before, "observed.series", "don't know") == {"observed": {"cell": {"marking": "X"}}}


@pytest.mark.parametrize("typed", ["399 €", "€399", "EUR 399,-", "399,00 € TTC", "399 euro"])
def test_a_price_names_its_currency(typed: str) -> None:
    """Otherwise what everybody writes is refused in the form. Rule: units as people write them."""
    assert with_typed({}, "claim.price", typed) == {"claim": {"currency": "EUR", "price": 399}}


def test_a_price_without_a_sign_leaves_the_currency_as_it_was() -> None:
    """Otherwise a corrected price loses its money, or a "$" becomes that of one country. Rule: nothing is guessed."""
    before = {"claim": {"price": 399, "currency": "CHF"}}
    for typed in ("420", "$420"):
        assert with_typed(before, "claim.price", typed)["claim"] == {"price": 420, "currency": "CHF"}
    with pytest.raises(BadAnswer):
        with_typed(before, "claim.price", "about right")
