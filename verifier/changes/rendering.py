"""What changed, as text and as JSON. Nothing is compared here."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Any

from verifier.changes.model import Changes
from verifier.report.layout import block, counted, printable

MOST_SHOWN = 40
"""Entries of a list that somebody reads; JSON holds all."""


def render_text(found: Changes, width: int = 80) -> str:
    """Return a line of counts, then what is new, gone and changed."""
    head = (
        f"{counted(found.new, 'pack')}, {found.old} before: {len(found.added)} new, {len(found.gone)} gone, "
        f"{len(found.changed)} changed, {found.same} the same (matched by {found.key})."
    )
    blocks = [block(head, width=width)]
    blocks += [_list("New", found.added, width), _list("Gone", found.gone, width)]
    changed = [
        "\n".join(
            [
                *_set_in(each.name, 2, width),
                *(line for text in each.texts for line in _set_in(text, 4, width)),
            ]
        )
        for each in found.changed[:MOST_SHOWN]
    ]
    if changed:
        blocks.append("\n".join(["Changed", *changed, *_more(len(found.changed))]))
    return "\n\n".join(each for each in blocks if each) + "\n"


def _set_in(text: str, blanks: int, width: int) -> list[str]:
    """Return the lines of a text, set in by some blanks, those after the first by two more."""
    lines = block(text, indent="  ", width=width - blanks).splitlines()
    return [" " * blanks + line for line in lines]


def _list(title: str, names: Sequence[str], width: int) -> str:
    if not names:
        return ""
    lines = [line for name in names[:MOST_SHOWN] for line in _set_in(name, 2, width)]
    return "\n".join([title, *lines, *_more(len(names))])


def _more(count: int) -> list[str]:
    return [f"  and {count - MOST_SHOWN} more: --format json holds all"] if count > MOST_SHOWN else []


def data(found: Changes) -> dict[str, Any]:
    """Return what changed as plain data."""
    return {
        "matched_by": found.key, "old": found.old, "new": found.new, "same": found.same,
        "added": [printable(each) for each in found.added], "gone": [printable(each) for each in found.gone],
        "changed": [
            {"name": printable(each.name), "changes": [printable(text) for text in each.texts]}
            for each in found.changed
        ],
    }  # fmt: skip


def render_json(found: Changes) -> str:
    """Return what changed as one JSON object."""
    return json.dumps(data(found), ensure_ascii=False, indent=2) + "\n"


RENDERERS: dict[str, Callable[[Changes], str]] = {"text": render_text, "json": render_json}
