"""Whether the tests notice when the judging core is changed: mutation testing with cosmic-ray's operators.

``python tests/hardening/mutation_testing.py`` copies the checkout, runs the tests of the core once to learn
which of them pass through which line, and then makes one small change at a time: another comparison, another
number, a lost "not", a low end in the place of a high one, `min` for `max`. A change that no test notices has
survived and is printed; either a test is missing, or the change means nothing and stands with its
reason in ``unnoticeable_changes.txt``. Nothing in the checkout is touched. What is only text is not changed:
strings, annotations.

All of it takes hours. ``--module verdict`` takes the modules with that in their path, ``--sample 40`` so many
changes a module, drawn with ``--seed``; ``--tests tests/verifier/figures`` runs only those tests, so that what
survives may still be noticed by others; and ``--budget 10`` leaves out, change by change, the slowest tests
beyond so many seconds. Exit status 1 when a change survived.

It needs cosmic-ray, coverage and the libraries of the tests, and an operating system that can fork.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import importlib.util
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
LEFT_OUT = (".git", ".venv", "build", "dist", "*.egg-info", "__pycache__", ".*_cache", ".hypothesis")
CORE = (
    "verifier/verdict.py", "verifier/bounds.py", "verifier/quantities.py",
    "verifier/contradictions/in_the_claim.py", "verifier/contradictions/seen.py",
    "verifier/contradictions/measured.py",
    "verifier/alarms.py", "registry/sheet_limits.py", "registry/governing_sheets.py",
    "registry/sheet_capacity.py",
    *sorted(
        path.relative_to(ROOT).as_posix()
        for folder in ("pack", "figures")
        for path in (ROOT / "verifier" / folder).glob("[a-z]*.py")
    ),
)  # fmt: skip
TESTS = (
    "tests/references", "tests/acceptance", "tests/registry/test_sheet_limits.py",
    "tests/registry/test_governing_sheets.py", "tests/registry/test_sheet_capacity.py", "tests/verifier/figures",
    "tests/verifier/pack",
    *(f"tests/verifier/test_{name}.py" for name in (
        "alarms", "bounds", "cell_inside", "contradictions", "facts", "judge", "missing_facts", "quantities",
        "samples", "soundness", "verdict")),
)  # fmt: skip
# Imported once, before the processes that run the tests part, so that not each of them has to.
HEAVY = ("click", "numpy", "pydantic", "scipy.optimize", "scipy.integrate", "yaml", "networkx")
# What a batch of tests takes at most before the slower ones are started, and how long a change may run.
QUICK_S, PATIENCE, LEAST_TIMEOUT_S = 1.0, 10.0, 30.0

OPERATORS = (
    *(f"ReplaceComparisonOperator_{change}" for change in (
        "Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt", "Gt_GtE", "Gt_LtE", "GtE_Gt", "GtE_Lt", "Eq_NotEq",
        "NotEq_Eq", "Is_IsNot", "IsNot_Is")),
    *(f"ReplaceBinaryOperator_{change}" for change in ("Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul")),
    "ReplaceUnaryOperator_Delete_Not", "ReplaceUnaryOperator_Delete_USub", "AddNot", "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue", "ReplaceAndWithOr", "ReplaceOrWithAnd", "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak", "NumberReplacer", "ZeroIterationForLoop",
)  # fmt: skip
SWAPS = (
    ("low", "high"), ("low_a", "high_a"), ("low_c", "high_c"), ("low_ah", "high_ah"), ("min", "max"),
    ("smallest", "largest"), ("any", "all"),
)  # fmt: skip

# Changes that nobody can tell, written as the survivors are printed, each group after its reason.
EQUIVALENT = Path(__file__).with_name("unnoticeable_changes.txt")


def equivalent() -> dict[str, set[tuple[str, str]]]:
    """Return the changes that nobody can tell by module, each as the line before and after."""
    found: dict[str, set[tuple[str, str]]] = defaultdict(set)
    module = before = ""
    for line in EQUIVALENT.read_text(encoding="utf-8").splitlines():
        if line.startswith("  - "):
            before = line[4:]
        elif line.startswith("  + "):
            found[module].add((before, line[4:]))
        elif not line.startswith("="):
            module = line
    return found


class Swap:
    """Puts the other end of a range, or the other extreme, where a name stands; used as cosmic-ray's are."""

    def __init__(self) -> None:
        self.other = dict(SWAPS) | {two: one for one, two in SWAPS}

    def mutation_positions(self, node: Any) -> Iterator[tuple[Any, Any]]:
        """Return where a node can be changed."""
        if node.type == "name" and node.value in self.other and not self._names_a_parameter(node):
            yield node.start_pos, node.end_pos

    def mutate(self, node: Any, index: int) -> Any:
        """Return the node with the other name."""
        node.value = self.other[node.value]
        return node

    @staticmethod
    def _names_a_parameter(node: Any) -> bool:
        return node.parent.type == "param" or (
            node.parent.type == "argument" and node is node.parent.children[0]
        )


@dataclass(frozen=True)
class Mutant:
    """One change of a module."""

    line: int
    before: str
    after: str
    source: str


def mutants_of(source: str) -> list[Mutant]:
    """Return every change of a module's source, each once, in the order of the lines."""
    from cosmic_ray.ast import ast_nodes, get_ast
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.operators.provider import OperatorProvider

    provided, text = OperatorProvider(), _only_text(source)
    found: dict[str, int] = {}
    for operator in (*(provided[name]() for name in OPERATORS), Swap()):
        places = [at for node in ast_nodes(get_ast(source)) for at in operator.mutation_positions(node)]
        for occurrence, (start, _) in enumerate(places):
            if any(low <= start < high for low, high in text):
                continue
            mutated = mutate_code(source, operator, occurrence)
            with contextlib.suppress(SyntaxError):
                if mutated is not None and ast.dump(ast.parse(mutated)) != ast.dump(ast.parse(source)):
                    found.setdefault(mutated, start[0])
    made = [Mutant(line, *_differing(source, mutated), mutated) for mutated, line in found.items()]
    return sorted(made, key=lambda mutant: (mutant.line, mutant.after))


def _only_text(source: str) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Return where annotations, decorators, imports and the insides of texts stand."""
    parts: list[Any] = []
    for node in ast.walk(ast.parse(source)):
        parts += getattr(node, "decorator_list", [])
        parts += [getattr(node, name, None) for name in ("annotation", "returns")]
        if isinstance(node, ast.JoinedStr | ast.Import | ast.ImportFrom):
            parts.append(node)
        if isinstance(node, ast.FunctionDef):
            # The mark after which arguments go by name looks like a product.
            parts += node.args.posonlyargs
    kept = [part for part in parts if part is not None]
    return [((p.lineno, p.col_offset), (p.end_lineno, p.end_col_offset)) for p in kept]


def _differing(one: str, other: str) -> tuple[str, str]:
    lines, others = one.splitlines(), other.splitlines()
    at = next(index for index, (a, b) in enumerate(zip(lines, others, strict=False)) if a != b)
    return lines[at].strip(), others[at].strip()


class Recorder:
    """A pytest plugin that notes how long each test takes and which lines of the core it passes through."""

    def __init__(self, modules: Sequence[str]) -> None:
        import coverage

        self.cover = coverage.Coverage(data_file=None, include=list(modules), config_file=False)
        self.seconds: dict[str, float] = defaultdict(float)

    def pytest_runtest_protocol(self, item: Any) -> None:
        """Note under the test's name what follows."""
        self.cover.switch_context(item.nodeid)

    def pytest_runtest_logreport(self, report: Any) -> None:
        """Add up how long the test's parts took."""
        self.seconds[report.nodeid] += report.duration

    def told(self) -> dict[str, Any]:
        """Return each test's time, and by module and line the tests that pass through it."""
        data = self.cover.get_data()
        lines = {
            str(Path(name).relative_to(Path.cwd())): data.contexts_by_lineno(name)
            for name in data.measured_files()
        }
        return {"seconds": self.seconds, "lines": lines}


def in_a_process(copy: Path, arguments: Sequence[str], timeout_s: float, record: Path | None = None) -> int:
    """Run pytest in a process of its own and return its exit status, or -1 after the timeout."""
    process = os.fork()
    if process == 0:
        status = 3
        try:
            os.setpgrp()
            quiet = os.open(os.devnull, os.O_WRONLY)
            for stream in (1, 2):
                os.dup2(quiet, stream)
            os.chdir(copy)
            sys.path.insert(0, str(copy))
            # A module's compiled form of a moment ago must not stand for the changed one.
            sys.dont_write_bytecode = record is None
            status = _run_pytest(arguments, record)
        finally:
            os._exit(status)
    end = time.monotonic() + timeout_s
    while time.monotonic() < end:
        done, status = os.waitpid(process, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    os.killpg(process, signal.SIGKILL)
    os.waitpid(process, 0)
    return -1


def _run_pytest(arguments: Sequence[str], record: Path | None) -> int:
    import pytest

    options = ["-x", "-q", "-p", "no:cacheprovider", "--hypothesis-seed=0", *arguments]
    if record is None:
        return int(pytest.main(options))
    recorder = Recorder(CORE)
    recorder.cover.start()
    status = int(pytest.main(options, plugins=[recorder]))
    recorder.cover.stop()
    record.write_text(json.dumps(recorder.told()))
    return status


class Bench:
    """A copy of the checkout, and what its tests pass through."""

    def __init__(self, copy: Path, tests: Sequence[str], budget_s: float) -> None:
        self.copy, self.budget_s = copy, budget_s
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(*LEFT_OUT))
        record = copy.parent / "record.json"
        if gone := [name for name in (*CORE, *TESTS) if not (copy / name).exists()]:
            raise SystemExit(f"there is no {' and no '.join(gone)} any more: mend CORE and TESTS")
        if in_a_process(copy, tests, 3600, record) != 0:
            raise SystemExit("the tests fail without any change; run them first")
        told = json.loads(record.read_text())
        self.seconds: dict[str, float] = told["seconds"]
        self.lines: dict[str, dict[str, list[str]]] = told["lines"]

    def tests_of(self, module: str, line: int) -> list[str]:
        """Return the tests that pass through a line, or, if it is run at import, all that use or name the module."""
        by_line = self.lines.get(module, {})
        through = set(by_line.get(str(line), ())) - {""}
        found = through or {test for tests in by_line.values() for test in tests} - {""} | self.naming(module)
        taken: list[str] = []
        spent = 0.0
        for test in sorted(found, key=lambda test: self.seconds[test]):
            spent += self.seconds[test]
            if taken and spent > self.budget_s:
                break
            taken.append(test)
        return taken

    def naming(self, module: str) -> set[str]:
        """Return the tests of files that name a module: what uses only its constants passes through no line of it."""
        name = module.removesuffix(".py").replace("/", ".")
        files = {test.partition("::")[0] for test in self.seconds}
        named = {file for file in files if name in (self.copy / file).read_text(encoding="utf-8")}
        return {test for test in self.seconds if test.partition("::")[0] in named}

    def batches(self, tests: Sequence[str]) -> list[list[str]]:
        """Return the tests of the quickest files first, and then all others, each in order of time."""
        by_file = defaultdict(list)
        for test in tests:
            by_file[test.partition("::")[0]].append(test)
        files = sorted(by_file.values(), key=lambda group: sum(self.seconds[test] for test in group))
        quick: list[str] = []
        slow: list[str] = []
        spent = 0.0
        for group in files:
            spent += sum(self.seconds[test] for test in group)
            (quick if not quick or spent < QUICK_S else slow).extend(group)
        return [batch for batch in (quick, slow) if batch]

    def outcome(self, module: str, mutant: Mutant) -> str:
        """Return whether the tests notice a change: killed, survived, timeout, or not reached."""
        path = self.copy / module
        original = path.read_text(encoding="utf-8")
        for compiled in path.parent.glob(f"__pycache__/{path.stem}.*.pyc"):
            compiled.unlink()
        path.write_text(mutant.source, encoding="utf-8")
        try:
            return self._outcome(self.tests_of(module, mutant.line))
        finally:
            path.write_text(original, encoding="utf-8")

    def _outcome(self, tests: Sequence[str]) -> str:
        if not tests:
            return "not reached"
        for batch in self.batches(tests):
            usual_s = sum(self.seconds[test] for test in batch)
            timeout_s = max(LEAST_TIMEOUT_S, PATIENCE * usual_s)
            status = in_a_process(self.copy, batch, timeout_s)
            if status == 4:
                # The names of tests may change with the module; then the whole files are run.
                status = in_a_process(self.copy, sorted({t.partition("::")[0] for t in batch}), 3600)
            if status != 0:
                return "timeout" if status == -1 else "killed"
        return "survived"


def judged(bench: Bench, module: str, sample: int | None, seed: int) -> Counter[str]:
    """Make the changes of a module, print the survivors, and return how many had which outcome."""
    every = mutants_of((bench.copy / module).read_text(encoding="utf-8"))
    known = equivalent()[module]
    rest = [each for each in every if (each.before, each.after) not in known]
    made = {(each.before, each.after) for each in every}
    for before, after in sorted(known - made):
        print(f"{module}: no longer a change that is made: {before} -> {after}", flush=True)
    chosen = rest
    if sample is not None and sample < len(rest):
        chosen = random.Random(seed).sample(rest, sample)  # noqa: S311 - a sample, no secret
    counts = Counter({"mutants": len(every), "equivalent": len(every) - len(rest), "tried": len(chosen)})
    for mutant in sorted(chosen, key=lambda each: each.line):
        outcome = bench.outcome(module, mutant)
        counts[outcome] += 1
        if outcome in ("survived", "not reached"):
            print(f"{module}:{mutant.line} {outcome}\n  - {mutant.before}\n  + {mutant.after}", flush=True)
    return counts


def main() -> int:
    """Read the options, try the changes, print a table."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--module", action="append", help="only modules with this in their path")
    parser.add_argument(
        "--tests", action="append", help="only these tests, as files or folders, and no others"
    )
    parser.add_argument("--sample", type=int, help="at most so many changes a module")
    parser.add_argument("--seed", type=int, default=1, help="of the sample")
    parser.add_argument("--budget", type=float, default=float("inf"), help="seconds of tests a change")
    options = parser.parse_args()
    for library in ("cosmic_ray", "coverage"):
        if importlib.util.find_spec(library) is None:
            print(f"{library} is NOT INSTALLED, so nothing was tried: pip install cosmic-ray coverage")
            return 2
    wanted = options.module or [""]
    modules = [module for module in CORE if any(part in module for part in wanted)]
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    for library in HEAVY:
        importlib.import_module(library)
    counts: dict[str, Counter[str]] = {}
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder) / "copy", options.tests or TESTS, options.budget)
        for module in modules:
            counts[module] = judged(bench, module, options.sample, options.seed)
    columns = ("mutants", "equivalent", "tried", "killed", "timeout", "survived", "not reached")
    print(" | ".join(("module", *columns)))
    for module, found in counts.items():
        print(" | ".join((module, *(str(found[column]) for column in columns))))
    survived = sum(found["survived"] + found["not reached"] for found in counts.values())
    return 1 if survived else 0


if __name__ == "__main__":
    raise SystemExit(main())
