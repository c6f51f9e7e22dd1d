"""What each mark or certificate shows of a pack, what it does not, and by which source; no legal advice."""

from __future__ import annotations

from typing import NamedTuple

from verifier.certificates import Certificate
from verifier.words.numbers import digits

_NO_FIGURE = "any current, capacity, energy, cycle life or range"


class Statement(NamedTuple):
    """What a mark shows, what it does not show, and the source of both."""

    shows: str
    does_not_show: str
    source: str


STATEMENTS: dict[str, Statement] = {
    "un_38_3": Statement(
        "that this type of pack passed the transport tests, if the test summary names this very pack; makers "
        "and those who sell it on must make that summary available (batteries made after 30 June 2003)",
        f"{_NO_FIGURE}; a summary of the cells is none of the pack, which is a type of its own",
        "UN Manual of Tests and Criteria, 38.3 and 38.3.5, secondary copies",
    ),
    "eu_2023_1542": Statement(
        "for a pack of a light means of transport of at most 25 kg: a document with rated capacity, power, "
        "internal resistance and expected life in cycles, with their conditions, due since 18 August 2024",
        "that those figures are this listing's; ask for the document and compare",
        "Regulation (EU) 2023/1542, Articles 3(1)(11) and 10(1), Annex IV Part A",
    ),
    "en_50604": Statement(
        "safety tests of a removable lithium pack of a light electric vehicle; since 24 August 2025 the one "
        "way to meet EN 15194 for its battery",
        f"{_NO_FIGURE}; it does not cover the cells",
        "EN 50604-1:2016+A1:2021, catalogue pages; trade association's note on EN 15194:2017+A1:2023",
    ),
    "en_15194": Statement(
        "that a whole assisted cycle meets its standard: at most 250 W continuous rated power, assistance up "
        "to 25 km/h, at most 48 V d.c.",
        f"anything of a pack sold alone, nor {_NO_FIGURE}",
        "EN 15194:2017, catalogue pages",
    ),
    "ul_2271": Statement(
        "safety tests of a battery for light electric vehicles",
        f"{_NO_FIGURE}: its clause 1.2 evaluates neither performance nor reliability",
        "UL 2271, edition of 14 September 2023, clause 1.2, secondary copies",
    ),
    "ul_2849": Statement(
        "safety tests of the electrical system of a whole e-bike: battery, charger and motor together",
        f"anything of the pack in another vehicle or with another charger, nor {_NO_FIGURE}",
        "UL 2849, test laboratory's notes",
    ),
    "iec_62133": Statement(
        "safety tests of small sealed cells and batteries",
        f"{_NO_FIGURE}; for a pack of an assisted cycle it no longer counts since 24 August 2025",
        "IEC 62133-2, from memory; trade association's note on EN 15194:2017+A1:2023",
    ),
    "ce": Statement(
        "that the maker itself declares conformity with the rules of the EU; ask for the declaration",
        f"that anybody else tested it, nor {_NO_FIGURE}",
        "Regulation (EU) 2023/1542, CE conformity since 18 August 2024; self-declaration from memory",
    ),
    "rohs": Statement(
        "that the maker declares limits on hazardous substances",
        f"any safety test, nor {_NO_FIGURE}",
        "Directive 2011/65/EU, from memory",
    ),
    "safety_data_sheet": Statement(
        "what is in the cells and what to do in an accident",
        f"any test, nor {_NO_FIGURE}",
        "common practice, no source",
    ),
    "unknown_mark": Statement(
        "nothing that is known here; ask for the report and who made it",
        f"{_NO_FIGURE}, as far as is known here",
        "no source",
    ),
    "no_ingress_code": Statement(
        "nothing: it is no code of IEC 60529, such as IP65",
        _NO_FIGURE,
        "IEC 60529; first digit and drips read in a secondary copy, the rest from memory",
    ),
    "dangerous_goods": Statement(
        "that it is above 100 Wh, if it holds what is claimed: class 9 dangerous goods, UN 3480 alone or UN 3481 with "
        "equipment, and the watt-hours must stand on the case; if it came by ordinary air post, be warned",
        "how this pack was declared or shipped",
        "UN Model Regulations, special provision 188, and marking of those made after 31 December 2011, as "
        "carriers' guides print them; watt-hour rating 49 CFR 171.8",
    ),
    "damaged_goods": Statement(
        "that it is above 100 Wh, if it holds what is claimed, and by its alarm damaged or defective: dangerous goods "
        "that do not travel in the plain way of UN 3480, but by special provision 376 of ADR; ask a carrier who is "
        "licensed for that",
        "how this pack was declared or shipped",
        "special provision 376 of ADR, from memory; watt-hour rating 49 CFR 171.8",
    ),
}
_SOLIDS = {
    "0": "protected against nothing",
    "1": "protected against bodies of 50 mm or more",
    "2": "protected against bodies of 12.5 mm or more",
    "3": "protected against bodies of 2.5 mm or more",
    "4": "protected against bodies of 1 mm or more",
    "5": "protected against dust in harmful amounts",
    "6": "protected against all dust",
    "X": "solids not tested",
}
_WATER = {
    "0": "water: nothing",
    "1": "water: vertical drips",
    "2": "water: drips at a tilt of 15 degrees",
    "3": "water: spray",
    "4": "water: splashes",
    "5": "water: jets",
    "6": "water: powerful jets",
    "7": "water: immersion to 1 m for 30 min",
    "8": "water: immersion deeper than 1 m as agreed with the maker",
    "9": "water: hot jets at high pressure",
    "X": "water not tested",
}


def certificate_mark(certificate: Certificate) -> str:
    """Return the mark as the seller writes it, or the energy that has its own duties in transport."""
    if certificate.code in ("dangerous_goods", "damaged_goods"):
        return f"transport of the {digits(certificate.numbers['energy_wh'])} Wh claimed"
    return certificate.mark


def certificate_statement(certificate: Certificate) -> Statement:
    """Return what a mark shows and does not show."""
    if certificate.code != "ingress":
        return STATEMENTS[certificate.code]
    solids, water = certificate.numbers["solids"], certificate.numbers["water"]
    limits = f"that it withstands salt or age, that the battery is safe, nor {_NO_FIGURE}"
    if water in "78":
        limits += "; immersion does not include jets"
    return Statement(f"{_SOLIDS[solids]}; {_WATER[water]}", limits, STATEMENTS["no_ingress_code"].source)


def certificate_text(certificate: Certificate) -> str:
    """Return what a mark shows and does not show, as one sentence."""
    statement = certificate_statement(certificate)
    return (
        f"{certificate_mark(certificate)}: shows {statement.shows}. "
        f"It does not show {statement.does_not_show} ({statement.source})."
    )
