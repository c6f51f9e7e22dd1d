"""``start``: asks in plain words for what is known of a pack, writes the case file and gives the answer."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import click

from registry.cells import Cells
from verifier.case.fields import case_fields
from verifier.case.interview import (
    BadAnswer,
    Data,
    Question,
    answered,
    applies,
    case_text,
    choices_of,
    is_unknown,
    questions,
    value_at,
    without,
)
from verifier.case.json_files import saved_kind
from verifier.case.model import STAGES, Stage
from verifier.case.reading import parse_case
from verifier.cli.check import terminal
from verifier.cli.completion import files
from verifier.cli.inputs import Wanted, judge_file
from verifier.cli.options import CASE_ENDINGS, read_registry, read_text, registry_option, say, write_text
from verifier.errors import InvalidCase, UnreadableInput
from verifier.report.layout import printable
from verifier.schemas import case_schema_for

INTRODUCTION = """\
Type numbers as they are printed, with their unit: 14Ah, 2,5 mm, 12 AWG, 13S4P, 10..20.
  (empty) or ?   don't know
  <              back to the question before
  .              that is all I know
Ctrl-C leaves without writing anything.
"""
BACK, DONE = "<", "."
_STAGES: dict[Stage, str] = {
    "listed": "only the listing",
    "arrived": "the pack is in hand",
    "opened": "the case is open",
    "tested": "strip or capacity was tested",
}


@dataclass(slots=True)
class _Begun:
    """What the questions begin with: the file as it was or a draft of it, and where it goes."""

    text: str
    data: Data
    target: Path | None


@click.command()
@click.argument("file", required=False, metavar="[CASE|LISTING]", shell_complete=files)
@click.option("--out", metavar="CASE", help="Case file to write.  [default: CASE, else by the pack's title]")
@registry_option
def start(file: str | None, out: str | None, registry_path: Path | None) -> None:
    """Ask in plain words for what you know of a pack, write the case file, and give the answer.

    CASE is a case file to go on with, or a new one; LISTING is a listing's text, from which the claims are taken.
    Anything may be left open: an open question is never taken for a good answer.

    Example: packclaim start samples/listings/pier-nine-commuter.txt --out commuter.yaml
    """
    registry = read_registry(registry_path)
    begun = _begin(file, registry)
    target = Path(out) if out is not None else begun.target
    if target is not None:
        _refuse_target(target, begun)
    say(INTRODUCTION, err=True)
    data = _asked(_staged(_named(begun.data, target)), known=begun.data)
    if target is None:
        target = _free_name(str(value_at(data, "case.title") or "pack"))
    text = case_text(data, schema=case_schema_for(target), before=begun.text)
    case_file = parse_case(text, str(target))
    report = judge_file(case_file, registry, Wanted().limits(case_file))
    # A case that is gone on with holds its observations still, which the new text holds too.
    write_text(str(target), text, inputs=[], same_case=True)
    say("", err=True)
    from verifier.report import as_text

    say(as_text.render([report], **terminal()), nl=False)


def _begin(file: str | None, registry: Cells) -> _Begun:
    if file is None:
        return _Begun("", {}, None)
    path = Path(file)
    is_case = path.suffix.lower() in CASE_ENDINGS
    if file != "-" and not path.exists():
        if not is_case:
            raise UnreadableInput(file, "is not there", "a new case file ends in .yaml")
        return _Begun("", {}, path)
    if file == "-":
        raise UnreadableInput("-", "stdin is where you answer", "save the listing to a file first")
    text = read_text(file)
    if is_case:
        return _of_case(text, file)
    return _of_listing(text, file, registry)


def _of_case(text: str, file: str) -> _Begun:
    if file.lower().endswith(".json"):
        try:
            kind = saved_kind(json.loads(text))
        except (ValueError, RecursionError):
            kind = ""
        what = f"is a {kind}" if kind else "is JSON, which holds no comments"
        raise InvalidCase(file, what, "give a case file that ends in .yaml")
    data = parse_case(text, file).data if text.strip() else {}
    return _Begun(text, data, Path(file))


def _of_listing(text: str, file: str, registry: Cells) -> _Begun:
    from verifier.listing import case_drafts, cases_from_reading, read_listing
    from verifier.listing.files import refuse_too_long

    refuse_too_long(text, file)
    reading = read_listing(text, cells=registry)
    drafts, cases = case_drafts(reading), cases_from_reading(reading, file)
    if not any(case.data.get("claim") for case in cases):
        raise UnreadableInput(file, "claims nothing of a pack", "give a listing's text, or a case file")
    number = 0
    if len(drafts) > 1:
        titles = [str(case.data["case"]["title"]) for case in cases]
        say("The listing offers several packs:", err=True)
        for at, title in enumerate(titles, 1):
            say(f"  {at}  {printable(title)}", err=True)
        number = click.prompt("Which one", type=click.IntRange(1, len(titles)), err=True) - 1
    # What a case file may not hold is told before the first question.
    return _Begun(drafts[number], parse_case(drafts[number], file).data, None)


def _refuse_target(target: Path, begun: _Begun) -> None:
    if target.suffix.lower() not in (".yaml", ".yml"):
        raise UnreadableInput(str(target), "is no name of a case file to write", "let it end in .yaml")
    own = begun.target is not None and target.resolve() == begun.target.resolve()
    if target.exists() and not own:
        raise UnreadableInput(str(target), "is there already, and would be lost", "name another file")


def _prompt(words: str) -> str:
    answer: str = click.prompt(words, default="", show_default=False, err=True, prompt_suffix=": ")
    return answer.strip()


def _named(data: Data, target: Path | None) -> Data:
    if value_at(data, "case.title"):
        say(f"Pack: {printable(str(value_at(data, 'case.title')))}", err=True)
        return data
    usual = "pack" if target is None else target.stem
    return _answer_of(data, "case.title", f"What do you call this pack (empty: {usual})", usual)


def _staged(data: Data) -> Data:
    for stage, words in _STAGES.items():
        say(f"  {stage:9}{words}", err=True)
    known = str(value_at(data, "case.stage") or "listed")
    return _answer_of(data, "case.stage", f"How far have you got (empty: {known})", known)


def _answer_of(data: Data, name: str, words: str, usual: str) -> Data:
    question = Question(case_fields()[name], choices_of(name))
    while True:
        text = _prompt(words)
        try:
            return answered(data, question, usual if is_unknown(text) or text in (BACK, DONE) else text)
        except BadAnswer as error:
            say(f"  ! {error}", err=True)


def _asked(data: Data, *, known: Data) -> Data:
    """Return the data with every answer; going back takes an answer out again."""
    stage = str(value_at(data, "case.stage"))
    every = questions(stage if stage in STAGES else "listed")
    at, asked, group = 0, list[int](), ""
    while at < len(every):
        question = every[at]
        if not applies(question, data, known):
            at += 1
            continue
        section = _section_of(question)
        if section != group:
            group = section
            say(f"\n{group}", err=True)
        say(f"  {question.field.words}: {question.hint}", err=True)
        text = _prompt(f"  {question.field.words}")
        if text == DONE:
            break
        if text == BACK:
            if asked:
                at = asked.pop()
                data = without(data, every[at])
            continue
        if not is_unknown(text):
            try:
                data = answered(data, question, text)
            except BadAnswer as error:
                say(f"  ! {error}", err=True)
                continue
        asked.append(at)
        at += 1
    return data


def _section_of(question: Question) -> str:
    words = case_fields()[question.field.name.partition(".")[0]].words
    return words[:1].upper() + words[1:]


def _free_name(title: str) -> Path:
    """Return a file name made of a title that is not there yet."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-") or "pack"
    return next(each for each in _names(stem) if not each.exists())


def _names(stem: str) -> Iterator[Path]:
    yield Path(f"{stem}.yaml")
    number = 2
    while True:
        yield Path(f"{stem}-{number}.yaml")
        number += 1
