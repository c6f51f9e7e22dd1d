"""Which figures of a draft can be stored, where in the sheet each is put, and what counts as not stated."""

from __future__ import annotations

from typing import Any

import pytest

from registry.cell import Sheet
from registry.errors import InvalidRecord
from registry.sheet_reader.acceptance import clashes, not_stated, sheet_record, unstorable
from registry.sheet_reader.draft import DraftFigure, SheetDraft


def figure(name: str, value: float | None = None, **more: Any) -> DraftFigure:
    return DraftFigure.model_validate(
        {"figure": name, "value": value, "unit": "A", "as_printed": "x", "quote": "x"} | more
    )


def stored(*figures: DraftFigure, **draft: Any) -> Sheet:
    record = sheet_record(SheetDraft(model="35P", figures=figures, **draft), figures, None)
    return Sheet.model_validate(record | {"evidence": "maker"})


@pytest.mark.parametrize(
    ("incomplete", "why"),
    [
        (figure("mass"), "no value"),
        (figure("max_charge", 1.7, low_c=0), "one end only"),
        (figure("max_charge", 1.7, high_c=45), "one end only"),
        (figure("operating_temperature", low_c=-20, high_c=60), "of charge or of discharge"),
    ],
)
def test_a_figure_that_lacks_a_part_is_not_stored(incomplete: DraftFigure, why: str) -> None:
    """Half a band would be stored as one without an end, or charging be allowed by a discharge band."""
    assert why in (unstorable(incomplete) or "")
    with pytest.raises(InvalidRecord, match=why):
        stored(incomplete)


def test_two_figures_for_one_place_of_the_sheet_are_told() -> None:
    """The second of two charge voltages would silently take the place of the first."""
    figures = [
        figure("charge_voltage", 4.2), figure("max_charge", 1.7, low_c=0, high_c=45), figure("mass", 48),
        figure("charge_voltage", 4.35), figure("max_charge", 0.8, low_c=-10, high_c=0),
        figure("max_charge", 2.0, low_c=0, high_c=45), figure("pulse_discharge", 15),
        figure("pulse_discharge", 20), figure("capacity", 3.3), figure("capacity", 3.4),
        figure("operating_temperature", kind="charge", low_c=0, high_c=45),
        figure("operating_temperature", kind="discharge", low_c=-20, high_c=60),
    ]  # fmt: skip
    assert clashes(list(enumerate(figures))) == [[0, 3], [1, 5]]


def test_a_limit_printed_in_c_is_kept_in_c_and_one_printed_in_amperes_in_amperes() -> None:
    """A later word on which capacity C refers to would not reach the limit."""
    in_c = figure("max_continuous_discharge", 7.5, c_rate=3, derived_from="3 x 2.5 Ah", low_c=0, high_c=45)
    sheet = stored(in_c, figure("max_discharge_unspecified", 20, low_c=0, high_c=45), c_rate_capacity_ah=2.5)
    (band,) = sheet.discharge
    assert (band.max_continuous_c, band.max_continuous_a, band.max_unspecified_a) == (3, None, 20)
    assert sheet.c_rate_capacity_ah == 2.5


def test_conditions_go_with_their_figures() -> None:
    """45 A until the cell has 80 C would be stored as 45 A, and a pulse without its seconds."""
    sheet = stored(
        figure("max_discharge_unspecified", 45, low_c=-20, high_c=60, basis="surface", cutoff_c=80),
        figure("pulse_discharge", 60, seconds=5, low_c=0, high_c=45, page=2),
        figure("dc_resistance", 32, seconds=10), figure("ac_resistance", 22),
        figure("cycle_life", 300, to_fraction=0.8), figure("storage_temperature", low_c=-20, high_c=25),
        figure("operating_temperature", kind="charge", low_c=0, high_c=45, basis="ambient"),
    )  # fmt: skip
    (band,), (pulse,) = sheet.discharge, sheet.pulse
    assert (band.max_unspecified_a, band.cutoff_temperature_c, band.basis) == (45, 80, "surface")
    assert (pulse.current_a, pulse.seconds, pulse.low_c, pulse.high_c, pulse.page) == (60, 5, 0, 45, 2)
    assert sheet.resistance is not None
    assert (sheet.resistance.ac_mohm, sheet.resistance.dc_mohm, sheet.resistance.dc_seconds) == (22, 32, 10)
    assert sheet.cycle_life is not None
    assert (sheet.cycle_life.cycles, sheet.cycle_life.to_fraction) == (300, 0.8)
    assert sheet.charge_temperature is not None
    assert (sheet.charge_temperature.low_c, sheet.charge_temperature.basis) == (0, "ambient")
    assert sheet.discharge_temperature is None
    assert sheet.storage_temperature is not None


def test_a_figure_counts_as_not_stated_only_where_no_form_of_it_is_stated() -> None:
    """A report would say that a sheet states no discharge limit although it states a maximum."""
    some = SheetDraft(model="35P", figures=(), not_stated=("max_continuous_discharge", "ac_resistance"))
    assert not_stated(some) == []
    every = SheetDraft(
        model="35P", figures=(), not_stated=(*some.not_stated, "max_discharge_unspecified", "dc_resistance",
                                             "operating_temperature", "mass"),
    )  # fmt: skip
    assert set(not_stated(every)) == {
        "discharge", "resistance", "discharge_temperature", "charge_temperature", "mass_g",
    }  # fmt: skip


def test_a_limit_without_a_temperature_beside_one_with_a_band_is_told() -> None:
    """The user would meet the registry's own error instead of the two lines to choose from."""
    bare, banded = figure("max_charge", 2.6), figure("max_charge", 0.5, low_c=0, high_c=10)
    assert clashes(list(enumerate([bare, banded]))) == [[0, 1]]
    most = figure("max_discharge_unspecified", 20)
    cold = figure("max_continuous_discharge", 5, low_c=-20, high_c=0)
    assert clashes(list(enumerate([most, cold]))) == []
    assert stored(most, cold).discharge_unspecified_a == 20


def test_a_continuous_current_that_ends_at_a_temperature_grants_nothing() -> None:
    """45 A until the cell has 80 C would be granted for good."""
    hot = figure("max_continuous_discharge", 45, cutoff_c=80, basis="surface")
    (band,) = stored(hot).discharge
    assert (band.max_continuous_a, band.max_unspecified_a, band.cutoff_temperature_c) == (None, 45, 80)


def test_what_a_capacity_and_cycles_were_measured_with_goes_with_them() -> None:
    """3.9 Ah at 10 A and 4 Ah at 0.8 A would be two equal minimums."""
    sheet = stored(
        figure("capacity", 4.0, kind="minimum", current_a=0.8, stated_at_c=0, to_v=2.5),
        figure("capacity", 3.9, kind="minimum", current_a=10),
        figure("cycle_life", 300, charge_a=1.5, discharge_a=10, stated_at_c=25),
        figure("storage_temperature", low_c=-20, high_c=45, months=3, to_fraction=0.8),
        figure("storage_temperature", low_c=-20, high_c=25, months=12),
        figure("ac_resistance", 13), figure("ac_resistance", 18, at_most=True),
    )  # fmt: skip
    assert [(c.current_a, c.temperature_c, c.cutoff_voltage_v) for c in sheet.capacity] == [
        (0.8, 0, 2.5), (10, None, None),
    ]  # fmt: skip
    assert sheet.cycle_life is not None
    assert (sheet.cycle_life.charge_a, sheet.cycle_life.discharge_a, sheet.cycle_life.temperature_c) == (
        1.5,
        10,
        25,
    )
    assert [(s.months, s.recovery_fraction) for s in sheet.storage] == [(3, 0.8), (12, None)]
    assert sheet.resistance is not None
    assert (sheet.resistance.ac_mohm, sheet.resistance.ac_max_mohm) == (13, 18)
