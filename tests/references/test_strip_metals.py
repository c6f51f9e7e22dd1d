"""Strip metals against published resistivities.

Sources: elemental nickel, CRC Handbook of Chemistry and Physics, 78th ed., as tabulated in an open textbook;
steel 1008, a supplier's property table; Nickel 200, a nickel producer's bulletin, table 3. All read.
"""

from __future__ import annotations

import pytest

from verifier.electrical.strip import (
    BARE_STEEL,
    ELEMENTAL_NICKEL,
    MATERIALS,
    NICKEL_200,
    WELL_PLATED_STEEL,
    strip_resistance_ohm,
)

STEEL_1008_NOHM_M = 142.0
# Thickness x width mm of a link of 20 mm: mohm of elemental nickel, Nickel 200 and steel 1008.
LINKS = {
    (0.10, 5): (2.772, 3.857, 5.680),
    (0.10, 8): (1.733, 2.411, 3.550),
    (0.15, 8): (1.155, 1.607, 2.367),
    (0.20, 8): (0.866, 1.205, 1.775),
    (0.20, 10): (0.693, 0.964, 1.420),
    (0.30, 10): (0.462, 0.643, 0.947),
}


@pytest.mark.parametrize("size", LINKS)
def test_a_link_has_the_resistance_of_its_metal(size: tuple[float, int]) -> None:
    """Otherwise the drop along the strips is wrong. Source: resistivities of the sources above."""
    metals = (ELEMENTAL_NICKEL.resistivity_nohm_m, NICKEL_200.resistivity_nohm_m, STEEL_1008_NOHM_M)
    thickness, width = size
    for metal, mohm in zip(metals, LINKS[size], strict=True):
        found = 1000 * strip_resistance_ohm(
            resistivity_nohm_m=metal, length_mm=20.0, width_mm=float(width), thickness_mm=thickness
        )
        assert found == pytest.approx(mohm, rel=1e-3)


def test_nickel_200_warms_as_its_maker_says() -> None:
    """Otherwise a hot strip is taken for a cold one. Source: bulletin, 96.4 at 21 C, 126.3 at 93 C."""
    sizes = {"length_mm": 20.0, "width_mm": 8.0, "thickness_mm": 0.15}
    cool, warm = (
        strip_resistance_ohm(
            resistivity_nohm_m=NICKEL_200.resistivity_nohm_m,
            alpha_per_k=NICKEL_200.alpha_per_k,
            temperature_c=temperature_c,
            **sizes,
        )
        for temperature_c in (21.0, 93.0)
    )
    assert warm / cool == pytest.approx(126.3 / 96.4, rel=0.01)


def test_five_micrometres_of_nickel_hardly_mend_steel() -> None:
    """Otherwise plated steel could pass for nickel. Source: two conductors side by side, 1008 core."""
    skin = 2 * 0.005 / 0.10
    side_by_side = 1 / ((1 - skin) / STEEL_1008_NOHM_M + skin / 96.4)
    assert WELL_PLATED_STEEL.resistivity_nohm_m == pytest.approx(side_by_side, abs=0.05)
    assert WELL_PLATED_STEEL.resistivity_nohm_m < STEEL_1008_NOHM_M < BARE_STEEL.resistivity_nohm_m


def test_nickel_means_both_the_element_and_what_is_sold() -> None:
    """Otherwise a report flatters strip by 40 %. Source: 69.3 (CRC) and 96.4 nohm m (producer)."""
    found = {name: material.resistivity_nohm_m for name, material in MATERIALS.items()}
    assert found["nickel"].high / found["nickel"].low == pytest.approx(96.4 / 69.3)
    # A length of strip that nobody tested has from the resistance of nickel to that of steel.
    sizes = {"length_mm": 20.0, "width_mm": 8.0, "thickness_mm": 0.15}
    ohm = [strip_resistance_ohm(resistivity_nohm_m=each, **sizes) for each in found["unknown"]]
    assert ohm[0] * 1000 == pytest.approx(1.155, rel=1e-3)
    assert ohm[1] * 1000 == pytest.approx(2.367, rel=0.01)
    assert found["not_noted"].low < found["unknown"].low
