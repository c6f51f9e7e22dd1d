"""Case drafts: what the seller of a listing truly claims of each pack, with the words of each figure."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from pydantic import ValidationError

from verifier.case.model import Claim
from verifier.listing.reading import ListingClaim, ListingReading, ListingVariant

_LONGEST_TITLE = 100
_LONGEST_WORDS = 60
_MOST_COMMENTS = 40
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


def _choice(variant: ListingVariant, field: str) -> tuple[Any, list[ListingClaim], str]:
    """Return the value to judge, the statements it rests on, and why nothing is taken when there is none."""
    if field == _SUITS:
        value, used = _loads(variant.claims[field])
        return value, used, ""
    stated = variant.claimed(field)
    sure = [claim for claim in stated if claim.doubt is None]
    if field == "certificates":
        return list(dict.fromkeys(str(claim.value) for claim in sure)) or None, sure, ""
    if not sure:
        return None, stated, "in doubt" if stated else ""
    body = [claim for claim in sure if claim.kind != "title"]
    # What is called continuous goes before what is only called a current.
    named = [claim for claim in body if claim.kind == "continuous"]
    used = named or body or sure
    value = _settled(used)
    if value is None:
        # What is stated twice, differently, is judged at both values: it is claimed, whichever is meant.
        value = _at_both(used)
    return value, used, "" if value is not None else "stated differently, none can be preferred"


def claims_of(variant: ListingVariant) -> dict[str, Any]:
    """Return the claim fields of a case that the seller states of this pack.

    A title gives way to the text below it; of numbers that differ within the text the span is taken.
    """
    taken: dict[str, Any] = {}
    for field in variant.claims:
        value = _plain(_choice(variant, field)[0])
        if value is not None and field in Claim.model_fields and _is_valid(field, value):
            taken[field] = value
    return taken


def _words(claims: list[ListingClaim]) -> str:
    return ", ".join(
        f"'{clean(claim.text, _LONGEST_WORDS)}' ({claim.inferred or IN_WORDS[claim.kind]})"
        for claim in claims[:4]
    )


def _lines(variant: ListingVariant) -> Iterator[str]:
    taken = claims_of(variant)
    if taken:
        yield "claim:"
    for field, value in taken.items():
        used = _choice(variant, field)[1]
        if field == "certificates":
            used = list({claim.value: claim for claim in used}.values())
        yield f"  {field}: {json.dumps(value, ensure_ascii=False)}  # {_words(used)}"
    for field, claims in variant.claims.items():
        if field in taken:
            # By identity: to compare every claim with every other takes minutes in a text with thousands.
            known = {id(claim) for claim in _choice(variant, field)[1]}
            left = [claim for claim in claims if id(claim) not in known]
            if left:
                yield f"  # {field}, not taken: {_words(left)}"
        else:
            why = _choice(variant, field)[2]
            yield f"  # {field}, not taken: {_words(claims)}{'; ' + why if why else ''}"


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
        lines.append(
            f"case: {{title: {json.dumps(title_of(reading, number), ensure_ascii=False)}, stage: listed}}"
        )
        lines += _lines(variant)
        lines += [
            f"# Not understood: '{clean(each.text, _LONGEST_WORDS)}' in '{clean(each.words, 120)}'"
            for each in reading.not_understood[:_MOST_COMMENTS]
        ]
        drafts.append("\n".join(lines) + "\n")
    return drafts
