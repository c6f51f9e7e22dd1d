"""What is carried to a number from another line: from the heading above it, or the question it answers."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise

from verifier.listing.heads_of_sentences import MODIFIERS, TOPICS
from verifier.listing.labels import KINDS, Label, affects
from verifier.listing.layout import Line
from verifier.listing.quantity import Quantity
from verifier.listing.turns import Turns

_AMOUNTS = frozenset({"max", "limit", "usual"})
# What a buyer tells of the own vehicle is not what the seller answers about.
_NOT_ANSWERED = frozenset({"motor", "controller", "vehicle", "supports"})
_LONGEST_HEADING = 48
_HEADED = frozenset({"bms", "charger", "cell", "motor", "vehicle", "controller", "per_pack"})
_ASKS = re.compile(r"[?？]")
_END = re.compile(r"[.!](?=\s)|[。！?？]")
_NUMBERED = re.compile(r"\d{1,2}(?:\.\d{1,2})*[.)]?\s")


def carry_headings(
    lower: str, lines: Sequence[Line], labels: Sequence[Label], quantities: Sequence[Quantity]
) -> None:
    """Give the lines below a heading ("Charger:") what it names, until the next one or a blank line."""
    with_numbers = {quantity.line for quantity in quantities}
    by_line: dict[int, list[Label]] = {}
    for label in labels:
        by_line.setdefault(label.line, []).append(label)
    topics: dict[int, frozenset[str]] = {}
    current: frozenset[str] = frozenset()
    block = -1
    for line in lines:
        words = lower[line.start : line.end].strip()
        heading = line.number not in with_numbers and len(words) <= _LONGEST_HEADING and not line.is_row
        names = frozenset(name for label in by_line.get(line.number, []) for name in label.names)
        section = _NUMBERED.match(words) is not None and names & {"charger", "controller", "motor"}
        if heading and (words.endswith((":", "：")) or section):
            current, block = names & _HEADED, line.block
        elif line.block != block:
            current = frozenset()
        topics[line.number] = current
    _carry_by_indent(lines, by_line, with_numbers, quantities)
    for quantity in quantities:
        names = topics.get(quantity.line, frozenset())
        if "charger" in names and quantity.dimension == "mass":
            quantity.carried.add("charger")
        if names and not quantity.own & {"bms", "charger", "cell", "pack", "capacity"}:
            quantity.carried |= {name for name in names if affects(name, quantity)}


def _carry_by_indent(
    lines: Sequence[Line],
    by_line: dict[int, list[Label]],
    with_numbers: set[int],
    quantities: Sequence[Quantity],
) -> None:
    """Give lines that stand further in what the line above them names ("Permitted current" / "  for 30 s: 40 A")."""
    parent: Line | None = None
    carried: dict[int, frozenset[str]] = {}
    for before, line in pairwise(lines):
        if line.indent > before.indent and before.number not in with_numbers:
            parent = before
        elif parent is not None and (line.indent <= parent.indent or line.block != before.block):
            parent = None
        if parent is not None and line.block == parent.block and not line.is_row:
            labels = by_line.get(parent.number, [])
            carried[line.number] = frozenset(name for label in labels for name in label.names)
    for quantity in quantities:
        names = carried.get(quantity.line, frozenset())
        if not quantity.own & _HEADED | quantity.own & KINDS.keys():
            quantity.carried |= {name for name in names if affects(name, quantity)}


def carry_questions(
    lower: str, lines: Sequence[Line], turns: Turns, labels: Sequence[Label], quantities: Sequence[Quantity]
) -> None:
    """Give the answer to a question what the question names ("Charger?" "54.6V 2A")."""
    with_numbers = {quantity.line for quantity in quantities}
    of_question: dict[int, list[Label]] = {}
    by_line: dict[int, list[Label]] = {}
    for label in labels:
        by_line.setdefault(label.line, []).append(label)
    for quantity in quantities:
        # "80 km at a speed of 45 km/h": the speed is no other topic.
        if quantity.labels & ((TOPICS | MODIFIERS) - _AMOUNTS - {"vehicle"}):
            continue
        turn = turns.of_line.get(quantity.line)
        asked = turns.asked_before(quantity.line, quantity.start)
        if asked >= 0:
            said = [label for label in by_line.get(quantity.line, []) if label.end <= asked]
        elif turn is not None and turn.answers >= 0:
            number = turn.answers
            if number not in of_question:
                of_question[number] = _asked(lower, lines[number], by_line.get(number, []), with_numbers)
            said = of_question[number]
        else:
            continue
        names = {name for label in said for name in label.names} - _NOT_ANSWERED
        quantity.carried |= {name for name in names if affects(name, quantity)}


def _asked(lower: str, line: Line, said: list[Label], with_numbers: set[int]) -> list[Label]:
    """Return the labels of a turn that it asks about: those of its questions, or all of a turn without figures.

    "My charger gives 42 V." "Ours is 36 V 13 Ah": nobody asked for the charger.
    """
    if _ASKS.search(lower, line.start, line.end) is None:
        return [] if line.number in with_numbers else said
    ends = list(_END.finditer(lower, line.start, line.end))
    places = [match.start() for match in ends]
    nearest = [(label, bisect_left(places, label.end)) for label in said]
    return [label for label, index in nearest if index < len(ends) and _ASKS.match(ends[index].group())]
