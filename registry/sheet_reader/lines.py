"""What a line or a cell of a sheet is: a label, a value, a condition, a sentence, or label and value."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache, lru_cache

from registry.printed.units import vocabulary
from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Cell
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

NOUNS = frozenset({
    "capacity", "voltage", "current", "resistance", "mass", "diameter", "length", "width", "thickness", "size",
    "temperature", "cycle", "cell_life", "energy",
})  # fmt: skip
_NOUN_DIMENSIONS = {
    "capacity": {"charge"}, "voltage": {"voltage"}, "current": {"current", "rate"},
    "resistance": {"resistance"}, "mass": {"mass"}, "diameter": {"length"},
    "length": {"length"}, "width": {"length"}, "thickness": {"length"}, "size": {"length"},
    "temperature": {"temperature"}, "cycle": {"count"}, "cell_life": {"count"},
}  # fmt: skip
FIGURE_DIMENSIONS = frozenset(
    {"charge", "current", "rate", "voltage", "resistance", "mass", "length", "count"}
)
QUALIFIERS = frozenset({
    "charge", "discharge", "continuous", "maximum", "minimum", "typical", "nominal", "rated", "standard",
    "fast", "pulse", "ac", "dc", "storage", "operating", "bare", "assembled", "not_continuous",
    "temperature_cut", "cutoff", "bms", "recommended", "method",
})  # fmt: skip
LEVELS = frozenset({
    "maximum", "minimum", "typical", "nominal", "rated", "standard", "fast", "recommended",
})  # fmt: skip
"""Of several numbers of one kind, which one it is."""
NUMBERED = re.compile(
    r"^\s*[(（]?(\d{1,2}(?:\.\d{1,2}){0,3})[.)）、:]?\s+(?=\D|\d+C)"
    r"|^\s*(\d{1,2}(?:\.\d{1,2}){0,3})[.)）、]\s*(?=[^\d\s.])"
    r"|^\s*[•·*\-–■●◆]\s+(?=[^\d\s])"
)
_FEWEST_CYCLES = 20
"""No cell is sold for fewer."""
_RATE_BEFORE = re.compile(r"\d\s*C\w*\s*$")
_ONLY_NUMBER = re.compile(r"\s*[(（]?\d{1,2}(?:[.\-]\d{1,2}){0,3}[.)）、]?\s*")
_MODES = frozenset({"charge", "discharge"})


def figure_quantities(text: str) -> list[str]:
    """Return the dimensions of the quantities in a normal text that may be figures, temperatures included."""
    return list(_figure_quantities(text))


@lru_cache(maxsize=8192)
def _figure_quantities(text: str) -> tuple[str, ...]:
    found = temperatures(text)
    dims = [each.dimension for each in quantities(masked(text, found)) if each.dimension in FIGURE_DIMENSIONS]
    return (*dims, *["temperature"] * sum(not each.single and not each.twin for each in found))


@lru_cache(maxsize=8192)
def figure_places(text: str) -> tuple[tuple[int, int], ...]:
    """Return where in a text its numbers stand that may be figures, in order."""
    found = temperatures(text)
    places = [
        (each.start, each.end)
        for each in quantities(masked(text, found))
        if each.dimension in FIGURE_DIMENSIONS
    ] + [(each.start, each.end) for each in found if not each.single]
    return tuple(sorted(places))


@lru_cache(maxsize=8192)
def fitting_dimensions(label: str) -> frozenset[str]:
    """Return the dimensions that the value of a label may have."""
    held = meanings(label)
    fitting = frozenset().union(*(_NOUN_DIMENSIONS.get(noun, set()) for noun in held))
    if fitting or not held & {"charge", "discharge", "continuous", "pulse", "storage", "operating"}:
        return fitting
    if held & {"storage", "operating"}:
        return frozenset({"temperature"})
    limits = held & {"continuous", "pulse", "maximum", "standard", "fast"}
    return frozenset({"current", "rate"}) if limits else frozenset({"current", "rate", "temperature"})


_OF_THE_CELL_ITSELF = frozenset({"resistance", "mass", "diameter", "length", "width", "thickness", "size"})
"""What a cell has in any state of charge: when it was measured is a condition, and no other figure."""
_ADDS = re.compile(r"\s*[,;(].*", re.S)


def told_aside(label: str) -> str:
    """Return what a label adds to its figure about delivery or a test: "Resistance, as delivered"."""
    added = _ADDS.search(label)
    if added is None or not meanings(label) & {"not_rating", "shipping"}:
        return ""
    named = meanings(label[: added.start()])
    plain = bool(named & (_OF_THE_CELL_ITSELF | {"storage"})) and not named & {"not_rating", "shipping"}
    return added[0] if plain else ""


def goes_with(label: str, own: str, dims: Sequence[str]) -> bool:
    """Whether a line without a noun of its own may stand under the label before it."""
    held, said = meanings(label), meanings(own)
    if "operating" in said and "temperature" not in held:
        return False
    if not dims or dims[0] not in fitting_dimensions(label):
        return False
    if (said & _MODES and held & _MODES) or (said & {"storage"} and held & (_MODES | {"operating"})):
        return False
    return not (said & {"continuous", "pulse"} and held & {"continuous", "pulse"})


def lines_apart(cells: list[Cell]) -> list[list[Cell]]:
    """Part a row whose cells hold several lines that go together: "Typical, Minimum" and their two values."""
    lines = [cell.text.splitlines() for cell in cells]
    for count in {len(each) for each in lines if len(each) > 1}:
        parted = [each for each in lines if len(each) == count]
        if any(all(map(_parts_lines, each)) for each in parted) and any(
            all(figure_quantities(normal(line)) for line in each) and not all(map(_parts_lines, each))
            for each in parted
        ):
            return [
                [
                    replace(cell, text=each[at] if len(each) == count else " ".join(each), carried=at > 0)
                    for cell, each in zip(cells, lines, strict=True)
                ]
                for at in range(count)
            ]
    return [[replace(cell, text=_one_line(each)) for cell, each in zip(cells, lines, strict=True)]]


def _one_line(lines: list[str]) -> str:
    """Return the lines of a cell as one text; lines that each hold a figure stay apart."""
    several = len(lines) > 1 and sum(bool(figure_places(normal(line))) for line in lines) > 1
    # A line that begins with a small letter or a degree goes on with the sentence above.
    several = several and not any(re.match(r"[a-z°)]", line) for line in lines[1:])
    return (" ; " if several else " ").join(lines)


def _parts_lines(line: str) -> bool:
    """Whether a line of a cell goes with one line of its neighbour: a sub-item, or a temperature band."""
    return _narrows(line) or is_band_only(normal(line))


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


_CAPTION = re.compile(
    r"\s*(?:table|tabelle|tab\.?|tableau|tabla|tabella|tabela|表|표)\s*\d{1,2}(?:[-.]\d{1,2})?\s*[:.–—-]?\s+(?=[^\W\d_])"
    r"|\s*[表표]\s*\d{1,2}\s*[::]\s*", re.I,
)  # fmt: skip


def is_caption(text: str) -> bool:
    """Whether a line is the numbered title of a table: "Table 2: Discharge current"."""
    return bool(_CAPTION.match(text))


@lru_cache(maxsize=8192)
def without_item_number(text: str) -> str:
    """Return a line without the number or bullet that it begins with; "1 A" begins with a value.

    "Table 3: Maximum charge current" is numbered too: what it is of stands behind the number.
    """
    text = _CAPTION.sub("", text, count=1)
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


@lru_cache(maxsize=8192)
def label_and_value(text: str) -> tuple[str, str]:
    """Return the label and the value of a line: parted by its first colon, else before its first quantity."""
    inside = in_some_bracket(text)
    places = [start for start, _ in figure_places(text) if not inside[start]]
    later = [place for place in places if _LETTER.search(text[:place])]
    for index, letter in enumerate(text):
        parts = not inside[index] and (
            letter == ":" or (letter == "=" and not _RATE_BEFORE.search(text[:index]))
        )
        # "250 cycles, 6 A charge: 2400 mAh are left" is a value as a whole.
        named = _LETTER.search(text[: min([index, *places])])
        if parts and named and not _has_its_number(text[:index]):
            return text[:index].strip(), text[index + 1 :].strip()
    if not places:
        return (text, "")
    rated = _begins_with_a_rate(text, places)
    if not later:
        return (text, "") if rated else ("", text)
    if min(places) < min(later) and not rated:
        return ("", text)
    if _only_relates(text[: min(later)]):
        return ("", text)
    cut = _cut(text, places, later)
    while cut > 0 and text[cut - 1] in " ≤≥<>~±Φ":
        cut -= 1
    return text[:cut].strip(), text[cut:].strip()


_LETTER = re.compile(r"[^\W\d_Φ]")
"""A letter of a word; the sign of a diameter is none."""


@cache
def _relations() -> re.Pattern[str]:
    held = vocabulary("relation")
    words = {*held["at_most"], *held["at_least"], *held["about"], *vocabulary("range")["between"]}
    either = "|".join(re.escape(word) for word in sorted(words | _FROM, key=len, reverse=True))
    return re.compile(rf"(?i:\b(?:{either})(?!\w))")


_FROM = {"from", "within", "for", "at", "von", "bei", "für", "de", "du", "entre", "à", "da", "van", "od"}
"""Words before a condition or a limit that name no figure."""


def without_relations(words: str) -> str:
    """Return a text without words such as "not more than" or "from"."""
    return _relations().sub(" ", words)


def ends_with_a_limit(label: str) -> bool:
    """Whether a label ends with a word such as "below", which makes its number the most there is."""
    words = sorted(vocabulary("relation")["at_most"], key=len, reverse=True)
    return bool(re.search(rf"(?i:(?<!\w)(?:{'|'.join(map(re.escape, words))}))\W*$", label))


def blanked_relations(words: str) -> str:
    """Return a text with such words blotted out, every other letter in its place."""
    return _relations().sub(lambda found: " " * len(found[0]), words)


_ENDS_AT = re.compile(
    r"(?:(?P<to>(?<!\w)(?:(?<!up )(?<!limited )(?<!equal )to|bis(?! zu)|jusqu\W?à|hasta|fino a|tot"
    r"|até|do)(?!\w)|[至到])|(?<!\w)(?:down to|until|till|bis auf|(?:cut\W?off|cutoff|end(?:s|ed|ing)?|stop(?:s|ped)?"
    r"|finish\w*|terminat\w*"
    r"|tapers?|abbruch|abschaltung|ende|fin|arrêt|coupure|corte|koniec|fine)(?:\s+(?:current|strom))?"
    r"\s*(?:at|to|by|of|bei|auf|à|a|przy)?)|(?:截止|终止|降)(?:电流)?[至到于]?|电流(?:小于|低于|降至|降到|减小[至到]|为))\s*(?:I\w{0,4}\s*)?[<≤=~:]?\s*$",
    re.I,
)


def ends_charge(before: str) -> str | None:
    """Return "sure" or "may" where a current that follows these words is where a charge ends; else ``None``.

    "Cut-off at 52 mA" is sure, "to 52 mA" may also say how much is allowed.
    """
    found = _ENDS_AT.search(before)
    return None if found is None else "may" if found["to"] else "sure"


def is_end_of_charge(text: str) -> bool:
    """Whether every current of a text is where a charge ends: "CC-CV, until 52 mA"."""
    currents = [
        each for each in quantities(masked(text, temperatures(text))) if each.dimension in {"current", "rate"}
    ]
    return bool(currents) and all(ends_charge(text[: each.start]) for each in currents)


def _only_relates(words: str) -> bool:
    """Whether words before a number are only such as "not more than" or "from", and no label."""
    return not re.search(r"\w", without_relations(words))


def _has_its_number(text: str) -> bool:
    """Whether what stands before a colon is a label with its number: "Cycle life 250 cycles: 60 %"."""
    label = re.split(r"\d", text)[0]
    return bool(fitting_dimensions(label) & {"count", "mass", "resistance"} & set(figure_quantities(text)))


def _begins_with_a_rate(text: str, places: list[int]) -> bool:
    """Whether the first number is one of a label: "1C discharge capacity 2500 mAh"."""
    found = quantities(masked(text, temperatures(text)))
    rated = bool(found) and found[0].dimension == "rate" and found[0].start == min(places)
    after = re.sub(r"\([^()]*\)", " ", text[found[0].end :]) if rated else ""
    return bool((NOUNS - {"temperature"}) & meanings(after))


def _cut(text: str, places: list[int], later: list[int]) -> int:
    """Return where the value begins; the first number of "1C discharge capacity 2500 mAh" is the label's."""
    first = min(places)
    if first < min(later) and NOUNS & meanings(text[first:]) and not NOUNS & meanings(text[:first]):
        return next((place for place in sorted(later) if NOUNS & meanings(text[:place])), min(later))
    return min(later)


def in_some_bracket(text: str) -> list[bool]:
    """Return for each letter of a text whether it stands in brackets."""
    depth = 0
    inside = [False] * (len(text) + 1)
    for index, letter in enumerate(text):
        depth += (letter in "([") - (letter in ")]" and depth > 0)
        inside[index] = depth > 0
    return inside


_SENTENCE = re.compile(
    r"(?<!\bmax)(?<!\bmin)(?<!\btyp)(?<!\bapprox)(?<!\bca)(?<!\bno)(?<!\btemp)(?<!\bamb)(?<!\bcont)(?<!\bstd)(?<!\bdia)"
    r"(?:(?<=[^\d])[.;](?:\s+|$)|(?<=\d)[.;]\s+(?=[^\W\d_a-z])|。)",
    re.I,
)  # fmt: skip


def sentences(text: str) -> list[str]:
    """Return the sentences of a text; the point of "max. 0.5 A" ends none."""
    return [part.strip() for part in _SENTENCE.split(text) if part.strip()]


def is_prose(text: str) -> bool:
    """Whether a line is a sentence and not a label with its value."""
    words = re.findall(r"[^\W\d_]{2,}", re.sub(r"\([^()]*\)", "", text))
    said = meanings(text)
    unspaced = bool(re.search(r"[\u3040-\u9fff]{6}", text)) and ":" not in text
    if "limit_speech" in said and (len(words) > 4 or unspaced):
        return True
    return len(words) > 18 or (len(words) > 6 and "verb" in said)


def in_brackets(text: str) -> bool:
    """Whether a text stands in brackets as a whole."""
    return text.startswith("(") and text.endswith(")")


def is_duration(label: str) -> bool:
    """Whether a label only says for how long: "During 6 months", beside a storage temperature."""
    found = quantities(label)
    return bool(found) and all(each.dimension == "time" for each in found)


def is_band_only(text: str) -> bool:
    """Whether a text is a temperature band and nothing else."""
    found = temperatures(text, about_temperature=False)
    rest = re.sub(r"[\x00\s():,;|/]|\bT\b", "", _relations().sub(" ", masked(text, found)))
    return bool(found) and not rest


def label_goes_on(text: str) -> bool:
    """Whether words with a noun follow the last quantity: "1C5A discharge capacity"."""
    found = quantities(masked(text, temperatures(text)))
    rated = bool(found) and found[-1].dimension == "rate"
    return rated and bool(NOUNS & meanings(text[found[-1].end :]))


_TICKS = r"(?:[-+]?\d+(?:[.,]\d+)?\s+)*[-+]?\d+(?:[.,]\d+)?"
_AXIS = re.compile(
    rf"\s*(?P<before>{_TICKS})\s+(?P<title>[^\d:;=]*[^\W\d_]{{3}}[^\d:;=]*?)\s+(?P<after>{_TICKS})\s*"
)
_LARGEST_ITEM = 99


def is_axis(text: str) -> bool:
    """Whether a line is the axis of a chart: numbers that rise past a title, "1000 Capacity in mAh 2000".

    One small number before the title may number the line, so it alone makes no axis.
    """
    found = _AXIS.fullmatch(text)
    if found is None:
        return False
    before, after = (
        [float(each.replace(",", ".")) for each in found[name].split()] for name in ("before", "after")
    )
    numbered = len(before) == 1 and 0 < before[0] <= _LARGEST_ITEM
    return not numbered and before[-1] < after[0] and after == sorted(after)
