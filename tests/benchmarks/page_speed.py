"""How fast the page answers: one change, twenty people typing at once, and the start to the first view.

Run by hand, on a machine that does nothing else: ``python tests/benchmarks/page_speed.py``. It prints a table and
fails when a bound is missed: an answer after one change within 200 ms and 25 ms of processor time; at the 95th
percentile within 300 ms while twenty people type; the first view within 1.5 times what importing the web libraries and
one check take. All packs are opened ones, of which the most is worked out. All requests go to a page that this script
started on this machine, and end by themselves.
"""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.verifier.page.conftest import SAMPLES, Visitor  # noqa: E402
from verifier.page.settings import Settings  # noqa: E402

PEOPLE, SECONDS = 20, 20.0
# Somebody who types fast sends a change each second or two: the page waits for a pause of a quarter of a second.
PAUSE_S = (1.0, 2.5)
ONE_S, MANY_S, START, PROCESSOR_S = 0.200, 0.300, 1.5, 0.025
PACK = SAMPLES / "cases" / "quay-street-loaner-7.yaml"
ALONE = 40
FIELDS = ("observed.strip.width_mm", "observed.leads.awg", "observed.bms.continuous_a", "observed.mass_kg")


def started(folder: Path) -> tuple[subprocess.Popen[str], str, float]:
    """Start the program and return it, its link, and the seconds to its first view."""
    code = "from verifier.cli import main; main()"
    began = time.perf_counter()
    running = subprocess.Popen(
        [sys.executable, "-c", code, "page", "--cases", str(folder), "--registry",
         str(SAMPLES / "registry.jsonl"), "--no-browser"],
        stderr=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert running.stderr is not None
    link = running.stderr.readline().split()[-1]
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    opener.open(link).read()
    return running, link, time.perf_counter() - began


def imports_and_a_check() -> float:
    """Return the seconds of a process that imports the web libraries and judges one case."""
    code = (
        "import starlette.applications, uvicorn, jinja2; from pathlib import Path; import verifier;"
        f"registry = verifier.open_registry(Path({str(SAMPLES / 'registry.jsonl')!r}));"
        f"case = Path({str(SAMPLES / 'cases' / 'quay-street-loaner-7.yaml')!r});"
        "verifier.judge_case(verifier.parse_case(case.read_text(), case.name).case, registry)"
    )
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, env={**os.environ, "PYTHONPATH": str(ROOT)})
    return time.perf_counter() - began


class Person(threading.Thread):
    """Somebody who types into a pack of their own, and looks at what to find out first after a pause."""

    def __init__(self, visitor: Visitor, name: str, seed: int, until: float) -> None:
        super().__init__()
        self.visitor, self.pack, self.until = visitor, name, until
        self.chance = random.Random(seed)  # noqa: S311 - only to spread the load
        self.form = visitor.form(f"/packs/{name}/pack")
        self.taken: list[float] = []

    def run(self) -> None:
        """Type until time is up."""
        while time.monotonic() < self.until:
            time.sleep(self.chance.uniform(*PAUSE_S))
            self.change()
            if self.chance.random() < 0.3:
                self.visitor.get(f"/packs/{self.pack}/next?step=pack")

    def change(self) -> None:
        """Type one value and wait for the answer."""
        field = self.chance.choice(FIELDS)
        value = (
            f"{self.chance.uniform(4, 12):.2f}"
            if field != "observed.leads.awg"
            else str(self.chance.randint(4, 16))
        )
        form = {**self.form, field: value}
        began = time.perf_counter()
        answer = self.visitor.post(f"/packs/{self.pack}/pack", form, {"HX-Request": "true"})
        self.taken.append(time.perf_counter() - began)
        assert answer.status == 200, answer.status
        self.form |= {field: value, f"was.{field}": value}
        for held in answer.values(f"held.{field}"):
            self.form[f"held.{field}"] = held


def main() -> int:
    """Measure and return the exit status."""
    with tempfile.TemporaryDirectory() as name:
        base = min(imports_and_a_check() for _ in range(3))
        starts = []
        for attempt in range(3):
            running, link, taken = started(Path(name) / "cases")
            starts.append(taken)
            if attempt < 2:
                running.terminate()
                running.wait()
        try:
            one, processor, many, count = typed(link, Path(name) / "cases", running.pid)
        finally:
            running.terminate()
            running.wait()
    rows = (
        (
            "start to first view",
            min(starts),
            START * base,
            f"{START:g} x {base:.2f} s of imports and a check",
        ),
        ("one change", one, ONE_S, "median of one person"),
        ("its processor time", processor, PROCESSOR_S, f"mean of {ALONE} changes, the page's own process"),
        (f"{PEOPLE} people typing", many, MANY_S, f"95th percentile of {count} changes"),
    )
    for what, taken, most, how in rows:
        verdict = "MISSED" if taken > most else "ok"
        print(f"{what:22} {1000 * taken:7.0f} ms of {1000 * most:5.0f} ms   {verdict:7} {how}")
    return 1 if any(taken > most for _, taken, most, _ in rows) else 0


def processor_s(process: int) -> float:
    """Return the processor time that a process has taken; nan where the system does not say it in /proc."""
    try:
        fields = Path(f"/proc/{process}/stat").read_text().rpartition(") ")[2].split()
    except OSError:
        return float("nan")
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def typed(link: str, cases: Path, process: int) -> tuple[float, float, float, int]:
    """Return one person's seconds a change, its processor time, and the 95th percentile of many people's changes."""
    port, key = int(link.split(":")[2].partition("/")[0]), link.rpartition("=")[2]
    visitor = Visitor(Settings(cases, SAMPLES / "registry.jsonl", key, port)).enter()
    cases.mkdir(exist_ok=True)
    packs = [f"pack-{number}.yaml" for number in range(PEOPLE)]
    for name in packs:
        shutil.copy(PACK, cases / name)
    alone = Person(visitor, packs[0], 1, 0)
    alone.change()
    alone.taken.clear()
    before = processor_s(process)
    for _ in range(ALONE):
        alone.change()
    processor = (processor_s(process) - before) / ALONE
    people = [Person(Visitor(visitor.settings).enter(), pack, seed, 0) for seed, pack in enumerate(packs)]
    until = time.monotonic() + SECONDS
    for each in people:
        each.until = until
        each.start()
    for each in people:
        each.join()
    every = sorted(taken for each in people for taken in each.taken)
    return sorted(alone.taken)[len(alone.taken) // 2], processor, every[int(0.95 * len(every))], len(every)


if __name__ == "__main__":
    sys.exit(main())
