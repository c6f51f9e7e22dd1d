"""Case drafts: what the seller of a listing truly claims of each pack, with the words of each figure."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from verifier.case.model import Claim
from verifier.listing.agreeing import STATED_DIFFERENTLY, Settled, agrees, numbers_in, settled
from verifier.listing.reading import ListingClaim, ListingReading, ListingVariant

_LONGEST_TITLE = 100
_LONGEST_WORDS = 60
_MOST_COMMENTS = 40
_ENERGY = "energy_wh"
_MARKING = "cell_marking"
# Volts are named a tenth off; and no full or rounded pack holds half as much again. Common practice, no source.
_ROUNDED, _FAR_APART = 1.1, 1.5
# Figures of which a pack has one, whatever the air and the load. Of others two lines may be two kinds.
_NAMED_ONCE = frozenset({"capacity_ah", "continuous_current_a"})
# A load that a seller calls suitable is judged as the seller's own claim, see the figure load_power.
_SUITS = "load_power_w"
# By which an editor completes and checks the file as it is typed.
_SCHEMA = "# yaml-language-server: $schema=schemas/case.schema.json"
IN_WORDS = {
    "stated": "as stated", "title": "in the title", "compatibility": "said to suit",
    "trip": "where the BMS trips", "peak": "a peak", "continuous": "continuous",
    "per_cell": "of one cell", "negated": "denied or not included",
    "derived": "not the seller's word of now", "other_product": "of another product",
}  # fmt: skip


def clean(text: str, longest: int) -> str:
    """Return text on one line without control signs and pictures, no longer than ``longest``."""
    kept = "".join(
        letter if (letter.isprintable() and ord(letter) < 0x2190) or letter.isalnum() else " "
        for letter in text
    )
    line = " ".join(kept.split())
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


def _settled(found: list[ListingClaim]) -> Any:
    """Return the one value or range that all statements agree on, or None."""
    values = {claim.value for claim in found}
    return values.pop() if len(values) == 1 else None


def _at_both(found: list[ListingClaim]) -> list[float] | None:
    """Return the span of numbers that differ; None where any of them is no number."""
    ends = [
        end for claim in found for end in (claim.value if isinstance(claim.value, tuple) else (claim.value,))
    ]
    numbers = [end for end in ends if isinstance(end, (int, float)) and not isinstance(end, bool)]
    return [min(numbers), max(numbers)] if numbers and len(numbers) == len(ends) else None


def _energy_of_no_pack(variant: ListingVariant, found: list[ListingClaim]) -> bool:
    """Return whether a text states this pack's energy, and another that is that of no pack it speaks of.

    Of another pack the text says the ampere-hours too, as a rule; a second capacity alone is such a pack's, which no
    rule can tell from a lie.
    """
    volts = [end for each in variant.claimed("nominal_voltage_v") for end in _ends(each.value)]
    own = [end for each in variant.claimed("capacity_ah") for end in _ends(each.value)]
    told = [end for each in variant.claims.get("capacity_ah", ()) for end in _ends(each.value)]
    energies = {end for each in found for end in _ends(each.value)}

    def made(energy: float, capacities: list[float], apart: float) -> bool:
        return any(1 / apart < energy / (one * each) < apart for one in volts for each in capacities)

    return any(made(each, own, _ROUNDED) for each in energies) and any(
        not made(each, told, _FAR_APART) for each in energies
    )


def _plain(value: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return [_plain(each) for each in value]
    return int(value) if isinstance(value, float) and value == int(value) else value


def _is_valid(field: str, value: Any) -> bool:
    try:
        Claim.model_validate({field: value})
    except ValidationError:
        return False
    return True


def _ends(value: Any) -> list[float]:
    return [each for each in (value if isinstance(value, tuple) else (value,)) if isinstance(each, float)]


def _loads(found: list[ListingClaim]) -> tuple[Any, list[ListingClaim]]:
    suits = [claim for claim in found if claim.kind == "compatibility" and claim.doubt is None]
    values = [end for claim in suits for end in _ends(claim.value)]
    if not values:
        return None, []
    return (values[0] if len(set(values)) == 1 else [min(values), max(values)]), suits


@dataclass(frozen=True, slots=True)
class _Choice:
    """The value to judge, the statements it rests on, why there is none, and whether they contradict each other."""

    value: Any
    used: list[ListingClaim]
    why_none: str = ""
    differs: bool = False


def _choice(variant: ListingVariant, field: str, others: Sequence[ListingVariant]) -> _Choice:
    if field == _SUITS:
        return _Choice(*_loads(variant.claims[field]))
    stated = variant.claimed(field)
    sure = [claim for claim in stated if claim.doubt is None]
    if field == "certificates":
        return _Choice(list(dict.fromkeys(str(claim.value) for claim in sure)) or None, sure)
    if not sure:
        return _Choice(None, stated, "in doubt" if stated else "")
    body = _below_title(sure)
    # What is called continuous goes before what is only called a current.
    named = [claim for claim in body if claim.kind == "continuous"]
    used = named or body or sure
    value = _settled(used)
    twice = field in _NAMED_ONCE and not others and _two_lines_differ(field, used)
    if value is None:
        # What is stated twice, differently, is judged at both values: it is claimed, whichever is meant.
        value = _at_both(used)
        twice = twice or (field == _ENERGY and not others and _energy_of_no_pack(variant, used))
    if value is None:
        return _Choice(None, used, "stated differently, none can be preferred")
    titles = [claim for claim in sure if claim.kind == "title"]
    if not body or not titles or _of_another(field, titles, others):
        return _Choice(value, used, differs=twice)
    if (
        field == _MARKING
        and all(each.own_line and each.value != value for each in titles)
        and used[0].own_line
    ):
        return _Choice(value, [*titles, *used], differs=True)
    # A title that names several gives way where one of them is meant.
    found = [settled(field, value, title.value) for title in titles]
    if any(each == Settled(value) for each in found):
        return _Choice(value, used, differs=twice)
    apart = found[0].value if isinstance(value, str) else list(numbers_in(each.value for each in found))
    return _Choice(apart, [*titles, *used], differs=twice or all(each.differs for each in found))


def _two_lines_differ(field: str, claims: Sequence[ListingClaim]) -> bool:
    """Return whether two lines that say nothing but this figure differ by more than rounding."""
    values = {claim.value for claim in claims if claim.own_line and isinstance(claim.value, float)}
    return len(values) > 1 and settled(field, min(values), max(values)).differs


def _below_title(claims: Sequence[ListingClaim]) -> list[ListingClaim]:
    return [claim for claim in claims if claim.kind != "title"]


def _of_another(field: str, titles: Sequence[ListingClaim], others: Sequence[ListingVariant]) -> bool:
    """Return whether the title speaks of another pack of the listing: one that states what the title says."""
    return any(
        agrees(field, claim.value, title.value)
        for other in others
        for claim in _below_title(other.claimed(field))
        for title in titles
    )


def claims_of(variant: ListingVariant, among: Sequence[ListingVariant] = ()) -> dict[str, Any]:
    """Return the claim fields of a case that the seller states of this pack.

    Of numbers that differ within the text the span is taken, and of a title and a text that differ too, which is then
    told by ``stated_differently``; a title that is the text's figure rounded gives way.

    Parameters
    ----------
    variant
        The pack.
    among
        All packs that the listing offers: a title may name another of them.
    """
    taken: dict[str, Any] = {}
    differing = []
    for field in variant.claims:
        choice = _choice(variant, field, _others(variant, among))
        value = _plain(choice.value)
        if value is not None and field in Claim.model_fields and _is_valid(field, value):
            taken[field] = value
            if choice.differs:
                differing.append(field)
    return taken | ({STATED_DIFFERENTLY: differing} if differing else {})


def _others(variant: ListingVariant, among: Sequence[ListingVariant]) -> list[ListingVariant]:
    return [each for each in among if each is not variant]


def _words(claims: list[ListingClaim]) -> str:
    return ", ".join(
        f"'{clean(claim.text, _LONGEST_WORDS)}' ({claim.inferred or IN_WORDS[claim.kind]})"
        for claim in claims[:4]
    )


def _lines(variant: ListingVariant, among: Sequence[ListingVariant]) -> Iterator[str]:
    taken = claims_of(variant, among)
    others = _others(variant, among)
    if taken:
        yield "claim:"
    for field, value in taken.items():
        if field == STATED_DIFFERENTLY:
            yield f"  {field}: {json.dumps(value)}  # the listing contradicts itself"
            continue
        used = _choice(variant, field, others).used
        if field == "certificates":
            used = list({claim.value: claim for claim in used}.values())
        yield f"  {field}: {json.dumps(value, ensure_ascii=False)}  # {_words(used)}"
    for field, claims in variant.claims.items():
        if field in taken:
            # By identity: to compare every claim with every other takes minutes in a text with thousands.
            known = {id(claim) for claim in _choice(variant, field, others).used}
            left = [claim for claim in claims if id(claim) not in known]
            if left:
                yield f"  # {field}, not taken: {_words(left)}"
        else:
            why = _choice(variant, field, others).why_none
            yield f"  # {field}, not taken: {_words(claims)}{'; ' + why if why else ''}"


CONDITION, CYCLES = "condition", "cycles"
# By the names of the fields of a case.
FIELDS_OF_USE = {CONDITION: "case.condition", CYCLES: "observed.cycles"}


def use_of(variant: ListingVariant) -> dict[str, Any]:
    """Return what the seller tells of the use of a pack so far: its condition, and its cycles where all agree."""
    found = {name: _settled(told) for name, told in variant.use_so_far.items() if name in FIELDS_OF_USE}
    return {name: _plain(value) for name, value in found.items() if value is not None}


def _told(variant: ListingVariant, name: str) -> str:
    claims = variant.use_so_far.get(name)
    return f"  # {_words(claims)}" if claims else ""


def title_of(reading: ListingReading, number: int) -> str:
    """Return the title of a variant's case."""
    title = clean(reading.title, _LONGEST_TITLE).strip(" -,.:;!") or "Listing"
    name = clean(reading.variants[number].name, 40)
    return f"{title} ({name})" if len(reading.variants) > 1 and name else title


def case_drafts(reading: ListingReading) -> list[str]:
    """Return a case file's text for every variant.

    Parameters
    ----------
    reading : ListingReading
        What was read from one listing.
    """
    drafts = []
    for number, variant in enumerate(reading.variants):
        lines = [
            _SCHEMA,
            "# Read from a listing; the words of each figure stand behind it. Check them before judging.",
        ]
        lines += [f"# Note: {clean(remark.text, 300)}" for remark in reading.remarks[:_MOST_COMMENTS]]
        use = use_of(variant)
        title = json.dumps(title_of(reading, number), ensure_ascii=False)
        condition, cycles = use.get(CONDITION), use.get(CYCLES)
        told = "" if condition is None else f", condition: {condition}"
        lines.append(f"case: {{title: {title}, stage: listed{told}}}{_told(variant, CONDITION)}")
        lines += _lines(variant, reading.variants)
        if cycles is not None:
            lines += ["observed:", f"  cycles: {json.dumps(cycles)}{_told(variant, CYCLES)}"]
        lines += [
            f"# Not understood: '{clean(each.text, _LONGEST_WORDS)}' in '{clean(each.words, 120)}'"
            for each in reading.not_understood[:_MOST_COMMENTS]
        ]
        drafts.append("\n".join(lines) + "\n")
    return drafts
