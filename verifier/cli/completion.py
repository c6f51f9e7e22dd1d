"""What a shell offers when Tab is pressed: files, words, languages, cells."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from registry.errors import PlacedError

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem


def files(_: click.Context, __: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Leave it to the shell to offer files."""
    from click.shell_completion import CompletionItem

    return [CompletionItem(incomplete, type="file")]


def words(_: click.Context, __: click.Parameter, incomplete: str) -> list[str]:
    """Offer what ``explain`` explains: figures, fields and limits."""
    from verifier.case.fields import case_fields
    from verifier.case.limits import DEFAULTS
    from verifier.figures import FIGURES

    return [name for name in (*FIGURES, *case_fields(), *DEFAULTS) if name.startswith(incomplete)]


def languages(_: click.Context, __: click.Parameter, incomplete: str) -> list[str]:
    """Offer the languages of questions."""
    from verifier.questions import languages as known

    return [code for code in known() if code.startswith(incomplete)]


def cells(context: click.Context, _: click.Parameter, incomplete: str) -> list[str]:
    """Offer the ids of the cells in the registry; nothing where it cannot be read."""
    from registry.opening import open_registry
    from verifier.cli.options import own_registry

    try:
        registry = open_registry(Path(context.params.get("registry_path") or own_registry()))
        return [cell_id for cell_id in registry.ids() if cell_id.startswith(incomplete)]
    except PlacedError:
        return []
