"""What is exchanged: what the old one had is past, and what the new one has is the new one's figure.

"The 15 A BMS is replaced with one of 25 A continuous": the pack has a BMS of 25 A, and promises no current.
"We swap your 10 Ah for 14 Ah", "10 Ah -> 14 Ah", "your 36 V 10 Ah pack": what the buyer has is no claim.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import groupby, pairwise

from verifier.listing.clauses import Clause
from verifier.listing.labels import KINDS, Label, affects
from verifier.listing.linking import Linking
from verifier.listing.quantity import Quantity
from verifier.listing.source import LETTER

TAKEN_OUT, PUT_IN, WANTED = "taken out", "put in", "wanted"
_PARTS = frozenset({"bms", "charger", "controller", "connector", "fuse", "lead", "cell"})
_MEASURES = frozenset({"current", "capacity", "power"})
_OF_PACKS = frozenset({"voltage", "capacity", "energy", "current", "series", "parallel", "cells"})
_GROWS = frozenset({"capacity", "energy", "current"})
# "8.9 Ah → after the exchange 14 Ah".
_ARROW = re.compile(r"\s*(?:[-=]+>|[→➜➔➡⇒])\ufe0f?\s*[^\d\n.,;。；]{0,16}")
_WORD = re.compile(rf"[{LETTER}]+|[一-鿿]")
_OPENED = re.compile(r"[^\d\n()（）]{0,8}[(（]")
# At most two words, and no figure, stand between a verb and its figure.
_ROUGHLY = re.compile(rf"[ \u00a0]?(?:[{LETTER}'.]{{1,15}}\s){{0,2}}[~≈±]?")
_STOP = re.compile(r"[.!?](?=\s)|[。！？;；]")
# "by a new one of", "für einen neuen mit": so many words may part the new figure from its "for".
_MOST_WORDS = 5
# The new is of the size of the old: 40 cells of 2.6 Ah, made into a pack of 10.4 Ah, are no exchange.
_MOST_TIMES = 4.0
_LONGEST_YOURS = 32
_MOST_FIGURES = 40
_NEAR_AGAINST = 3
_BESIDE_SWAP = 12
_CHANGES = frozenset({"capacity", "energy", "mass", "distance"})
_GROWING = _CHANGES | {"current"}
_BEHIND_YOURS = 14


def mark_exchanges(lower: str, clauses: Sequence[Clause], into: frozenset[str], linking: Linking) -> None:
    """Mark the figures of what is taken out or put in, and give a new part's figures the part's name.

    Parameters
    ----------
    lower : str
        The folded text.
    clauses : sequence of Clause
        With their numbers bound to their labels.
    into : frozenset of str
        The words that stand between the old and the new.
    linking : Linking
        For the words that stand before the old ("from").
    """
    for clause in clauses:
        _mark_parts(clause)
        _mark_growth(lower, clause)
    _mark_more_growth(lower, clauses, re.compile(rf"{linking.either('from')}\s\Z"))
    for _, group in groupby(clauses, key=lambda clause: clause.sentence):
        sentence = list(group)
        if _mark_wanted(lower, sentence, into - linking.of("up_to")):
            continue
        _mark_against(sentence)
        _mark_becoming(sentence)
        figures = [q for clause in sentence for q in clause.quantities if q.dimension in _OF_PACKS]
        verbs = [v for clause in sentence for v in clause.voices if "exchanging" in v.names]
        # No sentence of people is so long, and no text takes long.
        figures, verbs = figures[:_MOST_FIGURES], verbs[:_MOST_FIGURES]
        _mark_old_and_new(lower, figures, verbs, into)
    _mark_yours(lower, clauses)
    _mark_present(lower, clauses)


# -- parts ---------------------------------------------------------------------------------------------------


def _mark_parts(clause: Clause) -> None:
    verb = next((voice for voice in clause.voices if "exchanged" in voice.names), None)
    figures = [q for q in clause.quantities if q.dimension in _MEASURES]
    if verb is None or not figures:
        return
    new = _put_in(figures, verb)
    parts = [
        label for label in clause.labels
        if label.names & _PARTS and label.end <= min(verb.start, new[0].start if new else verb.start)
    ]  # fmt: skip
    if not parts:
        return
    for quantity in figures:
        if quantity.start >= parts[-1].end:
            _give_part(quantity, parts[-1].names)
        if quantity in new:
            quantity.about.add(PUT_IN)
        elif any(quantity.dimension == each.dimension for each in new):
            quantity.about.add(TAKEN_OUT)


def _put_in(figures: Sequence[Quantity], verb: Label) -> list[Quantity]:
    """Return the new part's figures: behind the verb, or behind the first where the verb ends the clause."""
    behind = [quantity for quantity in figures if quantity.start >= verb.end]
    return behind if behind else list(figures[1:])


def _give_part(quantity: Quantity, names: Iterable[str]) -> None:
    if not quantity.own & _PARTS:
        quantity.own |= {name for name in names if name in _PARTS and affects(name, quantity)}


def _mark_growth(lower: str, clause: Clause) -> None:
    """Take the later of two figures: "the weight goes from 2.6 to 2.9 kg", "2.6kg增加到2.9kg"."""
    for verb in clause.voices:
        if "grows" not in verb.names:
            continue
        behind = next((q for q in clause.quantities if q.start >= verb.end), None)
        # "from about 40 km to 65 km": a word of how sure it is parts nothing.
        if behind is not None and not _ROUGHLY.fullmatch(lower, verb.end, behind.start):
            behind = None
        # "30Ahから40Ahへ増量": the verb stands behind.
        ended = next((q for q in clause.quantities if q.end == verb.start and q.high is not None), None)
        if ended is not None and ended.dimension == "capacity":
            ended.about.add(PUT_IN)
            ended.own.add("capacity")
        behind = behind or ended
        if behind is not None and behind.high is not None:
            _take_second(lower, behind)
        near = [q for q in clause.quantities if q.dimension in _GROWING]
        for old, new in pairwise(near):
            # The verb stands before both figures, between them, or behind them.
            told = verb.end <= old.start or old.end <= verb.start
            if told and old.dimension == new.dimension and old.high is None:
                old.about.add(TAKEN_OUT)
                new.about.add(PUT_IN)
                new.own |= old.own & KINDS.keys()


def _mark_against(sentence: Sequence[Clause]) -> None:
    """Mark the figure right before a word that sets another against it ("現在の約20kmに対し、55km程度")."""
    figures = [q for clause in sentence for q in clause.quantities if q.dimension in _CHANGES]
    verbs = [v for clause in sentence for v in clause.voices if "against" in v.names]
    for old, new in pairwise(figures[:_MOST_FIGURES]):
        set_against = any(0 <= verb.start - old.end <= _NEAR_AGAINST for verb in verbs[:_MOST_FIGURES])
        if set_against and old.dimension == new.dimension:
            old.about.add(TAKEN_OUT)
            new.about.add(PUT_IN)
            new.own |= old.own & KINDS.keys()


def _mark_becoming(sentence: Sequence[Clause]) -> None:
    """Mark what stands before a "becomes" ("an 8.7 Ah pack, down to 5 Ah, becomes one of 14.5 Ah")."""
    figures = [q for clause in sentence for q in clause.quantities if q.dimension in _OF_PACKS][
        :_MOST_FIGURES
    ]
    verb = next((v for clause in sentence for v in clause.voices if "becomes" in v.names), None)
    if verb is None:
        return
    old = [q for q in figures if q.end <= verb.start]
    new = [q for q in figures if q.start >= verb.end]
    if any(q.dimension in _GROWS for q in old) and any(q.dimension in _GROWS for q in new):
        for quantity in old:
            quantity.about.add(TAKEN_OUT)
        for quantity in new:
            quantity.about.add(PUT_IN)


def _mark_wanted(lower: str, sentence: Sequence[Clause], into: frozenset[str]) -> bool:
    """Mark what somebody wants for the pack ("I swap my 48 V 20 Ah for 60 V"); return whether a swap is offered.

    The pack that is given stands before the word for "for", the one that is wanted behind it.
    """
    verb = next((v for clause in sentence for v in clause.voices if "swapping" in v.names), None)
    if verb is None or any(
        "yours" in v.names or (v.start > verb.end and "now" in v.names)
        for clause in sentence
        for v in clause.voices
    ):
        return False
    # "I swap the BMS of 20 A for one of 40 A" tells of a part.
    if any(
        label.names & _PARTS and 0 <= label.start - verb.end <= _BESIDE_SWAP
        for clause in sentence
        for label in clause.labels
    ):
        return False
    figures = [q for clause in sentence for q in clause.quantities if q.dimension in _OF_PACKS]
    behind = [q for q in figures if q.start >= verb.end][:_MOST_FIGURES]
    place = verb.start
    for quantity in behind:
        # "Swap for a pack of 60 V": the verb may hold the word itself.
        words = _WORD.findall(lower[place : quantity.start])
        if any(word in into for word in words[-_MOST_WORDS:]):
            wanted = [q for q in behind if q.start >= quantity.start and not q.own & _PARTS]
            for each in wanted:
                each.about.add(WANTED)
            return bool(wanted)
        place = quantity.end
    return False


def _mark_more_growth(lower: str, clauses: Sequence[Clause], origin: re.Pattern[str]) -> None:
    """Take the later of two figures in the rest of a sentence ("…, the weight from 2.3 to 2.6 kg")."""
    sentence = -1
    for clause in clauses:
        if any("grows" in voice.names for voice in clause.voices):
            sentence = clause.sentence
        for quantity in clause.quantities if clause.sentence == sentence else ():
            if quantity.high is not None and origin.search(lower, clause.start, quantity.start):
                _take_second(lower, quantity)


def _take_second(lower: str, quantity: Quantity) -> None:
    """Make a range the figure printed second."""
    first = numeral_value(lower[quantity.start : quantity.low_end])
    rising = (
        first is None or quantity.high is None or abs(first - quantity.value) < abs(first - quantity.high)
    )
    if rising and quantity.high is not None:
        quantity.value = quantity.high
    quantity.high = None
    quantity.start = max(quantity.start, quantity.high_start)


def numeral_value(words: str) -> float | None:
    """Return the first plain number in words, None where there is none."""
    match = re.search(r"\d+(?:[.,]\d+)?", words)
    return float(match[0].replace(",", ".")) if match else None


# -- the old for the new -------------------------------------------------------------------------------------


def _mark_old_and_new(
    lower: str, figures: Sequence[Quantity], verbs: Sequence[Label], into: frozenset[str]
) -> None:
    """Mark the figures before and behind the word that stands between the old and the new."""
    begin = 0
    for index, (before, new) in enumerate(pairwise(figures), start=1):
        if not _parts_old_and_new(lower, before, new, verbs, into):
            continue
        behind = {q.dimension: q for q in reversed(figures[index:])}
        old = [q for q in figures[begin:index] if _is_like(q, behind.get(q.dimension))]
        # Volts alone may be what anything changes to.
        if not any(q.dimension in _GROWS for q in old) and not verbs:
            continue
        for quantity in old:
            quantity.about.add(TAKEN_OUT)
            _put(behind[quantity.dimension], quantity)
        begin = index if old else begin
    for quantity in figures:
        if any(verb.end <= quantity.start for verb in verbs) and _is_from_to(lower, quantity, into):
            # "Upgrade from 8.7 Ah to 14 Ah" is no range.
            quantity.value, quantity.high = quantity.high or quantity.value, None
            quantity.start = quantity.high_start
            quantity.about.add(PUT_IN)


def _put(new: Quantity, old: Quantity) -> None:
    """Mark the new one's figure, with the name of its part."""
    _give_part(new, old.own)
    # What is exchanged for its amperes is a part, whatever it is called.
    nameless = new.dimension == "current" and not new.own and not old.own
    new.about.add(TAKEN_OUT if nameless else PUT_IN)


def _is_like(old: Quantity, new: Quantity | None) -> bool:
    """Return whether a figure may be the old one's, where the new one has another."""
    if new is None or old.value <= 0 or old.high is not None or new.high is not None:
        return False
    return 1 / _MOST_TIMES <= new.value / old.value <= _MOST_TIMES


def _parts_old_and_new(
    lower: str, before: Quantity, new: Quantity, verbs: Sequence[Label], into: frozenset[str]
) -> bool:
    """Return whether the words between two figures lead from the old to the new."""
    gap = lower[before.end : new.start]
    if _ARROW.fullmatch(gap):
        return True
    if not verbs or _STOP.search(gap):
        return False
    if any(before.end <= verb.start and verb.end <= new.start for verb in verbs) and not _WORD.search(
        gap.replace(lower[verbs[0].start : verbs[0].end], "")
    ):
        return True
    leads = any(verb.start < before.start for verb in verbs)
    words = _WORD.findall(gap)
    return leads and any(word in into for word in words[-_MOST_WORDS:])


def _is_from_to(lower: str, quantity: Quantity, into: frozenset[str]) -> bool:
    """Return whether a range is told by words, behind a "from"."""
    if quantity.high is None or quantity.dimension not in _GROWS:
        return False
    between = _WORD.findall(lower[quantity.low_end : quantity.high_start])
    return len(between) == 1 and between[0] in into and quantity.high > quantity.value


# -- what the buyer has --------------------------------------------------------------------------------------


def _mark_present(lower: str, clauses: Sequence[Clause]) -> None:
    """Mark what a bracket says of now, behind what a pack will have after the work ("50 km (at present 20 km)")."""
    handed_in = any(TAKEN_OUT in q.about for clause in clauses for q in clause.quantities) or any(
        "earlier" in voice.names for clause in clauses for voice in clause.voices
    )
    for clause in clauses if handed_in else ():
        for new, old in pairwise(clause.quantities):
            opened = _OPENED.match(lower, new.end, old.start)
            if opened is None or new.dimension != old.dimension or new.dimension not in _CHANGES:
                continue
            if any(
                voice.names & {"now", "measured"} and opened.end() <= voice.start < old.start
                for voice in clause.voices
            ):
                old.about.add(TAKEN_OUT)


def _mark_yours(lower: str, clauses: Sequence[Clause]) -> None:
    """Mark the figures of "your 36 V 10 Ah pack", where other words give the pack another capacity.

    What is said of it alone, such as its voltage, is left to the pack that comes back.
    """
    yours = {
        quantity
        for clause in clauses
        for voice in clause.voices
        if "yours" in voice.names
        for quantity in _of_yours(lower, clause, voice)
    }
    others: dict[str, set[float]] = {}
    for clause in clauses:
        for quantity in clause.quantities:
            if quantity not in yours and TAKEN_OUT not in quantity.about:
                others.setdefault(quantity.dimension, set()).add(quantity.value)
    capacities = others.get("capacity", set())
    handed_in = {q.clause for q in yours if q.dimension == "capacity" and q.value not in capacities}
    for quantity in yours if capacities else ():
        if quantity.clause in handed_in and quantity.dimension in others and PUT_IN not in quantity.about:
            quantity.about.add(TAKEN_OUT)
    for index in sorted(handed_in) if capacities else ():
        # "Your pack (36 V 11 Ah, 396 Wh by its sticker)".
        for clause in clauses[index + 1 : index + 2]:
            goes_on = clause.sentence == clauses[index].sentence and lower[clause.start - 1] == ","
            for quantity in clause.quantities[:1] if goes_on else ():
                if quantity.dimension == "energy" and others.get("energy", set()) - {quantity.value}:
                    quantity.about.add(TAKEN_OUT)


def _of_yours(lower: str, clause: Clause, voice: Label) -> list[Quantity]:
    """Return the figures that stand right behind a "your" with the word for a pack or cells."""
    figures = [q for q in clause.quantities if q.start >= voice.end and q.dimension in _OF_PACKS]
    # "Your pack afterwards: 36 V 17 Ah".
    if figures and any(
        each.names & {"now"} and voice.end <= each.start <= figures[0].start for each in clause.voices
    ):
        return []
    if not figures or figures[0].start - voice.end > _LONGEST_YOURS:
        return []
    run = [figures[0]]
    for quantity in figures[1:]:
        if _WORD.search(lower, run[-1].end, quantity.start):
            break
        run.append(quantity)
    stop = run[-1].end + _BEHIND_YOURS
    named = any(
        label.names & {"pack", "cell"} and voice.end <= label.start <= stop for label in clause.labels
    )
    return run if named else []
