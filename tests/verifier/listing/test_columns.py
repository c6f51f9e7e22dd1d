"""Tables: two values in a cell, counts without a unit, columns of another state, and how rows are written.

The layouts are those that shops use: common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing


def columns(text: str, name: str) -> list[list[Any]]:
    """Return what each pack claims of a field."""
    return [[claim.value for claim in each.claimed(name)] for each in read_listing(text).variants]


@pytest.mark.parametrize(
    ("head", "cells", "names"),
    [
        ("Current (cont./peak)", ("20A/40A", "30/60A"), ("continuous_current_a", "peak_current_a")),
        ("Dauer-/Spitzenstrom", ("20/40 A", "30/60 A"), ("continuous_current_a", "peak_current_a")),
        ("持续/峰值", ("20A/40A", "30A/60A"), ("continuous_current_a", "peak_current_a")),
        ("连续/最大电流", ("20A/40A", "30A/60A"), ("continuous_current_a", "max_current_a")),
        ("Courant de pointe/continu", ("40/20 A", "60/30 A"), ("peak_current_a", "continuous_current_a")),
    ],
)
def test_two_values_in_a_cell(head: str, cells: tuple[str, str], names: tuple[str, str]) -> None:
    """A peak is judged as a continuous current."""
    text = f"Model | V | {head} | kg\nGrebe 1 | 36V | {cells[0]} | 2.1\nGrebe 2 | 48V | {cells[1]} | 3.3"
    found = [columns(text, name) for name in names]
    low, high = ([[20], [30]], [[40], [60]])
    assert found == ([low, high] if names[0] == "continuous_current_a" else [high, low])


def test_full_and_nominal_in_a_cell() -> None:
    """The full voltage is judged as the nominal one."""
    text = "Model | Full/nominal voltage | Weight\nGrebe 1 | 42V/36V | 2 kg\nGrebe 2 | 54.6V/48V | 3 kg"
    assert columns(text, "nominal_voltage_v") == [[36], [48]]
    assert columns(text, "full_voltage_v") == [[42], [54.6]]


JAPANESE = (
    "バッテリー\n項目｜S｜L\n公称電圧｜36V｜48V\n容量｜約9Ah｜約16Ah\n"
    "最大放電（10秒）｜35A｜55A\n電池本数｜30本｜65本"
)


def test_full_width_bars_and_the_seconds_of_a_head() -> None:
    """A current for ten seconds is judged as one without limit, and the packs are one."""
    names = ("nominal_voltage_v", "capacity_ah", "peak_current_a", "peak_seconds", "cell_count")
    assert [columns(JAPANESE, name) for name in names] == [
        [[36], [48]], [[9], [16]], [[35], [55]], [[10], [10]], [[30], [65]],
    ]  # fmt: skip


def test_counts_without_a_unit() -> None:
    """The count of cells and the cycles are lost."""
    text = "Accu\nEigenschap | Kort | Lang\nSpanning | 36 V | 48 V\nAantal cellen | 30 | 65\nLaadcycli | 600 | ca. 800"
    assert [columns(text, name) for name in ("cell_count", "cycles")] == [[[30], [65]], [[600], [800]]]
    assert columns("Accu 60V\nCellen in serie | 17\nGewicht | 9 kg", "series") == [[17]]


@pytest.mark.parametrize(
    ("title", "head"),
    [
        ("Battery 36V 13Ah, which fits", "Original capacity"),
        ("Akku 36V 13Ah, passend für", "Originalkapazität"),
        ("バッテリー 36V 13Ah です", "純正容量"),
        ("锂电池36V13Ah", "原装容量"),
        ("Batteria 36V 13Ah, adatta per", "Capacità originale"),
    ],
)
def test_a_column_of_the_original_packs(title: str, head: str) -> None:
    """The capacities of the packs that are replaced are packs on sale."""
    text = f"{title}\n\nModel | {head} | OK\nKN-1 | 8.4 Ah | o\nKN-2 | 10.9 Ah | o"
    assert columns(text, "capacity_ah") == [[13]]


@pytest.mark.parametrize(
    ("old", "new"),
    [("Old pack", "New pack"), ("Alt", "Neu"), ("Vecchia", "Nuova"), ("Stara", "Nowa"), ("旧", "新")],
)
def test_the_old_beside_the_new(old: str, new: str) -> None:
    """The pack that was is a pack on sale."""
    text = f"Battery 36V\n | {old} | {new}\nCapacity | 10 Ah | 14 Ah\nBMS | 15 A | 25 A"
    assert [columns(text, name) for name in ("capacity_ah", "bms_current_a")] == [[[14]], [[25]]]


def test_semicolons_with_blanks_before_them() -> None:
    """The BMS is judged as the charger's current."""
    text = (
        "Packs\n\nRef.   ; Voltage ; Capacity ; Config  ; BMS  ; Weight ; Charger    ; Price\n"
        "G1     ; 36 V    ; 9.5 Ah   ; 10S3P   ; 15 A ; 2.1 kg ; 42 V 2 A   ; 199 €\n"
        "G2     ; 48 V    ; 16 Ah    ; 13S5P   ; 30 A ; 3.9 kg ; 54.6 V 3 A ; 399 €"
    )
    assert columns(text, "bms_current_a") == [[15], [30]]
    assert columns(text, "charge_current_a") == [[2], [3]]


def test_two_columns_parted_by_wide_gaps() -> None:
    """A current for ten seconds is judged as one without limit."""
    text = "Pack\n\nNominal voltage       36 V\nCapacity              13 Ah\nMax. current (10 s)   45 A\nWeight   2 kg"
    assert [columns(text, name) for name in ("peak_current_a", "peak_seconds")] == [[[45]], [[10]]]
