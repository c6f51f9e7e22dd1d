"""What must be read before any figure of a log: a pack that was not full, an instrument that contradicts itself."""

from __future__ import annotations

import json
from math import inf
from typing import TYPE_CHECKING

import pytest

from verifier.case.limits import Limits
from verifier.case.reading import parse_case
from verifier.discharge_log import as_html, as_json, as_text
from verifier.discharge_log.against_claims import against_claims
from verifier.discharge_log.into_case import observed_in
from verifier.discharge_log.same_pack import with_possible_counts
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    from tests.verifier.discharge_log.conftest import Made, Maker, PlainCsv, Read
    from verifier.case.model import Case
    from verifier.discharge_log.model import LogReading

CASE = "claim: {{capacity_ah: {claimed}, continuous_current_a: 3}}\nobserved: {{series: 10, cell: {{chemistry: NMC}}}}"


def _case(claimed: float) -> Case:
    return parse_case(CASE.format(claimed=claimed), "case").case


def _begun_at(used_ah: float, maker: type[Maker], read: Read, plain_csv: PlainCsv) -> LogReading:
    made = maker(used_ah=used_ah).hold(0.0, 600).empty(5.0).rest(300).made()
    return with_possible_counts(read(plain_csv(made)), _case(14))


def test_a_log_that_begins_half_full_says_so_before_any_figure(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """What was left in a pack is taken for its capacity. Check: 4 of 10 Ah used, by the curve of Chen 2020 at 60 %."""
    reading = _begun_at(4.0, maker, read, plain_csv)
    (said,) = reading.warnings
    assert "not full at the start: 3.84 V a cell at rest" in said
    low, high = (int(each) for each in said.split("about ")[1].split(" %")[0].split(" to "))
    assert low <= 60 <= high
    assert high - low <= 20
    text = as_text.render([reading], None)
    assert text.index("not full at the start") < text.index("Delivered")
    page = as_html.render([reading], None, None)
    assert page.index("not full at the start") < page.index("Delivered")
    assert said in json.loads(as_json.render([reading], None))["remarks"]
    capacity = against_claims(reading, _case(14), Limits())[0]
    assert str(capacity.verdict) == "not settled"
    assert reading.discharges[0].standard_ah is None


def test_a_full_pack_is_not_warned_of(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """Every good log warns, and nobody reads warnings any more. (Rule.)"""
    assert _begun_at(0.0, maker, read, plain_csv).warnings == ()


def test_a_log_that_begins_under_load_and_low_is_not_shown_to_be_full(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A log without a rest hides that the pack was half empty. (Rule.)"""
    made = maker(used_ah=4.0).empty(5.0).rest(300).made()
    (said,) = with_possible_counts(read(plain_csv(made)), _case(14)).warnings
    assert "not shown that the pack was full" in said


def _with_counter(made: Made, times: float, *, power: bool) -> str:
    """Return a log whose instrument counts so many times what flows, with or without its own power."""
    counted, last, lines = 0.0, made.rows[0], []
    for row in made.rows:
        counted += times * (abs(last.a) + abs(row.a)) / 2 * (row.s - last.s) / 3600
        last = row
        watts = f",{abs(row.v * row.a):.2f}" if power else ""
        lines.append(f"{row.s:.0f},{row.v:.3f},{abs(row.a):.3f},{counted:.4f}{watts}")
    heading = f"Time (s),Voltage (V),Current (A),Capacity (Ah){',Power (W)' if power else ''}"
    return "\n".join([heading, *lines]) + "\n"


@pytest.mark.parametrize("claimed", [5.0, 9.0, 14.0, 30.0])
@pytest.mark.parametrize("power", [True, False])
@pytest.mark.parametrize("times", [1.6, 0.5])
def test_no_claim_is_judged_by_an_instrument_that_contradicts_itself(
    times: float, power: bool, claimed: float, usual_log: Made, read: Read
) -> None:
    """A counter 1.6 times too high lets a pack of 10 Ah pass for 16. Rule: of two that disagree neither proves."""
    reading = with_possible_counts(read(_with_counter(usual_log, times, power=power)), _case(claimed))
    flow = reading.discharges[0]
    assert flow.ah == pytest.approx(min(1.0, times) * usual_log.ah, rel=0.003)
    assert flow.ah_bounds.high == inf
    # Below is only believed what current, voltage and power agree on.
    assert (flow.ah_bounds.low > 0.9 * usual_log.ah) is (power and times > 1)
    assert "contradicts itself" in reading.warnings[0]
    assert as_text.render([reading], None).index("contradicts itself") < 200
    for each in against_claims(reading, _case(claimed), Limits()):
        assert str(each.verdict) in ("not settled", "not claimed"), each
    with pytest.raises(UnreadableInput, match="contradicts itself"):
        observed_in(reading, _case(claimed))


def test_a_counter_as_far_away_as_a_unit_refuses_the_log(usual_log: Made, read: Read) -> None:
    """A wrong unit is told as a contradiction of the instrument. Rule: units are 3.6 times apart and more."""
    with pytest.raises(UnreadableInput, match="one of the columns is not what it was read as"):
        read(_with_counter(usual_log, 3.6, power=False))


@pytest.mark.parametrize("how", ["stopped", "opened", "log ends"])
def test_a_log_that_ends_half_empty_says_so_before_any_figure(
    how: str, maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """What came out before somebody, the BMS or the log stopped is taken for the capacity. Check: 5 of 10 Ah."""
    log = maker().hold(0.0, 300).hold(-5.0, 3600)
    made = {"stopped": lambda: log.rest(600), "opened": lambda: log.opened(60), "log ends": lambda: log}[
        how
    ]().made()
    reading = read(plain_csv(made))
    (said,) = reading.warnings
    assert said.startswith("it is not shown that the pack was emptied")
    assert said.endswith("Take the 5 Ah for the least that it holds, not for its capacity")
    assert ("find out what the BMS opened for" in said) is (how == "opened")
    for written in (as_text.render([reading], None), as_html.render([reading], None, None)):
        assert written.index("not shown that the pack was emptied") < written.index("Delivered")
    found = json.loads(as_json.render([reading], None))
    assert found["warnings"] == [said]
    assert found["discharges"][0]["emptied"] is False


def test_a_log_that_was_emptied_is_not_warned_of(usual_log: Made, read: Read, plain_csv: PlainCsv) -> None:
    """A good test of a pack would be doubted. Made: 5 A to 2.8 V a cell, where the curve of Chen 2020 ends."""
    reading = read(plain_csv(usual_log))
    assert reading.warnings == ()
    assert json.loads(as_json.render([reading], None))["discharges"][0]["emptied"] is True


def test_the_page_of_a_ride_says_at_its_top_how_long_the_load_held(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A customer reads the mean of a ride as a current that the pack holds. Made: 10 A for 100 s of every 200 s."""
    log = maker().hold(0.0, 300)
    for _ in range(15):
        log = log.hold(-10.0, 100).hold(0.0, 100)
    page = as_html.render([read(plain_csv(log.made()))], None, None)
    assert "10 A that while it flowed, for" in page[page.index("<h1") : page.index("<h2")]


def test_a_log_with_dates_says_when_it_was_made(usual_log: Made, read: Read) -> None:
    """A report to hand over does not say of which day its test is; a clock without a date makes none up."""
    dated = usual_log.write(
        lambda row: (
            f"2026-03-04 {10 + int(row.s // 3600):02d}:{int(row.s // 60) % 60:02d}:{int(row.s) % 60:02d},"
            f"{row.v:.3f},{row.a:.2f}"
        ),
        "Date and time,Voltage (V),Current (A)",
    )
    reading = read(dated)
    assert reading.begun == "2026-03-04 10:00"
    assert ", from 2026-03-04 10:00" in as_text.render([reading], None).replace("\n", " ")
    assert "Logged from 2026-03-04 10:00" in as_html.render([reading], None, None)
    clock = usual_log.write(lambda row: f"{row.s:.0f},{row.v:.3f},{row.a:.2f}", "s,V,A")
    assert read(clock).begun is None


def test_a_test_a_little_below_nought_is_not_at_minus_nought(maker: type[Maker], read: Read) -> None:
    """A report says "-0 C". Rule of writing numbers."""
    made = maker().hold(0.0, 300).empty(5.0).rest(300).made()
    text = made.write(
        lambda row: f"{row.s:.0f},{row.v / 10:.4f},{row.a:.2f},-0.3", "s,V,A,Air temperature (C)"
    )
    assert "-0 C" not in read(text).discharges[0].standard_note
    assert "and 0 C" in read(text).discharges[0].standard_note
