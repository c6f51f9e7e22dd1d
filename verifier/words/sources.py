"""Where a number comes from, in words."""

from __future__ import annotations

from verifier.case.limits import Limits
from verifier.finding import Citation, Source
from verifier.words.names import evidence_name


def source_text(source: Source, limits: Limits | None = None) -> str:
    """Return a source in words: fields, a limit with its own source, sheets with page and line, a reference."""
    parts: list[str] = []
    if source.citations:
        parts.append("; ".join(citation_text(each) for each in source.citations))
    if source.fields:
        parts.append(", ".join(source.fields))
    if source.limit is not None:
        parts.append((limits or Limits()).source(source.limit))
    if source.reference:
        parts.append(source.reference)
    return "; ".join(parts) or "arithmetic"


def citation_text(citation: Citation) -> str:
    """Return where a figure stands: cell, sheet, page and quoted line."""
    text = f"{citation.cell_id} {citation_place(citation)}"
    if citation.page is not None:
        text += f", page {citation.page}"
    if citation.quote is not None:
        text += f', "{citation.quote}"'
    return text


def citation_place(citation: Citation) -> str:
    """Return the sheet of a cell that a figure stands in, with its grade."""
    return f"sheet {citation.sheet} ({citation.title or 'untitled'}; {evidence_name(citation.evidence)})"
