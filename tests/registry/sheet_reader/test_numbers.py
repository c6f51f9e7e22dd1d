"""How single numbers, units and temperatures of sheets are read; the forms are those seen on real sheets."""

from __future__ import annotations

import pytest

from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("3,250mAh", "charge", 3.25), ("4.000 mAh", "charge", 4.0), ("1 700 mA", "current", 1.7),
        ("12,5 A", "current", 12.5), ("4,20 ± 0,05 V", "voltage", 4.2), ("±4.2 0.05 V", "voltage", 4.2),
        ("2. 5V", "voltage", 2.5), ("48mQ", "resistance", 48), ("60mW", "resistance", 60),
        ("70毫欧", "resistance", 70),
        ("20 milli Ohms", "resistance", 20), ("0.5C5A", "rate", 0.5), ("1.5C 5 A", "rate", 1.5),
        ("2 ItA", "rate", 2),
        ("0.2CmA", "rate", 0.2), ("C/5", "rate", 0.2), ("0.1C (260mA)", "current", 0.26),
        ("310A(10C)", "current", 310),
        ("46 gr", "mass", 46), ("0.046 kg", "mass", 46), ("10秒", "seconds", 10), ("500次", "count", 500),
    ],
)  # fmt: skip
def test_a_number_with_its_unit(text: str, dimension: str, value: float) -> None:
    """Otherwise a printed figure is misread by a factor of a thousand, or as another quantity."""
    found = quantities(normal(text))
    assert [(each.dimension, pytest.approx(each.value)) for each in found] == [(dimension, value)]


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("-20°C≤T≤5°C", -20, 5), ("45°C ≥ T > 15°C", 15, 45), ("0 to 45 C o", 0, 45), ("-20-60°C", -20, 60),
        ("– 20 ~ 60 ℃", -20, 60), ("--- -20-60°C", -20, 60), ("-4 ~ 113°F (-20 ~ 45°C)", -20, 45),
        ("0¡æ~45¡æ", 0, 45),
        ("0~+45", 0, 45), ("45℃への0", 0, 45), ("-20 bis 45 °C", -20, 45), ("-20 à 50 °C", -20, 50),
        ("14 ~ 122°F", -10, 50), ("-10 ... +50 °C", -10, 50), ("minus 20 to 60 °C", -20, 60),
    ],
)  # fmt: skip
def test_a_range_of_temperatures(text: str, low: float, high: float) -> None:
    """Otherwise a limit is taken to hold where the sheet does not grant it."""
    found = [each for each in temperatures(normal(text)) if not each.twin]
    assert [(each.low, each.high) for each in found] == [(low, high)]


def test_a_rate_is_no_temperature_and_a_temperature_no_rate() -> None:
    """Otherwise 5C becomes five degrees, or 25 °C a current of 25 times the capacity."""
    text = normal("3C at 25°C, 0.5C")
    found = temperatures(text)
    assert [each.low for each in found] == [25]
    assert [each.value for each in quantities(masked(text, found))] == [3, 0.5]


@pytest.mark.parametrize(
    ("label", "said", "not_said"),
    [
        ("Entladeschlussspannung", "discharge", "charge"), ("Ladeschlussspannung", "charge", "discharge"),
        ("Courant de décharge continu", "discharge", "charge"),
        ("Corriente de descarga", "discharge", "charge"),
        ("最大持续放电电流", "continuous", "charge"), ("NominalVoltage", "nominal", "charge"),
        ("(not for continuous discharge)", "not_continuous", "continuous"),
        ("Overcharge", "not_rating", "charge"),
        ("2,000mA (not for cycle life)", "nothing", "cycle"), ("放電終止電圧", "cutoff", "charge"),
    ],
)  # fmt: skip
def test_the_words_of_a_label(label: str, said: str, not_said: str) -> None:
    """Otherwise a discharge figure is stored as one of charge, or a test as a rating."""
    assert said in meanings(label)
    assert not_said not in meanings(label)
