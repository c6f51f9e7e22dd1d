"""Whether the program works with the lowest and the newest of its libraries, and what licences they have.

``python tests/hardening/dependencies.py lowest`` starts from nothing: it copies the checkout, makes an
environment with the lowest release of every library that ``pyproject.toml`` names, runs the tests there,
builds the wheel, installs it into a bare environment outside the checkout, and judges the sample cases with
it, which have to come out as worked out by hand. ``newest`` does the same with the newest releases of the
day; with ``--record`` it then writes down what it tested. Either takes minutes and needs a package index.

``check`` takes a moment and changes nothing: ``.ci/lowest.txt`` says what ``pyproject.toml`` says,
``.ci/lock.txt`` names one release of everything and no place to fetch it from, and ``.ci/licences.md`` has
every library that the program needs in the environment at hand. ``record`` writes the three.

The interpreter is the one that runs this; another version of Python is tested by running this with it.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from zipfile import ZipFile

ROOT = Path(__file__).parents[2]
LOWEST, LOCK, LICENCES = (Path(".ci") / name for name in ("lowest.txt", "lock.txt", "licences.md"))
LEFT_OUT = (".git", ".venv", "build", "dist", "*.egg-info", "__pycache__", ".*_cache", ".hypothesis")
NAME = "packclaim"
# What only some uses need; each has its line where it is not installed.
EXTRAS = ("parquet", "cluster", "ocr")
_BOUND = re.compile(r"([A-Za-z0-9._-]+)>=([0-9]+(?:\.[0-9]+)*)")
_PIN = re.compile(r"[A-Za-z0-9._-]+==[0-9][A-Za-z0-9.+!_-]*")

# What metadata calls a licence, by its name in the SPDX list where it tells which of a family it is.
SPDX = {
    "MIT License": "MIT",
    "BSD License": "BSD",
    "BSD 3-Clause License": "BSD-3-Clause",
    "3-Clause BSD License": "BSD-3-Clause",
    "Apache 2.0": "Apache-2.0",
    "Apache Software License": "Apache-2.0",
    "Apache License, Version 2.0": "Apache-2.0",
    "Python Software Foundation License": "PSF-2.0",
}
# They ask for their notice to be kept, some not even that (SPDX licence list; none is copyleft).
PERMISSIVE = {
    "0BSD", "Apache-2.0", "BSD", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "MIT", "MIT-0", "MIT-CMU",
    "PSF-2.0", "Public Domain", "Zlib",
}  # fmt: skip
# What a name of a licence does not tell; read in the licence files that the wheels hold.
NOTES = {
    "certifi": "MPL-2.0: a list of certificates, whose own files are passed on under it; it changes nothing for others",
    "onnxruntime": "what it is built of, its ThirdPartyNotices.txt names: permissive, Eigen among it under MPL-2.0",
    "opencv-python-headless": "its wheels carry FFmpeg (LGPL-2.1-or-later) as libraries of its own that may be "
    "exchanged, and what its LICENSE-3RD-PARTY.txt names; the video that those are for is not used",
    "rapidocr": "the models in its wheel are Apache-2.0 too, as its MODEL_LICENSES.md says",
    "shapely": "its wheels carry GEOS (LGPL-2.1) as a library of its own that may be exchanged",
    "tqdm": "partly MPL-2.0, whose own files are passed on under it; it changes nothing for others",
    "numpy": "its wheels carry the compiler's runtime: libgfortran (GPL-3.0-or-later with the GCC exception, which "
    "leaves free what is linked to it) and libquadmath (LGPL-2.1-or-later)",
    "pypdfium2": "its wheels carry PDFium and its parts: Apache-2.0, BSD, Boost, FreeType, IJG, MIT, Unicode "
    "and Zlib licences; for musl the compiler's runtime too (GPL-3.0-or-later with the GCC exception)",
}


# What is named -------------------------------------------------------------------------------------------


def project() -> dict[str, Any]:
    """Return the table ``project`` of ``pyproject.toml``."""
    table: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return table


def canonical(name: str) -> str:
    """Return the name of a package as indexes compare it. Source: PyPA, name normalization (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def lowest_text() -> str:
    """Return a constraint for every library that the program, its extras and its tests name."""
    table = project()
    named = [*table["dependencies"]]
    for extra in (*EXTRAS, "test"):
        named += table["optional-dependencies"][extra]
    named = [*dict.fromkeys(named)]
    found = [_BOUND.fullmatch(each) for each in named]
    if not all(found):
        raise SystemExit(f"not written as name>=version: {named[found.index(None)]}")
    pins = sorted(f"{canonical(each[1])}=={each[2]}" for each in found if each)
    return "\n".join(["# The lower bounds of pyproject.toml, to be tested as they stand.", *pins, ""])


def lock_text(python: str) -> str:
    """Return every package of an environment but the program itself, one release each."""
    frozen = said(python, "-m", "pip", "freeze", "--exclude", NAME).splitlines()
    version = said(python, "-c", "import sys; print('%d.%d' % sys.version_info[:2])").strip()
    return "\n".join(
        [
            f"# Tested together with Python {version}.",
            *sorted(frozen, key=lambda line: canonical(line.partition("==")[0])),
            "",
        ]
    )


def licences_text() -> str:
    """Return the libraries that the program needs in the environment at hand, with their licences."""
    lines = [
        "# Licences of the libraries",
        "",
        "What packclaim needs to run, and what those need. None of it is part of packclaim or its wheel.",
        "Only htmx (0BSD) is, in `verifier/page/static/` with its licence: the page fetches nothing.",
        "The tools of the tests are not listed; of those Hypothesis and pathspec are under MPL-2.0.",
        "",
        "| library | licence | for | remark |",
        "| --- | --- | --- | --- |",
    ]
    for name, (licence, needed_for) in sorted(libraries().items()):
        lines.append(f"| {name} | {licence} | {needed_for} | {NOTES.get(name, '')} |")
    last = (
        "All of these licences are permissive, but MPL-2.0, which asks that its own files stay free. "
        "What else some wheels carry, the remarks say."
    )
    return "\n".join([*lines, "", last, ""])


def libraries() -> dict[str, tuple[str, str]]:
    """Return licence and purpose of every library that the program needs, itself or for another."""
    table = project()
    found: dict[str, tuple[str, str]] = {}
    of_extras = [(f"the extra {extra}", table["optional-dependencies"][extra]) for extra in EXTRAS]
    for needed_for, roots in (("every command", table["dependencies"]), *of_extras):
        for name, licence in needed(roots):
            found.setdefault(name, (licence, needed_for))
    return found


def needed(requirements: list[str]) -> Iterator[tuple[str, str]]:
    """Yield name and licence of what the requirements need in this environment; an extra may be missing."""
    from importlib.metadata import PackageNotFoundError, distribution

    from packaging.requirements import Requirement

    todo, seen = [Requirement(each) for each in requirements], set()
    while todo:
        requirement = todo.pop()
        name, extras = canonical(requirement.name), frozenset({"", *requirement.extras})
        if (name, extras) in seen:
            continue
        seen.add((name, extras))
        try:
            library = distribution(name)
        except PackageNotFoundError:
            yield name, "not installed here"
            continue
        yield name, licence_of(library.metadata)
        for each in map(Requirement, library.requires or ()):
            if each.marker is None or any(each.marker.evaluate({"extra": extra}) for extra in extras):
                todo.append(each)


def licence_of(metadata: Any) -> str:
    """Return what metadata call the licence: the expression, the text if it is short, or the classifier."""
    text = (metadata.get("License") or "").strip()
    classes = [
        each.rpartition(" :: ")[2]
        for each in metadata.get_all("Classifier", [])
        if each.startswith("License :: ")
    ]
    short = text if 0 < len(text) <= 60 and "\n" not in text and "Copyright" not in text else ""
    stated = metadata.get("License-Expression") or short or ", ".join(classes) or "not stated"
    return SPDX.get(stated, stated)


# Whether it is so ----------------------------------------------------------------------------------------


def faults() -> Iterator[str]:
    """Yield what is not as it should be in the three files."""
    if (ROOT / LOWEST).read_text(encoding="utf-8") != lowest_text():
        yield f"{LOWEST}: does not say what pyproject.toml says; run 'record'"
    lock = [
        line for line in (ROOT / LOCK).read_text(encoding="utf-8").splitlines() if not line.startswith("#")
    ]
    yield from (f"{LOCK}: '{line}' is not name==version" for line in lock if not _PIN.fullmatch(line))
    locked = {canonical(line.partition("==")[0]) for line in lock}
    table = project()
    named = [
        *table["dependencies"],
        *(each for extra in table["optional-dependencies"].values() for each in extra),
    ]
    for each in named:
        name = canonical(re.split(r"[^A-Za-z0-9._-]", each)[0])
        if name not in locked and name != NAME:
            yield f"{LOCK}: {name} is missing; run 'newest --record'"
    yield from licence_faults((ROOT / LICENCES).read_text(encoding="utf-8"), libraries())


def licence_faults(text: str, found: dict[str, tuple[str, str]]) -> Iterator[str]:
    """Yield which library a list has not, or has under a licence that needs a second look."""
    listed = {row.split("|")[1].strip() for row in text.splitlines() if row.startswith("| ")}
    for name, (licence, needed_for) in sorted(found.items()):
        if name not in listed:
            yield f"{LICENCES}: {name} ({licence}) is missing; look at its licence, then run 'record'"
        if licence == "not installed here":
            if needed_for == "every command":
                yield f"{name} is not installed"
            continue
        parts = {SPDX.get(each, each) for each in re.split(r" AND | OR |, (?!Version)", licence)}
        if parts - PERMISSIVE and name not in NOTES:
            yield f"{name}: '{licence}' is not known to be permissive; look at it, then put it into NOTES"


def record(python: str, root: Path) -> None:
    """Write the three files of a checkout, by an environment that was tested."""
    (root / LOWEST).write_text(lowest_text(), encoding="utf-8")
    (root / LOCK).write_text(lock_text(python), encoding="utf-8")
    (root / LICENCES).write_text(licences_text(), encoding="utf-8")


# From nothing --------------------------------------------------------------------------------------------


def step(words: str) -> None:
    """Say what comes now."""
    print(f"\n== {words}", flush=True)


def bare_surroundings() -> dict[str, str]:
    """Return the surroundings without what would let another checkout or registry shine through."""
    return {
        name: value for name, value in os.environ.items() if name not in {"PYTHONPATH", "PACKCLAIM_REGISTRY"}
    }


def run(*command: str, cwd: Path) -> None:
    """Run a command that has to succeed."""
    subprocess.run(command, check=True, cwd=cwd, env=bare_surroundings())


def said(*command: str, cwd: Path = ROOT, given: str = "") -> str:
    """Return what a command prints, given a text to read; it has to succeed."""
    done = subprocess.run(
        command,
        check=True,
        cwd=cwd,
        env=bare_surroundings(),
        input=given,
        stdout=subprocess.PIPE,
        encoding="utf-8",
    )
    return done.stdout


def environment(place: Path) -> str:
    """Make an empty environment and return its interpreter."""
    run(sys.executable, "-m", "venv", str(place), cwd=place.parent)
    return str(place / ("Scripts" if os.name == "nt" else "bin") / "python")


def from_nothing(which: str, work: Path) -> str:
    """Test the checkout and its wheel with one set of libraries; return the interpreter that has them."""
    copy = work / NAME
    shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(*LEFT_OUT))
    held = ["--constraint", str(copy / LOWEST)] if which == "lowest" else []
    what = "test" if which == "lowest" else "dev"

    step(f"the {which} libraries")
    python = environment(work / "tested")
    run(python, "-m", "pip", "install", "--quiet", *held, f".[{what}]", cwd=copy)
    for left in (copy / "build", *copy.glob("*.egg-info")):
        shutil.rmtree(left)
    print(lock_text(python))

    step("the tests")
    run(python, "-m", "pytest", "-q", "-n", "2", "-p", "no:cacheprovider", cwd=copy)

    step("the wheel in a bare environment")
    run(
        python,
        "-m",
        "pip",
        "wheel",
        "--quiet",
        "--no-deps",
        "--wheel-dir",
        str(work / "wheel"),
        ".",
        cwd=copy,
    )
    (wheel,) = (work / "wheel").glob("*.whl")
    look_into(wheel, copy)
    bare = environment(work / "bare")
    run(bare, "-m", "pip", "install", "--quiet", *held, str(wheel), cwd=work)
    run(bare, "-m", "pip", "check", cwd=work)
    elsewhere = work / "elsewhere"
    shutil.copytree(copy / "samples", elsewhere)
    shutil.rmtree(copy)
    judge_the_samples(bare, elsewhere)
    return python


def look_into(wheel: Path, checkout: Path) -> None:
    """Refuse a wheel that holds more than the program, or names the place where it was built."""
    places = {str(checkout), str(ROOT), str(Path.home()), "file:/"} - {"/"}
    with ZipFile(wheel) as parts:
        for name in parts.namelist():
            if not name.startswith(("registry/", "verifier/", f"{NAME}-")):
                raise SystemExit(f"the wheel holds {name}")
            held = parts.read(name).decode("utf-8", "replace")
            if found := [each for each in places if each in held]:
                raise SystemExit(f"the wheel's {name} names {found[0]}")
    print(f"{wheel.name}: {wheel.stat().st_size // 1024} kB")


def judge_the_samples(python: str, folder: Path) -> None:
    """Judge each sample case with the installed program, the answers being those beside the cases; and a table."""
    program = str(Path(python).with_name(NAME))
    version = said(program, "--version", cwd=folder).strip()
    if project()["version"] not in version.split():
        raise SystemExit(f"'{program} --version' says {version}")
    cases = sorted(folder.glob("cases/*.yaml"))
    registry = ("--registry", "registry.jsonl")
    reports = json.loads(said(program, "check", *map(str, cases), *registry, "--format", "json", cwd=folder))
    wrong = [
        f"{case.stem}: {text}"
        for case, report in zip(cases, reports, strict=True)
        for text in differences(report, read_yaml(python, case.with_suffix(".expected")))
    ]
    if wrong or not cases:
        raise SystemExit("\n".join(wrong) or "there are no sample cases")
    print(f"{version}: {len(cases)} sample cases as worked out by hand")
    table = next(folder.glob("screening/*.csv"))
    listings = said(program, "screen", str(table), *registry, "--out", "-", cwd=folder).splitlines()
    print(f"{table.name}: {len(listings) - 1} listings judged")


def read_yaml(python: str, path: Path) -> dict[str, Any]:
    """Read a YAML file by the environment under test, as the one at hand may know no YAML."""
    program = "import json, sys, yaml; print(json.dumps(yaml.safe_load(sys.stdin)))"
    answer: dict[str, Any] = json.loads(said(python, "-c", program, given=path.read_text(encoding="utf-8")))
    return answer


def differences(report: dict[str, Any], expected: dict[str, Any]) -> Iterator[str]:
    """Yield where a report is not what was worked out by hand, to a thousandth."""
    findings = {each["figure"]: each for each in report["findings"]}
    for figure, verdict in expected.items():
        if figure != "supported" and findings[figure]["verdict"] != verdict:
            yield f"{figure} is '{findings[figure]['verdict']}', not '{verdict}'"
    for figure, ends in expected.get("supported", {}).items():
        for end, value in ends.items():
            # The report writes null where nothing bounds a support.
            found = findings[figure]["supported"][end]
            if not math.isclose(math.inf if found is None else found, value, rel_tol=1e-3):
                yield f"{figure} supports {found} at the {end} end, not {value}"


def main() -> int:
    """Do what the command line says."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("what", choices=("check", "record", "lowest", "newest"))
    parser.add_argument("--record", action="store_true", help="after 'newest', write down what was tested")
    asked = parser.parse_args()
    if asked.what == "record":
        record(sys.executable, ROOT)
    elif asked.what == "check":
        found = list(faults())
        print("\n".join(found) or "bounds, lock and licences are as they should be")
        return 1 if found else 0
    else:
        with tempfile.TemporaryDirectory() as work:
            tested = from_nothing(asked.what, Path(work))
            if asked.what == "newest" and asked.record:
                run(tested, str(Path(__file__).resolve()), "record", cwd=ROOT)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
