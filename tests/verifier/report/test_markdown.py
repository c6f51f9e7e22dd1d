"""The report as Markdown: a listing's words stay words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from tests.verifier.report.titles import NASTY_TITLES
from verifier.report import as_markdown

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


@pytest.mark.parametrize("title", NASTY_TITLES, ids=range(len(NASTY_TITLES)))
def test_markdown_shows_a_title_as_it_is(bench: Bench, title: str) -> None:
    """A listing's words would become a heading, a link or a new row. Source: CommonMark 0.31, 2.4."""
    text = as_markdown.render([bench.judge(bench.seen_through(**{"case.title": title}))], explain=True)
    heading = text.splitlines()[0]
    assert heading.startswith("## ")
    bare = re.sub(r"\\[!-/:-@\[-`{-~]", "", heading[3:])
    assert not set(bare) & set("\\`*_{}[]<>#|~")
    assert not re.search(r"&(#?\w+);", bare), "an entity would turn into another character"
    rows = [line for line in text.splitlines() if line.startswith("|")]
    assert all(line.endswith("|") for line in rows)
    counts = {len(re.findall(r"(?<!\\)\|", line)) for line in rows}
    assert counts <= {4, 5, 6, 7}
