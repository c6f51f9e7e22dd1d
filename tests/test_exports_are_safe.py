"""Nothing that a seller or a sheet says is run, marks anything up or changes its words in an export.

Every text field of a case and of a cell is filled with what has been used for that, and every export is read
by the readers of others: csv, openpyxl, html5lib and markdown-it.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections import Counter
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any, Literal, get_args, get_origin
from zipfile import ZipFile

import html5lib
import openpyxl
import pytest
from click.testing import CliRunner
from pydantic import BaseModel

from registry.bundle import validate_cell, write_bundle
from registry.cell import Cell
from registry.opening import open_registry
from registry.table import write_table
from verifier.case.model import Case
from verifier.case.reading import parse_case
from verifier.case_report import Report
from verifier.cli import packclaim
from verifier.compare import compare
from verifier.judge import judge
from verifier.report import as_csv, as_handover, as_html, as_json, as_label, as_markdown, as_xlsx, comparison
from verifier.report.html.markup import tag

TEXT, MARKING, SIZE = "<text>", "<marking>", "<size>"
# What a spreadsheet takes for a formula: OWASP, "CSV Injection"; also after quotation marks and separators,
# by which a new cell could begin.
FORMULAS = [
    "=1+1", "+1+1", "-1+1", "@SUM(A1)", "＝1+1", "＋1", "－1", "＠SUM(A1)", "\u3000=1+1", "\u200b=1+1",
    "\ufeff=1", '"=1+1"', "'=1+1", "36V pack;=1+1", '36V pack; "=1+1"', "36V pack;\u00a0@SUM(A1)", "a,=1+1",
    "=cmd|'/C calc'!A0", '=HYPERLINK("http://pier-nine.example";"photo")', "a|=1", "-", "=",
]  # fmt: skip
# OWASP, "XSS Filter Evasion": an element of its own, an attribute of its own, the end of what stands around.
MARKUP = [
    "<script>run()</script><img src=x onerror=run()><svg onload=run()><b>bold</b>",
    '"> \' onmouseover="run()" style=\'position:fixed\' x="',
    "</bdi></td></title></style></svg></script><iframe src='javascript:run()'></iframe><a href=//x>x</a>",
    "--><!-- <![CDATA[ ]]> &lt;script&gt;run()&lt;/script&gt; &#60;i&#62; &quot; <?php ?>",
]
# CommonMark 0.31 and GitHub Flavored Markdown 0.29: every inline and block that a line of text could begin.
MARKDOWN = [
    "<script>run()</script> <!-- x --> <b>x</b>", "[x](http://x.example)", "![x](http://x.example/x.png)",
    "<http://x.example>", "http://x.example/y", "www.example.com", "mailto:a@x.example", "# heading",
    "> quote", "- entry", "+ entry", "* entry", "1. entry", "12) entry", "---", "***", "```", "~~~", "`code`",
    "**bold**", "_slanted_ ~~struck~~", "a | b | c", "| a |", "\\", "a\\", "&lt;b&gt; &#60;", "===", "[^1]",
    "[x]: http://x.example", "    code", "$x$", "\u202egnp.exe",
]  # fmt: skip

CASE: dict[str, Any] = {
    "case": {"title": TEXT, "stage": "arrived", "job": TEXT, "customer": TEXT, "by": TEXT, "notes": TEXT},
    "claim": {
        "nominal_voltage_v": 48, "capacity_ah": 14, "continuous_current_a": 40, "energy_wh": 700,
        "series": 13, "designation": TEXT, "cell_size": SIZE, "cell_marking": MARKING,
        "certificates": [TEXT, TEXT], "ingress": TEXT, "price": 199, "currency": "EUR",
    },
    "observed": {
        "series": 13, "parallel": 4, "cell": {"marking": MARKING, "size": SIZE, "date_code": TEXT},
        "bms": {"continuous_a": 30}, "connector": {"continuous_a": 45},
    },
    "use": {"load_power_w": 500},
}  # fmt: skip
FIGURE = {"page": 1, "quote": TEXT}
SHEET: dict[str, Any] = {
    "title": TEXT, "revision": TEXT, "evidence": "maker", "charge_voltage_v": 4.2, "cutoff_voltage_v": 2.5,
    "capacity": [{"kind": "minimum", "value_ah": 2.6, **FIGURE}], "nominal_voltage_v": 3.6,
    "citations": {"nominal_voltage_v": FIGURE},
    "discharge": [{"low_c": -20, "high_c": 60, "max_continuous_a": 7.8, **FIGURE}],
    "charge": [{"low_c": 0, "high_c": 45, "max_a": 1.3, **FIGURE}],
    "pulse": [{"current_a": 15, "seconds": 5, **FIGURE}], "resistance": {"dc_mohm": 30, **FIGURE},
    "cycle_life": {"cycles": 300, "to_fraction": 0.8, **FIGURE},
    "storage": [{"low_c": -20, "high_c": 45, "months": 3, **FIGURE}],
    "discharge_temperature": {"low_c": -20, "high_c": 60, **FIGURE},
    "charge_temperature": {"low_c": 0, "high_c": 45, **FIGURE},
    "storage_temperature": {"low_c": -20, "high_c": 35, **FIGURE},
}  # fmt: skip
CELL: dict[str, Any] = {
    "id": "lyr-18650-26", "maker": TEXT, "model": TEXT, "size": SIZE, "chemistry": "NMC",
    "markings": [MARKING, TEXT],
    "sheets": [SHEET, {**SHEET, "nominal_voltage_v": 3.7}],
}  # fmt: skip
# These have a shape, refuse what is registered, or name files that are read: none of them is shown as text.
SHAPED = {
    "case.date", "case.photos", "claim.configuration", "claim.dimensions", "observed.configuration",
    "observed.cell.id", "observed.groups_date", "observed.groups_before_date", "claim.currency", "id",
    "sheets.date", "sheets.file_sha256", "sheets.not_stated",
    "retired", "date_code",
}  # fmt: skip


def text_fields(model: type[BaseModel], path: tuple[str, ...] = ()) -> Iterator[str]:
    """Yield the dotted path of every field of a model that holds any text."""
    for name, info in model.model_fields.items():
        yield from _texts_in(info.annotation, (*path, name))


def _texts_in(annotation: Any, path: tuple[str, ...]) -> Iterator[str]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield from text_fields(annotation, path)
    elif annotation is str:
        yield ".".join(path)
    elif get_origin(annotation) not in (Literal, None):
        # The names in a group of fields are known ones.
        for part in get_args(annotation)[get_origin(annotation) is dict :]:
            yield from _texts_in(part, path)


def placeholders(data: Any, path: tuple[str, ...] = ()) -> Iterator[str]:
    """Yield the dotted path of every place where a text is to be filled in."""
    if isinstance(data, dict):
        for name, part in data.items():
            named = name == "citations"  # by the figure that each is for
            yield from placeholders(list(part.values()) if named else part, (*path, name))
    elif isinstance(data, list):
        for part in data:
            yield from placeholders(part, path)
    elif data in (TEXT, MARKING, SIZE):
        yield ".".join(path)


def filled(data: Any, text: str, marking: str, size: str) -> Any:
    """Return the data with a text, numbered at its end, in every place that takes any."""
    count = iter(range(1000))

    def fill(part: Any) -> Any:
        if isinstance(part, dict):
            return {name: fill(each) for name, each in part.items()}
        if isinstance(part, list):
            return [fill(each) for each in part]
        if part == TEXT:
            return f"{text} {next(count):03}"
        return {MARKING: marking, SIZE: size}.get(part, part)

    return fill(deepcopy(data))


def reports_of(text: str, folder: Path) -> list[Report]:
    """Return a pack of the registered cell, one of a marking that is near, and one of another size."""
    cell = validate_cell(filled(CELL, text, f"{text} marking", f"{text} size"), "cell")
    write_bundle([cell], folder / "cells.jsonl")
    catalogue = open_registry(folder / "cells.jsonl")
    found = []
    for marking, size in (("marking", "size"), ("markimg", "size"), ("marking", "bulk")):
        case = filled(CASE, text, f"{text} {marking}", f"{text} {size}")
        found.append(judge(parse_case(json.dumps(case), "case.json").case, catalogue, explain=True))
    assert [each.cell.match for each in found] == ["exact", "none", "exact"]
    assert [each.cell.used for each in found] == [True, False, False]
    return found


@pytest.fixture(scope="module")
def plain_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the registry of plain words, to which hostile ones are compared."""
    return tmp_path_factory.mktemp("plain")


@pytest.fixture(scope="module")
def plain_reports(plain_folder: Path) -> list[Report]:
    """The same reports of plain words."""
    return reports_of("plain words", plain_folder)


def run(*words: str) -> str:
    """Return what a command prints."""
    done = CliRunner().invoke(packclaim, list(words), catch_exceptions=False)
    assert done.exit_code == 0
    return done.stdout


def test_every_text_of_a_case_and_a_cell_is_filled() -> None:
    """A field that is added later would never be tried."""
    for model, data in ((Case, CASE), (Cell, CELL)):
        wanted = set(text_fields(model))
        assert len(wanted) > 5
        assert set(placeholders(data)) == wanted - SHAPED


# Spreadsheets -------------------------------------------------------------------------------------------


def is_formula(cell: str, before: str = r"[\s\"\u200b-\u200f\ufeff]*") -> bool:
    """Whether a spreadsheet could take a cell for a formula: it begins like one, and is no number."""
    try:
        float(cell)
    except ValueError:
        return re.sub(f"^{before}", "", cell).startswith(tuple("=+-@＝＋－＠"))
    return False


def csv_exports(reports: list[Report], folder: Path) -> dict[str, str]:
    """Return every export as CSV."""
    registry = ("--registry", str(folder / "cells.jsonl"))
    return {
        "check": as_csv.render(reports),
        "compare": comparison.render_csv(compare(reports, "current")),
        "which-cells": run("which-cells", "--current", "20", "--format", "csv", *registry),
        "cells list": run("cells", "list", "--format", "csv", *registry),
        "cells export": write_table(open_registry(folder / "cells.jsonl").cells()),
    }


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_of_any_csv_is_a_formula(text: str, tmp_path: Path) -> None:
    """Opening a table would run what a seller or a sheet says. Source: OWASP, CSV Injection."""
    reached = 0
    for name, table in csv_exports(reports_of(text, tmp_path), tmp_path).items():
        rows = list(csv.reader(io.StringIO(table, newline=""), strict=True))
        reached += sum(text.strip()[-4:] in cell for row in rows for cell in row)
        assert len({len(row) for row in rows}) == 1, name
        # Where decimals have a comma, a spreadsheet divides the same file at semicolons.
        rows += csv.reader(io.StringIO(table, newline=""), delimiter=";")
        assert [cell for row in rows for cell in row if is_formula(cell)] == [], name
    assert reached > 10


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_of_a_spreadsheet_is_a_formula_or_becomes_one(text: str, tmp_path: Path) -> None:
    """Opening or editing a summary would run what a seller says, or the words be changed.

    Source: ECMA-376 part 1, 18.3.1.40 (a formula is an element f) and 18.8.45 (quotePrefix keeps text text).
    """
    reports = reports_of(text, tmp_path)
    data = as_xlsx.render(reports)
    with ZipFile(io.BytesIO(data)) as parts:
        sheets = [parts.read(name).decode() for name in parts.namelist() if name.startswith("xl/worksheets/")]
    assert len(sheets) == 3
    assert not [found for sheet in sheets for found in re.findall(r"<(?:\w+:)?(?:f|hyperlink)[ />]", sheet)]
    book = openpyxl.load_workbook(io.BytesIO(data))
    cells = [cell for sheet in book for row in sheet for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert all(cell.quotePrefix for cell in cells if isinstance(cell.value, str) and is_formula(cell.value))
    assert book["Packs"]["A2"].value == reports[0].title


# Pages --------------------------------------------------------------------------------------------------


# How many texts stand whole on each page; a label has no room for long ones.
LEAST_SHOWN = (4, 4, 1, 0, 1)


def pages(reports: list[Report]) -> list[tuple[Any, str]]:
    """Return the tree of every HTML page, as a browser builds it, with its text."""
    texts = [
        as_html.render(reports),
        as_html.render(reports[:1]),
        as_handover.render(reports, [Path()] * len(reports)),
        as_label.render(reports),
        comparison.render_html(compare(reports, "open")),
    ]
    return [(html5lib.parse(text, namespaceHTMLElements=False), text) for text in texts]


def shape(tree: Any) -> Counter[tuple[str, tuple[str, ...]]]:
    """Count the elements of a tree, each with the names of its attributes; what is no element has none."""
    return Counter((str(each.tag), tuple(sorted(each.attrib))) for each in tree.iter())


@pytest.fixture(scope="module")
def plain_shapes(plain_reports: list[Report]) -> list[set[Any]]:
    """What elements the pages of plain words have."""
    return [set(shape(tree)) for tree, _ in pages(plain_reports)]


@pytest.mark.parametrize("text", MARKUP, ids=range(len(MARKUP)))
def test_no_element_or_attribute_of_a_page_comes_from_an_input(
    text: str, tmp_path: Path, plain_shapes: list[set[Any]]
) -> None:
    """A listing's words would run in the reader's browser. Source: OWASP, cross-site scripting prevention."""
    for number, (tree, source) in enumerate(pages(reports_of(text, tmp_path))):
        assert set(shape(tree)) <= plain_shapes[number]
        for each in tree.iter():
            assert not [name for name in each.attrib if name.startswith("on") or name in ("src", "srcdoc")]
            assert all(link.startswith("#") for name, link in each.attrib.items() if name.endswith("href"))
        words = "".join(tree.itertext())
        shown = {found for found in re.findall(r" (\d{3})\b", words) if f"{text} {found}" in words}
        assert len(shown) >= LEAST_SHOWN[number], "the texts stand on the page as they were written"
        assert text not in source


@pytest.mark.parametrize("text", MARKUP, ids=range(len(MARKUP)))
def test_words_in_an_attribute_stay_in_it(text: str) -> None:
    """A page that puts an input into an attribute would let it begin another one. Source: HTML, 13.1.2.3."""
    (element,) = html5lib.parseFragment(tag("p", text, title=text), namespaceHTMLElements=False)
    assert (element.tag, element.attrib, element.text, len(element)) == ("p", {"title": text}, text, 0)


# Markdown -----------------------------------------------------------------------------------------------

OF_OUR_OWN = {
    "heading_open", "paragraph_open", "table_open", "thead_open", "tbody_open", "tr_open", "th_open",
    "td_open", "bullet_list_open", "list_item_open", "blockquote_open", "inline", "text",
    "text_special", "softbreak", "strong_open",
}  # fmt: skip


def markdown_of(reports: list[Report], folder: Path) -> list[str]:
    """Return every export as Markdown."""
    choice = (
        "which-cells",
        "--current",
        "20",
        "--format",
        "markdown",
        "--registry",
        str(folder / "cells.jsonl"),
    )
    compared = comparison.render_markdown(compare(reports, "price_per_wh"))
    return [as_markdown.render(reports, explain=True), compared, run(*choice)]


def tokens(text: str) -> list[Any]:
    """Return what a reader of GitHub's Markdown makes of a text, block by block with what is inside."""
    library = pytest.importorskip("markdown_it", reason="the library markdown-it-py is not installed")
    reader = library.MarkdownIt("gfm-like", {"html": True})
    return [token for block in reader.parse(text) for token in (block, *(block.children or ()))]


@pytest.fixture(scope="module")
def plain_tokens(plain_reports: list[Report], plain_folder: Path) -> list[list[Any]]:
    """What the exports of plain words are read as."""
    return [tokens(each) for each in markdown_of(plain_reports, plain_folder)]


@pytest.mark.parametrize("text", MARKDOWN)
def test_no_markup_of_markdown_comes_from_an_input(
    text: str, tmp_path: Path, plain_tokens: list[list[Any]]
) -> None:
    """A report pasted into a forum would hold a seller's links and pictures, or tables with other columns."""
    for before, written in zip(plain_tokens, markdown_of(reports_of(text, tmp_path), tmp_path), strict=True):
        found = tokens(written)
        opened = {token.type for token in found if not token.type.endswith("_close")}
        assert opened <= OF_OUR_OWN
        blocks = [
            [token.type for token in each if token.block and token.type != "inline"]
            for each in (before, found)
        ]
        assert blocks[0] == blocks[1], "the same headings, tables, rows and cells"
        bold = [sum(token.type == "strong_open" for token in each) for each in (before, found)]
        assert bold[0] == bold[1], "only what the report itself makes stand out"
    words = "".join(
        token.content for token in tokens(as_markdown.escape(text)) if token.type.startswith("text")
    )
    assert words == " ".join(text.split()).replace("\u202e", "\ufffd"), "and the words are those of the input"


# JSON ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", [FORMULAS[0], MARKUP[0], MARKUP[1], "\u202e\ufeff\\u0000\\", '"}],{"x": ['])
def test_json_holds_every_text_as_it_was_written(text: str, tmp_path: Path) -> None:
    """A program would be handed other keys, or other words than the seller's. Rule: RFC 8259, strings."""
    reports = reports_of(text, tmp_path)
    title, marks = reports[0].title, list(reports[0].case.claim.certificates)
    assert text.strip() in title
    read = json.loads(as_json.render(reports))
    assert [each["case"]["title"] for each in read] == [title] * 3
    assert [each["inputs"]["case"]["claim"]["certificates"] for each in read] == [marks] * 3
    compared = json.loads(comparison.render_json(compare(reports, "open")))
    assert [each["case"]["title"] for each in compared["packs"]] == [title] * 3
