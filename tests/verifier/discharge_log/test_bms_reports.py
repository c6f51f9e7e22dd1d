"""What a BMS says of itself in its app's log: its switches, what it protects from, and what that settles.

Rule: a switch of the BMS that goes off as the current ends is why it ends; one that stays on is not. The logs are of
one invented pack: ten cells of 10 Ah, of which the rows beside say what the BMS did.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
import yaml

from verifier.case.limits import Limits
from verifier.case.reading import parse_case
from verifier.discharge_log.against_claims import against_claims
from verifier.discharge_log.endings import BMS, NOT_KNOWN
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.discharge_log.conftest import Made, Maker, Read, Row

Says = Callable[[bool], str]
CASE = parse_case(
    yaml.safe_dump(
        {"claim": {"continuous_current_a": 20}, "observed": {"series": 10, "cell": {"chemistry": "NMC"}}}
    ),
    "case",
).case


def written(made: Made, headings: str, says: Says) -> str:
    """Return a log with what the BMS says beside each row: told whether the current has ended by then."""
    last = max(row.s for row in made.rows if row.a)
    return made.write(
        lambda row: f"{row.s:.0f},{row.v:.3f},{row.a:.2f},{says(row.s > last)}",
        f"time_s,volts,amps,{headings}",
    )


def stopped(maker: type[Maker]) -> Made:
    """20 A for ten minutes from full, and a rest: nothing but the BMS's own word tells who ended it."""
    return maker(ohm=0.005).hold(0.0, 300).hold(-20.0, 600).hold(0.0, 300).made()


@pytest.mark.parametrize(
    ("heading", "on", "off"),
    [
        ("Dsg MOS", "1", "0"),
        ("DSG_MOS", "ON", "OFF"),
        ("Discharge FET", "true", "false"),
        ("放电MOS", "开", "关"),
    ],
)
def test_a_switch_that_goes_off_ended_it(
    heading: str, on: str, off: str, maker: type[Maker], read: Read
) -> None:
    """A BMS that switched off is not seen, because its app's terminals keep their voltage."""
    text = written(
        stopped(maker),
        f"{heading},Protect flag",
        lambda ended: f"{off},0x0008 over temp" if ended else f"{on},0x0000",
    )
    reading = read(text)
    flow = reading.discharges[0]
    assert flow.ended_by == BMS
    assert f"'{heading}' went from {on} to {off}" in flow.ended_how
    assert "'Protect flag' said '0x0008 over temp'" in flow.ended_how
    assert not any("not read" in each for each in reading.remarks)
    found = {each.figure: each for each in against_claims(reading, CASE, Limits())}["continuous_current"]
    # It protected with charge left: the pack did not carry the current.
    assert found.verdict == Verdict.DOES_NOT_HOLD


def test_a_switch_that_stayed_on_did_not(maker: type[Maker], read: Read) -> None:
    """A load that somebody took off passes for a BMS that tripped, and the pack is accused."""
    flow = read(written(stopped(maker), "Dsg MOS,Protection", lambda ended: "1,-")).discharges[0]
    assert flow.ended_by == NOT_KNOWN
    assert "'Dsg MOS' stayed 1" in flow.ended_how
    gone = maker(ohm=0.005).hold(0.0, 300).hold(-20.0, 600).opened().made()
    flow = read(written(gone, "Dsg MOS,Protection", lambda ended: "1,-")).discharges[0]
    assert flow.ended_by == NOT_KNOWN


def test_a_switch_that_went_off_without_a_reason_accuses_nobody(maker: type[Maker], read: Read) -> None:
    """A pack that somebody switched off in the app is refuted at its claimed current."""
    reading = read(written(stopped(maker), "Dsg MOS", lambda ended: "0" if ended else "1"))
    assert reading.discharges[0].ended_by == BMS
    assert "nothing that it protected from" in reading.discharges[0].ended_how
    found = {each.figure: each for each in against_claims(reading, CASE, Limits())}["continuous_current"]
    assert found.verdict == Verdict.NOT_SETTLED


def test_an_empty_group_stays_beside_the_bms(maker: type[Maker], read: Read) -> None:
    """Which group the BMS opened for is lost once the BMS itself says that it opened."""
    made = maker(weak={4: 8.0}, with_groups=True).hold(0.0, 300).empty(5.0).rest(300).made()
    last = max(row.s for row in made.rows if row.a)

    def line(row: Row) -> str:
        cells = ",".join(f"{each:.3f}" for each in row.groups)
        return f"{row.s:.0f},{row.v:.3f},{row.a:.2f},{cells},{'OFF' if row.s > last else 'ON'}"

    names = ",".join(f"cell_{number}" for number in range(1, 11))
    flow = read(made.write(line, f"time_s,volts,amps,{names},DSG_MOS")).discharges[0]
    assert flow.ended_by == "bms (group 4)"
    assert "the BMS opened: 'DSG_MOS' went from ON to OFF; group 4 was down to" in flow.ended_how


def test_a_loads_own_protection_is_no_bms(maker: type[Maker], read: Read) -> None:
    """An electronic load that protected itself passes for the pack's BMS."""
    flow = read(written(stopped(maker), "Protection", lambda ended: "UVP" if ended else "none")).discharges[0]
    assert flow.ended_by == NOT_KNOWN
    assert "'Protection' said 'UVP'" in flow.ended_how


def test_a_warning_on_the_way_is_a_remark_and_no_temperature(maker: type[Maker], read: Read) -> None:
    """An alarm half an hour into the test is lost, or a column of alarms is read as cells at 0 C."""
    made = maker().hold(0.0, 300).empty(5.0).rest(300).made()
    text = made.write(
        lambda row: f"{row.s:.0f},{row.v:.3f},{row.a:.2f},{1 if 1800 <= row.s < 1900 else 0}",
        "time_s,volts,amps,Over temperature alarm",
    )
    reading = read(text)
    assert reading.discharges[0].start_c is None
    assert any("on 'Over temperature alarm' says '1'" in each for each in reading.remarks)


@pytest.mark.parametrize(
    "cells", ["Cella max (V),Cella min (V)", "Max cell V,Min cell V", "最高单体电压(V),最低单体电压(V)"]
)
def test_a_protection_beside_the_lowest_cell_is_the_bms_s(cells: str, maker: type[Maker], read: Read) -> None:
    """A log without groups or switches leaves open who ended the test, though its BMS says it. (Rule.)"""
    text = written(
        stopped(maker),
        f"{cells},Protezione",
        lambda ended: "3.6,2.8,Sottotensione cella" if ended else "3.6,3.5,-",
    )
    flow = read(text).discharges[0]
    assert flow.ended_by.startswith(BMS)
    assert "'Protezione' said 'Sottotensione cella'" in flow.ended_how


@pytest.mark.parametrize(
    ("low", "ended_by"), [("2.79", "lowest cell"), ("3.4", NOT_KNOWN)], ids=["empty", "not empty"]
)
def test_the_lowest_cell_says_whether_one_was_empty(
    low: str, ended_by: str, maker: type[Maker], read: Read
) -> None:
    """A pack that one empty cell ended is told as stopped for no known reason. (Rule.)"""
    made = stopped(maker)
    text = written(made, "Highest cell (V),Lowest cell (V)", lambda ended: f"3.6,{low}")
    flow = read(text).discharges[0]
    assert flow.ended_by == ended_by
    assert ("down to 2.790 V" in flow.ended_how) == (low == "2.79")
