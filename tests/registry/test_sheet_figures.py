"""The catalogue of a sheet's figures: of one mind with the record, the reader and the commands."""

from __future__ import annotations

from typing import get_args

import pytest

from registry.bundle import validate_cell
from registry.cell import Resistance, Sheet, cell_id_from
from registry.printed import read_quantity
from registry.sheet_figures import (
    CITED,
    FIELD_WORDS,
    FIGURES,
    SHEET_FIGURES,
    DraftName,
    SheetFigure,
    expected_of,
    figures_read_as,
)
from registry.sheet_reader.acceptance import clashes, sheet_record
from registry.sheet_reader.draft import DraftFigure, SheetDraft

HEAD = {"title", "revision", "date", "evidence", "file_sha256", "citations", "not_stated"}


def test_every_field_of_a_sheet_stands_in_the_catalogue() -> None:
    """A figure that a sheet may hold can neither be typed nor shown."""
    assert set(FIGURES) == set(Sheet.model_fields) - HEAD
    assert set(FIELD_WORDS) == set(FIGURES)
    assert set(CITED) == {name for name in FIGURES if name.rpartition("_")[2] in ("ah", "v", "a", "g", "mm")}


def test_every_name_of_the_reader_stands_in_the_catalogue() -> None:
    """What a reader finds cannot be accepted."""
    assert {figure.draft for figure in SHEET_FIGURES} - {None} == set(get_args(DraftName))


def test_options_and_places_are_told_apart() -> None:
    """Two options fill one place, or one option two."""
    options = [figure.option for figure in SHEET_FIGURES]
    places = [(figure.field, figure.part) for figure in SHEET_FIGURES]
    assert len(options) == len(set(options)) == len(places) == len(set(places))
    parts = {figure.part for figure in SHEET_FIGURES if figure.field == "resistance"}
    assert parts == {name for name in Resistance.model_fields if name.endswith("_mohm")}


@pytest.mark.parametrize(
    "figure",
    [figure for figure in SHEET_FIGURES if figure.notation in ("number", "resistance")],
    ids=lambda figure: figure.key,
)
def test_the_unit_can_be_typed(figure: SheetFigure) -> None:
    """A figure's own unit is refused where it is typed."""
    assert read_quantity(f"5 {figure.unit}", figure.unit) == (5, 5)


def test_a_sheet_is_expected_to_state_what_such_a_cell_has_and_nothing_twice() -> None:
    """A user is told that a round cell's width is not known, or is not told that its diameter is.

    Rule: a round cell has a diameter, any other a width and a thickness (IEC 61960-3 sizes, from memory).
    """
    round_cell, flat = set(expected_of(round_cell=True)), set(expected_of(round_cell=False))
    assert round_cell - flat == {"diameter_mm"}
    assert flat - round_cell == {"width_mm", "thickness_mm"}
    # A second place for a maximum, for mass and for storage: a sheet that fills the first one lacks nothing.
    assert set(FIGURES) - (round_cell | flat) == {"discharge_unspecified_a", "mass_max_g", "storage"}


def draft(*figures: DraftFigure) -> SheetDraft:
    return SheetDraft(model="V1", figures=figures)


def read(name: DraftName, value: float | None, unit: str = "A", **more: object) -> DraftFigure:
    return DraftFigure.model_validate(
        {"figure": name, "value": value, "unit": unit, "as_printed": f"{value}{unit}", "page": 2, **more}
    )


def accepted(*figures: DraftFigure) -> Sheet:
    record = sheet_record(draft(*figures), figures, None) | {"evidence": "maker"}
    identity = {"id": cell_id_from("Vael", "V1"), "maker": "Vael", "model": "V1", "chemistry": "NMC"}
    return validate_cell(identity | {"sheets": [record]}, "here").sheets[0]


def test_three_rows_of_storage_are_accepted() -> None:
    """The usual three rows ("1 month", "3 months", "1 year") have to be dropped one by one."""
    rows = [
        read("storage_temperature", None, "C", low_c=-20, high_c=high, months=months)
        for months, high in ((1, 60), (3, 45), (12, 25))
    ]
    assert clashes(list(enumerate(rows))) == []
    kept = accepted(*rows)
    assert [(row.months, row.high_c) for row in kept.storage] == [(1, 60), (3, 45), (12, 25)]
    assert kept.storage_temperature is None
    lone = accepted(read("storage_temperature", None, "C", low_c=-20, high_c=45))
    assert lone.storage_temperature is not None
    assert lone.storage == ()


def test_a_printed_maximum_of_resistance_is_accepted_as_one() -> None:
    """ "<= 26 mohm" becomes the value that the cell has."""
    most = read("ac_resistance", 26, "mohm", at_most=True)
    value = read("ac_resistance", 22, "mohm")
    assert clashes([(1, most), (2, value)]) == []
    kept = accepted(most, value).resistance
    assert kept is not None
    assert (kept.ac_mohm, kept.ac_max_mohm) == (22, 26)
    assert [figure.part for figure in figures_read_as("dc_resistance", "maximum")] == ["dc_max_mohm"]


def test_a_maximum_beside_bands_is_accepted() -> None:
    """A sheet with bands and one "max. discharge 20 A" ends in an error."""
    cold = read("max_continuous_discharge", 4, low_c=-20, high_c=0)
    warm = read("max_continuous_discharge", 8, low_c=0, high_c=45)
    most = read("max_discharge_unspecified", 20)
    kept = accepted(cold, warm, most)
    assert (len(kept.discharge), kept.discharge_unspecified_a) == (2, 20)
    assert kept.citations["discharge_unspecified_a"].page == 2
    # Alone it stays a limit of its own, which bounds from above.
    assert accepted(most).discharge[0].max_unspecified_a == 20


def test_one_band_by_air_and_one_by_surface_are_accepted() -> None:
    """One of two true limits has to be dropped before a sheet can be stored."""
    air = read("max_continuous_discharge", 8, low_c=0, high_c=45, basis="ambient")
    surface = read("max_continuous_discharge", 10, low_c=0, high_c=45, basis="surface")
    assert clashes([(1, air), (2, surface)]) == []
    assert [band.basis for band in accepted(air, surface).discharge] == ["ambient", "surface"]


def test_a_capacity_keeps_the_conditions_it_is_stated_at() -> None:
    """4.0 Ah at 0.8 A and 3.9 Ah at 10 A are two equal minimums."""
    slow = read("capacity", 4.0, "Ah", kind="minimum", current_a=0.8, stated_at_c=25)
    fast = read("capacity", 3.9, "Ah", kind="minimum", current_a=10)
    kept = accepted(slow, fast).capacity
    assert [(each.current_a, each.temperature_c) for each in kept] == [(0.8, 25), (10, None)]
