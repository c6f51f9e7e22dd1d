"""How the page is started: where it listens, what is printed, and what a phone is let into."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import urllib.error
import urllib.request
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from http.cookiejar import CookieJar
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import urlencode

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from tests.verifier.page.conftest import REGISTRY, Served, Visitor, serve
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


def certificate(folder: Path, *names: str, days: int = 3) -> tuple[Path, Path]:
    """Write a certificate for names or addresses, signed by itself, and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0])])
    stated: list[x509.GeneralName] = [
        x509.IPAddress(ip_address(each)) if each[0].isdigit() else x509.DNSName(each) for each in names
    ]
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=9))
        .not_valid_after(now + timedelta(days=days))
        .add_extension(x509.SubjectAlternativeName(stated), critical=False)
        .sign(key, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    paths = folder / f"{names[0]}.pem", folder / f"{names[0]}.key"
    paths[0].write_bytes(made.public_bytes(pem))
    paths[1].write_bytes(
        key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    )
    return paths


def test_with_a_certificate_what_is_sent_is_encrypted(tmp_path: Path) -> None:
    """Otherwise whoever shares the shop's network reads the key on the way. Source: RFC 6265bis, Secure."""
    pem, key = certificate(tmp_path, "127.0.0.1", "bench.test")
    with started("--certificate", str(pem), "--key", str(key), folder=tmp_path) as running:
        try:
            assert running.stderr is not None
            link = running.stderr.readline().split()[-1]
            assert link.startswith("https://127.0.0.1:")
            trusting = ssl.create_default_context(cafile=str(pem))
            trusting.verify_flags |= ssl.VERIFY_X509_PARTIAL_CHAIN
            opener = urllib.request.build_opener(
                urllib.request.HTTPCookieProcessor(jar := CookieJar()),
                urllib.request.HTTPSHandler(context=trusting),
            )
            text = opener.open(link).read().decode()
            assert "What do you have?" in text
            assert all(each.secure for each in jar)
            assert list(jar)
            # A change comes from the encrypted page, and from no other.
            address = link.partition("/open")[0]
            token = re.search(r'name="token" value="(\w+)"', text)
            assert token is not None
            body = urlencode({"token": token[1], "stage": "opened", "title": "x"}).encode()
            new, plain = f"{address}/packs/new", address.replace("https", "http")
            assert opener.open(urllib.request.Request(new, body, {"Origin": address})).status == 200  # noqa: S310 - our own
            with pytest.raises(urllib.error.HTTPError, match="403"):
                opener.open(urllib.request.Request(new, body, {"Origin": plain}))  # noqa: S310 - our own
            with pytest.raises(http.client.HTTPException):
                urllib.request.urlopen(plain, timeout=10)  # noqa: S310 - our own
        finally:
            running.send_signal(signal.SIGINT)
            running.wait(timeout=20)


def test_a_certificate_that_cannot_be_used_is_told(tmp_path: Path) -> None:
    """Otherwise the page starts in the open, or every browser refuses it. Rule: one line, exit status 2."""
    pem, key = certificate(tmp_path, "127.0.0.1")
    other = certificate(tmp_path, "10.0.0.7")[1]
    old = certificate(tmp_path, "old.test", days=-1)
    (tmp_path / "text.pem").write_text("no certificate", encoding="utf-8")
    for given, said in (
        (("--certificate", str(pem)), "--key: is missing"),
        (("--key", str(key)), "--certificate: is missing"),
        (("--certificate", str(pem), "--key", str(other)), "no certificate with its key"),
        (("--certificate", str(old[0]), "--key", str(old[1])), "expired"),
        (("--certificate", str(tmp_path / "text.pem"), "--key", str(key)), "no certificate with its key"),
        (("--certificate", str(tmp_path / "none.pem"), "--key", str(key)), "cannot be read"),
    ):
        with started(*given, folder=tmp_path) as running:
            assert running.stderr is not None
            told = running.stderr.read()
            assert said in told
            assert "Traceback" not in told
            assert running.wait(timeout=20) == 2


def test_the_link_is_one_that_the_certificate_names(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Otherwise every phone is warned, and learns to go on regardless. Source: RFC 9525, names in certificates."""
    found: list[Settings] = []
    monkeypatch.setattr(serving, "address_in_network", lambda: "192.0.2.7")
    monkeypatch.setattr(serving, "_run", lambda listening, settings, wanted: found.append(settings))
    monkeypatch.setattr(serving, "_EVERYWHERE", LOOPBACK)
    pem, key = certificate(tmp_path, "bench.test", "*.shop.test")
    told: list[str] = []
    serving.serve(Wanted(tmp_path, REGISTRY, 0, True, False, pem, key), told.append)
    [settings] = found
    assert settings.network == settings.home == "bench.test"
    assert f"bench.test:{settings.port}" in settings.hosts
    assert not any("*" in each for each in settings.hosts)
    assert not any("not encrypted" in each for each in told)


def test_it_is_said_that_what_is_sent_is_not_encrypted(tmp_path: Path) -> None:
    """Otherwise somebody shares the link in a hotel's network and believes it private. Rule: said where it is shown."""
    shared = Settings(tmp_path, REGISTRY, "KEY", 8000, (LOOPBACK, "192.0.2.7"), "192.0.2.7")
    told = " ".join(announced(shared))
    assert "not encrypted" in told
    assert "people you trust" in told
    assert "not encrypted" not in " ".join(announced(replace(shared, encrypted=True)))
    assert "not encrypted" not in " ".join(announced(Settings(tmp_path, REGISTRY, "KEY", 8000)))


def test_on_a_tablet_only_the_first_sentence_stays_in_sight(page: Served) -> None:
    """Otherwise an alarm that stays in sight hides half the form. Rule: 820 and 1180 px are tablets."""
    style = page.visitor().get("/static/page.css").text
    blocks = re.findall(r"@media \(max-width: ([0-9.]+)rem\) \{\n(.*?)\n\}", style, re.DOTALL)
    widths = [
        float(most) * 16 for most, rules in blocks if ".answer-head > div { display: contents; }" in rules
    ]
    assert widths
    assert max(widths) >= 1180
