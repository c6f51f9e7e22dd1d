"""Reading numbers and units out of running text.

Sources, all from memory: SI Brochure (BIPM, 9th edition) for prefixes, and 5.4.4 for narrow blanks
between groups of three; ISO 80000-1 for decimal comma and point; NIST SP 811 appendix B.8 for pound,
inch, mile and Fahrenheit; ASTM B258 for the aughts of AWG. How listings and sheets are worded is common
practice, no source; texts are invented.
"""

from __future__ import annotations

from time import process_time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.printed.finding import find_printed
from registry.printed.model import Printed


def read(text: str) -> list[tuple[float, float, str | None, str]]:
    return [(each.low, each.high, each.unit, each.relation) for each in find_printed(text)]


def only(text: str) -> Printed:
    [found] = find_printed(text)
    return found


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("48V", 48, "V"),
        ("36 volts", 36, "V"),
        ("Tension 36 В", 36, "V"),
        ("48-volt pack", 48, "V"),
        ("14,5 Ah", 14.5, "Ah"),
        ("14.5AH", 14.5, "Ah"),
        ("3500mAh", 3.5, "Ah"),
        ("2600毫安时", 2.6, "Ah"),
        ("20安时", 20, "Ah"),
        ("20 Amperestunden", 20, "Ah"),
        ("0.96kWh", 960, "Wh"),
        ("1,5 kW", 1500, "W"),
        ("30A", 30, "A"),
        ("30 A", 30, "A"),
        ("800mA", 0.8, "A"),
        ("45 min", 2700, "s"),
        ("5 s", 5, "s"),
        ("10 lbs", 4.5359237, "kg"),
        ("2斤", 1, "kg"),
        ("48g", 48, "g"),
        ("0,0695kg", 0.0695, "kg"),
        ("1 inch", 25.4, "mm"),
        ("6,5 cm", 65, "mm"),
        ("2.5mm²", 2.5, "mm2"),
        ("2,5 mm2", 2.5, "mm2"),
        ("20 miles", 32.18688, "km"),
        ("25°C", 25, "C"),
        ("77°F", 25, "C"),
        ("25℃", 25, "C"),
        ("22 mΩ", 22, "mohm"),
        ("0.05 ohm", 50, "mohm"),
        ("66 %", 66, "percent"),
        ("300 Zyklen", 300, "cycles"),
        ("800次", 800, "cycles"),
        ("0.5C", 0.5, "It"),
        ("C/5", 0.2, "It"),
        ("0.2 It", 0.2, "It"),
        ("0.5C5A", 0.5, "It"),
        ("AWG12", 12, "AWG"),
        ("12 AWG", 12, "AWG"),
        ("2/0 AWG", -1, "AWG"),
        ("13串", 13, "S"),
        ("3h30", 3.5, "h"),
        ("1h30min", 1.5, "h"),
        ("4kg5", 4.5, "kg"),
        ("4½ h", 4.5, "h"),
        ("1'500 Wh", 1500, "Wh"),
        ("1.234,5 Wh", 1234.5, "Wh"),
        ("1,234.5 Wh", 1234.5, "Wh"),
        ("20\u202f000 mAh", 20, "Ah"),
        ("1.500 mAh", 1.5, "Ah"),
        ("３６Ｖ", 36, "V"),
        ("１４．５Ａｈ", 14.5, "Ah"),
        ("١٢ V", 12, "V"),
        ("8\u200b4V", 84, "V"),
        ("Capacity (Ah): 14", 14, "Ah"),
        ("Ah: 14", 14, "Ah"),
        ("167(mm)", 167, "mm"),
        ("Φ18.4", 18.4, "mm"),
        ("15 Wh/km", 15, "Wh/km"),
        ("25 km/h", 25, "km/h"),
        ("229 euro", 229, None),
    ],
)
def test_one_number_with_its_unit(text: str, value: float, unit: str | None) -> None:
    """A figure that a seller or maker prints in an ordinary way is lost or read as another."""
    found = only(text)
    assert (found.low, found.high) == (pytest.approx(value), pytest.approx(value))
    assert (found.unit, found.relation, found.doubt) == (unit, "exact", "")


@pytest.mark.parametrize(
    ("text", "low", "high", "unit"),
    [
        ("5-6 h", 5, 6, "h"),
        ("5–6h", 5, 6, "h"),
        ("5~6小时", 5, 6, "h"),
        ("5 to 6 hours", 5, 6, "h"),
        ("5 bis 6 Stunden", 5, 6, "h"),
        ("5 à 6 heures", 5, 6, "h"),
        ("250 a 500 W", 250, 500, "W"),
        ("5至6小时", 5, 6, "h"),
        ("36V-48V", 36, 48, "V"),
        ("-20~60℃", -20, 60, "C"),
        ("-20-60°C", -20, 60, "C"),
        ("−10–45 °C", -10, 45, "C"),
        ("-20°C to +60°C", -20, 60, "C"),
        ("放电-20℃～60℃", -20, 60, "C"),
        ('"-10 to 50 C"', -10, 50, "C"),
        ("0°C≤T≤5°C", 0, 5, "C"),
        ("0-45C", 0, 45, "C"),
        ("between 5 and 6 h", 5, 6, "h"),
        ("zwischen 5 und 6 h", 5, 6, "h"),
        ("10..20 A", 10, 20, "A"),
        ("0.5-1C", 0.5, 1, "It"),
    ],
)
def test_range_has_both_ends(text: str, low: float, high: float, unit: str) -> None:
    """Only one end of a printed range counts, and the other is taken for a figure of its own."""
    found = only(text)
    assert (found.low, found.high, found.unit, found.relation) == (low, high, unit, "range")


@pytest.mark.parametrize(("text", "value"), [("Charge |36 A", 36.0), ("|7.5Ah|", 7.5), ("|2O mm", 20.0)])
def test_a_bar_before_a_number_is_no_digit_but_a_doubt(text: str, value: float) -> None:
    """A column of bars makes 24 Ah to 124 Ah; or a misread 1 is lost and nobody looks."""
    found = only(text)
    assert found.low == value
    assert found.doubt


@pytest.mark.parametrize(
    ("text", "low", "centre", "high", "unit"),
    [
        ("48±1 V", 47, 48, 49, "V"),
        ("4.20 ± 0.05V", 4.15, 4.2, 4.25, "V"),
        ("3.9KG±0.1", 3.8, 3.9, 4.0, "kg"),
        ("20 V +/- 5%", 19, 20, 21, "V"),
        ("3,65 V ± 25 mV", 3.625, 3.65, 3.675, "V"),
        ("48 g ± 0.5 g", 47.5, 48, 48.5, "g"),
        ("18.4+0.1/-0.2 mm", 18.2, 18.4, 18.5, "mm"),
    ],
)
def test_tolerance_has_ends_and_a_centre(
    text: str, low: float, centre: float, high: float, unit: str
) -> None:
    """4.2 V with its tolerance is taken for two voltages, or the tolerance for the voltage."""
    found = only(text)
    assert (found.low, found.centre, found.high, found.unit, found.relation) == (
        low,
        centre,
        high,
        unit,
        "about",
    )


@pytest.mark.parametrize(
    ("text", "value", "relation"),
    [
        ("≤ 26 mΩ", 26, "at_most"),
        ("<26 mΩ", 26, "at_most"),
        ("<= 26 mΩ", 26, "at_most"),
        ("max 30 A", 30, "at_most"),
        ("30A max.", 30, "at_most"),
        ("最大30A", 30, "at_most"),
        ("bis zu 500 W", 500, "at_most"),
        ("≥300 cycles", 300, "at_least"),
        ("> 300 cycles", 300, "at_least"),
        ("mindestens 300 Zyklen", 300, "at_least"),
        ("3.35 Ah (min)", 3.35, "at_least"),
        ("about 4,5kg", 4.5, "about"),
        ("ca. 4,5 kg", 4.5, "about"),
        ("约5公斤", 5, "about"),
    ],
)
def test_a_printed_limit_bounds_one_side(text: str, value: float, relation: str) -> None:
    """A printed "<=" or "max" reads as the value itself, and grants what no sheet says."""
    found = only(text)
    assert (found.low, found.high, found.relation) == (value, value, relation)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("48V20Ah", [(48, "V"), (20, "Ah")]),
        ("36/48V", [(36, "V"), (48, "V")]),
        ("54.6V/2A", [(54.6, "V"), (2, "A")]),
        ("21700 / 3.500 mAh", [(21700, None), (3.5, "Ah")]),
        ("21700，5000mAh", [(21700, None), (5, "Ah")]),
        ("137x70x60mm 1.25kg", [(137, "mm"), (70, "mm"), (60, "mm"), (1.25, "kg")]),
        ("3C (7800mA)", [(3, "It"), (7.8, "A")]),
        ("30 A 40 V", [(30, "A"), (40, "V")]),
        ("18650 3000mAh", [(18650, None), (3, "Ah")]),
        ("5 Ah\n- 6 Ah", [(5, "Ah"), (6, "Ah")]),
    ],
)
def test_numbers_stay_apart(text: str, expected: list[tuple[float, str | None]]) -> None:
    """Two numbers become one that nobody printed, and the true capacity is gone."""
    assert [(low, unit) for low, _, unit, _ in read(text)] == expected


@pytest.mark.parametrize(
    "text",
    [
        "13S4P",
        "10S-4P",
        "18650-35P",
        "LYR-35P",
        "XT60",
        "2025-03-01",
        "12.05.2023",
        "10:30",
        "INR19/66-10-4",
        "IP67",
        "l8650",
        "1.2.3",
        "VDN21700-40H",
        "HM33140-15Ah",
    ],
)
def test_codes_and_dates_are_no_figures(text: str) -> None:
    """A date, a connector or a part number turns up as a current or a voltage."""
    assert find_printed(text) == []


@pytest.mark.parametrize(
    ("text", "value", "unit", "doubt"),
    [
        ("14,500 Ah", 14500, "Ah", "14.5"),
        ("1,500 W", 1500, "W", "1.5"),
        ("1 500 mAh", 1.5, "Ah", "1 and 500"),
        ("2 600 mAh", 2.6, "Ah", "2 and 600"),
        ("36 500 W", 500, "W", "36500"),
        ("2. 5V", 5, "V", "decimals"),
        ("10S", 10, "s", "series"),
        ("2OA", 20, "A", "letters"),
        ("36.O V", 36, "V", "letters"),
        ("48OOmAh", 4.8, "Ah", "letters"),
        ("25 C", 25, "C", "multiples"),
        ("LYR-20A", 20, "A", "part number"),
        ("Discharge-20 °C", 20, "C", "minus"),
        ("(O.2C)", 0.2, "It", "letters"),
        ("-2O ~ 6OC", -20, "C", "letters"),
        ("- 20 ~ 60 ℃", 20, "C", "minus"),
        ("5 A 6 HORAS", 5, "A", "between"),
        ("1/2 h", 0.5, "h", "1 and 2"),
        ("25mQ", 25, "mohm", "ohm"),
    ],
)
def test_what_reads_in_two_ways_says_so(text: str, value: float, unit: str, doubt: str) -> None:
    """A doubtful reading enters a report as if it were certain."""
    found = next(each for each in find_printed(text) if each.unit is not None)
    assert (found.low, found.unit) == (value, unit)
    assert doubt in found.doubt


@pytest.mark.parametrize(
    "text", ["20A\nMax discharge: 40A", "20A, max 40A", "40 A (max. 3 Sek.)", "20 A max 40 A"]
)
def test_a_limit_of_the_next_figure_is_none_of_this_one(text: str) -> None:
    """A continuous current turns into an upper limit because the next line begins with "Max"."""
    assert find_printed(text)[0].relation == "exact"


@pytest.mark.parametrize(
    "text",
    ["13 Cycle Life", "4.10 Cell Weight", "14 循环寿命", "7 Maximum Continuous", "2.14 Cycle life ... 300"],
)
def test_the_number_of_a_heading_has_no_unit(text: str) -> None:
    """Row 13 of a table, "Cycle life", becomes 13 cycles."""
    found = find_printed(text)[0]
    assert (found.unit, found.relation) == (None, "exact")


def test_a_multiplier_is_not_multiplied() -> None:
    """ "2 x 6 Ah" is reported as 12 Ah although nobody says that the packs add up."""
    found = only("2 x 6 Ah")
    assert (found.low, found.unit, found.times) == (6, "Ah", 2)


UNITS = {
    "V": "V",
    "A": "A",
    "Ah": "Ah",
    "Wh": "Wh",
    "W": "W",
    "kg": "kg",
    "mm": "mm",
    "°C": "C",
    "mΩ": "mohm",
    "%": "percent",
}
amounts = st.integers(1, 99_999).map(lambda number: number / 100)
words = st.sampled_from(["battery ", "含 ", "Akku: ", "con ", "(", ""])


@given(amounts, st.sampled_from(sorted(UNITS)), st.booleans(), st.sampled_from(["", " "]), words)
def test_a_printed_number_comes_back(value: float, unit: str, comma: bool, blank: str, before: str) -> None:
    """Some figure, decimal comma or point, is read as another than was printed (ISO 80000-1)."""
    number = f"{value:.2f}".replace(".", "," if comma else ".")
    found = only(f"{before}{number}{blank}{unit}")
    assert (found.low, found.unit, found.doubt) == (value, UNITS[unit], "")


@given(st.text(max_size=60) | st.text(alphabet="0123456789.,-~/ xVAhCkgmOl±≤°Sp()½", max_size=40))
def test_any_text_is_read_without_harm(text: str) -> None:
    """A strange listing ends the program, or a figure points to words that are not its own."""
    last = 0
    for found in find_printed(text):
        assert found.low <= found.high
        assert found.text == text[found.start : found.end]
        assert found.text
        assert found.start >= last
        assert any(letter.isnumeric() or letter in "OolI" for letter in found.text)
        last = found.end


@given(st.integers(1, 999), st.integers(1, 999), st.sampled_from(["V", "Ah", "A"]))
def test_a_wide_digit_reads_as_its_narrow_one(whole: int, rest: int, unit: str) -> None:
    """A listing typed with a Chinese keyboard loses its figures (fullwidth forms: Unicode, NFKC)."""
    narrow = f"{whole}.{rest:02d}{unit}"
    wide = "".join(chr(ord(letter) + 0xFEE0) for letter in narrow)
    assert read(wide) == read(narrow)


@pytest.mark.parametrize(
    "piece", ["1 ", "1-O", "O1", "1/", "1.", "1-", "max ", "between 1 ", "1±", "\u202f111", "-"]
)
def test_a_long_text_takes_time_by_its_length(piece: str) -> None:
    """A listing made to be slow, or a page of digits, stops the program or ends it."""
    started = process_time()
    find_printed(piece * 2000)
    assert process_time() - started < 5
