"""``changes``: what changed between two screenings or two reports."""

from __future__ import annotations

import click

from verifier.cli.completion import files
from verifier.cli.formats import chosen_format, format_by_ending_option
from verifier.cli.options import out_option, write_text


@click.command()
@click.argument("old", shell_complete=files)
@click.argument("new", shell_complete=files)
@click.option(
    "--key",
    metavar="COLUMN",
    help="Column that tells listings apart.  [default: title and seller, or where these repeat the shop's own number]",
)
@format_by_ending_option("text", "json")
@out_option
@click.option("--strict", is_flag=True, help="Exit 1 when anything changed.")
def changes(old: str, new: str, key: str | None, format_name: str | None, out: str, strict: bool) -> None:
    """Say what changed from OLD to NEW: what is new, gone, and which claim or verdict is another.

    OLD and NEW are two results of 'packclaim screen' (CSV, TSV, xlsx, JSON Lines or Parquet), or two files of
    reports saved with --format json.

    Example: packclaim changes last-week.csv this-week.csv --key id
    """
    from verifier.changes import changes as changes_of
    from verifier.changes.rendering import RENDERERS

    how = chosen_format(format_name, out, tuple(RENDERERS))
    found = changes_of(old, new, key)
    write_text(out, RENDERERS[how](found), inputs=[old, new])
    click.get_current_context().exit(1 if strict and found.any else 0)
