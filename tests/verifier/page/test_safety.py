"""What another site, another person or a hostile file may do to the page: nothing."""

from __future__ import annotations

import contextlib
import json
import re
import socket
from html.parser import HTMLParser
from pathlib import Path

import pytest
from starlette.routing import Route

from tests.verifier.page.conftest import SAMPLES, Served, Visitor
from verifier.page.app import application
from verifier.page.settings import LOOPBACK, Settings

LISTING = (SAMPLES / "listings" / "pier-nine-commuter.txt").read_text(encoding="utf-8")
EVIL = "\"'><script>alert(1)</script><img src=x onerror=alert(1)>{{7*7}}"
VIEWS = ("/", "/packs", "/compare", "/packs/a.yaml/listing", "/packs/a.yaml/pack", "/packs/a.yaml/use",
         "/packs/a.yaml/logs",
         "/packs/a.yaml/papers", "/packs/a.yaml/next?step=pack", "/packs/nothing.yaml", "/no-such-page")  # fmt: skip


def routes() -> list[Route]:
    app = application(Settings(Path("cases"), Path("registry"), "key", 1))
    return [each for each in app.routes if isinstance(each, Route)]


@pytest.fixture(scope="module")
def visitor(shared_page: Served) -> Visitor:
    shared_page.write(
        "a.yaml", f"case: {{title: {json.dumps(EVIL)}, stage: opened}}\nclaim: {{capacity_ah: 14}}\n"
    )
    return shared_page.visitor()


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "127.0.0.1", "", "[::1]:80"])
def test_a_name_of_somebody_else_that_points_here_is_refused(visitor: Visitor, host: str) -> None:
    """Otherwise a site whose name is turned to this machine reads every case. Source: DNS rebinding, OWASP."""
    assert visitor.get("/packs", Host=host).status in (400, 421)


def test_two_hosts_in_one_request_are_refused(shared_page: Served) -> None:
    """Otherwise a proxy and the page may each believe another host. Source: RFC 9112, 3.2."""
    with socket.create_connection((LOOPBACK, shared_page.settings.port)) as connection:
        host = f"{LOOPBACK}:{shared_page.settings.port}"
        connection.sendall(f"GET / HTTP/1.1\r\nHost: {host}\r\nHost: {host}\r\n\r\n".encode())
        assert connection.recv(100).split()[1] in (b"400", b"421")


def test_without_the_key_nothing_is_shown(shared_page: Served) -> None:
    """Otherwise anybody on this machine or in the shop's network reads and changes the cases. Rule: issue's safety."""
    stranger = Visitor(shared_page.settings)
    for path in VIEWS:
        answer = stranger.get(path)
        assert answer.status == 403
        assert "a.yaml" not in answer.text
    assert stranger.get("/open?key=wrong").status == 403
    assert stranger.cookies == {}
    stranger.cookies["packclaim"] = shared_page.settings.key
    assert stranger.get("/packs").status == 403


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "", "https://127.0.0.1", "http://localhost:1"]
)
def test_a_form_of_another_site_changes_nothing(visitor: Visitor, shared_page: Served, origin: str) -> None:
    """Otherwise a page in another tab changes or makes cases. Source: cross-site request forgery, OWASP."""
    before = sorted(each.read_bytes() for each in shared_page.cases.glob("*.yaml"))
    answer = visitor.post("/listing", {"text": LISTING}, {"Origin": origin})
    assert answer.status == 403
    assert sorted(each.read_bytes() for each in shared_page.cases.glob("*.yaml")) == before


def test_every_change_needs_the_token(visitor: Visitor) -> None:
    """Otherwise one forgotten view lets another site act as the user. Rule: a token on every change."""
    posts = [each for each in routes() if each.methods and "POST" in each.methods]
    assert len(posts) > 3
    for route in posts:
        path = re.sub(r"{[^}]*}", "a.yaml", re.sub(r"{[^}]*:int}", "0", route.path))
        assert visitor.ask("POST", path, "token=wrong").status == 403, path
        assert visitor.ask("POST", path, "").status == 403, path


def test_only_get_and_post_are_answered(visitor: Visitor) -> None:
    """Otherwise a method nobody thought of goes round the checks. Rule: refuse what is not used."""
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"):
        assert visitor.ask(method, "/packs").status == 405


def test_no_cookie_goes_to_another_site(shared_page: Served) -> None:
    """Otherwise another site's requests carry the key. Source: RFC 6265bis, SameSite."""
    visitor = Visitor(shared_page.settings)
    cookies = [visitor.get(f"/open?key={shared_page.settings.key}"), visitor.get("/language/de")]
    for answer in cookies:
        assert "samesite=strict" in answer.headers["set-cookie"].lower()
        assert "httponly" in answer.headers["set-cookie"].lower()


class _Inline(HTMLParser):
    """Collects whatever a strict policy would refuse."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        if tag == "style" or (tag == "script" and not (named.get("src") or "").startswith("/static/")):
            self.found.append(tag)
        self.found += [f"{tag} {name}" for name in named if name == "style" or name.startswith("on")]
        self.found += [
            f"{tag} {name}={value}"
            for name, value in attrs
            if name in ("href", "src", "action")
            and value
            and re.match(r"(?i)\s*(javascript|data|https?|//)", value)
        ]


@pytest.mark.parametrize("path", VIEWS)
def test_every_view_runs_only_our_own_script(visitor: Visitor, path: str) -> None:
    """Otherwise words of a listing may run as a program in the page. Source: Content Security Policy Level 3."""
    answer = visitor.get(path)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    inline = _Inline()
    inline.feed(answer.text)
    assert inline.found == []


def test_a_report_is_shown_apart_from_the_page(visitor: Visitor) -> None:
    """Otherwise a report's own style opens the page's policy. Rule: a policy and a sandbox of its own."""
    policy = visitor.get("/packs/a.yaml/handover.html").headers["content-security-policy"]
    assert "sandbox" in policy
    assert "allow-scripts" not in policy
    assert "allow-same-origin" not in policy


def test_text_of_a_case_is_never_markup(visitor: Visitor) -> None:
    """Otherwise whoever writes a listing writes the page. Rule: no text of others is unescaped."""
    for path in VIEWS:
        text = visitor.get(path).text
        assert "<script>alert" not in text
        assert "<img src=x" not in text
        assert "49" not in text.partition("<main")[2].partition("</h1>")[0]


@pytest.mark.parametrize("step", ["listing", "pack", "use"])
def test_html_in_every_field_stays_text(page: Served, step: str) -> None:
    """Otherwise one field forgets to escape what somebody typed. Rule: no text of others is unescaped."""
    page.write("b.yaml", "case: {title: b, stage: opened}\n")
    visitor = page.visitor()
    form = visitor.form(f"/packs/b.yaml/{step}")
    filled = {
        name: value if name.startswith(("was.", "held.", "token")) else EVIL for name, value in form.items()
    }
    for headers in ({}, {"HX-Request": "true"}):
        answer = visitor.post(f"/packs/b.yaml/{step}", filled, headers)
        assert answer.status in (200, 303, 422)
        shown = (
            answer.text + visitor.get(f"/packs/b.yaml/{step}").text + visitor.get("/packs/b.yaml/papers").text
        )
        assert "<script>alert" not in shown
        assert "<img src=x" not in shown


@pytest.mark.parametrize(
    "name",
    ["../secret.yaml", "..%2fsecret.yaml", "%2e%2e/secret.yaml", "..\\secret.yaml", "/etc/passwd",
     "a.yaml/../../secret.yaml",
     "listings", "a.yaml%00", "....//secret.yaml", "secret.yaml"],
)  # fmt: skip
def test_a_name_from_outside_is_never_a_path(visitor: Visitor, shared_page: Served, name: str) -> None:
    """Otherwise the page hands out or overwrites any file of this machine. Source: path traversal, CWE-22."""
    (shared_page.cases.parent / "secret.yaml").write_text("case: {title: SECRET}\n", encoding="utf-8")
    for path in (
        f"/packs/{name}/pack",
        f"/packs/{name}/case.yaml",
        f"/packs/{name}/handover.html",
        f"/static/{name}",
    ):
        answer = visitor.get(path)
        assert answer.status in (400, 404, 422)
        assert "SECRET" not in answer.text


def test_a_link_in_the_folder_of_cases_is_only_what_the_user_put_there(page: Served) -> None:
    """Otherwise a title such as ../../x makes a file elsewhere. Source: path traversal, CWE-22."""
    visitor = page.visitor()
    for title in ("../../evil", "/tmp/evil", "..", "con", "", "日本", "a" * 500):  # noqa: S108
        assert visitor.post("/packs/new", {"title": title, "stage": "arrived"}).status == 303
    made = [each for each in page.cases.rglob("*") if each.is_file()]
    assert len(made) == 7
    assert {each.parent for each in made} == {page.cases}
    assert not [each for each in page.cases.parent.iterdir() if each.name != "cases"]


def test_a_gigabyte_is_refused_before_it_is_read(visitor: Visitor, shared_page: Served) -> None:
    """Otherwise one file fills the memory or the disk of the bench's machine. Bound: registry/input_bounds.py."""
    headers = {"Content-Length": "1000000000", "Content-Type": "multipart/form-data; boundary=x"}
    posts = [each for each in routes() if each.methods and "POST" in each.methods]
    for route in posts:
        path = re.sub(r"{[^}]*}", "a.yaml", re.sub(r"{[^}]*:int}", "0", route.path))
        assert visitor.ask("POST", path, b"", headers).status == 413, path
    with socket.create_connection((LOOPBACK, shared_page.settings.port)) as connection:
        head = (
            f"POST /packs/new HTTP/1.1\r\nHost: {visitor.host}\r\nOrigin: http://{visitor.host}\r\n"
            f"Cookie: packclaim={visitor.cookies['packclaim']}\r\nTransfer-Encoding: chunked\r\n"
            "Content-Type: application/x-www-form-urlencoded\r\n\r\n"
        )
        connection.sendall(head.encode())
        answer = b""
        with contextlib.suppress(OSError):
            for _ in range(100):
                connection.sendall(b"10000\r\n" + b"a" * 65536 + b"\r\n")
        with contextlib.suppress(OSError):
            answer = connection.recv(200)
        # Either it is told so, or the line is cut; it is never taken.
        assert not answer or answer.split()[1] in (b"413", b"400")


def test_the_way_back_leads_to_no_other_site(visitor: Visitor) -> None:
    """Otherwise a link to this page sends the user on to another one. Source: open redirect, CWE-601."""
    for place in ("https://evil.example", "//evil.example", "/\\evil.example", "javascript:alert(1)"):
        assert visitor.get(f"/language/de?back={place}").headers["location"] == "/"
    assert visitor.get("/language/de?back=/packs").headers["location"] == "/packs"


def test_by_itself_the_page_listens_on_this_machine_only() -> None:
    """Otherwise everybody in the network is let in unasked. Rule: the shop's network is never the default."""
    from verifier.page.serving import _listening

    with _listening(0, everywhere=False) as listening:
        assert listening.getsockname()[0] == LOOPBACK


@pytest.mark.parametrize(
    ("path", "name", "data"),
    [
        ("/listing", f"{EVIL}.txt", f"48V 20Ah battery {EVIL} 30A BMS".encode()),
        ("/cells/sheets", f"{EVIL}.csv", f"Nominal capacity,3000 mAh\nNominal voltage,3.6 V\nModel,{EVIL}\n".encode()),
        ("/tables", f"{EVIL}.csv", f'"{EVIL}",Voltage\n"{EVIL}",48V\n'.encode()),
        ("/logs", f"{EVIL}.csv", f"{EVIL},Voltage (V),Current (A)\n1,2,3\n".encode()),
        ("/packs/a.yaml/logs", f"{EVIL}.csv", f"{EVIL},Voltage (V),Current (A)\n1,2,3\n".encode()),
        ("/packs/a.yaml/photos", f"{EVIL}.jpg", EVIL.encode()),
        ("/cells/take", f"{EVIL}.jsonl", f'{{"id": "{EVIL}"}}'.encode()),
    ],
)  # fmt: skip
def test_names_and_words_of_files_are_never_markup(page: Served, path: str, name: str, data: bytes) -> None:
    """Otherwise a datasheet or a table from a stranger writes the page. Rule: no text of others is unescaped."""
    page.write("a.yaml", "case: {title: a, stage: opened}\n")
    visitor = page.visitor()
    answer = visitor.send_file(path, name.replace('"', ""), data)
    assert answer.status in (303, 422)
    shown = answer.text
    if answer.status == 303:
        shown += (
            visitor.get(answer.headers["location"]).text
            + visitor.get("/tables").text
            + visitor.get("/packs").text
        )
    for unescaped in ("<script>alert", "<img src=x"):
        assert unescaped not in shown
