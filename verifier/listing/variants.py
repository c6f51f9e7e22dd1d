"""Which packs a listing offers, and which figure belongs to which.

Packs are told by structure: the rows or columns of a table, list items with a letter or a name, headings, and
pairs that stand side by side in one line. What stands elsewhere goes to a pack by key ("model D"), by voltage
or capacity ("60V: 71.4V 3A"), or by order; a single figure goes to all. Several figures of which nothing says
whose they are go to none, and that is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from verifier.listing.found import Found, Variant, shown
from verifier.listing.offer_finder import Listing, Offers
from verifier.listing.offers import find_offers
from verifier.listing.reading import ListingRemark
from verifier.listing.sharing import share

_TITLE_LISTS = (
    "nominal_voltage_v", "capacity_ah", "energy_wh", "continuous_current_a", "bms_current_a", "max_current_a",
    "price", "load_power_w",
)  # fmt: skip
_OF_CHARGERS = frozenset({"charge_voltage_v", "charge_current_a"})
_NAMED_BY = ("nominal_voltage_v", "capacity_ah")
_OF_A_RANGE = frozenset({"nominal_voltage_v", "capacity_ah", "energy_wh", "price", "currency"})
_UNSAID = "of which pack is not said"


@dataclass(slots=True)
class Parted:
    """The packs on offer, and what is to be said about the parting."""

    variants: list[Variant]
    remarks: list[ListingRemark]


def variants_of(listing: Listing) -> Parted:
    """Return the variants, each with its own figures and those that all share."""
    found = listing.found
    offers = find_offers(listing)
    if offers is None:
        return Parted([Variant(_pack_name(found), _without_lone_seconds(found))], [])
    share(listing, offers)
    _give_to_titled(found, offers)
    _drop_title(found, offers)
    unsaid = list(_unsaid(found, offers))
    variants = _shared_out(offers, found)
    return Parted(variants, unsaid)


def _without_lone_seconds(found: list[Found]) -> list[Found]:
    """Drop seconds of a pack that has no peak."""
    peak = any(each.field == "peak_current_a" for each in found)
    return found if peak else [each for each in found if each.field != "peak_seconds"]


def _pack_name(found: Sequence[Found]) -> str:
    parts = []
    for field, unit in (("nominal_voltage_v", "V"), ("capacity_ah", "Ah")):
        first = next((each for each in found if each.field == field and each.claimed), None)
        if first is not None:
            parts.append(f"{shown([first.value])} {unit}")
    return " ".join(parts)


def _shared_out(offers: Offers, found: list[Found]) -> list[Variant]:
    variants = [Variant(name) for name in offers.names]
    for number, variant in enumerate(variants):
        own = [each.copy() for each in found if number in offers.owners.get(each, ())]
        fields = {each.field for each in own if each.claimed}
        common = [
            each.copy()
            for each in found
            if each not in offers.owners and not (each.field in fields and each.claimed)
        ]
        variant.found = _without_lone_seconds([*own, *common])
        variant.name = variant.name or _pack_name(own) or f"variant {number + 1}"
    return variants


def _give_to_titled(found: list[Found], offers: Offers) -> None:
    """Give a page's figures to the pack of its title, where the others are only named in a list of a shop's range."""
    titled = {
        name: {each.value for each in found if each.title and each.claimed and each.field == name}
        for name in _NAMED_BY
    }
    if any(len(values) != 1 for values in titled.values()):
        return
    own = [
        {
            (each.field, each.value)
            for each, owners in offers.owners.items()
            if index in owners and each.claimed
        }
        for index in range(len(offers.names))
    ]
    wanted = {(name, value) for name, values in titled.items() for value in values}
    matching = [index for index, figures in enumerate(own) if wanted <= figures]
    if len(matching) != 1 or any(name not in _OF_A_RANGE for figures in own for name, _ in figures):
        return
    for each in found:
        if each not in offers.owners and each.claimed:
            offers.owners[each] = (matching[0],)


def _drop_title(found: list[Found], offers: Offers) -> None:
    """Leave out what a title lists for several packs: it says nothing of any one."""
    for field in _TITLE_LISTS:
        loose = [
            each
            for each in found
            if each.field == field and each.title and each not in offers.owners and each.claimed
        ]
        if len({each.value for each in loose}) > 1:
            for each in loose:
                offers.owners[each] = ()


def _unsaid(found: list[Found], offers: Offers) -> Iterator[ListingRemark]:
    """Leave out figures that differ within one line while nothing says which pack they belong to.

    Of chargers those of all lines are compared: a list of them may have a line each.
    """
    lines: dict[tuple[int, str], list[Found]] = {}
    for each in found:
        if each not in offers.owners and each.claimed and not each.title:
            lines.setdefault((-1 if each.field in _OF_CHARGERS else each.line, each.field), []).append(each)
    for (_, field), several in lines.items():
        if field in ("certificates", "load_power_w", "currency") or len({each.value for each in several}) < 2:
            continue
        values = shown(each.value for each in several)
        for each in several:
            offers.owners[each] = ()
        yield ListingRemark(text=f"{field} {values}: {_UNSAID}; ask the seller", about=[field])
