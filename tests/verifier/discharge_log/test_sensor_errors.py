"""A sensor's error codes and readings that no pack makes are left out and told, and nothing real is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from verifier.discharge_log.sensor_errors import SensorErrors

if TYPE_CHECKING:
    from tests.verifier.discharge_log.conftest import Made, Maker, Read, Row, Same


def _with(usual_log: Made, column: str, code: str, places: tuple[int, ...]) -> str:
    """Return the log in mV and mA with a code in some rows."""
    numbers = {row.s: n for n, row in enumerate(usual_log.rows)}

    def line(row: Row) -> str:
        hit = numbers[row.s] in places
        volts = code if hit and column == "v" else f"{1000 * row.v:.0f}"
        amps = code if hit and column == "a" else f"{1000 * row.a:.0f}"
        warm = code if hit and column == "c" else f"{row.c:.1f}"
        return f"{row.s:.0f},{volts},{amps},{warm}"

    return usual_log.write(line, "time_s,voltage_mV,current_mA,temp_C")


# A current of -1 mA is a discharge that all but stopped, and no code.
@pytest.mark.parametrize(
    ("column", "code"),
    [("v", "-1"), *((column, code) for column in "va" for code in ("65535", "99999", "4294967295"))],
)
def test_codes_of_a_failed_sensor_are_no_readings(
    column: str, code: str, usual_log: Made, read: Read, same: Same
) -> None:
    """65.5 V of a failed sensor make a 36 V pack one of no known count. Rule: no pack makes such a reading."""
    reading = read(_with(usual_log, column, code, (200, 600, 601)))
    same(reading, usual_log)
    assert reading.voltage_v[1] == pytest.approx(max(row.v for row in usual_log.rows), abs=0.001)
    said = next(each for each in reading.remarks if "no pack makes" in each)
    assert said.startswith("3 rows")
    assert "row 202" in said


@pytest.mark.parametrize("code", ["85", "-127", "65535", "6553.5"])
def test_codes_of_a_temperature_sensor_are_no_heat(code: str, usual_log: Made, read: Read) -> None:
    """A cell is told to have reached 85 C, and a good pack is refused. Rule: no cell warms so from row to row."""
    reading = read(_with(usual_log, "c", code, (300, 301)))
    assert reading.discharges[0].max_c == pytest.approx(25.0)
    assert any("temperatures that no cell has" in each for each in reading.remarks)


def test_a_cell_that_truly_warms_is_believed() -> None:
    """A cell that runs away is told to be cool. Rule: what rises row by row is a temperature."""
    warm = np.linspace(20.0, 95.0, 200)[:, None]
    errors = SensorErrors()
    assert errors.clear_temperatures(np.arange(200), warm) == pytest.approx(warm)
    assert errors.remarks() == []


def test_a_voltage_gone_while_the_current_flows_on_is_left_out(
    usual_log: Made, read: Read, same: Same
) -> None:
    """A loose sense wire is read as an empty pack. Rule: a BMS that opens stops the current with the voltage."""
    reading = read(_with(usual_log, "v", "0", (400,)))
    same(reading, usual_log)
    assert any("no pack makes" in each for each in reading.remarks)


def test_a_bms_that_opens_is_not_taken_for_an_error(maker: type[Maker], read: Read) -> None:
    """The row in which the BMS opened is left out, and what ended the test is not told. (Rule.)"""
    made = maker().hold(0.0, 300).empty(5.0).opened(10).rest(300).made()
    reading = read(_with(made, "v", "", ()))
    assert not any("no pack makes" in each for each in reading.remarks)
    assert reading.voltage_v[0] == pytest.approx(0.2)


def test_groups_with_a_code_take_their_row_with_them(maker: type[Maker], read: Read) -> None:
    """A group at 65 V is told as the highest, or the pack as the sum of it. Rule: no cell stands above 5 V."""
    made = maker(with_groups=True, weak={4: 9.0}).hold(0.0, 300).empty(5.0).rest(300).made()
    heading = "time_s,current_a," + ",".join(f"cell{n}_mV" for n in range(1, 11))

    def line(row: Row) -> str:
        cells = [f"{1000 * each:.0f}" for each in row.groups]
        if row.s in (1000, 1500):
            cells[2] = "65535"
        return f"{row.s:.0f},{row.a},{','.join(cells)}"

    reading = read(made.write(line, heading))
    assert reading.discharges[0].wh == pytest.approx(made.wh, rel=0.003)
    assert reading.discharges[0].first_group == 4
    assert any("2 rows hold readings that no pack makes, such as a " in each for each in reading.remarks)
