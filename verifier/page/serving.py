"""Serving the page: a free port on this machine, the link that opens it, and the end by Ctrl-C."""

from __future__ import annotations

import secrets
import socket
import webbrowser
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from verifier.errors import UnreadableInput
from verifier.page.settings import LOOPBACK, Settings, address_in_network

_EVERYWHERE = "0.0.0.0"  # noqa: S104 - only where the user asks for the shop's network
_IN_USE = "is in use or not allowed"
_IN_THE_OPEN = (
    "What is sent there is not encrypted: whoever is in this network too can read your cases and the key, and with",
    "the key change them. Use it in a network of people you trust, or give --certificate and --key.",
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be served: the folder of cases, the registry, the port (0: any free), to whom, and how opened.

    With a certificate and its key what is sent is encrypted.
    """

    cases: Path
    registry: Path
    port: int
    shop_network: bool
    browser: bool
    certificate: Path | None = None
    key: Path | None = None


def serve(wanted: Wanted, tell: Callable[[str], None]) -> None:
    """Serve the page until it is stopped.

    Parameters
    ----------
    wanted : Wanted
        What to serve.
    tell : callable
        Is given each line that the user is to see.

    Raises
    ------
    UnreadableInput
        When the port cannot be had, or there is no network to serve.
    """
    network = address_in_network() if wanted.shop_network else None
    if wanted.shop_network and network is None:
        raise UnreadableInput(
            "--shop-network", "this machine is in no network", "leave it out, or connect first"
        )
    names = _names(wanted)
    with _listening(wanted.port, everywhere=network is not None) as listening:
        port = listening.getsockname()[1]
        key = secrets.token_urlsafe(18)
        own = (LOOPBACK, "localhost") if network is None else (LOOPBACK, "localhost", network)
        settings = Settings(
            wanted.cases, wanted.registry, key, port, tuple(dict.fromkeys((*own, *names))),
            None if network is None else _named((network, *names), names), _named((*own, *names), names),
            encrypted=wanted.certificate is not None,
        )  # fmt: skip
        for line in announced(settings):
            tell(line)
        _run(listening, settings, wanted)


def _names(wanted: Wanted) -> tuple[str, ...]:
    """Return the names that the certificate stands for, none without one."""
    if wanted.certificate is None and wanted.key is None:
        return ()
    if wanted.certificate is None or wanted.key is None:
        lacking = "--key" if wanted.key is None else "--certificate"
        raise UnreadableInput(lacking, "is missing", "a certificate and its key are given together")
    from verifier.page.certificate import names_in

    # One for every name of a domain names no address that a link could lead to.
    return tuple(each for each in names_in(wanted.certificate, wanted.key) if "*" not in each)


def _named(addresses: Sequence[str], names: Sequence[str]) -> str:
    """Return the first address that the certificate names, so that no browser warns of it; else the first."""
    return next((each for each in addresses if each in names), addresses[0])


def announced(settings: Settings) -> list[str]:
    """Return what the user is told: where the page is, how a phone opens it, where the cases are."""
    lines = [f"packclaim page: {settings.link()}"]
    if settings.network is not None:
        import segno

        link = settings.link(settings.network)
        art = segno.make(link, error="m")
        dark = [[bool(module) for module in row] for row in art.matrix_iter(border=2)]
        lines += ["Phones in this network open it by this link; whoever has it can read and change your cases:",
                  link, *_blocks(dark), *(() if settings.encrypted else _IN_THE_OPEN)]  # fmt: skip
    return [*lines, f"cases: {settings.cases}", f"registry: {settings.registry}", "Ctrl-C ends it."]


def _blocks(dark: list[list[bool]]) -> list[str]:
    """Return a square of modules as text, two rows a line; the light ones are printed, for a dark terminal."""
    rows = [*dark, [False] * len(dark[0])] if len(dark) % 2 else dark
    signs = {(False, False): "█", (False, True): "▀", (True, False): "▄", (True, True): " "}
    return [
        "".join(signs[upper, lower] for upper, lower in zip(rows[at], rows[at + 1], strict=True))
        for at in range(0, len(rows), 2)
    ]


def _listening(port: int, *, everywhere: bool) -> socket.socket:
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((_EVERYWHERE if everywhere else LOOPBACK, port))
        # A browser that is opened now waits for the first answer, rather than being refused.
        made.listen(128)
    except OSError as error:
        made.close()
        raise UnreadableInput(f"--port {port}", _IN_USE, "leave it out for any free one") from error
    return made


def _run(listening: socket.socket, settings: Settings, wanted: Wanted) -> None:
    import uvicorn

    from verifier.page.app import application

    if wanted.browser:
        webbrowser.open(settings.link())
    config = uvicorn.Config(
        application(settings),
        log_level="warning", access_log=False, server_header=False, lifespan="off", ws="none",
        timeout_graceful_shutdown=2, ssl_certfile=wanted.certificate, ssl_keyfile=wanted.key,
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=[listening])
