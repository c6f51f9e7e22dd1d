"""What is carried to a number from another line: from the heading above it, or the question it answers."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.listing.binding import MODIFIERS, TOPICS
from verifier.listing.labels import Label, affects
from verifier.listing.layout import Line
from verifier.listing.numbers import Quantity
from verifier.listing.turns import Turns

_AMOUNTS = frozenset({"max", "limit", "usual"})
# What a buyer tells of the own vehicle is not what the seller answers about.
_NOT_ANSWERED = frozenset({"motor", "controller", "vehicle", "supports"})
_LONGEST_HEADING = 48


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
        if heading and words.endswith((":", "：")):
            names = frozenset(name for label in by_line.get(line.number, []) for name in label.names)
            current, block = (
                names & {"bms", "charger", "cell", "motor", "vehicle", "controller", "per_pack"},
                line.block,
            )
        elif line.block != block:
            current = frozenset()
        topics[line.number] = current
    for quantity in quantities:
        names = topics.get(quantity.line, frozenset())
        if names and not quantity.own & {"bms", "charger", "cell", "pack", "capacity"}:
            quantity.carried |= {name for name in names if affects(name, quantity)}


def carry_questions(turns: Turns, labels: Sequence[Label], quantities: Sequence[Quantity]) -> None:
    """Give the answer to a question what the question names ("Charger?" "54.6V 2A")."""
    by_line: dict[int, list[Label]] = {}
    for label in labels:
        by_line.setdefault(label.line, []).append(label)
    for quantity in quantities:
        if quantity.labels & (TOPICS | MODIFIERS - _AMOUNTS):
            continue
        turn = turns.of_line.get(quantity.line)
        asked = turns.asked_before(quantity.line, quantity.start)
        if asked >= 0:
            said = [label for label in by_line.get(quantity.line, []) if label.end <= asked]
        elif turn is not None and turn.answers >= 0:
            said = by_line.get(turn.answers, [])
        else:
            continue
        names = {name for label in said for name in label.names} - _NOT_ANSWERED
        quantity.carried |= {name for name in names if affects(name, quantity)}
