"""``cells accept``: a draft, once its doubtful figures are settled, as a sheet of the registry."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click
from pydantic import ValidationError

from registry.bundle import validate_cell
from registry.cell import Cell, cell_id_from
from registry.cells import Cells
from registry.chemistry import CHEMISTRIES
from registry.errors import InvalidRecord
from registry.fields import problems
from registry.input_bounds import DRAFT
from registry.sheet_reader.acceptance import clashes, sheet_record, unstorable
from registry.sheet_reader.draft import DraftFigure, SheetDraft, SheetReading
from verifier.cli.cells.answers import BadAnswer
from verifier.cli.cells.figures import INPUTS, Given, plain_usage, read_figure, with_figures
from verifier.cli.cells.identity import IDENTITY, SHEET, SizeCode, identity_options, sheet_options, taken_from
from verifier.cli.cells.read_sheet import draft_lines, figure_words
from verifier.cli.cells.registries import author_options, cell_with_id, changing, path_to_change, registered
from verifier.cli.cells.rendering import cell_text
from verifier.cli.options import read_text, registry_option, say

_INPUTS = {each.key: each for each in INPUTS}
_INPUT_OF: dict[str, str] = {
    figure.draft: figure.key
    for figure in reversed(INPUTS)
    if figure.draft and not (figure.draft_kind and figure.notation in ("capacity", "range"))
}
"""Which option gives what a reader of sheets calls by a name; capacities and ranges go by their kind."""


@dataclass(slots=True)
class _Choice:
    """What a user decided about a draft: which figures stay, which are confirmed, which are typed anew."""

    kept: dict[int, DraftFigure]
    confirmed: set[int] = field(default_factory=set)
    typed: list[Given] = field(default_factory=list)

    def open_numbers(self) -> list[int]:
        """Return the numbers of figures that are doubtful and neither confirmed nor dropped."""
        return [number for number, each in self.kept.items() if each.confirm and number not in self.confirmed]


@click.command()
@click.argument("draft_file", metavar="DRAFT")
@click.option("--of", "of_model", metavar="MODEL", help="Which draft to take, when the file holds several.")
@click.option("--id", "cell_id", metavar="ID", help="Id in the registry.  [default: from maker and model]")
@click.option("--to", "to_id", metavar="ID", help="Add the sheet to this registered cell.")
@identity_options
@sheet_options
@click.option(
    "--set", "settings", multiple=True, metavar="FIGURE=VALUE",
    help="Put this value in place of what was read, written as for 'cells add'.  [repeatable]",
)  # fmt: skip
@click.option(
    "--confirm", "confirmed", metavar="FIGURE,…",
    help="Doubtful figures that are right, by name or number; 'all' for every one.",
)  # fmt: skip
@click.option("--drop", "dropped", metavar="FIGURE,…", help="Figures to leave out, by name or number.")
@click.option("--yes", is_flag=True, help="Store without asking.")
@author_options(why_required=False)
@registry_option
def accept(
    draft_file: str, of_model: str | None, registry_path: Path | None, cell_id: str | None, to_id: str | None,
    settings: tuple[str, ...], confirmed: str | None, dropped: str | None, yes: bool, who: str, why: str,
    **typed: Any,
) -> None:  # fmt: skip
    """Store a draft of 'cells read-sheet' in the registry, with page and line of each figure.

    A doubtful figure is stored only when it is confirmed; otherwise it is dropped or given anew. On a
    terminal each one is asked for, and so is what a sheet does not say.

    Example: packclaim cells accept samples/sheets/osk-21700-40h.json --maker Osk --size 21700 --chemistry NMC
    --confirm all --yes
    """
    reading = _reading(draft_file)
    draft = _one_draft(reading, of_model or typed.get("model"))
    ask = sys.stdin.isatty() and draft_file != "-"
    target = path_to_change(registry_path)
    identity, sheet = taken_from(typed, IDENTITY), taken_from(typed, SHEET)
    with registered(target) as known:
        base = cell_with_id(known, to_id) if to_id else None
        taken = set(known.ids())
        held = _held_already(reading, known)
    if base is not None and identity:
        raise click.UsageError("--to names a registered cell; change what that cell is with 'cells edit'")
    say("\n".join(draft_lines(draft)), err=True)
    choice = _chosen(draft, settings, confirmed, dropped)
    if ask:
        _ask_doubtful(choice)
    _refuse_open(choice)
    if base is None:
        _complete_identity(identity, draft, ask=ask)
        if cell_id:
            identity["id"] = cell_id
    record = _sheet(draft, choice, reading.file_sha256, sheet)
    cell = _cell(identity, record, base, taken)
    for note in held:
        say(note, err=True)
    if not yes:
        if not ask:
            raise click.UsageError("nothing was stored; say --yes to store it without being asked")
        say("\n" + cell_text(cell) + "\n", err=True)
        if not click.confirm("Store this?", err=True):
            say("nothing was stored", err=True)
            return
    with changing(target, create=True) as store:
        if base is None:
            store.add([cell], who=who, why=why)
        else:
            store.edit(cell, who=who, why=why, seen=base)
    say(f"{cell.id}: sheet {len(cell.sheets)} added")


def _held_already(reading: SheetReading, known: Cells) -> list[str]:
    """Return a note for every sheet of the registry that was read from the same file."""
    if reading.file_sha256 is None:
        return []
    return [
        f"note: '{reading.file}' is sheet {number} of {cell.id} already (same SHA-256)"
        for cell in known.cells(all=True)
        for number, sheet in enumerate(cell.sheets, 1)
        if sheet.file_sha256 == reading.file_sha256
    ]


def _reading(name: str) -> SheetReading:
    text = read_text(name, DRAFT)
    try:
        reading = SheetReading.model_validate_json(text)
    except ValidationError as error:
        path, words = next((path, words) for _, path, words in problems(error, SheetReading))
        raise InvalidRecord(
            f"{name} {path}".strip(),
            words[:200],
            "a draft is written by 'packclaim cells read-sheet FILE --out DRAFT'",
        ) from error
    if reading.refused is not None or not reading.drafts:
        raise InvalidRecord(name, f"holds no draft: {reading.refused or 'nothing was read'}")
    return reading


def _one_draft(reading: SheetReading, model: str | None) -> SheetDraft:
    if len(reading.drafts) == 1:
        return reading.drafts[0]
    found = [draft for draft in reading.drafts if draft.model == model]
    if len(found) == 1:
        return found[0]
    names = ", ".join(f"'{draft.model}'" for draft in reading.drafts)
    raise click.UsageError(f"the draft holds several models ({names}); choose one with --of")


def _chosen(
    draft: SheetDraft, settings: tuple[str, ...], confirmed: str | None, dropped: str | None
) -> _Choice:
    choice = _Choice(dict(enumerate(draft.figures, 1)))
    confirmed_numbers = set(_numbers(choice.kept, confirmed, "--confirm"))
    for number in _numbers(choice.kept, dropped, "--drop"):
        choice.kept.pop(number)
    choice.confirmed = confirmed_numbers & set(choice.kept)
    for setting in settings:
        name, equals, value = setting.partition("=")
        if not equals or not value.strip():
            raise click.UsageError(f"--set '{setting}': write FIGURE=VALUE, such as max_charge=1.7A")
        with plain_usage():
            _set(choice, name.strip(), value.strip())
    return choice


def _set(choice: _Choice, name: str, value: str) -> None:
    key = _INPUT_OF.get(name, name.removeprefix("--").replace("-", "_"))
    source = _INPUTS.get(key)
    if source is None:
        known = ", ".join(dict.fromkeys([*_INPUT_OF, *_INPUTS]))
        raise BadAnswer(f"--set '{name}' is not a figure; known: {known}")
    choice.typed.append(read_figure(source, value))
    for number, each in list(choice.kept.items()):
        if each.figure == source.draft and (
            not source.draft_kind or source.draft_kind == (each.kind or "nominal")
        ):
            choice.kept.pop(number)


def _numbers(figures: dict[int, DraftFigure], words: str | None, option: str) -> Iterator[int]:
    for word in filter(None, (part.strip() for part in (words or "").split(","))):
        if word == "all":
            yield from figures
            continue
        found = [n for n, each in figures.items() if str(n) == word or each.figure == word.replace("-", "_")]
        if not found:
            raise click.UsageError(f"{option} '{word}': no figure of the draft has this name or number")
        yield from found


def _refuse_open(choice: _Choice) -> None:
    """Refuse to go on while a doubtful figure is open or two figures fill one place."""
    lines = [
        f"  {number}  {figure_words(choice.kept[number])}: {choice.kept[number].why_confirm or 'doubtful'}"
        for number in choice.open_numbers()
    ]
    if lines:
        raise click.UsageError(
            "nothing was stored; these figures are doubtful. Look at the sheet, then confirm them "
            "(--confirm), leave them out (--drop) or give the right value (--set):\n" + "\n".join(lines)
        )
    lines = [
        f"  {number}  {figure_words(each)}: {reason}"
        for number, each in choice.kept.items() if (reason := unstorable(each))
    ]  # fmt: skip
    lines += [
        "  " + " and ".join(f"{number} ({figure_words(choice.kept[number])})" for number in numbers)
        for numbers in clashes(list(choice.kept.items()))
    ]
    if lines:
        raise click.UsageError(
            "nothing was stored; these cannot stand in the registry as they are. Leave out with --drop "
            "what does not hold, or give the right value with --set:\n" + "\n".join(lines)
        )


def _ask_doubtful(choice: _Choice) -> None:
    """Ask for each doubtful figure: keep it, drop it, or type the right value."""
    for number in choice.open_numbers():
        if number not in choice.kept:
            continue
        each = choice.kept[number]
        place = f"page {each.page}: " if each.page else ""
        say(f'\n{number}  {figure_words(each)}\n   {place}"{each.quote}"\n   {each.why_confirm}', err=True)
        while True:
            said = click.prompt("   y keeps it, n leaves it out, or type the right value", err=True).strip()
            if said.lower() in {"y", "yes"}:
                choice.confirmed.add(number)
            elif said.lower() in {"n", "no"}:
                choice.kept.pop(number)
            else:
                try:
                    _set(choice, _typed_name(each), said)
                except BadAnswer as error:
                    say(f"   ! {error}", err=True)
                    continue
            break


def _typed_name(each: DraftFigure) -> str:
    if each.figure == "capacity":
        return f"{each.kind or 'nominal'}_ah"
    return f"{each.kind}_temperature" if each.figure == "operating_temperature" else each.figure


def _complete_identity(identity: dict[str, Any], draft: SheetDraft, *, ask: bool) -> None:
    if draft.model:
        identity.setdefault("model", draft.model)
    needed = [name for name in ("maker", "model", "chemistry") if not identity.get(name)]
    if needed and not ask:
        raise click.UsageError(
            f"{', '.join(f'--{name}' for name in needed)} missing; a sheet does not say it"
        )
    if needed:
        click.echo("needed; Ctrl-C leaves without storing anything", err=True)
    for name in needed:
        words = f"Chemistry ({', '.join(CHEMISTRIES)})" if name == "chemistry" else name.capitalize()
        kind = click.Choice(CHEMISTRIES, case_sensitive=False) if name == "chemistry" else None
        identity[name] = click.prompt(words, err=True, type=kind, show_choices=False)
    printed, maker = identity["model"], identity["maker"]
    if printed.lower().startswith(f"{maker.lower()} "):
        # A sheet prints "LYR 18650-30V" where the registry keeps maker and model apart.
        identity["model"] = printed[len(maker) :].strip()
        identity.setdefault("markings", [printed])
    if ask and not identity.get("size"):
        identity["size"] = click.prompt(
            "Size code, such as 18650 (empty: none)",
            default="",
            show_default=False,
            err=True,
            type=SizeCode(),
        )
        if not identity["size"]:
            del identity["size"]


def _sheet(
    draft: SheetDraft, choice: _Choice, file_sha256: str | None, sheet: dict[str, Any]
) -> dict[str, Any]:
    record = sheet_record(draft, choice.kept.values(), file_sha256)
    with plain_usage():
        record = with_figures(record | {"evidence": "maker"} | sheet, choice.typed)
    if not any(
        record.get(name) for name in record if name not in {"evidence", "file_sha256", "not_stated", *SHEET}
    ):
        raise click.UsageError("nothing was stored; no figure is left of the draft")
    return record


def _cell(identity: dict[str, Any], record: dict[str, Any], base: Cell | None, taken: set[str]) -> Cell:
    if base is not None:
        known = base.model_dump()
        return validate_cell(known | {"sheets": [*known["sheets"], record]}, f"cell {base.id}")
    cell_id = identity.get("id") or cell_id_from(identity["maker"], identity["model"])
    if not cell_id:
        raise click.UsageError("maker and model hold no letter that an id may have; give one with --id")
    if cell_id in taken:
        raise InvalidRecord(
            f"cell {cell_id}", "is registered already",
            f"add this sheet to it with --to {cell_id}, or choose another id with --id",
        )  # fmt: skip
    return validate_cell(identity | {"id": cell_id, "sheets": [record]}, f"cell {cell_id}")
