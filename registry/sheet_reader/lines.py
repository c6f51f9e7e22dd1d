"""What a line or a cell of a sheet is: a label, a value, a condition, a sentence, or label and value."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Cell
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

NOUNS = frozenset({
    "capacity", "voltage", "current", "resistance", "mass", "diameter", "length", "size", "temperature",
    "cycle", "cell_life", "energy",
})  # fmt: skip
_NOUN_DIMENSIONS = {
    "capacity": {"charge"}, "voltage": {"voltage"}, "current": {"current", "rate"},
    "resistance": {"resistance"}, "mass": {"mass"}, "diameter": {"length"},
    "length": {"length"}, "size": {"length"},
    "temperature": {"temperature"}, "cycle": {"count"}, "cell_life": {"count"},
}  # fmt: skip
FIGURE_DIMENSIONS = frozenset(
    {"charge", "current", "rate", "voltage", "resistance", "mass", "length", "count"}
)
QUALIFIERS = frozenset({
    "charge", "discharge", "continuous", "maximum", "minimum", "typical", "nominal", "rated", "standard",
    "fast", "pulse", "ac", "dc", "storage", "operating", "bare", "assembled", "not_continuous",
    "temperature_cut", "cutoff", "bms", "recommended",
})  # fmt: skip
NUMBERED = re.compile(
    r"^\s*[(（]?(\d{1,2}(?:\.\d{1,2}){0,3})[.)）、:]?\s+(?=\D|\d+C)"
    r"|^\s*(\d{1,2}(?:\.\d{1,2}){0,3})[.)）、]\s*(?=[^\d\s.])"
    r"|^\s*[•·*\-–]\s+(?=[^\d\s])"
)
# No cell is sold for fewer.
_FEWEST_CYCLES = 20
_RATE_BEFORE = re.compile(r"\d\s*C\w*\s*$")
_ONLY_NUMBER = re.compile(r"\s*[(（]?\d{1,2}(?:[.\-]\d{1,2}){0,3}[.)）、]?\s*")


def figure_quantities(text: str) -> list[str]:
    """Return the dimensions of the quantities in a normal text that may be figures, temperatures included."""
    found = temperatures(text)
    dims = [each.dimension for each in quantities(masked(text, found)) if each.dimension in FIGURE_DIMENSIONS]
    return dims + ["temperature"] * sum(not each.single and not each.twin for each in found)


def goes_with(label: str, own: str, dims: Sequence[str]) -> bool:
    """Whether a line without a noun of its own may stand under the label before it."""
    held, said = meanings(label), meanings(own)
    fitting = set().union(*(_NOUN_DIMENSIONS.get(noun, set()) for noun in held))
    if not fitting:
        fitting = {"current", "rate"} if held & {"charge", "discharge", "continuous", "pulse"} else set()
    if not dims or dims[0] not in fitting:
        return False
    modes = {"charge", "discharge"}
    if said & modes and held & modes:
        return False
    return not (said & {"continuous", "pulse"} and held & {"continuous", "pulse"})


def lines_apart(cells: list[Cell]) -> list[list[Cell]]:
    """Part a row whose cells hold several lines that go together: "Typical, Minimum" and their two values."""
    lines = [cell.text.splitlines() for cell in cells]
    for count in {len(each) for each in lines if len(each) > 1}:
        parted = [each for each in lines if len(each) == count]
        if any(all(map(_narrows, each)) for each in parted) and any(
            all(figure_quantities(normal(line)) for line in each) for each in parted
        ):
            return [
                [
                    replace(cell, text=each[at] if len(each) == count else " ".join(each), carried=at > 0)
                    for cell, each in zip(cells, lines, strict=True)
                ]
                for at in range(count)
            ]
    return [[replace(cell, text=" ".join(each)) for cell, each in zip(cells, lines, strict=True)]]


def _narrows(line: str) -> bool:
    """Whether a line is a sub-item such as "Typical" or "Charge", without a figure's name or a number."""
    said = meanings(line)
    return bool(QUALIFIERS & said) and not NOUNS & said and not figure_quantities(normal(line))


def without_number(cells: list[Cell]) -> list[Cell]:
    """Return the cells of a row without the one that only numbers it."""
    filled = [cell for cell in cells if cell.text]
    if len(filled) < 2 or filled[0] is not cells[0] or not _ONLY_NUMBER.fullmatch(filled[0].text):
        return cells
    return cells[1:] if re.search(r"[^\W\d_]", filled[1].text) else cells


def without_item_number(text: str) -> str:
    """Return a line without the number or bullet that it begins with; "1 A" begins with a value."""
    begins = quantities(masked(text, temperatures(text)))[:1]
    # "3.9 Cycle life" begins with the number of its section, not with a count of cycles.
    section = begins and begins[0].dimension == "count" and begins[0].value < _FEWEST_CYCLES
    if begins and begins[0].dimension and begins[0].start == 0 and not section:
        return text
    if section:
        return NUMBERED.sub("", text, count=1)
    stripped = NUMBERED.sub("", text, count=1)
    return stripped if len(figure_quantities(stripped)) >= len(figure_quantities(text)) else text


def section_number(text: str) -> str | None:
    """Return the number that a line begins with, such as ``3.1``."""
    match = re.match(r"\s*(\d{1,2}(?:\.\d{1,2}){0,3})[.)、]?\s", text + " ")
    return match[1] if match else None


def label_and_value(text: str) -> tuple[str, str]:
    """Return the label and the value of a line: parted by its first colon, else before its first quantity."""
    depth = 0
    found = temperatures(text)
    plain = masked(text, found)
    inside = [False] * (len(text) + 1)
    for index, letter in enumerate(text):
        depth += (letter in "([") - (letter in ")]" and depth > 0)
        inside[index] = depth > 0
        parts = depth == 0 and (letter == ":" or (letter == "=" and not _RATE_BEFORE.search(text[:index])))
        if parts and re.search(r"[^\W\d_]", text[:index]):
            return text[:index].strip(), text[index + 1 :].strip()
    places = [
        each.start for each in quantities(plain)
        if each.dimension in FIGURE_DIMENSIONS and not inside[each.start]
    ] + [each.start for each in found if not each.single and not inside[each.start]]  # fmt: skip
    later = [place for place in places if re.search(r"[^\W\d_]", text[:place])]
    if not later:
        return ("", text) if places else (text, "")
    if (
        min(places) < min(later)
        and NOUNS & meanings(text[min(places) :])
        and not NOUNS & meanings(text[: min(places)])
    ):
        # "1C discharge capacity 2500 mAh": the first number belongs to the label.
        cut = next((place for place in sorted(later) if NOUNS & meanings(text[:place])), min(later))
    else:
        cut = min(later)
    while cut > 0 and text[cut - 1] in " ≤≥<>~(±":
        if text[cut - 1] == "(":
            break
        cut -= 1
    return text[:cut].strip(), text[cut:].strip()


def is_prose(text: str) -> bool:
    """Whether a line is a sentence and not a label with its value."""
    words = re.findall(r"[^\W\d_]{2,}", re.sub(r"\([^()]*\)", "", text))
    said = meanings(text)
    unspaced = bool(re.search(r"[\u3040-\u9fff]{6}", text)) and ":" not in text
    if "limit_speech" in said and (len(words) > 4 or unspaced):
        return True
    return len(words) > 18 or (len(words) > 6 and "verb" in said)


def is_duration(label: str) -> bool:
    """Whether a label only says for how long: "During 6 months", beside a storage temperature."""
    found = quantities(label)
    return bool(found) and all(each.dimension == "time" for each in found)


def is_band_only(text: str) -> bool:
    """Whether a text is a temperature band and nothing else."""
    found = temperatures(text, about_temperature=False)
    rest = re.sub(r"[\x00\s():,;|/]|\bT\b", "", masked(text, found))
    return bool(found) and not rest


def is_value(text: str) -> bool:
    """Whether a cell holds a value and not a label."""
    plain = masked(text, temperatures(text))
    if label_goes_on(text) or is_duration(text):
        return False
    if re.match(r"\s*[≤≥<>±~Φ+\-]?\s*\d", text) and not NOUNS & meanings(text):
        return True
    return bool(figure_quantities(text)) and bool(plain)


def _fitting(label: str) -> set[str]:
    return set().union(*(_NOUN_DIMENSIONS.get(noun, set()) for noun in meanings(label)))


def is_condition(label: str, text: str, following: str) -> bool:
    """Whether a cell between label and value only says how: "Capacity", "0.2C", "2600 mAh"."""
    fitting, dims = _fitting(label), figure_quantities(text)
    return bool(fitting) and not fitting & set(dims) and bool(fitting & set(figure_quantities(following)))


def more_of_it(value: str, text: str) -> bool:
    """Whether a cell gives the same figure once more, as "Maximum 3.90 V" after "Recommend 3.65 V" does."""
    dims = figure_quantities(value)
    said = meanings(text)
    return (
        bool(dims) and figure_quantities(text)[:1] == dims[:1] and not NOUNS & said
        and bool(said & {"maximum", "minimum", "typical", "recommended"})
    )  # fmt: skip


def label_goes_on(text: str) -> bool:
    """Whether words with a noun follow the last quantity: "1C5A discharge capacity"."""
    found = quantities(masked(text, temperatures(text)))
    rated = bool(found) and found[-1].dimension == "rate"
    return rated and bool(NOUNS & meanings(text[found[-1].end :]))
