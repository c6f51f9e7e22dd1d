"""Pages copied as text: a label on one line, its figure alone on the next."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from verifier.listing.layout import Line
from verifier.listing.quantity import Quantity

_LONGEST_LABEL = 60


def label_lines(
    lower: str, lines: Sequence[Line], quantities: Sequence[Quantity], labelled: set[int]
) -> set[int]:
    """Return the lines that are labels of the figure on the next line.

    Labels and figures stand by turns. Where such a stretch ends with a label, figures stand above their
    labels, and nothing is joined.

    Parameters
    ----------
    lower : str
        The folded text.
    lines : sequence of Line
        Its lines.
    quantities : sequence of Quantity
        The numbers, with their lines.
    labelled : set of int
        Lines with known words and without numbers.
    """
    signs = _signs(lower, lines, quantities)
    joined: set[int] = set()
    start = 0
    for index in range(1, len(lines) + 1):
        goes_on = index < len(lines) and {signs[index - 1], signs[index]} == {"label", "figure"}
        if goes_on:
            continue
        stretch = lines[start:index]
        # A last label that another line of words follows has those for its value.
        followed = index < len(lines) and signs[index] == "label"
        if len(stretch) > 1 and (signs[index - 1] == "figure" or followed or _in_pairs(stretch, signs)):
            joined.update(
                label.number
                for label, figure in pairwise(stretch)
                if signs[label.number] == "label"
                and figure.number == label.number + 1
                and label.number in labelled
            )
        start = index
    return joined


def _signs(lower: str, lines: Sequence[Line], quantities: Sequence[Quantity]) -> list[str]:
    """Return for every line whether it is a label, a bare figure, or neither."""
    inside: dict[int, list[Quantity]] = {}
    for quantity in quantities:
        inside.setdefault(quantity.line, []).append(quantity)
    signs = []
    for line in lines:
        found = inside.get(line.number, [])
        rest = lower[line.start : line.end]
        for quantity in reversed(found):
            rest = rest[: quantity.start - line.start] + rest[quantity.end - line.start :]
        letters = any(letter.isalpha() for letter in rest)
        if found and not letters:
            signs.append("figure")
        elif not found and letters and line.end - line.start <= _LONGEST_LABEL and not line.is_row:
            signs.append("label")
        else:
            signs.append("")
    return signs


def _in_pairs(stretch: Sequence[Line], signs: list[str]) -> bool:
    """Return whether labels and their figures stand together between blank lines."""
    return (
        any(
            signs[first.number] == "label"
            and signs[second.number] == "figure"
            and first.block == second.block
            for first, second in pairwise(stretch)
        )
        and len({line.block for line in stretch}) > 1
    )
