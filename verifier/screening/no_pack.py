"""Rows of a table that offer no battery pack: a charger alone, a protection board, a motor without battery, a holder.

What their figures say is of no pack; judged as one they would be told apart from nothing. What a row offers is the head
noun of its title, the first thing named or the last part of a compound ("Akku-Halterung", "battery charger"); a pack
named behind it is another's where "for" stands before it, or where it is said not to come along. Whoever states a
capacity, or another figure that only a pack has, offers a pack, whatever the words are.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, NamedTuple

from verifier.screening.columns import FAULT, NO_FIGURE, NO_PACK, states_nothing
from verifier.screening.heading_words import placed_meanings

# Whoever states one of these offers a pack, whatever comes with it.
_OF_A_PACK = tuple(
    f"claim.{name}"
    for name in (
        "capacity_ah", "energy_wh", "continuous_current_a", "peak_current_a", "max_current_a", "power_w", "series",
        "parallel", "configuration", "cell_count", "cell_capacity_ah", "cell_marking", "cycles", "range_km",
    )
)  # fmt: skip
_CURRENTS = frozenset({"claim.continuous_current_a", "claim.peak_current_a", "claim.max_current_a"})
_ROOM_FOR = frozenset({"claim.series", "claim.parallel", "claim.configuration", "claim.cell_count"})


class _Thing(NamedTuple):
    """What is sold that is no pack: in words, and which of a pack's figures may be its own."""

    words: str
    own: frozenset[str] = frozenset()


_PACK = "pack"
_HOUSING, _OTHER = "housing", "other"
_THINGS = {
    "charger": _Thing("a charger"),
    _HOUSING: _Thing("an empty housing", _ROOM_FOR),
    "bms": _Thing("a BMS", _CURRENTS | _ROOM_FOR),
    "motor": _Thing("a motor", _CURRENTS | {"claim.power_w"}),
    "controller": _Thing("a controller", _CURRENTS | {"claim.power_w"}),
    "cable": _Thing("a cable", _CURRENTS),
    "holder": _Thing("a holder", _CURRENTS),
    "display": _Thing("a display"),
    "bag": _Thing("a bag"),
    _OTHER: _Thing("something else"),
}
# What the reader of listings calls them.
_MEANT = {
    "charger": "charger", "bms": "bms", "motor": "motor", "controller": "controller", "lead": "cable",
    "charge_lead": "cable", "pack": _PACK, "cell": _PACK,
}  # fmt: skip
# Goods of which a listing of a pack has no figures, folded: as English has them; those that may end a compound; and as
# languages have them in which what a thing is for stands behind it. Common practice, no source.
_GOODS = {
    _PACK: ("batt", "akku|accu|batterie|batterij", "accus"),
    _HOUSING: (
        "case|housing|shell|box", "gehause|gehaeuse|behuizing|外壳|空壳|ケース",
        "boitier|coque|carcasa|caja|custodia|guscio|obudowa|caixa|carcaca",
    ),
    "holder": (
        "holder|bracket|mount|mounting plate|mounting rail",
        "halterung|akkuhalter|batteriehalter|montageplatte|grundplatte|houder|montageplaat|bevestigingsplaat|grondplaat|"
        "支架|底座|安装板|ブラケット|マウント",
        "support(?= (?:de|pour|batterie))|fixation|platine de fixation|soporte|placa de montaje|supporto|staffa|"
        "piastra di montaggio|uchwyt|mocowanie|plyta montazowa|suporte|placa de montagem|halter",
    ),
    "cable": ("cable", "kabel|延长线|线束|ケーブル", "cordon|rallonge|cavo|przewod|cabo|extensao"),
    "display": ("display", "仪表|ディスプレイ", "ecran|pantalla|schermo|wyswietlacz|visor"),
    "bag": ("bag", "tasche|accutas|fietstas|包袋|バッグ", "sacoche|bolsa|borsa|torba|alforge"),
}  # fmt: skip
_GOOD = re.compile(
    "|".join(
        rf"(?:(?<![a-z])(?:(?P<{name}_en>{english})|(?P<{name}_first>{first}))|(?P<{name}_last>{last}))(?:s|en|n)?(?![a-z])"
        for name, (english, last, first) in _GOODS.items()
    )
)
_EMPTY = re.compile(r"leer|空壳")
# Before what a thing is for, and before what comes along with it; folded.
_FOR = frozenset(
    {
        "for", "of", "to", "suits", "fits", "fur", "fuer", "zu", "von", "pour", "de", "d", "du", "des",
        "para", "del", "per", "di", "da", "della", "voor", "van", "naar", "do", "dla", "na", "à", "a", "用",
        "対応",
    }
)  # fmt: skip
_ALONG = frozenset(
    {
        "with", "and", "plus", "incl", "including", "mit", "und", "samt", "met", "en", "avec", "et", "con",
        "y", "e", "ed", "com", "z", "i", "oraz", "inkl", "inclusief",
    }
)  # fmt: skip
_WORD = re.compile(r"(?<![\d-])[^\W\d_]+(?!-)\b")
_CLAUSE = re.compile(r"[.!?;,:\n。！？；，、()]+")
_NEAR = 2


class _Named(NamedTuple):
    """A thing that a text names: where, what it is, and the languages that have the word so."""

    start: int
    end: int
    kind: str
    languages: frozenset[str]


# Where the head of two nouns that stand together is the last of them: "battery charger", "Akku Ladegerät".
_LAST = frozenset({"en", "de", "nl", "zh", "ja", "last"})


def offers_no_pack(title: str | None, row: Mapping[str, Any], text: str = "") -> str | None:
    """Return what a row offers that is no pack, None where it may offer one.

    Parameters
    ----------
    title : str or None
        Of the row, or the first line of its text.
    row : mapping of dotted name to value
        What is claimed.
    text : str
        What else the row says.
    """
    stated = {name for name in _OF_A_PACK if not states_nothing(row.get(name))}
    if not title or stated - _MOST_OWN:
        return None
    head = _head(title)
    if head == _PACK:
        return None
    if head is None:
        return _THINGS[_OTHER].words if not stated and _comes_without(f"{title}\n{text}") else None
    if stated - _THINGS[head].own:
        return None
    # A motor's kit may have a battery in it.
    return None if head == "motor" and not _are_others(f"{title}\n{text}") else _THINGS[head].words


_MOST_OWN = frozenset().union(*(each.own for each in _THINGS.values()))


@lru_cache(maxsize=20_000)
def _head(title: str) -> str | None:
    """Return what a title offers: a kind of thing, a pack, or None where it names neither."""
    named = _things_in(title)
    if not named:
        return None
    lower = _folded(title)
    head = named[0]
    for each in named[1:]:
        between = lower[head.end : each.start]
        if between.strip(" -"):
            break
        # "Battery charger", "Akku-Halterung": the last of nouns that stand together; "Chargeur batterie": the first.
        if " " not in between or "en" in head.languages or (head.kind == _PACK and each.languages & _LAST):
            head = each
    if _joined_by(lower, 0, head) in (_FOR if head.kind == _PACK else _ALONG):
        # "Spare keys for a battery", "Tour 36 with charger": what it offers has no name here.
        return None
    others = [each for each in named if each.kind == _PACK and each.start >= head.end]
    if others and not lower[head.end : others[0].start].strip() and head.kind not in ("bms", "motor", _PACK):
        others = others[1:]
    if head.kind == _PACK or any(_comes_along(lower, head.end, each, title) for each in others):
        return _PACK
    return head.kind


def _comes_along(lower: str, start: int, pack: _Named, title: str) -> bool:
    """Return whether a pack that a title names behind something else is sold too: it is not only what that is for."""
    return not _is_what_for(lower, start, pack) and (pack.start, pack.end) not in _denied(title)


def _is_what_for(lower: str, start: int, pack: _Named) -> bool:
    """Return whether "for" is the last that joins a pack to what stands before it."""
    return _joined_by(lower, start, pack) in _FOR or lower.startswith("用", pack.end)


def _joined_by(lower: str, start: int, named: _Named) -> str | None:
    """Return the last word that joins a thing to what stands before it, such as "for" or "with"; None where none is."""
    between = _WORD.findall(lower[start : named.start])
    return next((word for word in reversed(between) if word in _FOR or word in _ALONG), None)


@lru_cache(maxsize=2_000)
def _comes_without(text: str) -> bool:
    """Return whether a text denies every pack that it names."""
    return bool(_denied(text)) and _are_others(text)


@lru_cache(maxsize=2_000)
def _are_others(text: str) -> bool:
    """Return whether no pack that a text names is sold with it: each is denied, or what something is for."""
    lower = _folded(text)
    return not any(
        _comes_along(lower, start, each, text)
        for start, end in _clauses(lower)
        for each in _things_in(text)
        if each.kind == _PACK and start <= each.start < end
    )


@lru_cache(maxsize=2_000)
def _denied(text: str) -> frozenset[tuple[int, int]]:
    """Return where a text names a pack or cells that it says do not come along."""
    lower = _folded(text)
    named = _things_in(text)
    words = placed_meanings(text)
    found = set()
    for start, end in _clauses(lower):
        inside = [each for each in named if start <= each.start < end]
        for first, last, names in words:
            if not start <= first < end or not names & {"without", "negation", "not_included"}:
                continue
            behind = next((each for each in inside if each.start >= last), None)
            near = behind is not None and len(_WORD.findall(lower[last : behind.start])) <= _NEAR
            # "Does not include cells", "without battery"; else "the battery is not included".
            target = behind if near else next((each for each in reversed(inside) if each.end <= first), None)
            if target is not None and target.kind == _PACK:
                found.add((target.start, target.end))
    return frozenset(found)


def _clauses(lower: str) -> list[tuple[int, int]]:
    ends = [(each.start(), each.end()) for each in _CLAUSE.finditer(lower)]
    starts = [0, *(end for _, end in ends)]
    return list(zip(starts, [*(start for start, _ in ends), len(lower)], strict=True))


@lru_cache(maxsize=4_000)
def _things_in(text: str) -> tuple[_Named, ...]:
    """Return the packs, cells and other goods that a text names, in order, each place once."""
    lower = _folded(text)
    words = placed_meanings(text)
    empty = any("empty" in names for _, _, names in words) or _EMPTY.search(lower) is not None
    found = [
        _Named(start, end, _MEANT[name], frozenset({code}))
        for code, each in _words()
        for start, end, names in each.find(lower, 0, len(lower))
        for name in names & _MEANT.keys()
    ]
    for match in _GOOD.finditer(lower):
        kind, _, language = str(match.lastgroup).rpartition("_")
        if kind != _HOUSING or empty:
            found.append(_Named(match.start(), match.end(), kind, frozenset({language})))
    kept: list[_Named] = []
    for each in sorted(found, key=lambda each: (each.start, -each.end)):
        if not kept or each.start >= kept[-1].end:
            kept.append(each)
        elif each[:3] == kept[-1][:3]:
            kept[-1] = each._replace(languages=each.languages | kept[-1].languages)
    return tuple(kept)


def _words() -> list[tuple[str, Any]]:
    """Return the words that a listing is read by, of each language and those of all."""
    from verifier.listing.vocabulary import load_vocabulary

    known = load_vocabulary()
    return [("", known.shared), *((code, each.words) for code, each in known.languages.items())]


def _folded(text: str) -> str:
    from verifier.listing.source import folded

    return folded(text)


def without_them(
    columns: Mapping[str, Sequence[Any]],
    titles: Sequence[Any] | None,
    texts: Sequence[Any],
    listing: Sequence[int],
) -> dict[str, Sequence[Any]]:
    """Return a table without the claims of rows that offer no pack, which say in `NO_PACK` what they offer.

    Parameters
    ----------
    columns : mapping of column name to n_packs values
    titles : sequence of n_listings texts, optional
        Where there are none, the first line of a text is its title.
    texts : sequence of n_listings texts
    listing : sequence of n_packs int
        Which listing each pack belongs to.
    """
    parted = [text.partition("\n")[::2] if isinstance(text, str) else (None, "") for text in texts]
    if titles is not None:
        parted = [
            (title, text if isinstance(text, str) else "") if isinstance(title, str) else part
            for title, text, part in zip(titles, texts, parted, strict=True)
        ]
    names = [name for name in columns if name.startswith("claim.")]
    found = [
        None
        if columns[FAULT][row] not in (None, NO_FIGURE)
        else offers_no_pack(title, {name: columns[name][row] for name in _OF_A_PACK if name in columns}, text)
        for row, (title, text) in enumerate(parted[each] for each in listing)
    ]
    if not any(found):
        return dict(columns)
    cleared: dict[str, Sequence[Any]] = {
        name: [None if none else value for value, none in zip(columns[name], found, strict=True)]
        for name in names
    }
    faults = [None if none else fault for none, fault in zip(found, columns[FAULT], strict=True)]
    return {**columns, **cleared, NO_PACK: found, FAULT: faults}
