"""Opens the HTML report of every sample in headless Chromium, as a phone, a desk and paper see it.

Run by hand or by the gate: ``python tests/browser/check_reports.py [--screenshots FOLDER] [NAME...]``.
Checked of each page: nothing runs out of the window sideways, the console stays silent, nothing but the file
is asked for, no table row is cut on paper, and axe-core finds nothing against WCAG 2.2 A and AA, light and
dark. Without Chromium, or without axe-core, it says loudly what was not checked.
"""

from __future__ import annotations

import argparse
import base64
import io
import json
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from verifier.case.reading import parse_case
from verifier.case_report import Report
from verifier.judge import judge
from verifier.report import as_html

SAMPLES = Path(__file__).parents[2] / "samples"
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--remote-debugging-port=0",
)  # fmt: skip
WIDTHS = (360, 1280)
# A4 less the margins of the style sheet, in CSS pixels.
PAPER_PX = 688
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
# Every row says its number at its start and at its end, to be found again on the paper.
NUMBER_ROWS = """document.querySelectorAll('tr').forEach((row, n) => {
    const mark = text => {
        const made = Object.assign(document.createElement('div'), {textContent: text});
        Object.assign(made.style, {font: '3px monospace', whiteSpace: 'nowrap', height: '0', width: '0'});
        return made;
    };
    row.firstElementChild.prepend(mark(`ROW${n}BEGIN`));
    row.lastElementChild.append(mark(`ROW${n}END`));
})"""
HEIGHT = "document.documentElement.scrollHeight"
TITLES = {
    "script": "<script>document.title='run'</script><img src=x onerror=alert(1)>",
    "quotes": '"\' onload="alert(1)" <b>&lt;',
    "right-to-left": "\u05d7\u05d1\u05d9\u05dc\u05ea \u05e1\u05d5\u05dc\u05dc\u05d5\u05ea 48V \u202egnp.exe",
    "long": "x" * 2000,
}


class Tab:
    """One tab of the browser, spoken to by the Chrome DevTools Protocol."""

    def __init__(self, port: int) -> None:
        import websocket

        ask = urllib.request.Request(f"http://127.0.0.1:{port}/json/new?about:blank", method="PUT")
        with urllib.request.urlopen(ask) as answer:  # noqa: S310 - the browser just started
            address = json.load(answer)["webSocketDebuggerUrl"]
        self._socket = websocket.create_connection(address, suppress_origin=True, timeout=120)
        self._last = 0
        self.events: list[dict[str, Any]] = []
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.do(f"{domain}.enable")

    def do(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Call a method and return its result; events on the way are kept."""
        self._last += 1
        self._socket.send(json.dumps({"id": self._last, "method": method, "params": parameters}))
        while True:
            message: dict[str, Any] = json.loads(self._socket.recv())
            if message.get("id") == self._last:
                if "error" in message:
                    raise RuntimeError(f"{method}: {message['error']}")
                return dict(message["result"])
            self.events.append(message)

    def open(self, page: Path, width: int, scheme: str = "light", media: str = "") -> None:
        """Open a file as a window of a width sees it."""
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        self.do("Emulation.setEmulatedMedia", media=media, features=features)
        self.do(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=800, deviceScaleFactor=1, mobile=width < 600,
        )  # fmt: skip
        self.events.clear()
        self.do("Page.navigate", url=page.as_uri())
        while not any(each["method"] == "Page.loadEventFired" for each in self.events):
            self.events.append(json.loads(self._socket.recv()))

    def value(self, script: str) -> Any:
        """Return what a script gives, waiting for a promise."""
        answer = self.do("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(answer["exceptionDetails"])
        return answer["result"].get("value")


@contextmanager
def browser(program: str) -> Iterator[Tab]:
    """Start a browser with a profile of its own, and end it."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        running = subprocess.Popen(
            [program, *FLAGS, f"--user-data-dir={profile}", "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            said = Path(profile, "DevToolsActivePort")
            for _ in range(300):
                if said.exists() and said.read_text():
                    break
                time.sleep(0.1)
            yield Tab(int(said.read_text().split()[0]))
        finally:
            running.terminate()
            running.wait(timeout=30)


def complaints(tab: Tab, page: Path) -> Iterator[str]:
    """Yield what the browser complained of or fetched since the page was opened."""
    for event in tab.events:
        parameters = event["params"]
        if event["method"] == "Network.requestWillBeSent":
            address = parameters["request"]["url"].partition("#")[0]
            if address != page.as_uri() and not address.startswith("data:"):
                yield f"asks for {address}"
        elif event["method"] in ("Runtime.exceptionThrown", "Runtime.consoleAPICalled", "Log.entryAdded"):
            yield f"console: {json.dumps(parameters)[:300]}"


def windows(tab: Tab, page: Path, shots: Path | None) -> Iterator[str]:
    """Yield what is wrong with a page on a phone and on a desk."""
    for width in WIDTHS:
        for scheme in ("light", "dark"):
            tab.open(page, width, scheme)
            across = tab.value(
                "[document.documentElement.scrollWidth, document.documentElement.clientWidth,"
                " ...[...document.querySelectorAll('main *')].filter(each => !each.closest('svg'))"
                ".map(each => each.getBoundingClientRect().right)]"
            )
            if across[0] > across[1] or max(across[2:]) > across[1] + 1:
                yield f"{width} px: {max(across[0], *across[2:])} px wide in {across[1]}"
            yield from (f"{width} px {scheme}: {each}" for each in complaints(tab, page))
            if shots is not None:
                # A picture has an end where a page may have none.
                clip = {"x": 0, "y": 0, "width": width, "height": min(16_000, tab.value(HEIGHT)), "scale": 1}
                shot = tab.do("Page.captureScreenshot", captureBeyondViewport=True, clip=clip)
                (shots / f"{page.stem}-{width}-{scheme}.png").write_bytes(base64.b64decode(shot["data"]))


def paper(tab: Tab, page: Path) -> Iterator[str]:
    """Yield every table row that printing cuts, everything folded away being opened."""
    import pdfplumber

    tab.open(page, PAPER_PX, media="print")
    tab.value("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    rows = tab.value(f"{NUMBER_ROWS}; document.querySelectorAll('tr').length")
    printed = base64.b64decode(tab.do("Page.printToPDF", preferCSSPageSize=True)["data"])
    begun: dict[str, int] = {}
    ended: dict[str, int] = {}
    with pdfplumber.open(io.BytesIO(printed)) as document:
        for number, sheet in enumerate(document.pages, 1):
            marks = sheet.filter(lambda each: each.get("size", 9) < 3)
            words = re.sub(r"\s", "", marks.extract_text())
            # A header is printed again on every page that its table goes on to.
            for row in re.findall(r"ROW(\d+)BEGIN", words):
                begun.setdefault(row, number)
            for row in re.findall(r"ROW(\d+)END", words):
                ended.setdefault(row, number)
    if len(begun) < rows or len(ended) < rows:
        yield f"paper: {rows} rows, of which {len(begun)} begin and {len(ended)} end"
    for row, number in begun.items():
        if ended.get(row, number) != number:
            yield f"paper: row {row} begins on page {number} and ends on page {ended[row]}"


def accessible(tab: Tab, page: Path, axe: str) -> Iterator[str]:
    """Yield what axe-core finds; what is folded away is opened once, for it looks the same everywhere."""
    for width, scheme, opened in ((360, "light", "true"), (1280, "dark", "false"), (1280, "light", "false")):
        tab.open(page, width, scheme)
        tab.value(f"document.querySelectorAll('details').forEach(each => {{ each.open = {opened}; }})")
        tab.value(f"{axe}; 0")
        found = tab.value(
            f"axe.run({{runOnly: {json.dumps(RULES)}, resultTypes: ['violations']}}).then(done =>"
            " done.violations.map(each => `${each.id}: ${each.help}: "
            "${each.nodes.slice(0, 3).map(node => node.html.slice(0, 120))}`))"
        )
        yield from (f"{width} px {scheme}: axe {each}" for each in found)


def reports() -> Iterator[tuple[str, list[Report]]]:
    """Yield the reports of each sample, of hostile titles, and of several on one page."""
    from registry.opening import open_registry

    registry = open_registry(SAMPLES / "registry.jsonl")
    every = []
    for path in sorted((SAMPLES / "cases").glob("*.yaml")):
        case = parse_case(path.read_text(encoding="utf-8"), path.name).case
        every.append(judge(case, registry, explain=True))
        yield path.stem, every[-1:]
    for name, title in TITLES.items():
        data = {"case": {"title": title}, "claim": {"cell_marking": title, "capacity_ah": 10, "series": 13}}
        yield f"title-{name}", [judge(parse_case(json.dumps(data), name).case, registry, explain=True)]
    yield "several", every[:4]


def axe_source(folder: Path) -> str | None:
    """Return the source of axe-core, fetched by npm; where it cannot be had, say loudly what was not checked."""
    npm = shutil.which("npm")
    if npm is not None:
        command = [npm, "install", "--silent", "--no-save", "--prefix", str(folder), "axe-core@4"]
        if subprocess.run(command, check=False, capture_output=True).returncode == 0:
            return (folder / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
    print("SKIPPED: no axe-core (npm is missing or found none). WCAG RULES WERE NOT CHECKED.")
    return None


def chromium(unseen: str) -> str | None:
    """Return the browser's program; where there is none, say loudly what nobody has seen."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        print(f"SKIPPED: no Chromium (Debian package chromium). {unseen}")
    return program


def new_folder(name: str) -> Path:
    """Return a folder that an option names, made where there is none."""
    path = Path(name)
    path.mkdir(parents=True, exist_ok=True)
    return path


def main() -> int:
    """Check the pages and return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", help="samples to open; all when left out")
    parser.add_argument("--screenshots", type=new_folder, help="folder for a picture of each page")
    arguments = parser.parse_args()
    program = chromium("NO HTML REPORT WAS OPENED IN A BROWSER.")
    if program is None:
        return 0
    wrong = pages = 0
    with tempfile.TemporaryDirectory() as folder, browser(program) as tab:
        axe = axe_source(Path(folder))
        for name, judged in reports():
            if arguments.names and name not in arguments.names:
                continue
            page = Path(folder, f"{name}.html")
            page.write_text(as_html.render(judged), encoding="utf-8")
            found = [*windows(tab, page, arguments.screenshots), *paper(tab, page)]
            found += accessible(tab, page, axe) if axe is not None else ()
            for each in found:
                print(f"{name}: {each}", flush=True)
            wrong, pages = wrong + bool(found), pages + 1
    print(f"{pages} pages opened, {wrong} with something wrong")
    return 1 if wrong or not pages else 0


if __name__ == "__main__":
    sys.exit(main())
