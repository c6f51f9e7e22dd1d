"""What marks and papers show and do not show: safety tests and duties, never amperes or ampere-hours.

Sources: UL 2271 clause 1.2, EN 50604-1, Regulation (EU) 2023/1542, UN Manual of Tests and Criteria 38.3,
IEC 60529, 49 CFR 171.8, as secondary copies give them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.certificates import Certificate, certificate, certificates, ingress
from verifier.report import as_json
from verifier.words.certificates import STATEMENTS, certificate_statement, certificate_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


@pytest.mark.parametrize(
    ("mark", "shows", "does_not_show"),
    [
        ("UN 38.3", "transport tests", "capacity"),
        ("UN38.3 test summary", "transport tests", "type of its own"),
        ("Regulation (EU) 2023/1542 Art. 10", "18 August 2024", "listing's"),
        ("EN 50604-1:2016", "24 August 2025", "cells"),
        ("EN15194", "25 km/h", "sold alone"),
        ("UL 2271", "safety tests", "1.2"),
        ("ul2849", "whole e-bike", "another charger"),
        ("IEC 62133-2", "safety tests", "24 August 2025"),
        ("CE", "declares", "anybody else tested"),
        ("CE-certified", "declares", "anybody else tested"),
        ("RoHS", "hazardous", "safety test"),
        ("IP65", "all dust", "battery is safe"),
        ("Golden Anchor approved", "nothing that is known here", "capacity"),
    ],
)
def test_what_a_mark_shows_and_does_not(mark: str, shows: str, does_not_show: str) -> None:
    """A buyer would take a safety mark for a proof of amperes."""
    made = certificate(mark)
    found = certificate_statement(made)
    assert made.mark == mark
    assert shows in found.shows
    assert does_not_show in found.does_not_show
    assert found.source
    assert certificate_text(made).startswith(f"{mark}: shows {found.shows}. It does not show ")


@given(st.text(min_size=1, max_size=30))
def test_no_mark_proves_a_current_or_a_capacity(mark: str) -> None:
    """Some mark, however written, would read as a proof of a figure."""
    found = certificate_statement(certificate(mark))
    assert "any current, capacity" in found.does_not_show or "those figures" in found.does_not_show
    for word in (" Ah", "ampere"):
        assert word not in found.shows


def test_certified_is_not_ce() -> None:
    """Any word that holds the letters c and e would be read as the mark of conformity."""
    for mark in ("certified", "ICEBREAKER TEST", "excellence"):
        assert certificate(mark).code == "unknown_mark"


@pytest.mark.parametrize(
    ("code", "words"),
    [
        # IEC 60529: first digit solids, second digit water.
        ("IP65", ("all dust", "jets")),
        ("IP54", ("dust in harmful amounts", "splashes")),
        ("IP 67", ("all dust", "immersion to 1 m for 30 min")),
        ("ip-x4", ("solids not tested", "splashes")),
        ("IP2X", ("12.5 mm", "water not tested")),
        ("IP69K", ("all dust", "hot jets")),
        ("waterproof", ("no code of IEC 60529",)),
        ("IP", ("no code of IEC 60529",)),
        ("IP99", ("no code of IEC 60529",)),
    ],
)
def test_ingress_digit_by_digit(code: str, words: tuple[str, ...]) -> None:
    """A pack that was sprayed would be taken for one that may be submerged."""
    assert all(word in certificate_statement(ingress(code)).shows for word in words)


def test_immersion_does_not_include_jets() -> None:
    """An IPX7 pack would be cleaned with a hose (IEC 60529: 7 does not imply 5 or 6)."""
    assert "jets" in certificate_statement(ingress("IPX7")).does_not_show
    assert "jets" not in certificate_statement(ingress("IPX5")).does_not_show


@pytest.mark.parametrize(
    ("claims", "told"),
    [
        ({"claim.energy_wh": 101}, True),
        ({"claim.energy_wh": 100}, False),
        ({"claim.capacity_ah": 14, "claim.nominal_voltage_v": 46.8}, True),
        ({"claim.capacity_ah": 2.5, "claim.nominal_voltage_v": 36}, False),
        ({"claim.capacity_ah": 14}, False),
    ],
)
def test_more_than_a_hundred_watt_hours_is_dangerous_goods(
    bench: Bench, claims: dict[str, Any], told: bool
) -> None:
    """A buyer would not know that a parcel of 655.2 Wh has to be declared. Rated Ah x V: 49 CFR 171.8."""
    found = certificates(bench.case(bench.changed({}, claims)))
    assert any("class 9" in certificate_statement(each).shows for each in found) is told


def test_every_mark_has_its_words() -> None:
    """A report would fall over a mark that is recognised and has no sentence."""
    marks = (
        "UN 38.3",
        "2023/1542",
        "50604",
        "15194",
        "2271",
        "2849",
        "62133",
        "CE",
        "RoHS",
        "MSDS",
        "none such",
    )
    codes = {certificate(mark).code for mark in marks}
    assert codes | {"no_ingress_code", "dangerous_goods", "damaged_goods"} == set(STATEMENTS)


def test_each_mark_is_told_once_and_in_the_order_of_the_listing(bench: Bench) -> None:
    """A listing that repeats its marks would fill the report with them."""
    claims = {
        "claim.certificates": ["UL 2271", "CE", "UL 2271"],
        "claim.ingress": "IP65",
        "claim.energy_wh": 655.2,
    }
    found = certificates(bench.case(bench.changed({}, claims)))
    assert [each.code for each in found] == ["ul_2271", "ce", "ingress", "dangerous_goods"]
    assert found[3].numbers["energy_wh"] == 655.2
    assert certificate_text(found[3]).startswith("transport of the 655 Wh claimed: shows ")
    assert certificates(bench.case({})) == ()
    assert Certificate("CE", "ce") == found[1]


def test_a_report_tells_each_mark_and_no_mark_changes_a_verdict(bench: Bench) -> None:
    """The marks would be left out of the report, or a safety mark make an ampere pass."""
    claims = {"claim.certificates": ["UL 2271", "CE"], "claim.ingress": "IP65"}
    report, bare = bench.judge(bench.build(**claims)), bench.judge(bench.build())
    told = as_json.report_data(report)["certificates"]
    assert [each.partition(":")[0] for each in told] == ["UL 2271", "CE", "IP65"]
    assert "neither performance nor reliability" in told[0]
    assert [each.verdict for each in bare.findings] == [each.verdict for each in report.findings]
    assert as_json.report_data(bare)["certificates"] == []
