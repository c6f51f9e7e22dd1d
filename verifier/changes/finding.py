"""Finding what changed between two screenings, or between two saved reports of the same packs.

Listings are matched by a column, or by title and seller. Where several share these, a column of the shop's own numbers
tells them apart; where there is none, they are matched in their order.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import unescape
from math import isfinite
from operator import itemgetter
from pathlib import Path
from sys import intern
from typing import Any

from verifier.answer import Conclusion
from verifier.changes.model import Changed, Changes
from verifier.changes.own_key import SELLERS, TITLES, carried, own_key
from verifier.changes.result_rows import ENDINGS, NO_RESULT, result_rows
from verifier.differences import differences, for_reader, numbers_apart, was_now
from verifier.errors import InvalidReport, UnreadableInput
from verifier.figures import FIGURES
from verifier.screening.columns import BESIDE
from verifier.screening.results import CONCLUSION, CONCLUSIONS, READ, ROW, UNREADABLE, column
from verifier.screening.words import HEADS
from verifier.words import figure_name, verdict_name

_NUMBERS = ("claimed", "supported_low", "supported_high")

_BETWEEN = "\n"
# A table for people holds four digits of a number, one for machines all of them.
_ROUNDING = 6e-4
_TAG = re.compile(r"<[^<>]{1,500}>")
# Of these nothing claimed is shown to be false any more.
_MENDED = frozenset(
    {
        Conclusion.NOT_SETTLED, Conclusion.IF_SELLERS_WORD_HOLDS, Conclusion.WITHOUT_RESERVE,
        Conclusion.AS_ADVERTISED, Conclusion.NOTHING_CLAIMED,
    }
)  # fmt: skip
_LONGEST_SHOWN, _SHOWN_BEFORE = 100, 20

Key = tuple[str, ...]


def changes(old: str, new: str, key: str | None = None) -> Changes:
    """Return what changed between two files of one kind.

    Parameters
    ----------
    old, new
        Two results of a screening (CSV, TSV, xlsx, JSON Lines or Parquet), or two files of saved reports (JSON).
    key
        The column by which listings are matched; title and seller when left out.

    Raises
    ------
    UnreadableInput, InvalidReport
        When a file cannot be read, is neither, or lacks the column; when the two are of unlike kinds.
    """
    tables = [Path(name).suffix.lower() in ENDINGS for name in (old, new)]
    if tables[0] != tables[1]:
        raise UnreadableInput(new, "is of another kind than the first file", "give two of one kind")
    if tables[0]:
        return _of_tables(old, new, key if key is not None else own_key(old, new))
    if key is not None:
        raise UnreadableInput(
            "--key", "saved reports have no columns", "leave it out: they go by their titles"
        )
    return _of_reports(old, new)


# -- saved reports -------------------------------------------------------------------------------------------


def _of_reports(old: str, new: str) -> Changes:
    from verifier.recheck import read_reports

    before, after = (read_reports(_text(name), name) for name in (old, new))
    if len(before) == len(after) == 1:
        # Two reports of one pack, whatever it was called.
        pairs = [(before[0], after[0])]
        added: list[Changed] = []
        gone: list[Changed] = []
    else:
        waiting = _queues((_title(each), each) for each in before)
        pairs, added = [], []
        for each in after:
            match = waiting[_title(each)]
            if match:
                pairs.append((match.pop(0), each))
            else:
                added.append(Changed(_title(each), (_conclusion_of(each),)))
        gone = [Changed(name, ()) for name, left in waiting.items() for _ in left]
    told = [(_title(second), for_reader(differences(first, second))) for first, second in pairs]
    changed = [Changed(title, tuple(texts)) for title, texts in told if texts]
    return Changes(
        "title", len(before), len(after), tuple(added), tuple(gone), tuple(changed), counted="pack"
    )


def _title(report: Mapping[str, Any]) -> str:
    return str(report["case"]["title"])


def _conclusion_of(report: Mapping[str, Any]) -> str:
    return str(report["answer"]["sentence"])


def _text(name: str) -> str:
    try:
        return Path(name).read_text(encoding="utf-8-sig")
    except OSError as error:
        raise UnreadableInput(name, f"cannot be read ({error.strerror or error})", NO_RESULT) from error
    except UnicodeDecodeError as error:
        raise InvalidReport(name, "is not UTF-8 text", NO_RESULT) from error


def _queues(entries: Iterable[tuple[Any, Any]]) -> defaultdict[Any, list[Any]]:
    found: defaultdict[Any, list[Any]] = defaultdict(list)
    for name, entry in entries:
        found[name].append(entry)
    return found


# -- results of a screening ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Listing:
    """What is kept of one row: its answer, what of it was not read, and each figure's verdict and numbers.

    ``worst`` is the figure that the answer names, with what is claimed and supported; results that hold no figures
    have no more. ``source`` are the columns of the source that were carried along, by name; ``name`` is title and
    seller, ``listing`` its row, which several packs share.
    """

    name: str
    listing: str
    sentence: str
    not_read: str
    worst: tuple[str, str, str]
    conclusion: str
    alarms: str
    dangers: str
    contradictions: str
    verdicts: tuple[str, ...]
    numbers: tuple[float | None, ...]
    source: tuple[tuple[str, str], ...]


def _of_tables(old: str, new: str, key: str | None) -> Changes:
    with result_rows(old) as (names, rows):
        columns = _key_columns(names, key, old)
        of_source = carried(names)
        waiting = _queues((_key(row, columns, old), _listing(row, of_source)) for row in rows)
    before = {each.listing for queue in waiting.values() for each in queue}
    added: list[tuple[Key, _Listing]] = []
    changed: list[tuple[tuple[bool, bool, int], Changed]] = []
    reworded: list[Changed] = []
    after: set[str] = set()

    def compare(name: str, first: _Listing, second: _Listing) -> None:
        texts, words = tuple(_row_changes(first, second)), tuple(_source_changes(first, second))
        if texts:
            changed.append((_weight(first, second), Changed(name, (*texts, *words))))
        elif words:
            reworded.append(Changed(name, words))

    with result_rows(new) as (names, rows):
        missing = [each for each in columns if each not in names]
        if missing:
            raise UnreadableInput(
                new, f"has no column '{missing[0]}', as {old} has", _columns_in_words(names)
            )
        # A column that one of the two has not says nothing of a listing.
        both = [name for name in of_source if name in names]
        for row in rows:
            listing = _listing(row, both)
            after.add(listing.listing)
            name = _key(row, columns, new)
            match = waiting.get(name)
            if match:
                compare(_called(name, listing), match.pop(0), listing)
            else:
                added.append((name, listing))
    left = [(name, each) for name, queue in waiting.items() for each in queue]
    for (name, second), (_, first) in _renamed(added, left):
        compare(_called(name, second), first, second)
    return Changes(
        " and ".join(columns), len(before), len(after),
        tuple(Changed(_called(name, each), (each.sentence,)) for name, each in sorted(added, key=_severity)),
        tuple(Changed(_called(name, each), ()) for name, each in left),
        tuple(each for _, each in sorted(changed, key=itemgetter(0))), tuple(reworded),
    )  # fmt: skip


def _weight(old: _Listing, new: _Listing) -> tuple[bool, bool, int]:
    """Return the place of what changed: first what came to something else or is in danger, and of that the worst.

    Only so many are shown, and a price that is read now must not stand before a pack that is false now.
    """
    same = (old.conclusion, old.alarms, old.dangers) == (new.conclusion, new.alarms, new.dangers)
    place = _place(new.conclusion)
    return same, place >= _place(old.conclusion), place


_Keyed = tuple[Key, _Listing]


def _severity(entry: _Keyed) -> int:
    """Return the place of a listing by what it comes to, worst first."""
    return _place(entry[1].conclusion)


def _place(conclusion: str) -> int:
    return CONCLUSIONS.index(conclusion) if conclusion in CONCLUSIONS else len(CONCLUSIONS)


def _renamed(added: list[_Keyed], gone: list[_Keyed]) -> list[tuple[_Keyed, _Keyed]]:
    """Take out of what is new and gone those that are one listing under another title, and return them in pairs."""
    waiting = _queues((_but_title(each), (name, each)) for name, each in gone)
    found = []
    for entry in list(added):
        match = waiting.get(_but_title(entry[1])) if entry[1].source else None
        if match and len(match) == 1:
            found.append((entry, match.pop()))
            added.remove(entry)
    taken = {id(second[1]) for _, second in found}
    gone[:] = [entry for entry in gone if id(entry[1]) not in taken]
    return found


def _but_title(listing: _Listing) -> tuple[Any, ...]:
    title = listing.name.partition(_BETWEEN)[0]
    seller = listing.name.partition(_BETWEEN)[2]
    return (seller, *(pair for pair in listing.source if pair[1] != title))


def _called(key: Key, listing: _Listing) -> str:
    """Return what a listing is called: its key, then title and seller where the key is another column."""
    name, known = _name(key), listing.name.replace(_BETWEEN, ", ")
    return name if not known or known in name else f"{name}: {known}"


def _source_changes(old: _Listing, new: _Listing) -> Iterator[str]:
    """Yield what changed in the words of the source, a column at a time."""
    if old.name != new.name:
        for what, first, second in zip(
            ("title", "seller"), old.name.split(_BETWEEN), new.name.split(_BETWEEN), strict=False
        ):
            if first != second:
                yield f"{what}: {was_now(_shortened(first), _shortened(second))}"
    before = dict(old.source)
    said = {*old.name.split(_BETWEEN), *new.name.split(_BETWEEN)}
    for name, value in new.source:
        first = before.get(name, "")
        if name in before and _in_words(first) != _in_words(value) and not {first, value} <= said:
            yield f"'{name}': {was_now(*_where_apart(first, value))}"


def _in_words(text: str) -> str:
    """Return a text without the tags of a page: other tags around the same words change nothing."""
    return " ".join(unescape(_TAG.sub(" ", text)).split()) if "<" in text or "&" in text else text


def _where_apart(old: str, new: str) -> tuple[str, str]:
    """Return two texts from shortly before where they differ."""
    same = next((at for at, pair in enumerate(zip(old, new, strict=False)) if pair[0] != pair[1]), 0)
    same = same or min(len(old), len(new))
    start = old.rfind(" ", 0, max(0, same - _SHOWN_BEFORE)) + 1
    lead = "…" if start and max(len(old), len(new)) > _LONGEST_SHOWN else ""
    found = (lead + text[start if lead else 0 :] for text in (old, new))
    one, other = (_shortened(each) or "empty" for each in found)
    return one, other


def _shortened(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= _LONGEST_SHOWN else f"{line[: _LONGEST_SHOWN - 1]}…"


def _key_columns(names: Sequence[str], key: str | None, place: str) -> tuple[str, ...]:
    if key is not None:
        if key not in names:
            raise UnreadableInput(place, f"has no column '{key}'", _columns_in_words(names))
        return (key,)
    title = next((each for each in TITLES if each in names), None)
    seller = next((each for each in SELLERS if each in names), None)
    if title is None:
        raise UnreadableInput(
            place,
            "has no column 'title' to match listings by",
            f"name one with --key: {_columns_in_words(names)}",
        )
    return (title,) if seller is None else (title, seller)


def _columns_in_words(names: Sequence[str]) -> str:
    own = {READ, *HEADS} - {"title", "seller"}
    found = [name for name in names if name not in own and name.partition(".")[0] not in FIGURES]
    return (
        f"its own columns are {', '.join(found[:12])}" if found else "it carries no columns of the listings"
    )


def _key(row: Mapping[str, Any], columns: Sequence[str], place: str) -> Key:
    key = tuple(" ".join(str(row.get(name) or "").split()) for name in columns)
    key = key if any(key) else (f"(row {row.get('row')})",)
    # Of a listing that offers several packs, each has a row.
    return (*key, f"pack {row['pack']}") if row.get("pack") else key


def _name(key: Key) -> str:
    return ", ".join(part for part in key if part)


def _listing(row: Mapping[str, Any], carried: Sequence[str]) -> _Listing:
    title, seller = (
        " ".join(next((str(row[each]) for each in names if row.get(each)), "").split())
        for names in (TITLES, SELLERS)
    )
    return _Listing(
        f"{title}{_BETWEEN}{seller}" if title or seller else "", str(row.get(ROW)),
        _word(row.get("sentence")), _word(row.get("not_read")),
        (_word(row.get("worst_figure")), _word(row.get("claimed")), _word(row.get("supported"))),
        _word(row.get(CONCLUSION)), _word(row.get("alarm")), _word(row.get("danger")), _word(row.get("contradiction")),
        tuple(_word(row.get(column(figure, "verdict"))) for figure in FIGURES),
        tuple(_number(row.get(column(figure, part))) for figure in FIGURES for part in _NUMBERS),
        tuple((name, _source_word(row.get(name))) for name in carried),
    )  # fmt: skip


def _source_word(value: Any) -> str:
    """Return a value of the source as text; a number is the same however a file holds it."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return intern(str(value)) if value is not None else ""


def _word(value: Any) -> str:
    return intern(str(value)) if value is not None else ""


def _number(value: Any) -> float | None:
    if value is None or value == "" or isinstance(value, bool):
        return None
    try:
        number = float(value)
    except (TypeError, ValueError):
        return None
    return number if isfinite(number) else None


def _row_changes(old: _Listing, new: _Listing) -> Iterator[str]:
    if (old.conclusion == UNREADABLE) != (new.conclusion == UNREADABLE):
        yield (
            "can be read now" if old.conclusion == UNREADABLE else f"cannot be read any more: {new.sentence}"
        )
        return
    if old.not_read != new.not_read:
        yield (
            f"not read any more: {new.not_read}"
            if new.not_read
            else f"can be read now, where it said: {old.not_read}"
        )
    if old.conclusion != new.conclusion:
        yield f"conclusion: {was_now(old.conclusion or 'none', new.conclusion or 'none')}"
    yield from _codes("alarm", "no alarm any more", old.alarms, new.alarms)
    yield from _codes("danger", "no danger any more", old.dangers, new.dangers)
    yield from _codes("contradiction", "no longer contradicts", old.contradictions, new.contradictions)
    if not any(old.verdicts) and not any(new.verdicts):
        if new.conclusion in _MENDED and old.conclusion not in _MENDED and old.worst[0]:
            yield f"no longer shown to be false: {_with_claim(old.worst)}"
        else:
            yield from _worst_changes(old.worst, new.worst)
    for place, (name, entry) in enumerate(FIGURES.items()):
        first, second = (each.numbers[3 * place : 3 * place + 3] for each in (old, new))
        if not _equal(first[0], second[0]):
            yield f"{figure_name(name)} claimed: {numbers_apart(first[0], second[0], entry.unit)}"
        before, after = old.verdicts[place], new.verdicts[place]
        if before != after:
            changed = was_now(_verdict(before), _verdict(after))
            yield f"{figure_name(name)}: {changed}{_support(first, second, entry.unit)}"


def _worst_changes(old: tuple[str, str, str], new: tuple[str, str, str]) -> Iterator[str]:
    """Yield what changed of the worst figure, where no result holds the figures themselves."""
    if old[0] != new[0]:
        yield f"worst figure: {was_now(_with_claim(old), _with_claim(new))}"
        return
    for noun, before, after in zip(("claimed", "supported"), old[1:], new[1:], strict=True):
        if before != after:
            yield f"{new[0]} {noun}: {was_now(before or 'nothing', after or 'nothing')}"


def _with_claim(worst: tuple[str, str, str]) -> str:
    figure, claimed, _ = worst
    return f"{figure} ({claimed} claimed)" if claimed else figure or "none"


def _verdict(word: str) -> str:
    try:
        return verdict_name(word) if word else "not judged"
    except ValueError:
        return word


def _support(first: Sequence[float | None], second: Sequence[float | None], unit: str) -> str:
    if first[2] is None or second[2] is None or _equal(first[2], second[2]):
        return ""
    return f"; at most {numbers_apart(first[2], second[2], unit)}"


def _equal(old: float | None, new: float | None) -> bool:
    if old is None or new is None:
        return old is new
    return abs(old - new) <= _ROUNDING * max(abs(old), abs(new))


def _codes(noun: str, gone: str, old: str, new: str) -> Iterator[str]:
    before, after = (
        Counter(filter(None, (part.strip() for part in each.split(BESIDE)))) for each in (old, new)
    )
    for code in after - before:
        yield f"new {noun}: {code}"
    for code in before - after:
        yield f"{gone}: {code}"
