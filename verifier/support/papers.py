"""What a mark or paper that a seller names does show of a pack, and what it does not; no legal advice.

None of them ever enters a verdict: they prove safety tests or duties, never amperes or ampere-hours.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from verifier.pack import Pack
from verifier.support.mass import claimed_energy_wh

_NO_FIGURE = "any current, capacity, energy, cycle life or range"
# Above this a battery is fully regulated dangerous goods and its watt-hours stand on its case. [Wh]
SMALL_BATTERY_WH = 100.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A mark or paper as the seller writes it, what it shows, what it does not, and by which source."""

    mark: str
    shows: str
    does_not_show: str
    source: str


@dataclass(frozen=True, slots=True)
class _Known:
    pattern: re.Pattern[str]
    shows: str
    does_not_show: str
    source: str


def _known(pattern: str, shows: str, does_not_show: str, source: str) -> _Known:
    return _Known(re.compile(pattern), shows, does_not_show, source)


# Matched against the mark in capitals without blanks, dots, dashes and brackets; the first that fits counts.
_MARKS = (
    _known(
        r"UN383|383TEST|TESTSUMMARY",
        "that this type of pack passed the transport tests, if the test summary names this very pack; makers "
        "and those who sell it on must make that summary available (batteries made after 30 June 2003)",
        f"{_NO_FIGURE}; a summary of the cells is none of the pack, which is a type of its own",
        "UN Manual of Tests and Criteria, 38.3 and 38.3.5, secondary copies",
    ),
    _known(
        r"20231542|EUBATTERYREGULATION|BATTERYREGULATION|ARTICLE10|ART10",
        "for a pack of a light means of transport of at most 25 kg: a document with rated capacity, power, "
        "internal resistance and expected life in cycles, with their conditions, due since 18 August 2024",
        "that those figures are this listing's; ask for the document and compare",
        "Regulation (EU) 2023/1542, Articles 3(1)(11) and 10(1), Annex IV Part A",
    ),
    _known(
        r"50604",
        "safety tests of a removable lithium pack of a light electric vehicle; since 24 August 2025 the one "
        "way to meet EN 15194 for its battery",
        f"{_NO_FIGURE}; it does not cover the cells",
        "EN 50604-1:2016+A1:2021, catalogue pages; trade association's note on EN 15194:2017+A1:2023",
    ),
    _known(
        r"15194",
        "that a whole assisted cycle meets its standard: at most 250 W continuous rated power, assistance up "
        "to 25 km/h, at most 48 V d.c.",
        f"anything of a pack sold alone, nor {_NO_FIGURE}",
        "EN 15194:2017, catalogue pages",
    ),
    _known(
        r"2271",
        "safety tests of a battery for light electric vehicles",
        f"{_NO_FIGURE}: its clause 1.2 evaluates neither performance nor reliability",
        "UL 2271, edition of 14 September 2023, clause 1.2, secondary copies",
    ),
    _known(
        r"2849",
        "safety tests of the electrical system of a whole e-bike: battery, charger and motor together",
        f"anything of the pack in another vehicle or with another charger, nor {_NO_FIGURE}",
        "UL 2849, test laboratory's notes",
    ),
    _known(
        r"62133",
        "safety tests of small sealed cells and batteries",
        f"{_NO_FIGURE}; for a pack of an assisted cycle it no longer counts since 24 August 2025",
        "IEC 62133-2, from memory; trade association's note on EN 15194:2017+A1:2023",
    ),
    _known(
        r"^CE(MARK|MARKED|MARKING|CERTIFIED|CERTIFICATE|APPROVED)?$",
        "that the maker itself declares conformity with the rules of the EU; ask for the declaration",
        f"that anybody else tested it, nor {_NO_FIGURE}",
        "Regulation (EU) 2023/1542, CE conformity since 18 August 2024; self-declaration from memory",
    ),
    _known(
        r"ROHS",
        "that the maker declares limits on hazardous substances",
        f"any safety test, nor {_NO_FIGURE}",
        "Directive 2011/65/EU, from memory",
    ),
    _known(
        r"MSDS|SDS|SAFETYDATASHEET",
        "what is in the cells and what to do in an accident",
        f"any test, nor {_NO_FIGURE}",
        "common practice, no source",
    ),
)  # fmt: skip
_UNKNOWN_MARK = (
    "nothing that is known here; ask for the report and who made it",
    f"{_NO_FIGURE}, as far as is known here",
    "no source",
)

_SOLIDS = {
    "0": "nothing", "1": "bodies of 50 mm or more", "2": "bodies of 12.5 mm or more",
    "3": "bodies of 2.5 mm or more", "4": "bodies of 1 mm or more",
    "5": "dust in harmful amounts", "6": "all dust",
}  # fmt: skip
_WATER = {
    "0": "nothing", "1": "vertical drips", "2": "drips at a tilt of 15 degrees", "3": "spray",
    "4": "splashes", "5": "jets", "6": "powerful jets", "7": "immersion to 1 m for 30 min",
    "8": "immersion deeper than 1 m as agreed with the maker", "9": "hot jets at high pressure",
}  # fmt: skip
_IP = re.compile(r"IP([0-6X])([0-9X])K?")
_INGRESS_SOURCE = "IEC 60529; first digit and drips read in a secondary copy, the rest from memory"


def papers(pack: Pack) -> tuple[Paper, ...]:
    """Return a statement for every mark that the seller names, for its ingress code, and on transport."""
    claim = pack.claim
    found = [certificate(mark) for mark in claim.certificates]
    if claim.ingress is not None:
        found.append(ingress(claim.ingress))
    return tuple(dict.fromkeys([*found, *_transport(pack)]))


def certificate(mark: str) -> Paper:
    """Return what a mark shows and does not show; an ingress code among the marks is read as one."""
    squeezed = re.sub(r"[^0-9A-Z]", "", mark.upper())
    if _IP.fullmatch(squeezed):
        return ingress(mark)
    for known in _MARKS:
        if known.pattern.search(squeezed):
            return Paper(mark, known.shows, known.does_not_show, known.source)
    return Paper(mark, *_UNKNOWN_MARK)


def ingress(code: str) -> Paper:
    """Return what an ingress code says, digit by digit (IEC 60529)."""
    match = _IP.fullmatch(re.sub(r"[^0-9A-Z]", "", code.upper()))
    if match is None:
        return Paper(code, "nothing: it is no code of IEC 60529, such as IP65", _NO_FIGURE, _INGRESS_SOURCE)
    solid, water = match.groups()
    parts = [
        f"protected against {_SOLIDS[solid]}" if solid != "X" else "solids not tested",
        f"water: {_WATER[water]}" if water != "X" else "water not tested",
    ]
    limits = f"that it withstands salt or age, that the battery is safe, nor {_NO_FIGURE}"
    if water in "78":
        limits += "; immersion does not include jets"
    return Paper(code, "; ".join(parts), limits, _INGRESS_SOURCE)


def _transport(pack: Pack) -> list[Paper]:
    stated = claimed_energy_wh(pack)
    if stated is None:
        return []
    energy, words, _ = stated
    if energy.low <= SMALL_BATTERY_WH:
        return []
    return [
        Paper(
            f"transport of {words}",
            "that it is above 100 Wh: class 9 dangerous goods, UN 3480 alone or UN 3481 with equipment, "
            "and the watt-hours must stand on the case; ordinary air post is a warning",
            "how this pack was declared or shipped",
            "UN Model Regulations, special provision 188, and marking of those made after 31 December 2011, "
            "as carriers' guides print them; watt-hour rating 49 CFR 171.8",
        )
    ]  # fmt: skip
