"""The guided way to add a sheet: one question a figure, in plain words, until the cell is complete."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, get_args

import click
from pydantic import ValidationError

from registry.cell import EVIDENCE_BEST_FIRST, Cell, Form, cell_id_from
from registry.chemistry import CHEMISTRIES
from registry.fields import problems
from registry.sheet_figures import SheetFigure
from verifier.cli.cells.answers import BadAnswer, Values, several
from verifier.cli.cells.figures import GROUPS, Given, question, read_figure, with_figures
from verifier.cli.cells.identity import size_code
from verifier.cli.options import say
from verifier.report.cells import cell_text

INTRODUCTION = """\
One question a figure. Type the figure as the sheet prints it, with its unit.
  (empty)   not known
  -         looked for, the sheet does not state it
  <         back to the question before
Several figures in one answer: separate them with ';'.
Where it stands: end the answer with page 3, or with page 3 "the line as printed".
"""
BACK = "<"
NOT_STATED = "-"
# What a cell needs before its own answers are all there, so that each answer is checked at once.
_PLACEHOLDER = {"id": "x", "maker": "x", "model": "x", "chemistry": "other"}
_PLACEHOLDER_SHEET = {"evidence": "secondhand"}


@dataclass(slots=True)
class Draft:
    """What is known so far of the cell and the sheet to add."""

    cell: Values = field(default_factory=dict)
    sheet: Values = field(default_factory=dict)
    figures: dict[str, list[Given]] = field(default_factory=dict)
    not_stated: set[str] = field(default_factory=set)
    dashed: dict[str, str] = field(default_factory=dict)
    """Figures answered with '-', by the key of the question."""

    def sheet_record(self) -> Values:
        """Return the sheet as a record; a figure of which any part is given is not 'not stated'."""
        given = [item for items in self.figures.values() for item in items]
        dashed = set(self.dashed.values()) - {item.source.field for item in given}
        return with_figures(_PLACEHOLDER_SHEET | self.sheet, given, self.not_stated | dashed)


@dataclass(frozen=True, slots=True)
class Question:
    """One question: what it asks, and how the answer goes into a draft (empty and '-' included)."""

    group: str
    words: str
    answer: Callable[[Draft, str], None]
    forget: Callable[[Draft], None]
    applies: Callable[[Draft], bool] = lambda draft: True


def ask_sheet(draft: Draft, *, base: Cell | None, taken: Container[str]) -> bool:
    """Ask for everything that a draft does not hold yet, show it, and ask whether to store it.

    Parameters
    ----------
    draft : Draft
        What the options gave; filled in place.
    base : Cell or None
        The registered cell the sheet goes to; ``None`` asks for the cell too.
    taken : container of str
        Ids that are registered already.

    Returns
    -------
    bool
        Whether the user said to store it.
    """
    say(INTRODUCTION, err=True)
    form = None if base is None else base.form
    questions = [*(_cell_questions(draft, taken) if base is None else ()), *_sheet_questions(draft, form)]
    at = 0
    while True:
        _ask_from(questions, at, draft, base)
        say("\n" + cell_text(finished(draft, base)) + "\n", err=True)
        said = _prompt("Store this? y, n, or < to go back")
        if said.lower() in {"y", "yes"}:
            return True
        if said.lower() in {"n", "no"}:
            return False
        # Back goes to the last question; any other answer asks only this one again.
        at = max(0, len(questions) - 1) if said == BACK else len(questions)


def _ask_from(questions: Sequence[Question], at: int, draft: Draft, base: Cell | None) -> None:
    """Ask from one question on to the last; going back skips what does not apply, as going on does."""
    group, step = "", 1
    while at < len(questions):
        question = questions[at]
        if question.applies(draft):
            if question.group != group:
                group = question.group
                say(f"\n{group}", err=True)
            step = 1 if _ask(question, draft, base) else -1
        at += step
        if at < 0:
            at, step = 0, 1


def finished(draft: Draft, base: Cell | None) -> Cell:
    """Return the cell that a draft makes: the registered one with one more sheet, or a new one."""
    if base is None:
        return Cell.model_validate(_PLACEHOLDER | draft.cell | {"sheets": [draft.sheet_record()]})
    record = base.model_dump()
    return Cell.model_validate(record | {"sheets": [*record["sheets"], draft.sheet_record()]})


def _prompt(words: str) -> str:
    answer: str = click.prompt(words, default="", show_default=False, err=True, prompt_suffix=": ")
    return answer.strip()


def _ask(question: Question, draft: Draft, base: Cell | None) -> bool:
    """Ask until the answer can be taken; returns False when the user wants to go back."""
    question.forget(draft)
    while True:
        text = _prompt(f"  {question.words}")
        if text == BACK:
            return False
        try:
            question.answer(draft, text)
            finished(draft, base)
        except BadAnswer as error:
            reason = str(error)
        except ValidationError as error:
            reason = "; ".join(words for _, _, words in problems(error, Cell))
        else:
            return True
        question.forget(draft)
        say(f"  ! {reason}", err=True)


def _text_question(
    group: str, key: str, words: str, place: Callable[[Draft], Values], check: Any
) -> Question:
    """Return a question whose answer is a text; ``check`` returns what is stored, or None for nothing."""

    def answer(draft: Draft, text: str) -> None:
        value = check(text)
        if value is not None:
            place(draft)[key] = value

    def forget(draft: Draft) -> None:
        place(draft).pop(key, None)

    return Question(group, words, answer, forget)


def _of_cell(draft: Draft) -> Values:
    return draft.cell


def _of_sheet(draft: Draft) -> Values:
    return draft.sheet


def _optional(text: str) -> str | None:
    if text == NOT_STATED:
        raise BadAnswer("'-' answers a figure only; leave this empty when it is not known")
    return text or None


def _needed(text: str) -> str:
    found = _optional(text)
    if found is None:
        raise BadAnswer("this one is needed; Ctrl-C leaves without storing anything")
    return found


def _size(text: str) -> str | None:
    found = _optional(text)
    try:
        return None if found is None else size_code(found)
    except ValueError as error:
        raise BadAnswer(str(error)) from error


def _one_of(names: tuple[str, ...], *, empty: str | None = None) -> Callable[[str], str]:
    def check(text: str) -> str:
        chosen = next((name for name in names if name.lower() == text.lower().replace(" ", "_")), None)
        if not text and empty:
            return empty
        if chosen is None:
            raise BadAnswer(f"write one of: {', '.join(names)}")
        return chosen

    return check


def _cell_questions(draft: Draft, taken: Container[str]) -> Iterator[Question]:
    group = "The cell"

    def identity(text: str) -> str:
        chosen = _optional(text) or cell_id_from(draft.cell.get("maker", ""), draft.cell.get("model", ""))
        if chosen in taken:
            raise BadAnswer(
                f"'{chosen}' is registered already; choose another id, or stop and use --to {chosen}"
            )
        return chosen

    def markings(text: str) -> list[str] | None:
        return list(several(_optional(text) or "")) or None

    asked = (
        ("maker", "Maker", _needed),
        ("model", "Model, as the sheet prints it", _needed),
        ("id", "Id in the registry (empty: from maker and model)", identity),
        (
            "form",
            "Form: cylindrical, prismatic or pouch (empty: cylindrical)",
            _one_of(get_args(Form), empty="cylindrical"),
        ),
        ("size", "Size code, such as 18650 or 21700 (empty: none)", _size),
        ("chemistry", f"Chemistry: {', '.join(CHEMISTRIES)}", _one_of(CHEMISTRIES)),
        ("markings", "Markings on the wrapper, separated by ';'", markings),
    )
    for key, words, check in asked:
        if key not in draft.cell:
            yield _text_question(group, key, words, _of_cell, check)


def _sheet_questions(draft: Draft, form: Form | None) -> Iterator[Question]:
    group = "The sheet"
    asked = (
        (
            "evidence",
            f"Where the figures come from: {', '.join(EVIDENCE_BEST_FIRST)}",
            _one_of(EVIDENCE_BEST_FIRST),
        ),
        ("title", "Title of the sheet", _optional),
        ("revision", "Revision", _optional),
        ("date", "Date: 2025, 2025-03 or 2025-03-01", _optional),
    )
    for key, words, check in asked:
        if key not in draft.sheet:
            yield _text_question(group, key, words, _of_sheet, check)
    for heading, inputs in GROUPS.items():
        for source in inputs:
            if source.key not in draft.figures and source.field not in draft.not_stated:
                yield _figure_question(heading, source, form)


def _figure_question(group: str, source: SheetFigure, form: Form | None) -> Question:
    def answer(draft: Draft, text: str) -> None:
        if text == NOT_STATED:
            draft.dashed[source.key] = source.field
        elif text:
            pieces = list(several(text)) if source.many else [text]
            draft.figures[source.key] = [read_figure(source, piece) for piece in pieces]

    def forget(draft: Draft) -> None:
        draft.figures.pop(source.key, None)
        draft.dashed.pop(source.key, None)

    def applies(draft: Draft) -> bool:
        is_round = (form or draft.cell.get("form")) == "cylindrical"
        return source.round_cell is None or source.round_cell == is_round

    return Question(group, question(source), answer, forget, applies)
