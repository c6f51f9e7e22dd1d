"""What changed, as text and as JSON. Nothing is compared here."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Any

from verifier.changes.model import Changed, Changes
from verifier.report.layout import block, counted, printable

MOST_SHOWN = 40
"""Entries of a list that somebody reads; JSON holds all."""


def render_text(found: Changes, width: int = 80) -> str:
    """Return a line of counts, then what is new, gone and changed."""
    reworded = f", though {len(found.reworded)} of them state something else" if found.reworded else ""
    head = (
        f"{counted(found.new, found.counted)}, {found.old} before: {len(found.added)} new, {len(found.gone)} gone, "
        f"{len(found.changed)} changed, {found.same} with the same answer{reworded} (matched by {found.key})."
    )
    blocks = [
        block(head, width=width),
        *(
            _list(title, entries, width)
            for title, entries in (
                ("New", found.added), ("Gone", found.gone), ("Changed", found.changed),
                ("Changed in what they state, with the same answer", found.reworded),
            )
        ),
    ]  # fmt: skip
    return "\n\n".join(each for each in blocks if each) + "\n"


def _set_in(text: str, blanks: int, width: int) -> list[str]:
    """Return the lines of a text, set in by some blanks, those after the first by two more."""
    lines = block(text, indent="  ", width=width - blanks).splitlines()
    return [" " * blanks + line for line in lines]


def _list(title: str, entries: Sequence[Changed], width: int) -> str:
    if not entries:
        return ""
    lines = [
        line
        for each in entries[:MOST_SHOWN]
        for line in (
            *_set_in(each.name, 2, width),
            *(one for text in each.texts for one in _set_in(text, 4, width)),
        )
    ]
    return "\n".join([title, *lines, *_more(len(entries))])


def _more(count: int) -> list[str]:
    return [f"  and {count - MOST_SHOWN} more: --format json holds all"] if count > MOST_SHOWN else []


def data(found: Changes) -> dict[str, Any]:
    """Return what changed as plain data."""
    return {
        "matched_by": found.key, "old": found.old, "new": found.new, "same": found.same,
        "added": _entries(found.added), "gone": _entries(found.gone), "changed": _entries(found.changed),
        "reworded": _entries(found.reworded),
    }  # fmt: skip


def _entries(entries: Sequence[Changed]) -> list[dict[str, Any]]:
    return [
        {"name": printable(each.name), "changes": [printable(text) for text in each.texts]}
        for each in entries
    ]


def render_json(found: Changes) -> str:
    """Return what changed as one JSON object."""
    return json.dumps(data(found), ensure_ascii=False, indent=2) + "\n"


RENDERERS: dict[str, Callable[[Changes], str]] = {"text": render_text, "json": render_json}
