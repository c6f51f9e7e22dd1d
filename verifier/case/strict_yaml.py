"""Reading YAML and JSON into plain data, with the line of every field, and nothing surprising.

Numbers follow YAML 1.2: a code such as ``0500`` stays text, ``1:30`` and dates stay text, ``yes`` and ``no``
are truth values. Anchors, aliases, tags, repeated keys and very deep or very large documents are refused.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from typing import Any, NoReturn

import yaml

from registry.input_bounds import CASE, CASE_DEPTH, CASE_VALUES
from verifier.errors import InvalidCase

Path = tuple[str | int, ...]

_INTEGER = re.compile(r"[-+]?(0|[1-9]\d*)")
_DECIMAL = re.compile(r"[-+]?(\.\d+|\d+(\.\d*)?)([eE][-+]?\d+)?")
_LEADING_ZERO = re.compile(r"[-+]?0\d+")
_TRUTH = {"true": True, "yes": True, "false": False, "no": False}
_NOTHING = {"", "~", "null"}
_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class WrittenInt(int):
    """An integer that remembers how it was written."""

    as_written: str


class WrittenFloat(float):
    """A decimal number that remembers how it was written."""

    as_written: str


@dataclass(slots=True)
class Document:
    """Plain data, and the line on which each field of it stands."""

    data: Any
    lines: dict[Path, int] = field(default_factory=dict)

    def line(self, path: Path) -> int | None:
        """Return the line of a field, or of the nearest field around it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path)


def parse(text: str, place: str) -> Document:
    """Read one YAML or JSON document.

    Raises
    ------
    InvalidCase
        With the line and what is wrong there.
    """
    if len(text) > CASE.most:
        raise InvalidCase(place, f"is larger than {CASE}", CASE.why)
    if text.lstrip().startswith("{"):
        return Document(_parse_json(text, place))
    document = Document(None)
    try:
        document.data = _Reader(text, place, document.lines).document()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        where = f"{place} line {mark.line + 1}" if mark else place
        raise InvalidCase(where, f"is not YAML ({error.problem or error.context})") from error
    except (yaml.YAMLError, RecursionError, UnicodeError) as error:
        raise InvalidCase(place, "is not readable as YAML", "see samples/cases for the form") from error
    return document


class _Reader:
    """Builds plain data from the events of one YAML document."""

    def __init__(self, text: str, place: str, lines: dict[Path, int]) -> None:
        self.events = iter(yaml.parse(text, Loader=_Loader))
        self.place = place
        self.lines = lines
        self.nodes = 0

    def document(self) -> Any:
        data: Any = None
        documents = 0
        for event in self.events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self._refuse(event, "a second document begins", "one file holds one case")
                data = self._node(self._next(), ())
        if not documents:
            raise InvalidCase(self.place, "is empty", "see samples/cases for the form")
        return data

    def _refuse_marks(self, event: Any) -> None:
        if isinstance(event, yaml.AliasEvent) or event.anchor is not None:
            self._refuse(event, "an anchor or alias is used", "write the value out where it is needed")
        if event.tag is not None and event.tag != "!":
            self._refuse(event, f"the tag {event.tag} is used", "write plain values")

    def _node(self, event: Any, path: Path) -> Any:
        self._refuse_marks(event)
        self.nodes += 1
        if self.nodes > CASE_VALUES.most or len(path) > CASE_DEPTH.most:
            self._refuse(event, "the document is too large or too deep", "a case is some tens of lines")
        self.lines.setdefault(path, event.start_mark.line + 1)
        if isinstance(event, yaml.MappingStartEvent):
            return self._mapping(path)
        if isinstance(event, yaml.SequenceStartEvent):
            return self._sequence(path)
        return _scalar(event)

    def _next(self) -> Any:
        return next(self.events)

    def _sequence(self, path: Path) -> list[Any]:
        found: list[Any] = []
        while not isinstance(event := self._next(), yaml.SequenceEndEvent):
            found.append(self._node(event, (*path, len(found))))
        return found

    def _mapping(self, path: Path) -> dict[str, Any]:
        found: dict[str, Any] = {}
        while not isinstance(event := self._next(), yaml.MappingEndEvent):
            if not hasattr(event, "value"):
                self._refuse(event, "a key is not a plain word", "write 'name: value'")
            self._refuse_marks(event)
            key = str(event.value)
            if key in found:
                self._refuse(event, f"key '{key}' stands twice", "keep one of them")
            self.lines[(*path, key)] = event.start_mark.line + 1
            found[key] = self._node(self._next(), (*path, key))
        return found

    def _refuse(self, event: Any, found: str, expected: str) -> NoReturn:
        raise InvalidCase(f"{self.place} line {event.start_mark.line + 1}", found, expected)


def _scalar(event: Any) -> Any:
    text = str(event.value)
    return text if event.style in ("'", '"', "|", ">") else plain_value(text)


def plain_value(text: str) -> Any:
    """Return what a bare word of a case stands for: nothing, a truth value, a number, or the word itself."""
    if text.lower() in _NOTHING:
        return None
    if text.lower() in _TRUTH:
        return _TRUTH[text.lower()]
    if _LEADING_ZERO.fullmatch(text) or len(text) > 40:
        return text
    if _INTEGER.fullmatch(text):
        return _whole(text)
    if _DECIMAL.fullmatch(text):
        return _decimal(text)
    return text


def _whole(text: str) -> WrittenInt:
    whole = WrittenInt(text)
    whole.as_written = text
    return whole


def _decimal(text: str) -> WrittenFloat:
    number = WrittenFloat(text)
    number.as_written = text
    return number


def _parse_json(text: str, place: str) -> Any:
    def refuse_constant(name: str) -> NoReturn:
        raise InvalidCase(place, f"{name} is not a number", "leave out what is not known")

    def pairs(items: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in items:
            if key in found:
                raise InvalidCase(place, f"key '{key}' stands twice", "keep one of them")
            found[key] = value
        return found

    try:
        return json.loads(
            text,
            parse_constant=refuse_constant,
            object_pairs_hook=pairs,
            parse_int=_whole,
            parse_float=_decimal,
        )
    except json.JSONDecodeError as error:
        raise InvalidCase(f"{place} line {error.lineno}", f"is not JSON ({error.msg})") from error
    except (RecursionError, ValueError) as error:
        raise InvalidCase(place, "is not readable as JSON (too deep, or a number is too long)") from error
