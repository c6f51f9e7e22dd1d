"""``cells accept``: a draft, once its doubtful figures are settled, as a sheet of the registry."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click
from pydantic import ValidationError

from registry.bundle import validate_cell, with_sheet
from registry.cell import Cell, cell_id_from, model_without_maker
from registry.cells import Cells
from registry.chemistry import CHEMISTRIES
from registry.errors import InvalidRecord
from registry.fields import problems
from registry.input_bounds import DRAFT
from registry.sheet_reader.acceptance import sheet_record
from registry.sheet_reader.draft import SheetDraft, SheetReading
from verifier.cli.cells.decisions import Decisions, ask_doubtful
from verifier.cli.cells.figures import plain_usage, with_figures
from verifier.cli.cells.identity import IDENTITY, SHEET, SizeCode, identity_options, sheet_options, taken_from
from verifier.cli.cells.read_sheet import draft_lines
from verifier.cli.cells.registries import (
    author_options,
    cell_with_id,
    changing,
    path_to_change,
    registered,
    say_doubts,
)
from verifier.cli.completion import files
from verifier.cli.options import read_text, registry_option, say
from verifier.report.cells import cell_text


@click.command()
@click.argument("draft_file", metavar="DRAFT", shell_complete=files)
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
    help="Doubtful figures that are right, by name or number; 'all' for every one. Of a figure that was "
    "seen and not understood it says that the sheet does not state it; 'all' leaves these out.",
)  # fmt: skip
@click.option(
    "--drop", "dropped", metavar="FIGURE,…",
    help="Figures to leave out, by name or number; 'not-understood' for all of these.",
)  # fmt: skip
@click.option("--yes", is_flag=True, help="Store without asking.")
@author_options(why_required=False)
@registry_option
def accept(
    draft_file: str, of_model: str | None, registry_path: Path | None, cell_id: str | None, to_id: str | None,
    settings: tuple[str, ...], confirmed: str | None, dropped: str | None, yes: bool, who: str, why: str,
    **typed: Any,
) -> None:  # fmt: skip
    """Store a draft of 'cells read-sheet' in the registry, with page and line of each figure.

    A doubtful figure is stored only when it is confirmed; otherwise it is dropped or given anew. What was
    seen and not understood is given, dropped, or confirmed as not stated. On a terminal each one is asked
    for, and so is what a sheet does not say.

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
    decisions = Decisions.of(draft, needs_name=base is None and "model" not in identity)
    decisions.decide(settings, confirmed, dropped)
    if ask:
        ask_doubtful(decisions)
    decisions.refuse_open()
    if base is None:
        _complete_identity(identity, draft, ask=ask)
        if cell_id:
            identity["id"] = cell_id
    record = _sheet(draft, decisions, reading.file_sha256, sheet)
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
    say_doubts(cell)


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


def _complete_identity(identity: dict[str, Any], draft: SheetDraft, *, ask: bool) -> None:
    if draft.model:
        identity.setdefault("model", draft.model)
    needed = [name for name in ("maker", "model", "chemistry") if not identity.get(name)]
    if needed and not ask:
        raise click.UsageError(
            f"{', '.join(f'--{name}' for name in needed)} missing; a sheet does not say it"
        )
    if needed:
        say("needed; Ctrl-C leaves without storing anything", err=True)
    for name in needed:
        words = f"Chemistry ({', '.join(CHEMISTRIES)})" if name == "chemistry" else name.capitalize()
        kind = click.Choice(CHEMISTRIES, case_sensitive=False) if name == "chemistry" else None
        identity[name] = click.prompt(words, err=True, type=kind, show_choices=False)
    printed = identity["model"]
    identity["model"] = model_without_maker(identity["maker"], printed)
    if identity["model"] != printed:
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
    draft: SheetDraft, decisions: Decisions, file_sha256: str | None, sheet: dict[str, Any]
) -> dict[str, Any]:
    told = draft.model_copy(update={"not_stated": decisions.not_stated})
    record = sheet_record(told, decisions.kept.values(), file_sha256)
    with plain_usage():
        record = with_figures(record | {"evidence": "maker"} | sheet, decisions.typed)
    if not any(
        record.get(name) for name in record if name not in {"evidence", "file_sha256", "not_stated", *SHEET}
    ):
        raise click.UsageError("nothing was stored; no figure is left of the draft")
    return record


def _cell(identity: dict[str, Any], record: dict[str, Any], base: Cell | None, taken: set[str]) -> Cell:
    if base is not None:
        return with_sheet(base, record)
    cell_id = identity.get("id") or cell_id_from(identity["maker"], identity["model"])
    if not cell_id:
        raise click.UsageError("maker and model hold no letter that an id may have; give one with --id")
    if cell_id in taken:
        raise InvalidRecord(
            f"cell {cell_id}", "is registered already",
            f"add this sheet to it with --to {cell_id}, or choose another id with --id",
        )  # fmt: skip
    return validate_cell(identity | {"id": cell_id, "sheets": [record]}, f"cell {cell_id}")
