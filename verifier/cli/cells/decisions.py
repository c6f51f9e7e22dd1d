"""What a user decides about a draft: which figures stay, which are confirmed, which are typed anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import click

from registry.sheet_figures import DraftName
from registry.sheet_reader.acceptance import clashes, unstorable
from registry.sheet_reader.draft import DraftFigure, NotUnderstood, SheetDraft
from verifier.cli.cells.answers import BadAnswer
from verifier.cli.cells.figures import INPUTS, Given, plain_usage, read_figure
from verifier.cli.cells.read_sheet import figure_words, unread_words
from verifier.cli.options import say

_INPUTS = {each.key: each for each in INPUTS}
_INPUT_OF: dict[str, str] = {
    figure.draft: figure.key
    for figure in reversed(INPUTS)
    if figure.draft and not (figure.draft_kind and figure.notation in ("capacity", "range"))
}
"""Which option gives what a reader of sheets calls by a name; capacities and ranges go by their kind."""
_ALL_UNREAD = "not-understood"
_MODEL = "model"


@dataclass(slots=True)
class Decisions:
    """Figures by their numbers in the draft, those seen and not understood behind the others.

    ``unread`` are those of them that nothing was decided about; ``not_stated`` is what the sheet does not
    state, with what a user has confirmed of them.
    """

    kept: dict[int, DraftFigure]
    unread: dict[int, NotUnderstood]
    not_stated: tuple[DraftName, ...]
    model: str = ""
    """A name that is only likely and neither confirmed nor given."""
    confirmed: set[int] = field(default_factory=set)
    typed: list[Given] = field(default_factory=list)

    @classmethod
    def of(cls, draft: SheetDraft, *, needs_name: bool) -> Decisions:
        """Return the decisions about a draft before any is made."""
        first = len(draft.figures) + 1
        doubtful = draft.model if needs_name and draft.model_confirm else ""
        return cls(
            dict(enumerate(draft.figures, 1)), dict(enumerate(draft.not_understood, first)),
            draft.not_stated, doubtful,
        )  # fmt: skip

    def open_numbers(self) -> list[int]:
        """Return the numbers of figures that are doubtful and neither confirmed nor dropped."""
        return [number for number, each in self.kept.items() if each.confirm and number not in self.confirmed]

    def decide(self, settings: tuple[str, ...], confirmed: str | None, dropped: str | None) -> None:
        """Take what the options of a command decide. Raises ``click.UsageError`` for what is unknown."""
        right = set(self._numbers(confirmed, "--confirm"))
        for number in list(self._numbers(dropped, "--drop")):
            self.drop(number)
        for number in right:
            self.confirm(number)
        words = {word.strip() for word in (confirmed or "").split(",")}
        if words & {_MODEL, "all"}:
            self.model = ""
        if "all" in words:
            self.unread.clear()
        for setting in settings:
            name, equals, value = setting.partition("=")
            if not equals or not value.strip():
                raise click.UsageError(f"--set '{setting}': write FIGURE=VALUE, such as max_charge=1.7A")
            with plain_usage():
                self.set(name.strip(), value.strip())

    def confirm(self, number: int) -> None:
        """Take a figure as right; one that was seen and not understood is then one that is not stated.

        A condition of a figure that was read is only looked at: the figure itself stays stated.
        """
        unread = self.unread.pop(number, None)
        if unread is not None and any(each.figure == unread.figure for each in self.kept.values()):
            return
        if unread is not None:
            self.not_stated = (*self.not_stated, unread.figure)
        elif number in self.kept:
            self.confirmed.add(number)

    def drop(self, number: int) -> None:
        """Leave a figure out; nothing is then said of it."""
        self.kept.pop(number, None)
        self.unread.pop(number, None)

    def set(self, name: str, value: str) -> None:
        """Put a typed value in the place of what was read. Raises ``BadAnswer`` for what cannot be read."""
        key = _INPUT_OF.get(name, name.removeprefix("--").replace("-", "_"))
        source = _INPUTS.get(key)
        if source is None:
            known = ", ".join(dict.fromkeys([*_INPUT_OF, *_INPUTS]))
            raise BadAnswer(f"--set '{name}' is not a figure; known: {known}")
        self.typed.append(read_figure(source, value))
        for number, each in list(self.kept.items()):
            if each.figure == source.draft and source.draft_kind in ("", _kind_of(each)):
                self.kept.pop(number)
        for number, unread in list(self.unread.items()):
            if unread.figure == source.draft:
                self.unread.pop(number)

    def _numbers(self, words: str | None, option: str) -> Iterator[int]:
        names = {number: each.figure for number, each in self.kept.items()}
        names |= {number: unread.figure for number, unread in self.unread.items()}
        for word in filter(None, (part.strip() for part in (words or "").split(","))):
            if word == "all":
                yield from self.kept
            elif word == _ALL_UNREAD:
                yield from self.unread
            elif word != _MODEL or not self.model:
                found = [n for n, name in names.items() if word == str(n) or name == word.replace("-", "_")]
                if not found:
                    raise click.UsageError(
                        f"{option} '{word}': no figure of the draft has this name or number"
                    )
                yield from found

    def refuse_open(self) -> None:
        """Refuse to go on while a doubtful figure is open or two figures fill one place."""
        lines = (
            [f"  model  {self.model}: no label of its own gives it; or give --model"] if self.model else []
        )
        lines += [
            f"  {number}  {figure_words(self.kept[number])}: {self.kept[number].why_confirm or 'doubtful'}"
            for number in self.open_numbers()
        ]
        lines += [f"  {number}  {unread_words(each)}" for number, each in self.unread.items()]
        if lines:
            raise click.UsageError(
                "nothing was stored; these figures are doubtful or were not understood. Look at the sheet, "
                "then confirm them (--confirm), leave them out (--drop) or give the right value (--set); to "
                "confirm a figure that was not read says that the sheet does not state it:\n"
                + "\n".join(lines)
            )
        lines = [
            f"  {number}  {figure_words(each)}: {reason}"
            for number, each in self.kept.items() if (reason := unstorable(each))
        ]  # fmt: skip
        lines += [
            "  " + " and ".join(f"{number} ({figure_words(self.kept[number])})" for number in numbers)
            for numbers in clashes(list(self.kept.items()))
        ]
        if lines:
            raise click.UsageError(
                "nothing was stored; these cannot stand in the registry as they are. Leave out with --drop "
                "what does not hold, or give the right value with --set:\n" + "\n".join(lines)
            )


def _kind_of(each: DraftFigure) -> str:
    """Return what the catalogue of figures calls the kind of a figure."""
    if each.figure in {"ac_resistance", "dc_resistance"}:
        return "maximum" if each.at_most else ""
    return each.kind or "nominal"


def ask_doubtful(decisions: Decisions) -> None:
    """Ask for each open figure: keep it, drop it, or type the right value."""
    if decisions.model and click.confirm(f"\nIs '{decisions.model}' the cell's name?", err=True):
        decisions.model = ""
    for number in decisions.open_numbers():
        if number in decisions.kept:
            each = decisions.kept[number]
            place = f"page {each.page}: " if each.page else ""
            say(
                f'\n{number}  {figure_words(each)}\n   {place}"{each.quote}"\n   {each.why_confirm}', err=True
            )
            _ask(decisions, number, _typed_name(each), "y keeps it, n leaves it out")
    for number in list(decisions.unread):
        if number in decisions.unread:
            unread = decisions.unread[number]
            say(f"\n{number}  {unread_words(unread)}", err=True)
            said = "y says that the sheet does not state it, n leaves it out"
            _ask(decisions, number, _UNREAD_AS.get(unread.figure, unread.figure), said)


_UNREAD_AS = {"capacity": "nominal_ah", "operating_temperature": "discharge_temperature"}
"""What is typed for a figure that was not read, where its name alone does not say."""


def _ask(decisions: Decisions, number: int, name: str, choices: str) -> None:
    while True:
        said = click.prompt(f"   {choices}, or type the right value", err=True).strip()
        if said.lower() in {"y", "yes"}:
            decisions.confirm(number)
        elif said.lower() in {"n", "no"}:
            decisions.drop(number)
        else:
            try:
                decisions.set(name, said)
            except BadAnswer as error:
                say(f"   ! {error}", err=True)
                continue
            decisions.drop(number)
        return


def _typed_name(each: DraftFigure) -> str:
    if each.figure == "capacity":
        return f"{each.kind or 'nominal'}_ah"
    return f"{each.kind}_temperature" if each.figure == "operating_temperature" else each.figure
