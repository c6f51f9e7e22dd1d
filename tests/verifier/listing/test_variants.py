"""Which packs a listing offers, told by its structure, and which figure belongs to which.

The layouts are those that shops and people use: common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing

ROWS = "Pack\tVoltage\tCapacity\tContinuous\tPeak (5 s)\tWeight\tPrice\nRoe 10\t36V\t10Ah\t15A\t30A\t2.3kg\t€199\nRoe 15\t48V\t15Ah\t25A\t50A\t3.6kg\t€299"  # noqa: E501
OF_ROWS = [
    {
        "nominal_voltage_v": 36,
        "capacity_ah": 10,
        "continuous_current_a": 15,
        "peak_current_a": 30,
        "peak_seconds": 5,
        "mass_kg": 2.3,
        "price": 199,
    },
    {
        "nominal_voltage_v": 48,
        "capacity_ah": 15,
        "continuous_current_a": 25,
        "peak_current_a": 50,
        "peak_seconds": 5,
        "mass_kg": 3.6,
        "price": 299,
    },
]
TWO = [{"nominal_voltage_v": 36, "capacity_ah": 10}, {"nominal_voltage_v": 48, "capacity_ah": 15}]
LAYOUTS: dict[str, tuple[str, list[dict[str, Any]]]] = {
    "tabs, a pack a row": (ROWS, OF_ROWS),
    "pipes, a pack a row": (
        "\n".join("| " + " | ".join(row.split("\t")) + " |" for row in ROWS.split("\n")).replace("\n", "\n|---|---|---|---|---|---|---|\n", 1),  # noqa: E501
        OF_ROWS,
    ),
    "semicolons": (ROWS.replace("\t", ";"), OF_ROWS),
    "commas": ("sku,title,voltage,capacity,max_continuous_current\nR1,small,36V,10Ah,15A\nR2,large,48V,15Ah,25A",
               [{**TWO[0], "continuous_current_a": 15}, {**TWO[1], "continuous_current_a": 25}]),
    "wide gaps, units in the head": ("Roe packs\n\nModel    V    Ah    kg    Price EUR\nRoe 10   36   10    2.3   199\nRoe 15   48   15    3.6   299",  # noqa: E501
                                     [{**TWO[0], "mass_kg": 2.3, "price": 199}, {**TWO[1], "mass_kg": 3.6, "price": 299}]),  # noqa: E501
    "a pack a column": ("Roe packs\n\tRoe 10\tRoe 15\nVoltage\t36V\t48V\nCapacity\t10Ah\t15Ah\nWeight\t2.3kg\t3.6kg",
                        [{**TWO[0], "mass_kg": 2.3}, {**TWO[1], "mass_kg": 3.6}]),
    "letters, with prices": ("Roe packs\na) 36V 10Ah 199€\nb) 48V 15Ah 299€", [{**TWO[0], "price": 199}, {**TWO[1], "price": 299}]),  # noqa: E501
    "circled numbers": ("锂电池\n①36V10Ah ②48V15Ah\n充电器：①42V2A ②54.6V3A",
                        [{**TWO[0], "charge_current_a": 2}, {**TWO[1], "charge_current_a": 3}]),
    "side by side": ("Roe packs, choose:\n36V 10Ah 199€ / 48V 15Ah 299€", [{**TWO[0], "price": 199}, {**TWO[1], "price": 299}]),  # noqa: E501
    "headings": ("Roe packs\n\nVersion Short\n36V, 10Ah\n2.3kg\n\nVersion Long\n48V, 15Ah\n3.6kg",
                 [{**TWO[0], "mass_kg": 2.3}, {**TWO[1], "mass_kg": 3.6}]),
    "lists in one order": ("Roe 36V / 48V\nCapacity: 10Ah / 15Ah\nBMS: 20A / 30A\nWeight: 2.3 / 3.6 kg",
                           [{**TWO[0], "bms_current_a": 20, "mass_kg": 2.3}, {**TWO[1], "bms_current_a": 30, "mass_kg": 3.6}]),  # noqa: E501
    "shared by voltage": ("Roe packs\nA: 36V 10Ah\nB: 48V 15Ah\nCharger: 36V: 42V 2A, 48V: 54.6V 3A",
                          [{**TWO[0], "charge_voltage_v": 42, "charge_current_a": 2}, {**TWO[1], "charge_voltage_v": 54.6, "charge_current_a": 3}]),  # noqa: E501
    "shared by key": ("Roe packs\nR-10: 36V 10Ah\nR-15: 48V 15Ah\nContinuous 15A (R-10), 25A (R-15). Cells 18650 (R-10/15)",  # noqa: E501
                      [{**TWO[0], "continuous_current_a": 15, "cell_size": "18650"}, {**TWO[1], "continuous_current_a": 25}]),  # noqa: E501
}  # fmt: skip


@pytest.mark.parametrize("layout", LAYOUTS)
def test_packs_are_parted_by_structure(layout: str) -> None:
    """Figures of one pack are judged as those of another, or two packs as one."""
    text, wanted = LAYOUTS[layout]
    variants = read_listing(text).variants
    assert len(variants) == len(wanted)
    for variant, want in zip(variants, wanted, strict=True):
        got = {name: [claim.value for claim in variant.claimed(name)] for name in want}
        assert got == {name: [value] for name, value in want.items()}


# A label of one's own heads each of these; none of them is a nominal voltage.
@pytest.mark.parametrize("sign", ["\t", " | ", ": ", ";"])
def test_a_head_is_the_cells_own_label(sign: str) -> None:
    """The two labels that matter most are lost in a copied table."""
    rows = [("Full charge voltage", "58.8 V"), ("Cut-off voltage", "42 V"), ("Nominal voltage", "51.8 V")]
    claims = read_listing("Pack\n" + "\n".join(sign.join(row) for row in rows)).variants[0].claims
    read = {name: [claim.value for claim in found] for name, found in claims.items()}
    assert read == {"full_voltage_v": [58.8], "cutoff_voltage_v": [42], "nominal_voltage_v": [51.8]}


def test_figures_of_which_nobody_says_whose_they_are_go_to_none() -> None:
    """A buyer relies on the larger of two figures, which is that of the other pack."""
    reading = read_listing("Roe packs\nA: 36V 10Ah\nB: 48V 15Ah\nC: 52V 20Ah\nWeight 2.3kg or 3.6kg")
    assert [variant.claimed("mass_kg") for variant in reading.variants] == [[], [], []]
    assert any(remark.about == ["mass_kg"] and "of which pack" in remark.text for remark in reading.remarks)


@pytest.mark.parametrize(
    ("text", "field", "claimed"),
    [
        ("Akku 52V\nAlt: 14S3P, 9,9 Ah, 2,6 kg\nNeu: 14S4P, 16 Ah, 4,4 kg", "capacity_ah", [16]),
        ("Pack 52V\nBefore: 14S3P, 9.9 Ah\nNow: 14S4P, 16 Ah", "parallel", [4]),
        ("Batería 48V 20Ah, veinte en serie y siete en paralelo", "parallel", [7]),
        ("Akku 48V 20Ah. Spitze 60 A für zehn Sekunden", "peak_seconds", [10]),
        ("Battery 36V 10Ah, was 399 EUR, now 299 EUR, shipping 12 EUR", "price", [299]),
        ("Bateria 36V 10Ah por 10x de R$ 219,90 ou R$ 1.899,00 à vista", "price", [1899]),
        ("Battery 36V 10Ah, charger 42V 2A (£25)", "price", []),
    ],
)  # fmt: skip
def test_what_was_and_what_is(text: str, field: str, claimed: list[float]) -> None:
    """What the pack was before, or what something else costs, is taken for a claim of it."""
    assert [claim.value for claim in read_listing(text).variants[0].claimed(field)] == claimed


@pytest.mark.parametrize("sign", [" ", ": "])
def test_headings_that_begin_alike_head_a_pack_each(sign: str) -> None:
    """The figures of two packs stand as contradictions of one, and nobody learns that two are on sale."""
    blocks = [("Ondarella Lieve", "36V", "7,8Ah", "1,7kg"), ("Ondarella Forte", "48V", "13Ah", "3,4kg")]
    labels = ("Tensione", "Capacità", "Peso")
    text = "\n\n".join(
        "\n".join([name, *(f"{label}{sign}{value}" for label, value in zip(labels, values, strict=True))])
        for name, *values in blocks
    )
    read = read_listing(f"Batterie Ondarella, due versioni\n\n{text}\n\nGaranzia 2 anni").variants
    assert [variant.name for variant in read] == [name for name, *_ in blocks]
    assert [variant.claims["mass_kg"][0].value for variant in read] == [1.7, 3.4]


def test_packs_go_by_the_last_words_of_their_names() -> None:
    """A figure that is said of "Base and Plus" goes to none, though both names are there."""
    packs = "Ondarela Base: 36V 7Ah\nOndarela Plus: 36V 9Ah\nOndarela Pro: 48V 12Ah\n"
    text = f"Baterias Ondarela\n\n{packs}\nNas versões Base e Plus o BMS é de 14A; na Pro é de 22A.\n"
    read = read_listing(text).variants
    assert [[claim.value for claim in each.claimed("bms_current_a")] for each in read] == [[14], [14], [22]]


def test_a_column_of_remarks_is_no_pack() -> None:
    """Remarks beside the figures ("24 in series", "10 s") are taken for a second pack on sale."""
    table = "Item\tValue\tRemark\nNominal voltage\t51.2V\t16S\nPeak current\t90A\t10s\nCapacity\t30Ah\t-\n"
    assert len(read_listing(f"Pack\n\n{table}").variants) == 1
