"""Cells named beside the words for cells, their count or their size; makers and cells are invented.

Source of each expectation: the words of the text itself, as a buyer reads them.
"""

from __future__ import annotations

import pytest

from registry.cell import Cell
from registry.cells import Cells, InMemory
from verifier.listing import read_listing
from verifier.listing.drafts import case_drafts, claims_of

HEADS = {
    "en": "48V 12Ah battery pack for a bike",
    "de": "48V 12Ah Akku für das Fahrrad",
    "fr": "Batterie de vélo 48V 12Ah pour la route",
    "es": "Batería de bicicleta 48V 12Ah para la ciudad",
    "it": "Batteria per bici 48V 12Ah con custodia",
    "nl": "Accu voor de fiets 48V 12Ah met houder",
    "pl": "Akumulator do roweru 48V 12Ah z obudową",
    "pt": "Bateria para bicicleta 48V 12Ah com caixa",
    "ja": "電動自転車用バッテリー 48V 12Ah",
    "zh": "电动车锂电池 48V 12Ah",
}
SAID = {
    "en": ("52 cells {}, 18650", "Cells {}", "{} cells", "made with genuine {} 18650 cells", "cells are {}"),
    "de": ("50 Zellen {} 18650", "Zellen von {}", "{} Zellen", "{}-Zellen"),
    "fr": ("52 cellules {}, 18650", "cellules de marque {}", "cellules 18650 {}"),
    "es": ("52 celdas {}, 18650", "celdas de la marca {}", "celdas {}"),
    "it": ("52 celle {}, 18650", "celle di marca {}", "celle {}"),
    "nl": ("52 cellen {}, 18650", "cellen van het merk {}", "{} cellen"),
    "pl": ("52 ogniw {}, 18650", "ogniwa firmy {}", "ogniwa {}"),
    "pt": ("52 células {}, 18650", "células da marca {}", "células {}"),
    "ja": ("{}セル 52本", "セルは{}（18650）"),
    "zh": ("52节{}电芯", "采用{}电芯", "电芯{}"),
}
EVERYWHERE = ("52x {} (18650)", "52 x 18650 {}")


def marking(text: str, language: str = "en", cells: Cells | None = None) -> str | None:
    """Return the cell that the seller is taken to claim below a title."""
    packs = read_listing(f"{HEADS[language]}\n\n{text}\n", cells=cells).variants
    named = claims_of(packs[0], packs).get("cell_marking")
    return None if named is None else str(named)


@pytest.mark.parametrize(
    ("language", "said"), [(code, said) for code, every in SAID.items() for said in (*every, *EVERYWHERE)]
)
def test_a_cell_is_read_beside_the_words_for_it(language: str, said: str) -> None:
    """The buyer would be told to ask which cells are inside, though the listing says so."""
    assert marking(said.format("Dorvik DVK-3050H"), language) == "Dorvik DVK-3050H"


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "21700 cells by Plumbex (PX21-48E)"),
        ("de", "21700-Zellen von Plumbex (PX21-48E)"),
        ("fr", "cellules 21700 de Plumbex (PX21-48E)"),
        ("nl", "21700 cellen van Plumbex (PX21-48E)"),
    ],
)
def test_a_code_behind_its_maker_in_brackets_is_read(language: str, text: str) -> None:
    """A name that the registry holds would go unread, because its maker stands before a bracket."""
    assert marking(text, language) == "PX21-48E"


def test_a_cell_named_twice_is_one_cell() -> None:
    """With its maker and without, the same code would count as two cells, and none would be claimed."""
    assert marking("52 cells Dorvik DVK-3050H.\nDVK-3050H cells hold well.") == "Dorvik DVK-3050H"


def test_two_different_cells_stay_open() -> None:
    """One of two cells that a listing names would be judged, and nobody knows which is inside."""
    assert marking("Dorvik DVK-3050H cells.\nBuilt with OSTRA OV-35E cells.") is None


@pytest.mark.parametrize(
    "text",
    [
        "better than DVK-3050H cells",
        "replaces your old Dorvik DVK-3050H cells",
        "No DVK-3050H cells inside",
        "like Dorvik DVK-3050H cells",
        "Are these DVK-3050H cells?",
        "52x M4-10 screws",
        "cells in 13S4P, BMS JBX-SP15",
        "18650 cells INR18650",
        "18650-13S4P cells",
        "A-grade 18650 cells 10000MAH each",
        "Cells 2600MAH, XT60-F plug",
        "UL2271 cells",
        "10C cells",
    ],
)
def test_other_codes_and_other_cells_name_none(text: str) -> None:
    """A board, a plug, a paper, a size or a cell that is only compared with would be taken for the cells inside."""
    assert marking(text) is None


def test_the_number_in_a_name_is_no_figure_of_the_pack() -> None:
    """3050H would be read as hours, and 48E of a cell as a voltage."""
    (pack,) = read_listing("48V 12Ah pack\n\n52 cells Dorvik DVK-3050H, 18650. Weight 3 kg").variants
    assert set(pack.claims) == {
        "nominal_voltage_v", "capacity_ah", "cell_count", "cell_marking", "cell_size", "mass_kg",
    }  # fmt: skip


def registry_of(*models: str) -> Cells:
    """Return a registry of invented cells."""
    rows = [
        {
            "id": f"ostra-{model}".lower(), "maker": "OSTRA", "model": model, "form": "cylindrical",
            "size": "18650", "chemistry": "NMC",
            "sheets": [{
                "title": "x", "evidence": "maker", "capacity": [{"kind": "minimum", "value_ah": 3.35}],
                "charge_voltage_v": 4.2, "nominal_voltage_v": 3.6, "cutoff_voltage_v": 2.5,
            }],
        }
        for model in models
    ]  # fmt: skip
    return InMemory([Cell.model_validate(row) for row in rows])


def test_a_registered_name_is_read_behind_an_option_and_told_as_such() -> None:
    """A cell named inside an option would stay unknown, and 30 Ah of 13S4P cells of 3.35 Ah could not be refuted."""
    text = "Option A: 48V 10Ah 13S3P OSTRA OV-35E. Option B: 48V 30Ah 13S4P OSTRA OV-35E."
    read = read_listing(text, cells=registry_of("OV-35E"))
    assert [claims_of(each, read.variants)["cell_marking"] for each in read.variants] == ["OSTRA OV-35E"] * 2
    assert "exact name of a registered cell" in case_drafts(read)[1]


def test_an_option_that_costs_extra_names_no_cell_of_the_pack() -> None:
    """The cells of a dearer pack would be claimed of the one on sale. Rule: what is optional is not inside."""
    assert marking("Optional: OSTRA OV-35E cells for 40 EUR more", cells=registry_of("OV-35E")) is None


def test_two_registered_names_stay_open() -> None:
    """One of two registered cells would be taken, though the seller names both."""
    cells = registry_of("OV-35E", "OV-30Q")
    assert marking("Packs of OSTRA OV-35E and OSTRA OV-30Q", cells=cells) is None


def test_a_near_name_is_not_the_registered_one() -> None:
    """Twins differ by one letter and by a factor of two in current: the wrong sheet would be judged by."""
    read = read_listing("48V 12Ah pack, OSTRA OV-35EX", cells=registry_of("OV-35E"))
    assert "cell_marking" not in claims_of(read.variants[0])
