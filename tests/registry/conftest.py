"""Cells for the registry's tests: one made by hand, and any that the models allow. All are invented."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import assume
from hypothesis import strategies as st
from pydantic import ValidationError

from registry.cell import Cell
from registry.chemistry import CHEMISTRIES, VOLTAGES
from registry.sheet_figures import CITED, FIGURES


def record(cell_id: str = "lyr-18650-35p", **changes: Any) -> dict[str, Any]:
    """Return the data of one invented cell with a full sheet."""
    sheet: dict[str, Any] = {
        "title": "Invented sheet of Lyr",
        "date": "2025-03-01",
        "evidence": "maker",
        "capacity": [
            {"kind": "minimum", "value_ah": 3.35, "current_a": 0.68, "temperature_c": 25, "page": 2},
            {"kind": "typical", "value_ah": 3.45},
        ],
        "nominal_voltage_v": 3.6,
        "charge_voltage_v": 4.2,
        "cutoff_voltage_v": 2.5,
        "discharge": [
            {"low_c": 0, "high_c": 45, "max_continuous_a": 8.0, "basis": "ambient"},
            {"low_c": -20, "high_c": 0, "max_continuous_c": 0.5, "quote": "-20 to 0 C: 0.5C"},
        ],
        "charge": [{"low_c": 10, "high_c": 45, "max_a": 1.7}, {"low_c": -20, "high_c": 0, "max_a": 0}],
        "pulse": [{"current_a": 15, "seconds": 5}],
        "resistance": {"ac_mohm": 22, "dc_mohm": 32},
        "mass_g": 48,
        "cycle_life": {"cycles": 300, "to_fraction": 0.8},
        "citations": {"mass_g": {"page": 4, "quote": "Weight: max. 48 g"}},
        "not_stated": ["storage_temperature"],
    }
    return {
        "id": cell_id,
        "maker": "Lyr",
        "model": "18650-35P",
        "form": "cylindrical",
        "size": "18650",
        "chemistry": "NMC",
        "markings": ["LYR 18650-35P"],
        "sheets": [sheet],
        **changes,
    }


@pytest.fixture(scope="session")
def cell_data() -> Callable[..., dict[str, Any]]:
    """Make the data of an invented cell: ``cell_data(id, **changes)``."""
    return record


@pytest.fixture(scope="session")
def make_cell() -> Callable[..., Cell]:
    """Make an invented cell: ``make_cell(id, **changes)``; its names go by its id."""

    def make(cell_id: str = "lyr-18650-35p", **changes: Any) -> Cell:
        own = {"model": f"M {cell_id}", "markings": [f"LYR {cell_id}"]} | changes
        return Cell.model_validate(record(cell_id, **own))

    return make


def _maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


def _number(low: float, high: float, **ends: Any) -> st.SearchStrategy[float]:
    return st.floats(low, high, **ends) | st.integers(int(low) + 1, int(high)).map(float)


def _text(most: int) -> st.SearchStrategy[str]:
    """Draw texts a spreadsheet may take for a formula, a number or a row end, among all others."""
    letters = st.characters(exclude_categories=["Cs"])
    awkward = st.sampled_from(
        ["=1+1", "'=x", "''-2", "@a", "+4", "0500", "1e5", '"', "a,b;c\td", "−5", "ａ", "\u2028"]
    )
    return (awkward | st.text(letters, max_size=most)).map(lambda text: text[:most])


# The models squeeze white space and refuse control characters.
def _line(most: int) -> st.SearchStrategy[str]:
    return _text(most).map(
        lambda text: " ".join(
            "".join(c for c in text if unicodedata.category(c) != "Cc" or c.isspace()).split()
        )
    )


words = _line(40).filter(bool)
positive = _number(1e-6, 1e9)
figure = {"page": _maybe(st.integers(1, 999)), "quote": _maybe(words)}
temperature = _number(-273.15, 1000)


def _known(parts: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in parts.items() if value is not None}


def _object(**parts: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({**figure, **parts}).map(_known)


@st.composite
def _bands(draw: st.DrawFn, /, **limits: st.SearchStrategy[Any]) -> list[dict[str, Any]]:
    """Return bands of the air and of the surface, which may overlap, or one limit without a temperature."""
    bands = []
    for bases in (("ambient", None), ("surface",)):
        ends = draw(st.lists(temperature, max_size=4, unique=True).map(sorted))
        for low, high in pairwise(ends):
            basis = draw(st.sampled_from(bases))
            bands.append(_known({"low_c": low, "high_c": high, "basis": basis}))
    spans = bands or draw(st.sampled_from([[], [{}]]))
    return [{**span, **draw(_object(**limits))} for span in draw(st.permutations(spans))]


@st.composite
def _sheet(draw: st.DrawFn, chemistry: str) -> dict[str, Any]:
    low, high = VOLTAGES[chemistry].full_v  # type: ignore[index]
    kinds = st.sampled_from(["minimum", "typical", "nominal", "rated"])
    limit = _number(0, 1e9)
    ends = st.tuples(temperature, temperature).map(sorted).map(lambda e: {"low_c": e[0], "high_c": e[1]})
    span = _maybe(ends)
    data = {
        "title": draw(_line(300)),
        "revision": draw(_line(100)),
        "date": draw(_maybe(st.sampled_from(["2025", "2025-03", "2025-03-01"]))),
        "evidence": draw(st.sampled_from(["own_test", "maker", "reseller", "secondhand"])),
        "file_sha256": draw(_maybe(st.just("0" * 64) | st.from_regex(r"\A[0-9a-f]{64}\Z"))),
        "capacity": draw(
            st.lists(
                _object(
                    kind=kinds,
                    value_ah=positive,
                    current_a=_maybe(positive),
                    temperature_c=_maybe(temperature),
                    cutoff_voltage_v=_maybe(positive),
                ),
                max_size=2,
            )
        ),
        "c_rate_capacity_ah": draw(_maybe(positive)),
        "nominal_voltage_v": draw(_maybe(st.just(low - 0.4))),
        "charge_voltage_v": draw(_maybe(st.floats(low - 0.2, high + 0.35))),
        "cutoff_voltage_v": draw(_maybe(st.floats(0.5, low - 0.5))),
        "discharge": draw(
            _bands(max_continuous_a=limit, max_continuous_c=_maybe(limit), max_unspecified_a=_maybe(limit))
        )
        if draw(st.booleans())
        else draw(_bands(max_unspecified_c=limit, cutoff_temperature_c=_maybe(temperature))),
        "charge": draw(_bands(max_a=limit, max_c=_maybe(limit))),
        "standard_charge_a": draw(_maybe(positive)),
        "pulse": draw(
            st.lists(
                _object(
                    current_a=positive,
                    current_c=_maybe(positive),
                    seconds=_maybe(positive),
                    low_c=_maybe(temperature),
                ),
                max_size=2,
            )
        ),
        "resistance": draw(
            _maybe(_object(ac_mohm=_maybe(positive), dc_mohm=_maybe(positive), dc_seconds=_maybe(positive)))
            if draw(st.booleans())
            else _maybe(_object(ac_max_mohm=_maybe(positive), dc_max_mohm=_maybe(positive)))
        ),
        **{
            name: draw(_maybe(positive))
            for name in ("mass_g", "diameter_mm", "length_mm", "width_mm", "thickness_mm")
        },
        "cycle_life": draw(
            _maybe(
                _object(
                    cycles=st.integers(1, 10**9),
                    to_fraction=_maybe(_number(0, 1, exclude_min=True)),
                    charge_a=_maybe(positive),
                )
            )
        ),
        "storage": [
            {**row, **draw(_object(months=_maybe(positive)))} for row in draw(st.lists(ends, max_size=3))
        ],
        **{f"{name}_temperature": draw(span) for name in ("discharge", "charge", "storage")},
        "citations": draw(st.dictionaries(st.sampled_from(CITED), _object(), max_size=3)),
    }
    if not data["discharge"]:
        data["discharge_unspecified_a"] = draw(_maybe(positive))
    absent = [name for name in FIGURES if not data.get(name)]
    data["not_stated"] = draw(st.lists(st.sampled_from(absent), max_size=3)) if absent else []
    return _known(data)


@st.composite
def _cell(draw: st.DrawFn) -> Cell:
    chemistry = draw(st.sampled_from(CHEMISTRIES))
    data = {
        "id": draw(st.from_regex(r"\A[a-z0-9][a-z0-9._-]{0,20}\Z")),
        "maker": draw(words),
        "model": draw(words),
        "form": draw(st.sampled_from(["cylindrical", "prismatic", "pouch"])),
        "size": draw(_maybe(words | st.just("0500"))),
        "chemistry": chemistry,
        "markings": draw(st.lists(words, max_size=3, unique=True)),
        "sheets": draw(st.lists(_sheet(chemistry), min_size=1, max_size=3)),
        "retired": draw(_maybe(words)),
    }
    try:
        return Cell.model_validate(_known(data))
    except ValidationError:
        # Some draws break a rule that binds two figures, such as minimum and typical capacity.
        assume(False)
        raise


@pytest.fixture(scope="session")
def any_cell() -> st.SearchStrategy[Cell]:
    """Any cell that the models allow, for tests by hypothesis."""
    return _cell()
