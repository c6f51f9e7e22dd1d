"""The direction of imports, command line to verifier to registry; and nothing heavy before it is used."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
HEAVY = {
    "pandas", "sqlite_utils", "numpy", "matplotlib", "jsonschema", "rapidfuzz", "pyarrow", "dask", "distributed",
}  # fmt: skip
# Libraries of the extras, and of the tests: whoever has only the core has none of them.
EXTRAS = {
    "pyarrow": ("verifier.screening.parquet_rows", "verifier.screening.writing", "verifier.screening.tables"),
    "dask": ("verifier.screening.cluster",), "distributed": ("verifier.screening.cluster",), "scipy": (),
}  # fmt: skip
WEB = {"starlette", "uvicorn", "jinja2", "markupsafe", "multipart", "segno"}
# Arithmetic that knows no file, no report and no command line.
PURE = ("verifier.electrical", "verifier.bounds", "verifier.quantities")
PURE_MAY_IMPORT = {
    "__future__", "collections", "dataclasses", "functools", "itertools", "math", "numpy", "types", "typing",
}  # fmt: skip
# What judges one pack or a table of them: it gives data, of which others make sentences, pages and commands.
JUDGING = (
    "verifier.electrical", "verifier.bounds", "verifier.quantities", "verifier.case", "verifier.fact_names",
    "verifier.facts", "verifier.case_facts", "verifier.finding", "verifier.verdict", "verifier.voltage_classes",
    "verifier.cell_figures",
    "verifier.cell_current", "verifier.cell_reading", "verifier.cell_sheets", "verifier.possible_chemistries",
    "verifier.cell_inside", "verifier.cell_peak", "verifier.pack", "verifier.figures", "verifier.contradictions",
    "verifier.alarms", "verifier.possible_cells", "verifier.remedies", "verifier.observations",
    "verifier.next_step", "verifier.whole_pack",
)  # fmt: skip
TOLD = ("verifier.words", "verifier.report", "verifier.questions", "verifier.cli", "verifier.screening")
# Arrays through and through, each loaded by the one command that needs it: judging tables, reading logs.
ARRAYS = (
    "verifier.screening.able_cells", "verifier.screening.batch", "verifier.screening.engine",
    "verifier.screening.holding", "verifier.screening.listings", "verifier.screening.part_files",
    "verifier.screening.result_table", "verifier.screening.row_answers", "verifier.screening.row_dangers",
    "verifier.screening.row_findings", "verifier.screening.writing", "verifier.discharge_log",
)  # fmt: skip


@dataclass(frozen=True)
class Import:
    """One import: who, what, whether it runs when the module is loaded, and the line."""

    module: str
    target: str
    runs_on_load: bool
    line: int

    def __str__(self) -> str:
        return f"{self.module} line {self.line} imports {self.target}"


def inside(name: str, *packages: str) -> bool:
    """Whether a module is one of these or lies in one of them."""
    return any(name == package or name.startswith(f"{package}.") for package in packages)


@cache
def imports_of(module: str, source: str) -> tuple[Import, ...]:
    """Return every import of a module, wherever in it; every rule asks for those of every module."""
    return tuple(_walk(module, ast.parse(source), runs=True))


def _walk(module: str, node: ast.AST, *, runs: bool) -> Iterator[Import]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Import):
            for alias in child.names:
                yield Import(module, alias.name, runs, child.lineno)
        elif isinstance(child, ast.ImportFrom):
            assert child.level == 0, f"{module} line {child.lineno}: write the whole name of what is imported"
            for alias in child.names:
                yield Import(module, f"{child.module}.{alias.name}", runs, child.lineno)
        else:
            later = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            for_types = isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test)
            yield from _walk(module, child, runs=runs and not later and not for_types)


def registry_knows_no_verifier(found: Import) -> bool:
    return inside(found.module, "registry") and inside(found.target, "verifier")


def library_knows_no_command_line(found: Import) -> bool:
    below = not inside(found.module, "verifier.cli")
    return below and inside(found.target, "click", "verifier.cli")


def figures_know_no_other_figure(found: Import) -> bool:
    if not inside(found.module, "verifier.figures") or found.module == "verifier.figures":
        return False
    return inside(found.target, "verifier.figures") and not inside(
        found.target, "verifier.figures.common", found.module
    )


def judging_knows_no_words(found: Import) -> bool:
    return inside(found.module, *JUDGING) and inside(found.target, *TOLD)


def words_judge_nothing(found: Import) -> bool:
    return inside(found.module, "verifier.words") and inside(
        found.target, "verifier.report", "verifier.judge", "verifier.figures", "verifier.pack", "verifier.facts",
        "verifier.case_facts",
        "verifier.electrical", "verifier.screening",
    )  # fmt: skip


def renderers_judge_nothing(found: Import) -> bool:
    return inside(found.module, "verifier.report") and inside(
        found.target, "verifier.figures", "verifier.judge", "verifier.electrical"
    )


def arithmetic_stays_pure(found: Import) -> bool:
    if not inside(found.module, *PURE) or inside(found.target, *PURE):
        return False
    return found.target.split(".")[0] not in PURE_MAY_IMPORT


def heavy_libraries_wait(found: Import) -> bool:
    if inside(found.module, *ARRAYS) and found.target.split(".")[0] == "numpy":
        return False
    return found.runs_on_load and found.target.split(".")[0] in HEAVY


def page_asks_the_public_interface(found: Import) -> bool:
    return inside(found.module, "verifier.page") and inside(
        found.target, "verifier.cli", "verifier.judge", "verifier.case", *JUDGING
    )


def only_its_command_knows_the_page(found: Import) -> bool:
    return inside(found.target, "verifier.page") and not inside(
        found.module, "verifier.page", "verifier.cli.page"
    )


def web_stays_in_the_page(found: Import) -> bool:
    return found.target.split(".")[0] in WEB and not inside(found.module, "verifier.page")


def the_core_needs_no_extra(found: Import) -> bool:
    library = found.target.split(".")[0]
    return library in EXTRAS and found.module not in EXTRAS[library]


Rule = Callable[[Import], bool]
# Each rule with an import that breaks it, so that a rule which sees nothing is noticed.
BROKEN_BY: list[tuple[Rule, str, str]] = [
    (registry_knows_no_verifier, "registry.cell", "def f():\n    from verifier import bounds"),
    (registry_knows_no_verifier, "registry.cell", "import verifier.bounds"),
    (library_knows_no_command_line, "verifier.judge", "import click"),
    (library_knows_no_command_line, "verifier.judge", "def f():\n    from verifier import cli"),
    (library_knows_no_command_line, "registry.sqlite.store", "from click import echo"),
    (figures_know_no_other_figure, "verifier.figures.energy", "from verifier.figures import capacity"),
    (figures_know_no_other_figure, "verifier.figures.energy", "from verifier.figures.capacity import judge"),
    (figures_know_no_other_figure, "verifier.figures.energy", "from verifier.figures import FIGURES"),
    (judging_knows_no_words, "verifier.pack.leads", "from verifier.words import span"),
    (judging_knows_no_words, "verifier.figures.energy", "def f():\n    from verifier.report import as_json"),
    (judging_knows_no_words, "verifier.alarms", "import verifier.screening.engine"),
    (words_judge_nothing, "verifier.words.names", "from verifier.figures import FIGURES"),
    (words_judge_nothing, "verifier.words.sentence", "from verifier.report.layout import counted"),
    (renderers_judge_nothing, "verifier.report.as_csv", "from verifier.judge import judge"),
    (arithmetic_stays_pure, "verifier.electrical.heat", "from pathlib import Path"),
    (arithmetic_stays_pure, "verifier.electrical.heat", "from verifier.case.limits import Limits"),
    (arithmetic_stays_pure, "verifier.quantities", "from verifier.facts import Facts"),
    (page_asks_the_public_interface, "verifier.page.views.packs", "from verifier.judge import judge"),
    (
        page_asks_the_public_interface,
        "verifier.page.views.packs",
        "def f():\n    import verifier.pack.current",
    ),
    (only_its_command_knows_the_page, "verifier.report.as_html", "from verifier.page import app"),
    (web_stays_in_the_page, "verifier.report.as_html", "from jinja2 import Template"),
    (heavy_libraries_wait, "verifier.electrical.heat", "import numpy as np"),
    (heavy_libraries_wait, "registry.matching", "try:\n    from rapidfuzz import fuzz\nexcept OSError: ..."),
    (heavy_libraries_wait, "registry.matching", "class Index:\n    import pandas"),
    (heavy_libraries_wait, "verifier.screening.cluster", "from distributed import Client"),
    (heavy_libraries_wait, "verifier.screening.parquet_rows", "import pyarrow.compute as pc"),
    (the_core_needs_no_extra, "verifier.screening.engine", "def f():\n    import pyarrow as pa"),
    (the_core_needs_no_extra, "verifier.electrical.whole_pack", "def f():\n    from scipy import sparse"),
]
RULES = list(dict.fromkeys(rule for rule, _, _ in BROKEN_BY))


def modules() -> Iterator[tuple[str, str]]:
    """Yield the name and source of every module of both packages."""
    for path in sorted([*ROOT.glob("registry/**/*.py"), *ROOT.glob("verifier/**/*.py")]):
        parts = path.relative_to(ROOT).with_suffix("").parts
        yield ".".join(parts[:-1] if parts[-1] == "__init__" else parts), path.read_text(encoding="utf-8")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_every_module_keeps_the_rule(rule: Rule) -> None:
    """Otherwise a change breaks something far off, or every command starts slowly. Rule: DEVELOPERS.md."""
    found = [each for name, source in modules() for each in imports_of(name, source)]
    assert len(found) > 100
    assert [str(each) for each in found if rule(each)] == []


@pytest.mark.parametrize(("rule", "module", "source"), BROKEN_BY)
def test_the_rule_sees_what_breaks_it(rule: Rule, module: str, source: str) -> None:
    """Otherwise the rules above pass whatever is imported."""
    assert any(rule(each) for each in imports_of(module, source))


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("verifier.report.as_csv", "def f():\n    import pandas"),
        ("verifier.recheck", "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import numpy"),
        ("verifier.figures.energy", "from verifier.figures.common import at_least"),
        ("verifier.figures", "from verifier.figures import capacity"),
        ("verifier.cli.check", "import click\nfrom verifier.judge import judge\nfrom registry import store"),
        (
            "verifier.electrical.heat",
            "import math\nfrom verifier.electrical import copper\ndef f():\n    import numpy",
        ),
    ],
)
def test_what_is_allowed_breaks_no_rule(module: str, source: str) -> None:
    """Otherwise a developer is told to undo what the design asks for."""
    assert not any(rule(each) for rule in RULES for each in imports_of(module, source))


def test_starting_a_check_loads_nothing_heavy() -> None:
    """Otherwise every check waits for libraries that it never uses."""
    code = f"import sys, verifier.cli.check; print(sorted({HEAVY!r} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_starting_the_page_loads_nothing_heavy() -> None:
    """Otherwise the page is not there at once: its first view needs none of what judges tables or reads logs."""
    code = f"import sys, verifier.page.app; print(sorted({HEAVY!r} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_no_two_modules_need_each_other() -> None:
    """A newcomer could understand neither before the other; an import inside a function only hides that."""
    sources = dict(modules())
    needed: dict[str, set[str]] = {}
    for module, source in sources.items():
        targets = {found.target for found in imports_of(module, source)}
        # "from a.b import c" takes the module a.b.c, or something of the module a.b.
        named = {each if each in sources else each.rpartition(".")[0] for each in targets}
        needed[module] = named & sources.keys() - {module}
    TopologicalSorter(needed).prepare()
