"""What a command takes as CASE: case files, folders of them, a listing's text, or '-'; one way for all commands."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import click

from registry.cells import Cells
from registry.errors import ManyProblems, Noted, PlacedError
from registry.input_bounds import CASE, LISTING_FILE
from verifier.bounds import Bounds
from verifier.case.json_files import why_no_case
from verifier.case.limits import Limits
from verifier.case.reading import CaseFile, parse_case
from verifier.case_report import Report
from verifier.cli.options import (
    CASE_ENDINGS,
    TemperatureRange,
    read_bytes,
    read_text,
    registry_path_or_default,
    say,
)
from verifier.cli.typed import RESERVE, TypedNumber
from verifier.cli.user_settings import limits_in_force
from verifier.errors import InvalidCase, UnreadableInput
from verifier.judge import judge

LISTING_ENDINGS = (".txt", ".html", ".htm", ".eml", ".docx")
# What every page and every text of this program says of itself, so that none is taken for a seller's.
_OWN_PAGE = '<meta name="generator" content="packclaim"/>'
_OWN_WORDS = "a supported figure does not show that a pack is safe"

Command = Callable[..., Any]


class Wanted(NamedTuple):
    """How the cases of a command are to be judged, on top of what they say themselves.

    ``temperature_c`` is the air of use, ``motor_w`` the load it is meant for; None leaves each as it is.
    """

    temperature_c: tuple[float, float] | None = None
    reserve: float | None = None
    motor_w: float | None = None

    def limits(self, case_file: CaseFile) -> Limits:
        """Return the limits in force: the defaults, the case's overrides, the command line's on top."""
        return limits_with(limits_in_force(case_file.case.limits), self.reserve, self.temperature_c)

    def case_file(self, case_file: CaseFile) -> CaseFile:
        """Return a case with the load it is meant for."""
        if self.motor_w is None:
            return case_file
        load = Bounds(self.motor_w, self.motor_w)
        use = case_file.case.use.model_copy(update={"load_power_w": load})
        data = {**case_file.data, "use": {**case_file.data.get("use", {}), "load_power_w": self.motor_w}}
        return replace(case_file, case=case_file.case.model_copy(update={"use": use}), data=data)


def judging_options(command: Command) -> Command:
    """Add ``--temperature``, ``--reserve`` and ``--motor``."""
    options = (
        click.option(
            "--temperature", type=TemperatureRange(), help="Air temperature of use in C, such as -5..35."
        ),
        click.option(
            "--reserve", type=RESERVE,
            help="Fraction of a current or power limit to use, such as 2/3 or 66%.  [default: 2/3]",
        ),
        click.option(
            "--motor", type=TypedNumber("W", most=1_000_000), metavar="W",
            help="Power of the motor that the pack is meant for, such as 750.",
        ),
    )  # fmt: skip
    for option in reversed(options):
        command = option(command)
    return command


def limits_with(limits: Limits, reserve: float | None, temperature: tuple[float, float] | None) -> Limits:
    """Return limits with those that the command line overrides on top."""
    overrides: dict[str, Bounds | float] = {}
    if reserve is not None:
        overrides["reserve"] = reserve
    if temperature is not None:
        overrides["use_temperature_c"] = Bounds(*temperature)
    return limits.with_overrides(overrides)


def read_cases(
    names: Sequence[str], registry: Cells | None = None, noted: Noted | None = None
) -> list[CaseFile]:
    """Read every case named before any is judged; what is wrong with any of them is told at once.

    With ``noted`` those that can be read are returned, and what is wrong with others is kept there.

    Of a folder the case files and the listings' texts are taken, in order of name; any other JSON in it, such
    as a saved report, is passed over with a note on stderr. A listing is searched for the names of registered cells.

    Raises
    ------
    UnreadableInput
        When a folder holds neither.
    InvalidCase, ManyProblems
        When a file is no case.
    """
    kept = Noted() if noted is None else noted
    seen: set[Path] = set()
    found = [case for name in names for case in _named(name, kept, registry, seen)]
    if noted is None or not found:
        kept.raise_any(", ".join(names))
    return found


def inputs_of(files: Sequence[CaseFile], registry_path: Path | None) -> list[str | Path]:
    """Return every file that a command read, none of which it may write over."""
    places = [each.place for each in files if each.place != "stdin"]
    return [*dict.fromkeys(places), registry_path_or_default(registry_path)]


def read_one_case(name: str) -> CaseFile:
    """Read what must be one pack. Raises ``UnreadableInput`` when it is several."""
    found = read_cases([name])
    if len(found) > 1:
        places = ", ".join(dict.fromkeys(each.place for each in found[:4]))
        raise UnreadableInput(
            name, f"holds {len(found)} packs ({places}{', ...' if len(found) > 4 else ''})",
            "name one of them; 'packclaim read-listing' writes each pack of a listing to its own file",
        )  # fmt: skip
    return found[0]


def _named(name: str, noted: Noted, registry: Cells | None, seen: set[Path]) -> Iterator[CaseFile]:
    """Yield the cases of a file or a folder, but for files that were ``seen`` already."""
    if name == "-" or not _is_folder(name):
        if not _is_again(name, seen):
            with noted.of_one(name):
                yield from cases_in(name, registry)
        return
    inside = sorted(path for path in Path(name).iterdir() if path.is_file())
    fitting = [path for path in inside if path.suffix.lower() in CASE_ENDINGS + LISTING_ENDINGS]
    taken = [path for path in fitting if not _passed_over(path)]
    if not taken:
        raise UnreadableInput(
            name, "holds no case and no listing", "a case ends in .yaml, .yml or .json, a listing in .txt"
        )
    for path in taken:
        if not _is_again(str(path), seen):
            with noted.of_one(str(path)):
                yield from cases_in(str(path), registry)


def _is_again(name: str, seen: set[Path]) -> bool:
    """Whether a file was named before, which is then said: the same pack twice is no second one."""
    if name == "-":
        return False
    try:
        path = Path(name).resolve()
    except (OSError, ValueError):
        # A name that cannot be is told when it is read.
        return False
    if path in seen:
        say(f"packclaim: {name}: named before, taken once", err=True)
        return True
    seen.add(path)
    return False


def _is_folder(name: str) -> bool:
    try:
        return Path(name).is_dir()
    except (OSError, ValueError):
        # A name that cannot be is told when it is read.
        return False


def _is_own(text: str) -> bool:
    """Whether a text is a report that this program has saved."""
    return _OWN_PAGE in text[:2000] or _OWN_WORDS in " ".join(text.lower().split())


def _passed_over(path: Path) -> bool:
    """Whether a file in a folder is none of a pack, which is then said."""
    from verifier.listing import is_listing

    ending = path.suffix.lower()
    why = ""
    if ending == ".json":
        why = why_no_case(_text_of(str(path)))
    elif ending in LISTING_ENDINGS:
        text = _text_of(str(path))
        why = (
            "is a report of this program"
            if _is_own(text)
            else ""
            if is_listing(text)
            else "claims nothing of a pack"
        )
    if why:
        say(f"packclaim: {path}: passed over: {why}", err=True)
    return bool(why)


def cases_in(name: str, registry: Cells | None = None) -> list[CaseFile]:
    """Read a case file, or a listing's text as a case for every pack that it offers."""
    text, place = _text_of(name), "stdin" if name == "-" else name
    ending = "" if name == "-" else Path(name).suffix.lower()
    if ending not in CASE_ENDINGS and _is_own(text):
        raise InvalidCase(place, "is a report of this program, no listing", "name the case it was made from")
    if ending == ".json" and (kind := why_no_case(text)):
        raise InvalidCase(
            place, kind, "'packclaim recheck' takes saved reports; a case has claim and observed"
        )
    if ending not in CASE_ENDINGS:
        from verifier.listing import cases_from_listing, is_listing

        if ending in LISTING_ENDINGS or is_listing(text):
            return cases_from_listing(text, place, registry)
    return [parse_case(text, place)]


def _text_of(name: str) -> str:
    if name != "-" and Path(name).suffix.lower() in CASE_ENDINGS:
        return read_text(name, CASE)
    from verifier.listing.files import listing_text

    return listing_text(read_bytes(name, LISTING_FILE), "stdin" if name == "-" else name)


def judge_file(
    case_file: CaseFile,
    registry: Cells,
    limits: Limits,
    sheet: str | None = None,
    *,
    explain: bool = False,
) -> Report:
    """Judge one case; what is wrong with it is told with its file."""
    try:
        return judge(case_file.case, registry, limits=limits, sheet=sheet, explain=explain)
    except ManyProblems:
        raise
    except PlacedError as error:
        raise InvalidCase(f"{case_file.place} {error.place}", error.found, error.expected) from error


def judge_files(files: Sequence[CaseFile], registry: Cells, wanted: Wanted) -> list[Report]:
    """Judge every case as it is wanted."""
    return [
        judge_file(case_file, registry, wanted.limits(case_file))
        for case_file in (wanted.case_file(each) for each in files)
    ]
