"""The settings of this user: one TOML file, where this system keeps such files; environment and options go first."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from registry.fields import nearest
from registry.printed import UnreadableQuantity, read_quantity
from verifier.bounds import Bounds
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    from verifier.case.limits import Limits

PLACE = "PACKCLAIM_SETTINGS"
"""Environment variable that names another file."""
ORIGIN = "in your settings"
EXAMPLE = """\
registry = "bench.sqlite"        # a SQLite file or a bundle; beside this file unless the path is whole
temperature = "-5..35"           # air of use in C
reserve = "2/3"                  # part of each limit to use
language = "de"                  # of questions to sellers
[shop]                           # on hand-over sheets
name = "Quay Street Cycles"
logo = "QSC"                     # a few letters
[limits]                         # any of 'packclaim limits'
conductor_limit_c = 70
"""
_LONGEST = 100_000
_LONGEST_NAME, _LONGEST_LOGO = 80, 12
_JUDGING = ("check", "compare", "which-cells", "needs", "screen", "log")
_WITH_REGISTRY = (*_JUDGING, "questions", "start", "recheck")


@dataclass(frozen=True, slots=True)
class Settings:
    """What the file says; None or empty where it says nothing."""

    place: Path
    registry: Path | None = None
    temperature: str | None = None
    reserve: str | None = None
    language: str | None = None
    shop_name: str | None = None
    shop_logo: str | None = None
    limits: Mapping[str, Bounds] = field(default_factory=dict)

    def defaults(self) -> dict[str, Any]:
        """Return the defaults of every command's options, as click takes them."""
        from verifier.cli.cells import COMMANDS as CELLS

        judging = {
            name: value
            for name, value in (("temperature", self.temperature), ("reserve", self.reserve))
            if value is not None
        }
        registry = {} if self.registry is None else {"registry_path": str(self.registry)}
        found: dict[str, Any] = {
            name: {**registry, **(judging if name in _JUDGING else {})} for name in _WITH_REGISTRY
        }
        found["cells"] = dict.fromkeys(CELLS, registry)
        if self.language is not None:
            found["questions"]["language"] = self.language
        return found


def settings_path() -> Path:
    """Return where the settings lie, whether there are any or not."""
    named = os.environ.get(PLACE)
    if named:
        return Path(named)
    from platformdirs import user_config_path

    return user_config_path("packclaim", appauthor=False) / "settings.toml"


def limits_in_force(overrides: Mapping[str, Bounds] | None = None) -> Limits:
    """Return the default limits, with those of the settings on top, and on these the ones given."""
    from verifier.case.limits import Limits

    own = settings().limits
    given = overrides or {}
    return Limits({**own, **given}, {name: ORIGIN for name in own if name not in given})


def settings() -> Settings:
    """Return the settings in force, read once for as long as the file stays the same.

    Raises
    ------
    UnreadableInput
        When the file cannot be read, or says what makes no sense.
    """
    path = settings_path()
    try:
        changed = path.stat().st_mtime_ns
    except OSError:
        changed = 0
    return _read(path, changed)


@cache
def _read(path: Path, _changed: int) -> Settings:
    try:
        text = path.read_bytes()[: _LONGEST + 1].decode("utf-8-sig")
    except FileNotFoundError:
        return Settings(path)
    except (OSError, UnicodeDecodeError) as error:
        raise UnreadableInput(str(path), f"the settings cannot be read ({error})") from error
    import tomllib

    try:
        return _checked(path, tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise UnreadableInput(
            str(path), f"is no TOML ({error})", "see 'packclaim settings --example'"
        ) from error


def _checked(path: Path, data: Mapping[str, Any]) -> Settings:
    tops = ("registry", "temperature", "reserve", "language", "shop", "limits")
    _refuse_unknown(path, "", data, tops)
    shop = _table(path, data, "shop")
    _refuse_unknown(path, "shop.", shop, ("name", "logo"))
    registry = _text(path, data, "registry")
    return Settings(
        place=path,
        registry=None if registry is None else path.parent / Path(registry).expanduser(),
        temperature=_quantity(path, data, "temperature", "C"),
        reserve=_quantity(path, data, "reserve", "fraction"),
        language=_language(path, _text(path, data, "language")),
        shop_name=_text(path, shop, "name", "shop.", _LONGEST_NAME),
        shop_logo=_text(path, shop, "logo", "shop.", _LONGEST_LOGO),
        limits=_limits(path, _table(path, data, "limits")),
    )


def _refuse_unknown(path: Path, group: str, data: Mapping[str, Any], known: tuple[str, ...]) -> None:
    for name in data:
        if name not in known:
            raise UnreadableInput(f"{path} {group}{name}", "is no setting", nearest(name, list(known)))


def _table(path: Path, data: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    found = data.get(name, {})
    if not isinstance(found, dict):
        raise UnreadableInput(f"{path} {name}", "must be a table", f"write [{name}] and its settings below")
    return found


def _text(path: Path, data: Mapping[str, Any], name: str, group: str = "", most: int = 1000) -> str | None:
    found = data.get(name)
    if found is None:
        return None
    if not isinstance(found, str) or not 0 < len(found) <= most:
        raise UnreadableInput(f"{path} {group}{name}", f"must be a text of at most {most} letters")
    return found


def _quantity(path: Path, data: Mapping[str, Any], name: str, unit: str | None) -> str | None:
    found = data.get(name)
    if found is None:
        return None
    try:
        read_quantity(str(found), unit)
    except UnreadableQuantity as error:
        raise UnreadableInput(f"{path} {name}", str(error)) from error
    return str(found)


def _language(path: Path, code: str | None) -> str | None:
    if code is not None:
        from verifier.questions import languages

        if code not in languages():
            raise UnreadableInput(
                f"{path} language", f"there is no language '{code}'", nearest(code, list(languages()))
            )
    return code


def _limits(path: Path, data: Mapping[str, Any]) -> Mapping[str, Bounds]:
    if not data:
        return {}
    from pydantic import ValidationError

    from registry.fields import plain_words
    from verifier.case.limits import override_problem
    from verifier.case.model import Case

    try:
        found = dict(Case.model_validate({"limits": data}).limits)
    except ValidationError as error:
        raise UnreadableInput(f"{path} limits", plain_words(error)) from error
    for name, value in found.items():
        problem = override_problem(name, value)
        if problem is not None:
            raise UnreadableInput(f"{path} limits.{name}", *problem)
    return found
