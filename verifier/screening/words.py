"""What a screening says beside the answers of a check, by code: rows, headings, how to read them, and the summary.

English stands here; any other language is in the same catalogue as the answer of a check, `verifier.words.language`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from verifier.case_report import CAUTIONS
from verifier.screening.results import CONCLUSIONS, PROOFS
from verifier.verdict import MEANINGS
from verifier.words import ENGLISH, Language, in_language

ROWS = {
    "beware": "{sentence} Beware: {dangers}.",
    "not_all_read": "Cannot tell yet: not all that is stated could be read ({note}).",
    "no_pack": "It offers no battery pack, but {thing}.",
    "not_judged": "Not judged: {fault}.",
    "pack_of": "{pack} of {count}",
}
HEADS = (
    "row", "pack", "seller", "title", "conclusion", "severity", "sentence", "alarm", "danger", "contradiction",
    "worst_figure", "claimed", "supported", "margin_percent", "proof", "questions", "not_read",
)  # fmt: skip
OUTCOMES = tuple(dict.fromkeys(each.group for each in MEANINGS.values()))
# The page that a spreadsheet ends with: each conclusion, and each column that does not speak for itself.
HOW_TO_READ = {
    "sheet": "How to read",
    "conclusions": "conclusion, worst first",
    "means": "means",
    "do not use": "an alarm: it must not be used or charged as it is",
    "contradicts itself": "two statements of the listing exclude each other; the column contradiction says which",
    "not as advertised": "at least one figure is more than the pack can give, or does not go with another one",
    "not settled": "too little is known to say; nothing claimed is shown to be false",
    "as advertised if the seller's word holds": "true if the cells and counts are what the seller says",
    "as advertised without reserve": "true, but at the limit of the cells or parts",
    "as advertised": "all that is claimed can be true",
    "nothing claimed": "the listing claims no figure that can be judged",
    "unreadable": "the row could not be read; the sentence says why",
    "no battery pack": "what it offers is no battery pack; the sentence says what it is",
    "column": "column",
    "holds": "holds",
    "row": "the listing's row in the table that came in, counted from 1 below the headings",
    "pack": "which of the packs that the listing offers",
    "severity": "1 is the worst conclusion, 9 a row that could not be read, 10 one that offers no pack",
    "danger": "what is dangerous in the pack, such as a charger that overcharges it, whatever is claimed of it",
    "worst_figure": "of the advertised figures that fail, or that the listing contradicts itself about, the one that "
    "can do most harm: currents, then voltages, then capacity and energy, then times; of equals what fails most",
    "claimed": "what is claimed of that figure; of one that is stated twice, differently, both values",
    "supported": "what can be supported of it; where the listing contradicts itself, what its other statements make it",
    "margin_percent": "supported over claimed, less 1: at best where the claim fails, at least where it holds; where "
    "the listing contradicts itself, the smaller of the two statements over the larger, less 1",
    "proof": "on what a refusal rests, surest first: {proofs}",
    "not_read": "values of the row that could not be read; the row was judged without them",
    "about": "how it was read and judged",
}
CAUTIONED = ("caution_arithmetic", "caution_burns", "caution_sound")
SUMMARY = {
    "screened": "{name}: listings screened",
    "kicker": "Listings screened",
    "answer": "Answer",
    "sheet": "Summary",
    "what": "what",
    "result": "result",
    "how_to_read": "How to read this",
    "judged_by": "Judged by",
    "cautions": "Cautions",
    "file": "file",
    "bars": "Each bar is all claims of its kind. The numbers stand in the table below.",
    "flagged": "{flagged} of {judged} listings are flagged: they claim what the pack cannot do, contradict themselves "
    "or raise an alarm.",
    "none_judged": "No listing could be judged.",
    "none_claims": "No listing claims a figure that can be judged.",
    "one_without": "1 listing offers no battery pack.",
    "without": "{count} listings offer no battery pack.",
    "unread": "{unread} of {rows} rows could not be read.",
    "one_failed": "1 check failed; nothing follows from them.",
    "failed": "{count} checks failed; nothing follows from them.",
    "one_dangerous": "1 listing is dangerous to charge or use.",
    "dangerous": "{count} listings are dangerous to charge or use.",
    "one_listing": "1 listing",
    "listings": "{count} listings",
    "one_pack": "1 pack",
    "packs": "{count} packs",
    "one_claim": "1 claim",
    "claims": "{count} claims",
    "one_cell": "1 cell",
    "cells": "{count} cells",
    "by_conclusion": "Listings by conclusion",
    "by_conclusion_caption": "{listings}, {packs} on offer; worst first",
    "by_figure": "Claims by figure",
    "by_figure_caption": "How many packs claim each figure, and what becomes of the claims",
    "dangers": "Dangerous listings",
    "dangers_caption": "What may burn, whatever else is claimed of it, as it stands in the table",
    "worst": "Worst by proof: {proof}",
    "worst_sheet": "Worst, {proof}",
    "worst_caption": "The {count} that are farthest off, worst first",
    "worst_one": "The one there is",
    "not_shown": "; {count} more are not shown here, and stand in the result",
    "sellers": "Sellers",
    "one_seller": "1 seller",
    "many_sellers": "{count} sellers",
    "sellers_caption": "All {sellers} by the low end of the likely range, so that few listings weigh little; "
    "flagged: an alarm, a contradiction or not as advertised",
    "of_sellers": "Flagged listings by seller",
    "of_sellers_caption": "The {count} worst of each seller at most",
    "more_in_result": "; {count} more stand in the result",
    "reasons_caption": "Listings by reason; '…' stands for what differs from row to row",
    "further": "(further reasons)",
    "no_seller": "(no seller given)",
    "others": "(all others)",
    "kind_alarm": "Alarms",
    "kind_danger": "Dangers",
    "kind_contradiction": "Statements that exclude each other",
    "kind_refuted": "Claims beyond what is supported",
    "kind_not_read": "Values that could not be read (the rows were judged without them)",
    "kind_unread": "Rows that could not be read",
    "head_conclusion": "conclusion",
    "head_listings": "listings",
    "head_share": "share",
    "head_figure": "figure",
    "head_claimed": "claimed",
    "head_row": "row",
    "head_seller": "seller",
    "head_title": "title",
    "head_why": "why",
    "head_danger": "danger",
    "head_flagged": "flagged",
    "head_range": "likely range of the share",
    "head_not_settled": "cannot tell yet",
    "head_unreadable": "unreadable",
    "head_reason": "reason",
    "range_of": "{low} to {high} %",
    "counting": "A listing counts once, with the worst of the packs it offers. Contradicts itself: statements of the "
    "listing exclude each other. Not as advertised: more is claimed than the cells' datasheets support, or a figure "
    "does not go with another one. Cannot tell yet: nothing claimed is shown to be false.",
    "flagging": "Flagged are listings that contradict themselves, are not as advertised or raise an alarm. Only what "
    "was found is counted, so there may be more. The likely range of a seller's share is wide where few listings were "
    "seen: in 19 of 20 cases the share among many such listings is within it. None of this says why a listing is "
    "wrong.",
    "by_registry": "registry",
    "by_reserve": "reserve",
    "by_reserve_share": "{share} of a current or power limit are used",
    "two_thirds": "two thirds",
    "by_air": "air of use where a row names none",
    "by_limits": "limits changed",
    "none": "none",
    "by_digest": "registry's fingerprint, to tell later by which datasheets it was judged",
    **dict(zip(CAUTIONED, CAUTIONS, strict=True)),
}
TEXTS: Mapping[str, Mapping[str, str]] = {
    "rows": ROWS, "how_to_read": HOW_TO_READ, "summary": SUMMARY,
}  # fmt: skip
NAMES = {"heads": HEADS, "conclusions": CONCLUSIONS, "proofs": PROOFS, "outcomes": OUTCOMES}


def say(group: str, code: str, language: Language = ENGLISH, **slots: object) -> str:
    """Return a text of one of `TEXTS`, whole in English where the language has none."""
    return in_language(lambda spoken: spoken.text(group, code, TEXTS[group]), language).format_map(slots)


def row_text(code: str, language: Language = ENGLISH, **slots: object) -> str:
    """Return a sentence of a row."""
    return say("rows", code, language, **slots)


def name(group: str, code: str, language: Language = ENGLISH) -> str:
    """Return a name of one of `NAMES`."""
    return in_language(lambda spoken: spoken.name(group, code, code), language)


@cache
def heads(language: Language) -> Mapping[str, str]:
    """Return how the columns of an answer are headed, by name."""
    return {head: name("heads", head, language) for head in HEADS}
