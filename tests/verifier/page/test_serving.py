"""How the page is started: where it listens, what is printed, and what a phone is let into."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from tests.verifier.page.conftest import REGISTRY, Visitor, serve
from verifier.errors import UnreadableInput
from verifier.page import serving
from verifier.page.app import application
from verifier.page.serving import Wanted, announced
from verifier.page.settings import LOOPBACK, Settings, address_in_network

ROOT = Path(__file__).parents[3]


def started(*options: str, folder: Path) -> subprocess.Popen[str]:
    code = "from verifier.cli import main; main()"
    command = [sys.executable, "-c", code, "page", "--cases", str(folder / "c"), "--registry", str(REGISTRY),
               "--no-browser", *options]  # fmt: skip
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment, encoding="utf-8")


def test_the_command_prints_a_link_that_opens_the_page(tmp_path: Path) -> None:
    """Otherwise nobody who was told the command gets to the page. Rule: no other service is needed."""
    with started(folder=tmp_path) as running:
        assert running.stderr is not None
        link = running.stderr.readline().split()[-1]
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/open\?key=[\w-]{20,}", link)
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        assert "What do you have?" in opener.open(link).read().decode()
        running.send_signal(signal.SIGINT)
        assert running.wait(timeout=20) in (0, 130)


def test_a_port_that_is_taken_is_told(tmp_path: Path) -> None:
    """Otherwise a second start ends in a traceback. Rule: one line, exit status 2."""
    with socket.socket() as taken:
        taken.bind((LOOPBACK, 0))
        taken.listen()
        with started("--port", str(taken.getsockname()[1]), folder=tmp_path) as running:
            assert running.stderr is not None
            assert "in use" in running.stderr.read()
            assert running.wait(timeout=20) == 2


def test_a_phone_is_shown_a_code_only_where_that_is_asked_for(tmp_path: Path) -> None:
    """Otherwise the key is shown to a room that nobody wanted to let in. Rule: never the default."""
    at_home = Settings(tmp_path, REGISTRY, "KEY", 8000)
    shared = Settings(tmp_path, REGISTRY, "KEY", 8000, (LOOPBACK, "192.0.2.7"), "192.0.2.7")
    assert not [line for line in announced(at_home) if "█" in line]
    told = announced(shared)
    assert "http://192.0.2.7:8000/open?key=KEY" in told
    code = [line for line in told if "█" in line]
    # The smallest code for so long a link is 29 modules wide (ISO/IEC 18004), here with a border of two.
    assert len({len(line) for line in code}) == 1
    assert len(code[0]) >= 33
    for page in serve(tmp_path):
        assert page.visitor().get("/phone.svg").status == 404
    assert application(shared).state.settings.hosts == {"127.0.0.1:8000", "192.0.2.7:8000"}


def test_a_phone_in_the_network_needs_the_key_too(tmp_path: Path) -> None:
    """Otherwise everybody in the shop's network is let in. Rule: a link with a key."""
    for page in serve(tmp_path):
        settings = Settings(
            page.settings.cases,
            REGISTRY,
            page.settings.key,
            page.settings.port,
            (LOOPBACK, "shop.test"),
            "shop.test",
        )
        assert "shop.test" not in " ".join(page.settings.hosts)
        assert f"shop.test:{settings.port}" in settings.hosts
        assert Visitor(page.settings).get("/", Host=f"shop.test:{settings.port}").status == 421


def test_without_a_network_it_is_not_shared(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Otherwise the page listens everywhere although no phone can reach it."""
    monkeypatch.setattr(serving, "address_in_network", lambda: None)
    with pytest.raises(UnreadableInput, match="no network"):
        serving.serve(Wanted(tmp_path, REGISTRY, 0, True, False), print)


def test_the_address_in_the_network_is_found_without_asking_anybody() -> None:
    """Otherwise starting the page sends something to a stranger. Source: RFC 5737, addresses for documentation."""
    address = address_in_network()
    assert address is None or re.fullmatch(r"\d+\.\d+\.\d+\.\d+", address)
