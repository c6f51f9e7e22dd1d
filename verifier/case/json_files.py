"""JSON files in a folder of cases: which of them are cases, and which something else that this program has saved."""

from __future__ import annotations

import json
from typing import Any

_SECTIONS = frozenset({"case", "claim", "observed", "use", "limits"})


def why_no_case(text: str) -> str:
    """Return what a JSON text is, where it is no case; nothing for one, or for what cannot be read."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        # Whoever wrote it may mean a case; its errors are told when it is read.
        return ""
    kind = saved_kind(data)
    if kind:
        return f"is a {kind}, no case"
    return "" if isinstance(data, dict) and _SECTIONS & data.keys() else "is JSON of something else"


def saved_kind(data: Any) -> str:
    """Return what this program has saved as JSON, such as "packclaim report"; nothing for anything else."""
    first = data[0] if isinstance(data, list) and data else data
    stated = first.get("format") if isinstance(first, dict) else None
    if isinstance(stated, str) and stated.startswith("packclaim "):
        return " ".join(stated.split()[:2])
    return "saved report" if isinstance(first, dict) and {"findings", "rely_on"} <= first.keys() else ""
