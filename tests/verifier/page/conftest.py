"""A page served for real on this machine, and a visitor who speaks plain HTTP to it."""

from __future__ import annotations

import asyncio
import http.client
import re
import secrets
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from urllib.parse import quote, urlencode

import pytest
import uvicorn

from verifier.page.app import application
from verifier.page.settings import LOOPBACK, Settings

SAMPLES = Path(__file__).parents[3] / "samples"
REGISTRY = SAMPLES / "registry.jsonl"


@dataclass
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    text: str

    def values(self, name: str) -> list[str]:
        """Return the values of the hidden or text fields of a name, as a browser would send them."""
        found = re.findall(rf'<input[^>]*name="{re.escape(name)}"[^>]*>', self.text)
        return [unescape(match[1]) for each in found if (match := re.search(r'value="([^"]*)"', each))]


@dataclass
class Visitor:
    """A browser without scripts: keeps cookies, and sends forms as the page asks for them."""

    settings: Settings
    cookies: dict[str, str] = field(default_factory=dict)
    token: str = ""

    @property
    def host(self) -> str:
        return f"{LOOPBACK}:{self.settings.port}"

    def ask(
        self, method: str, path: str, body: bytes | str | None = None, headers: dict[str, str] | None = None
    ) -> Answer:
        """Send one request; a header given as an empty text is left out."""
        sent = {"Host": self.host, "Cookie": "; ".join(f"{n}={v}" for n, v in self.cookies.items())}
        if method == "POST":
            sent |= {"Origin": f"http://{self.host}", "Content-Type": "application/x-www-form-urlencoded"}
        sent |= headers or {}
        # It only ends what hangs and bounds no speed: on a busy machine an answer took over half a minute.
        connection = http.client.HTTPConnection(LOOPBACK, self.settings.port, timeout=120)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            data = body.encode() if isinstance(body, str) else body
            if data is not None:
                sent.setdefault("Content-Length", str(len(data)))
            for name, value in sent.items():
                if value:
                    connection.putheader(name, value)
            connection.endheaders(data)
            answer = connection.getresponse()
            for cookie in answer.headers.get_all("set-cookie") or ():
                name, _, value = cookie.partition(";")[0].partition("=")
                self.cookies[name] = value
            return Answer(
                answer.status,
                {k.lower(): v for k, v in answer.getheaders()},
                answer.read().decode("utf-8", "replace"),
            )
        finally:
            connection.close()

    def raw(self, path: str) -> bytes:
        """Return a picture as it is sent."""
        connection = http.client.HTTPConnection(LOOPBACK, self.settings.port, timeout=120)
        try:
            cookie = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
            connection.request("GET", path, headers={"Host": self.host, "Cookie": cookie})
            return connection.getresponse().read()
        finally:
            connection.close()

    def get(self, path: str, **headers: str) -> Answer:
        return self.ask("GET", path, headers=headers)

    def post(self, path: str, fields: dict[str, str], headers: dict[str, str] | None = None) -> Answer:
        return self.ask("POST", path, urlencode({"token": self.token, **fields}), headers)

    def send_file(self, path: str, name: str, data: bytes, fields: dict[str, str] | None = None) -> Answer:
        """Send a form with a file."""
        line = f"--{(mark := secrets.token_hex(8))}\r\n".encode()
        body = b""
        for key, value in {"token": self.token, **(fields or {})}.items():
            body += line + f'Content-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'.encode()
        body += line + f'Content-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'.encode()
        body += data + f"\r\n--{mark}--\r\n".encode()
        return self.ask("POST", path, body, {"Content-Type": f"multipart/form-data; boundary={mark}"})

    def enter(self) -> Visitor:
        """Open the page by its link, as the program prints it."""
        assert self.get(f"/open?key={self.settings.key}").status == 303
        self.token = self.get("/").values("token")[0]
        return self

    def form(self, path: str) -> dict[str, str]:
        """Return a step's form as it stands, to be changed and sent."""
        text = self.get(path).text
        inside = text[text.index('<form id="form"') :]
        found: dict[str, str] = {}
        for each in re.findall(r"<input[^>]*>", inside[: inside.index("</form>")]):
            named, value = re.search(r'name="([^"]*)"', each), re.search(r'value="([^"]*)"', each)
            assert named is not None
            assert value is not None
            if 'type="radio"' not in each or "checked" in each:
                found[named[1]] = unescape(value[1])
        return found

    def change(self, name: str, step: str, **typed: str) -> Answer:
        """Type into fields of a step (their dots written as two underscores) and send the form as the page does."""
        form = self.form(f"/packs/{quote(name)}/{step}")
        form |= {field.replace("__", "."): value for field, value in typed.items()}
        return self.post(f"/packs/{quote(name)}/{step}", form, {"HX-Request": "true"})


class Server(uvicorn.Server):
    """A server that sees at once that it is to stop, where its own looks ten times a second."""

    async def main_loop(self) -> None:
        while not await self.on_tick(0):
            await asyncio.sleep(0.01)


@dataclass
class Served:
    """A page that runs, the folder of its cases, and its visitors."""

    settings: Settings
    cases: Path

    def visitor(self) -> Visitor:
        return Visitor(self.settings).enter()

    def write(self, name: str, text: str) -> Path:
        self.cases.mkdir(exist_ok=True)
        (self.cases / name).write_text(text, encoding="utf-8")
        return self.cases / name


def serve(folder: Path, registry: Path = REGISTRY) -> Iterator[Served]:
    """Serve a page in this process until the test is done."""
    with socket.socket() as listening:
        listening.bind((LOOPBACK, 0))
        settings = Settings(folder / "cases", registry, secrets.token_urlsafe(18), listening.getsockname()[1])
        app = application(settings)
        config = uvicorn.Config(app, log_level="error", lifespan="off", ws="none", access_log=False)
        server = Server(config)
        running = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        running.start()
        try:
            until = time.monotonic() + 10
            while not server.started and time.monotonic() < until:
                time.sleep(0.01)
            yield Served(settings, folder / "cases")
        finally:
            server.should_exit = True
            running.join(timeout=10)
            app.state.judge.close()
            app.state.tables.stop()


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Served]:
    """A page with an empty folder of cases, over the invented cells of the samples."""
    yield from serve(tmp_path)


@pytest.fixture(scope="module")
def shared_page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A page that several tests ask, none of which changes what another one sees."""
    yield from serve(tmp_path_factory.mktemp("page"))
