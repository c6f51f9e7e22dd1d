"""Goes through the local page in headless Chromium: from a pasted listing, a pack, a datasheet, a table and a log to
what comes of each, as a phone and a desk see it, with scripts and without.

Run by hand or by the gate: ``python tests/browser/check_page.py [--screenshots FOLDER] [--axe FILE] [FLOW...]``.
Checked of each view on the way: nothing runs out of the window sideways, the console stays silent, no request leaves
this machine, and axe-core finds nothing against WCAG 2.2 A and AA, light and dark. Without Chromium, or without
axe-core, it says loudly what was not checked.
"""

from __future__ import annotations

import argparse
import base64
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.browser.check_reports import RULES, SAMPLES, Tab, axe_source, browser, chromium, new_folder

LISTING = (SAMPLES / "listings" / "pier-nine-commuter.txt").read_text(encoding="utf-8")
# Views that tell of something that is not there, and what the browser says of them.
NOWHERE = ("/packs/nothing.yaml/pack", "/no-such-page")
REFUSED = "the server responded with a status of"
# What the library of the page says when one leaves a view that is still asking for a part of itself.
LEFT = ("htmx:sendAbort", "htmx:afterRequest")
# A phone in portrait with scripts, one without, a desk with and without; dark where scripts run at the desk.
WAYS = ((360, True, "light"), (390, False, "light"), (1280, True, "dark"), (1920, False, "light"))
PATIENCE_S = 60.0


class Walker:
    """One browser's way through the page; whatever is wrong on it is kept in ``wrong``."""

    def __init__(self, tab: Tab, link: str, width: int, scheme: str, *, scripts: bool) -> None:
        self.tab, self.width, self.scripts, self.scheme = tab, width, scripts, scheme
        self.origin = link.partition("/open")[0]
        self.wrong: list[str] = []
        self.axe: str | None = None
        self.shots: Path | None = None
        self.name = ""
        tab.do("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
        tab.do(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=800,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
        tab.do("Emulation.setScriptExecutionDisabled", value=not scripts)
        tab.do("Network.clearBrowserCookies")
        self.go(link)

    def go(self, place: str) -> None:
        """Open an address."""
        self.tab.events = [each for each in self.tab.events if each["method"] != "Page.loadEventFired"]
        address = place if place.startswith("http") else self.origin + place
        self.tab.do("Page.navigate", url=address)
        self._loaded()

    def _loaded(self) -> None:
        while not any(each["method"] == "Page.loadEventFired" for each in self.tab.events):
            self.tab.events.append(json.loads(self.tab._socket.recv()))
        self.look()

    def press(self, selector: str) -> None:
        """Press a button or a link that leads to another view."""
        self.tab.events = [each for each in self.tab.events if each["method"] != "Page.loadEventFired"]
        self.value(f"document.querySelector({json.dumps(selector)}).click(); 1")
        self._loaded()

    def value(self, script: str) -> Any:
        """Return what a script of the browser's own tools gives; it runs also where the page's may not."""
        return self.tab.value(script)

    def type(self, name: str, text: str) -> None:
        """Type into a field, or choose one of a few answers."""
        found = json.dumps(f'[name="{name}"]')
        self.value(
            f"(() => {{ const fields = [...document.querySelectorAll({found})]; const field = fields[0];"
            f"if (field.type === 'radio') {{ fields.find(each => each.value === {json.dumps(text)}).click(); return; }}"
            "field.focus();"
            f"field.value = {json.dumps(text)};"
            "field.dispatchEvent(new Event('input', {bubbles: true}));"
            "field.dispatchEvent(new Event('change', {bubbles: true})); })(); 1"
        )

    def drop(self, selector: str, path: Path) -> None:
        """Choose a file."""
        root = self.tab.do("DOM.getDocument")["root"]["nodeId"]
        node = self.tab.do("DOM.querySelector", nodeId=root, selector=selector)["nodeId"]
        self.tab.do("DOM.setFileInputFiles", nodeId=node, files=[str(path)])

    def save(self) -> None:
        """Save a form where nothing is saved as one types; else wait until it is."""
        if self.scripts:
            self.until("document.querySelector('.notice.good')", "what was typed is saved")
        else:
            self.press("#form button:not([name])")

    def until(self, script: str, what: str) -> None:
        """Wait for something, loading the page again where it cannot change by itself."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            if self.value(f"document.readyState === 'complete' && !!({script})"):
                return
            time.sleep(0.2)
            if not self.scripts:
                self.go(self.value("location.pathname + location.search"))
        self.wrong.append(f"{self.name}: waited in vain: {what}")

    def says(self, *texts: str) -> None:
        """Note every text that the view does not show."""
        typed = "[...document.querySelectorAll('input, textarea')].map(each => each.value).join(' ')"
        shown = " ".join(str(self.value(f"document.body.innerText + ' ' + {typed}")).split())
        self.wrong += [f"{self.name}: does not say '{text}'" for text in texts if text not in shown]

    def look(self) -> None:
        """Note whatever is wrong with the view as it stands."""
        view = str(self.value("location.pathname"))
        place = f"{self.name} {view} at {self.width} px, scripts {'on' if self.scripts else 'off'}"
        across = self.value("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        if across[0] > across[1]:
            out = self.value(
                "[...document.querySelectorAll('body *')].filter(each => each.getBoundingClientRect().right >"
                f" {across[1]}).map(each => each.outerHTML.slice(0, 80)).slice(-3)"
            )
            self.wrong.append(f"{place}: {across[0]} px wide in {across[1]}: {out}")
        if self.shots is not None:
            shot = self.tab.do("Page.captureScreenshot")["data"]
            stem = re.sub(r"[^a-z0-9]+", "-", f"{self.name}{view}".lower())[:70]
            kind = f"{self.width}-{'on' if self.scripts else 'off'}"
            (self.shots / f"{stem}-{kind}.png").write_bytes(base64.b64decode(shot))
        # A report is a document of its own, which check_reports.py looks at.
        if self.axe is not None and self.scripts and not view.endswith(".html"):
            self.wrong += [f"{place}: axe {each}" for each in self._accessible(self.axe)]

    def _accessible(self, axe: str) -> list[str]:
        self.value("document.querySelectorAll('details').forEach(each => { each.open = true; }); 1")
        # What lies half under the answer, which stays in sight, is no small target.
        self.value("scrollTo({top: 0, behavior: 'instant'}); 1")
        self.value(f"{axe}; 0")
        found: list[str] = self.value(
            f"axe.run({{runOnly: {json.dumps(RULES)}, resultTypes: ['violations'], iframes: false}}).then(done =>"
            " done.violations.map(each => `${each.id}: ${each.help}: "
            "${each.nodes.slice(0, 3).map(node => node.html.slice(0, 160))}`))"
        )
        return found

    def complaints(self) -> Iterator[str]:
        """Yield what the browser complained of or asked of others on the whole way."""
        for event in self.tab.events:
            parameters = event["params"]
            if event["method"] == "Network.requestWillBeSent":
                address = parameters["request"]["url"]
                if not address.startswith((f"{self.origin}/", "data:", "about:")):
                    yield f"{self.name}: asks for {address}"
            elif event["method"] in ("Runtime.exceptionThrown", "Runtime.consoleAPICalled", "Log.entryAdded"):
                said = json.dumps(parameters)
                refused = REFUSED in said and any(each in said for each in NOWHERE)
                if not refused and not any(each in said for each in LEFT):
                    yield f"{self.name}: console: {said[:300]}"


def a_listing(walker: Walker) -> None:
    """From the seller's text to the printed page."""
    began = time.monotonic()
    walker.go("/")
    # The same text again leads to the pack that was made of it: each walker has a text of its own.
    shelf = "".join(chr(ord("a") + int(digit)) for digit in str(walker.width))
    walker.type("text", f"{LISTING}\nShelf {shelf}")
    walker.press("form[action='/listing'] button")
    walker.says("contradicts itself", "25 A", "The listing")
    walker.type("claim.continuous_current_a", "15 A")
    walker.save()
    if not walker.scripts:
        walker.press("a[href='?steps']")
    # Where nothing could clear a listing, it is told that nothing is asked.
    walker.until("document.querySelector('#next li, #next p:not(.quiet)')", "what to find out first")
    for step in ("/pack", "/use", "/papers"):
        walker.press("#form button[name='then']")
        if not str(walker.value("location.pathname")).endswith(step):
            walker.wrong.append(f"{walker.name}: the way on does not lead to {step}")
    walker.says("Questions for the seller", "Hello")
    walker.go(walker.value("document.querySelector('a[href$=\"handover.html\"]').getAttribute('href')"))
    walker.says("Hand-over sheet")
    if (taken := time.monotonic() - began) > 2 * PATIENCE_S:
        walker.wrong.append(f"{walker.name}: took {taken:.0f} s from paste to page")


def a_pack(walker: Walker) -> None:
    """From a pack on the bench to its label."""
    walker.go("/")
    walker.type("title", "Harbour pack")
    walker.press("form[action='/packs/new'] button")
    walker.type("observed.cell.marking", "LYR 18650-35")
    walker.save()
    walker.says("not the same", "LYR 18650-35P")
    walker.type("observed.fuse.fitted", "no")
    walker.save()
    walker.until("document.querySelector('.answer-head .alarm')", "the alarm of a missing fuse")
    walker.says("NO FUSE")
    walker.press("#undo button")
    walker.until("!document.querySelector('.answer-head .alarm')", "undo")
    place = walker.value("location.pathname").rpartition("/")[0]
    for language in ("de", "zh", "en"):
        walker.go(f"/language/{language}?back={place}/use")
    walker.type("use.load_power_w", "350 W")
    walker.save()
    for other in ("/packs", "/compare"):
        walker.go(other)
        walker.says("Harbour pack")
    name = place.rpartition("/")[2]
    walker.go(f"/compare?pack={name}&pack=quay-street-loaner-7.yaml")
    walker.says("Harbour pack", "trusted current")
    for nowhere in NOWHERE:
        walker.go(nowhere)
    walker.go(f"{place}/label.html")
    walker.says("Harbour pack")


def a_datasheet(walker: Walker) -> None:
    """From a PDF to the cells that meet a current."""
    walker.go("/cells")
    walker.drop("#file", SAMPLES / "sheets" / "lyr-18650-30v.pdf")
    walker.press("form[action='/cells/sheets'] button")
    walker.says("Nominal capacity 3000 mAh")
    model = f"30V{walker.width}"
    for name, text in (("maker", "Quill"), ("model", model), ("size", "18650"), ("chemistry", "NMC")):
        walker.type(name, text)
    walker.press("button.main")
    walker.says(f"Quill {model}", "4.2 V")
    walker.press("a[href$='/history']")
    walker.says("from lyr-18650-30v.pdf")
    walker.go(walker.value("location.pathname").removesuffix("history") + "edit")
    walker.type("0.mass_g", "46.5")
    walker.type("why", "weighed")
    walker.press("button.main")
    walker.says("46.5 g")
    walker.go("/cells/which?current=20A&parallel=4")
    walker.says("could supply 20 A")
    if not walker.value("document.querySelector('.wide-figure img').naturalWidth > 0"):
        walker.wrong.append(f"{walker.name}: the picture of margins is not drawn")


def a_table(walker: Walker) -> None:
    """From a CSV of another country to a row as a case."""
    walker.go("/tables")
    walker.drop("#file", SAMPLES / "screening" / "dockside-angebote.csv")
    walker.press("form[action='/tables'] button")
    walker.says("Verkäufer")
    walker.press("button.main")
    walker.until("document.querySelector('table')", "the table is judged")
    walker.look()
    walker.says("Akku 36V 30Ah leicht", "Save all rows")
    # The worst stands first.
    walker.press("td form button")
    walker.says("Akku 36V 30Ah leicht")


def a_log(walker: Walker) -> None:
    """From a tester's file to its curve, and its evidence in the case."""
    walker.go("/logs?pack=quay-street-loaner-7.yaml")
    walker.drop("#file", SAMPLES / "logs" / "quay-street-loaner-7.csv")
    walker.press("form[action='/logs'] button")
    walker.says("Delivered 11.6 Ah", "does not hold")
    drawn = "document.querySelector('.curves img')"
    walker.value(f"{drawn}.scrollIntoView(); 1")
    walker.until(f"{drawn}.complete && {drawn}.naturalWidth > 0", "the curve is drawn")
    if walker.value("!!document.querySelector('form[action$=\"/take\"]')"):
        walker.press("form[action$='/take'] button")
    walker.says("The case holds it")
    walker.go(walker.value("document.querySelector('a[href$=\"report.html\"]').getAttribute('href')"))
    walker.says("Delivered")


def photos(walker: Walker) -> None:
    """From a photo to the printed page, and the photo away again."""
    from PIL import Image

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "wrapper.png"
        Image.new("RGB", (300, 200), (60, 120, 60)).save(path)
        walker.go("/packs/quay-street-loaner-7.yaml/papers")
        walker.drop("#photo-file", path)
        walker.press("form[action$='/photos'] button")
    walker.value("document.querySelector('.thumbs img').scrollIntoView(); 1")
    walker.until("document.querySelector('.thumbs img').naturalWidth > 0", "the photo is shown")
    walker.go("/packs/quay-street-loaner-7.yaml/handover.html")
    walker.until("document.querySelector('.photos img').naturalWidth > 0", "the photo is printed")
    walker.go("/packs/quay-street-loaner-7.yaml/papers")
    walker.press("form[action$='/photos/remove'] button")
    if walker.value("!!document.querySelector('.thumbs')"):
        walker.wrong.append(f"{walker.name}: the photo is still there")


FLOWS: dict[str, Callable[[Walker], None]] = {
    "listing": a_listing, "pack": a_pack, "datasheet": a_datasheet, "table": a_table, "log": a_log,
    "photos": photos,
}  # fmt: skip


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Start the program as a user does, over copies of the samples, and yield the link that it prints."""
    (folder / "cases").mkdir()
    shutil.copy(SAMPLES / "cases" / "quay-street-loaner-7.yaml", folder / "cases")
    program = [sys.executable, "-c", "from verifier.cli import main; main()"]
    registry = str(folder / "r.sqlite")
    root = SAMPLES.parent
    environment = {**os.environ, "PYTHONPATH": str(root), "LC_ALL": "C.UTF-8"}
    subprocess.run(
        [*program, "cells", "import", str(SAMPLES / "registry.jsonl"), "--registry", registry],
        check=True, capture_output=True, env=environment,
    )  # fmt: skip
    with subprocess.Popen(
        [*program, "page", "--cases", str(folder / "cases"), "--registry", registry, "--no-browser"],
        stderr=subprocess.PIPE, text=True, env=environment, encoding="utf-8",
    ) as running:  # fmt: skip
        try:
            assert running.stderr is not None
            yield running.stderr.readline().split()[-1]
        finally:
            running.terminate()
            running.wait(timeout=30)


def main() -> int:
    """Walk every flow in every way and return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("flows", nargs="*", help=f"flows to walk; all when left out: {', '.join(FLOWS)}")
    parser.add_argument("--screenshots", type=new_folder, help="folder for a picture of each view")
    parser.add_argument("--axe", type=Path, help="axe-core's script, where it is there already")
    arguments = parser.parse_args()
    program = chromium("THE PAGE WAS NOT OPENED IN A BROWSER.")
    if program is None:
        return 0
    wrong: list[str] = []
    walked = 0
    with tempfile.TemporaryDirectory() as name, served(Path(name)) as link, browser(program) as tab:
        axe = arguments.axe.read_text(encoding="utf-8") if arguments.axe else axe_source(Path(name) / "axe")
        for width, scripts, scheme in WAYS:
            for flow in arguments.flows or FLOWS:
                tab.events.clear()
                walker = Walker(tab, link, width, scheme, scripts=scripts)
                walker.name, walker.axe, walker.shots = flow, axe, arguments.screenshots
                try:
                    FLOWS[flow](walker)
                except (RuntimeError, KeyError, TypeError) as error:
                    walker.wrong.append(f"{flow} at {width} px, scripts {scripts}: {error}"[:500])
                found = [*walker.wrong, *walker.complaints()]
                for each in dict.fromkeys(found):
                    print(f"{width} px, scripts {'on' if scripts else 'off'}: {each}", flush=True)
                wrong += found
                walked += 1
    print(f"{walked} ways walked, {len(wrong)} things wrong")
    return 1 if wrong or not walked else 0


if __name__ == "__main__":
    sys.exit(main())
