"""What differs between two reports of a pack, in words: which verdict changed from what to what, and by how much.

Everything in both is compared. What has no words of its own is named as differing, so that no change is silent.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from verifier.bounds import Bounds
from verifier.figures import FIGURES
from verifier.words import digits, element_name, evidence_name, field_name, figure_name, span, verdict_name

Data = Mapping[str, Any]

_MOST_DIGITS = 12
_LONGEST = 160

# Parts of a finding that have no words of their own, as a person calls them.
_GROUNDS = {
    "margin_percent": "margin",
    "between": "what it lies between",
    "elements": "parts of the current path",
    "by_temperature": "bands of temperature",
    "steps": "steps",
    "unknown": "what is not known",
    "cautions": "cautions",
    "sellers_word": "what rests on the seller's word",
    "could": "which registered cells could do it",
    "path_current_a": "current of the path",
    "remedies": "remedies",
    "unit": "unit",
}
_SECTIONS = {
    "whole_pack": "the whole pack as a network",
    "certificates": "what the marks show",
    "cautions": "the cautions",
    "format": "the format of the report",
    "registry": "the registry",
}


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that differs: what it is about, and in words.

    ``about`` is a figure's name, or the section of the report. ``kind`` is verdict, claim, answer or other.
    """

    about: str
    kind: str
    text: str


def differences(before: Data, after: Data) -> list[Difference]:
    """Return everything in which two reports differ, what decides first.

    Parameters
    ----------
    before, after
        Reports as JSON holds them, checked against their schema.
    """
    found: list[Difference] = []
    for key in dict.fromkeys([*_OF_SECTION, *before, *after]):
        old, new = before.get(key), after.get(key)
        if same(old, new):
            continue
        own = list(_OF_SECTION[key](old, new)) if key in _OF_SECTION and None not in (old, new) else []
        name = _SECTIONS.get(key, _shown(key.replace("_", " ")))
        found += own or [Difference(key, "other", f"{name} differs")]
    return found


# What a claim or a fact was is told with the figure, and what it rests on is for whoever recomputes it.
_FOR_READERS = frozenset({"verdict", "claim", "answer", "fact"})


def for_reader(found: Sequence[Difference]) -> list[str]:
    """Return in words what changed for whoever reads two reports, each change once.

    Conclusion, alarms, what may be drawn, claims, facts and verdicts; what they were worked out from only where
    nothing else differs. A claim that its figure tells is not told again by its field.
    """
    of_figures = {each.about for each in found if each.kind == "claim" and each.about in FIGURES}
    told = [
        each
        for each in found
        if each.kind in _FOR_READERS
        and not (each.about.startswith("claim.") and _figure_of(each.about) in of_figures)
    ]
    return list(dict.fromkeys(each.text for each in told or found))


def _figure_of(field: str) -> str:
    """Return the figure that a claim's field is about, by its name: ``claim.capacity_ah`` is about capacity."""
    leaf = field.removeprefix("claim.")
    return next((each for each in sorted(FIGURES, key=len, reverse=True) if leaf.startswith(each)), "")


def same(old: Any, new: Any) -> bool:
    """Whether two values are the same but for the last of the twelve digits that a report is written with."""
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return old.keys() == new.keys() and all(same(value, new[key]) for key, value in old.items())
    if isinstance(old, list) and isinstance(new, list):
        return len(old) == len(new) and all(map(same, old, new))
    plain = (int, float)
    if (
        isinstance(old, bool)
        or isinstance(new, bool)
        or not (isinstance(old, plain) and isinstance(new, plain))
    ):
        return type(old) is type(new) and bool(old == new)
    # A differing machine may round the last digit otherwise.
    return abs(old - new) <= 1e-9 * max(abs(old), abs(new))


def was_now(old: str, new: str) -> str:
    """Return a change in words."""
    return f"was {old}, now {new}"


def _shown(text: Any) -> str:
    shown = "".join(
        letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}"
        for letter in " ".join(str(text).split())
    )
    return shown if len(shown) <= _LONGEST else f"{shown[: _LONGEST - 1]}…"


# -- numbers -------------------------------------------------------------------------------------------------


def numbers_apart(old: Any, new: Any, unit: str = "") -> str:
    """Return two numbers in words, with as many digits as tell them apart."""
    return was_now(*_apart(lambda value, figures: _number(value, figures, unit), old, new))


def _apart(written: Callable[[Any, int], str], old: Any, new: Any) -> tuple[str, str]:
    for figures in range(3, _MOST_DIGITS + 1):
        words = written(old, figures), written(new, figures)
        if words[0] != words[1]:
            break
    return words


def _number(value: Any, figures: int, unit: str) -> str:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return "nothing" if value is None else _shown(value)
    if isinstance(value, int) and abs(value) > 10**15:
        return _shown(value)
    return f"{digits(float(value), figures)} {unit}".rstrip()


def _ends(value: Any, figures: int, unit: str) -> str:
    """Return ``{"low": .., "high": ..}`` in words."""
    if not isinstance(value, Mapping):
        return "nothing" if value is None else _shown(value)
    low, high = value.get("low"), value.get("high")
    top = float("inf") if high is None else high
    if figures == 3 and isinstance(low, (int, float)) and isinstance(top, (int, float)) and low <= top:
        return span(Bounds(float(low), float(top)), unit)
    upper = "no limit" if high is None else _number(high, figures, unit)
    return f"{_number(low, figures, '')} to {upper}"


def ends_apart(old: Any, new: Any, unit: str) -> str:
    """Return two spans in words, with as many digits as tell them apart."""
    return was_now(*_apart(lambda value, figures: _ends(value, figures, unit), old, new))


# -- sections ------------------------------------------------------------------------------------------------


def _lists(about: str, noun: str, old: Iterable[str], new: Iterable[str]) -> Iterator[Difference]:
    """Yield what was added to a list of sentences, and what is gone from it."""
    old, new = list(old), list(new)
    for text in new:
        if text not in old:
            yield Difference(about, "answer", f"new {noun}: {_shown(text)}")
    for text in old:
        if text not in new:
            yield Difference(about, "answer", f"no longer {noun}: {_shown(text)}")


def _texts(entries: Sequence[Data]) -> list[str]:
    return [str(each.get("text", "")) for each in entries]


def _answer(old: Data, new: Data) -> Iterator[Difference]:
    if old["conclusion"] != new["conclusion"]:
        yield Difference("answer", "answer", f"conclusion: {was_now(old['conclusion'], new['conclusion'])}")
    told = [
        *_lists("answer", "alarm", _texts(old["alarms"]), _texts(new["alarms"])),
        *_lists("answer", "contradiction", _texts(old["cannot_be_true"]), _texts(new["cannot_be_true"])),
    ]
    yield from told
    if not same(old["use_at_most"], new["use_at_most"]):
        yield Difference(
            "answer",
            "answer",
            f"use at most: {was_now(_uses(old['use_at_most']), _uses(new['use_at_most']))}",
        )
    if not same(old["at_best"], new["at_best"]):
        best = numbers_apart(
            (old["at_best"] or {}).get("continuous_a"), (new["at_best"] or {}).get("continuous_a"), "A"
        )
        yield Difference("answer", "answer", f"at best: {best}")
    lists = ("alarms", "cannot_be_true")
    rest = [
        words
        for key, words in (("ask_first", "what to ask first"), ("sentence", "the first sentence"))
        if not same(old[key], new[key])
    ]
    rest += [key.replace("_", " ") for key in lists if not same(old[key], new[key]) and not told]
    known = {"conclusion", "alarms", "cannot_be_true", "use_at_most", "at_best", "ask_first", "sentence"}
    rest += [
        _shown(key) for key in {**old, **new} if key not in known and not same(old.get(key), new.get(key))
    ]
    if rest:
        yield Difference("answer", "other", f"the answer differs in {', '.join(rest)}")


def _uses(uses: Sequence[Data]) -> str:
    if not uses:
        return "nothing"
    return "; ".join(
        f"{_number(each['continuous_a'], 3, 'A')} from {_number(each['low_c'], 3, '')} to "
        f"{_number(each['high_c'], 3, 'C')}"
        for each in uses
    )


def _findings(old: Sequence[Data], new: Sequence[Data]) -> Iterator[Difference]:
    before = {each["figure"]: each for each in old}
    after = {each["figure"]: each for each in new}
    for name in dict.fromkeys([*FIGURES, *before, *after]):
        if name not in before and name not in after:
            continue
        if name not in before or name not in after:
            gone = "is no longer in it" if name in before else "was not in it"
            yield Difference(name, "verdict", f"{figure_name(name)} {gone}")
        elif not same(before[name], after[name]):
            yield from _finding(name, before[name], after[name])
    if [each["figure"] for each in old] != [each["figure"] for each in new] and before.keys() == after.keys():
        yield Difference("findings", "other", "the figures stand in another order")


def _finding(name: str, old: Data, new: Data) -> Iterator[Difference]:
    words, unit = figure_name(name), str(new["unit"])
    claim = ("claimed", "claimed_range")
    if any(not same(old.get(key), new.get(key)) for key in claim):
        claimed = was_now(*_apart(lambda each, figures: _claimed(each, figures, unit), old, new))
        yield Difference(name, "claim", f"{words} claimed: {claimed}")
    supported = not same(old["supported"], new["supported"])
    by_how_much = f"supported: {ends_apart(old['supported'], new['supported'], unit)}" if supported else ""
    if old["verdict"] != new["verdict"]:
        changed = was_now(verdict_name(old["verdict"]), verdict_name(new["verdict"]))
        yield Difference(name, "verdict", f"{words}: {changed}{f'; {by_how_much}' if supported else ''}")
    elif supported:
        yield Difference(name, "other", f"{words} {by_how_much}")
    if old["limited_by"] != new["limited_by"]:
        limit = was_now(
            element_name(old["limited_by"]) or "nothing", element_name(new["limited_by"]) or "nothing"
        )
        yield Difference(name, "other", f"{words} decided by: {_shown(limit)}")
    if old["evidence"] != new["evidence"]:
        grade = was_now(evidence_name(old["evidence"]), evidence_name(new["evidence"]))
        yield Difference(name, "other", f"{words} evidence: {_shown(grade)}")
    said = {*claim, "figure", "supported", "verdict", "limited_by", "evidence"}
    rest = [
        _GROUNDS.get(key, _shown(key))
        for key in {**old, **new}
        if key not in said and not same(old.get(key), new.get(key))
    ]
    if rest:
        yield Difference(name, "other", f"{words}: its grounds differ ({', '.join(rest)})")


def _claimed(finding: Data, figures: int, unit: str) -> str:
    if finding.get("claimed_range") is not None:
        return _ends(finding["claimed_range"], figures, unit)
    return _number(finding["claimed"], figures, unit)


def _cell(old: Data, new: Data) -> Iterator[Difference]:
    names = [_shown(each["id"] or "not known") for each in (old, new)]
    if names[0] != names[1]:
        yield Difference("cell", "answer", f"cells: {was_now(*names)}")
    words = {
        "match": "how the cell was named", "note": "note on the cell", "suggestions": "nearest names",
        "candidates": "number of cells that fit", "evidence": "evidence of the cell", "source": "what names the cell",
        "used": "whether the cell is used", "name": "name of the cell",
    }  # fmt: skip
    for key in {**old, **new}:
        if key == "id" or same(old.get(key), new.get(key)):
            continue
        plain = all(isinstance(each.get(key), (str, int, type(None))) for each in (old, new))
        change = f": {numbers_apart(old.get(key), new.get(key))}" if plain else " differ"
        yield Difference("cell", "other", f"{words.get(key, _shown(key))}{change}")


def _rely_on(old: Data, new: Data) -> Iterator[Difference]:
    units = {
        "continuous_current_a": "A", "continuous_power_w": "W", "load_power_w": "W", "intended_load_w": "W",
        "intended_current_a": "A",
    }  # fmt: skip
    for key in {**old, **new}:
        before, after = old.get(key), new.get(key)
        if same(before, after):
            continue
        name = field_name(key)
        change = (
            ends_apart(before, after, units[key]) if key in units else was_now(_shown(before), _shown(after))
        )
        yield Difference("rely_on", "answer", f"to rely on, {name}: {change}")


def _plain(about: str, unit: str = "") -> Callable[[Data, Data], Iterator[Difference]]:
    """Return what tells the entries of a section of plain values apart."""

    def found(old: Data, new: Data) -> Iterator[Difference]:
        for key in {**old, **new}:
            if not same(old.get(key), new.get(key)):
                change = numbers_apart(old.get(key), new.get(key), unit)
                yield Difference(about, "other", f"{about} {_shown(key).replace('_', ' ')}: {change}")

    return found


def _texts_of(about: str, noun: str) -> Callable[[Sequence[str], Sequence[str]], Iterator[Difference]]:
    return lambda old, new: _lists(about, noun, map(str, old), map(str, new))


def _next_steps(old: Sequence[Data], new: Sequence[Data]) -> Iterator[Difference]:
    before, after = ([field_name(str(each["observe"])) for each in steps] for steps in (old, new))
    yield from _lists("next_steps", "next step", before, after)


def _contradictions(old: Sequence[Data], new: Sequence[Data]) -> Iterator[Difference]:
    # Their sentences are those of the answer, which are told there.
    if not same(_texts(old), _texts(new)):
        yield Difference("contradictions", "other", "the contradictions differ")


def _registry(old: Data, new: Data) -> Iterator[Difference]:
    if old["cells"] != new["cells"]:
        yield Difference(
            "registry", "other", f"registry: {numbers_apart(old['cells'], new['cells'], 'cells')}"
        )
    elif old["digest"] != new["digest"]:
        yield Difference("registry", "other", "the registry's cells are other ones")


def _inputs(old: Data, new: Data) -> Iterator[Difference]:
    yield from _facts(old["case"], new["case"], "")
    yield from _plain("limits")(old["limits"], new["limits"])
    yield from _plain("origin of")(old["limit_origins"], new["limit_origins"])
    if old["sheet"] != new["sheet"]:
        yield Difference("inputs", "other", f"datasheet picked: {numbers_apart(old['sheet'], new['sheet'])}")
    before, after = ({str(each.get("id")): each for each in of["cells"]} for of in (old, new))
    for cell_id in {**before, **after}:
        if not same(before.get(cell_id), after.get(cell_id)):
            yield Difference("inputs", "other", f"the datasheets of {_shown(cell_id)} differ")


def _facts(old: Any, new: Any, path: str) -> Iterator[Difference]:
    if isinstance(old, Mapping) or isinstance(new, Mapping):
        before, after = (each if isinstance(each, Mapping) else {} for each in (old, new))
        for key in {**before, **after}:
            yield from _facts(before.get(key), after.get(key), f"{path}.{key}".removeprefix("."))
    elif not same(old, new):
        kind = "claim" if path.startswith("claim.") else "fact"
        yield Difference(_shown(path), kind, f"{_shown(path)}: {numbers_apart(old, new)}")


# In the order in which they are told.
_OF_SECTION: dict[str, Callable[[Any, Any], Iterator[Difference]]] = {
    "answer": _answer,
    "findings": _findings,
    "cell": _cell,
    "rely_on": _rely_on,
    "contradictions": _contradictions,
    "temperature_c": _plain("air", "C"),
    "limits": _plain("limit"),
    "case": _plain("case"),
    "inputs": _inputs,
    "registry": _registry,
    "questions": _texts_of("questions", "question"),
    "next_steps": _next_steps,
}
