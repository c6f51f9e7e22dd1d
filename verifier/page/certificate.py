"""A certificate that the page is served with: whether it fits its key, and for which names it stands.

Both are told by shaking hands with ourselves in memory, by the library that will serve with it.
"""

from __future__ import annotations

import ssl
from pathlib import Path

from verifier.errors import UnreadableInput

_MOST_TURNS = 20


def names_in(certificate: Path, key: Path) -> tuple[str, ...]:
    """Return the names and addresses that a certificate stands for.

    Raises
    ------
    UnreadableInput
        If one of the files cannot be used, they do not belong together, or the certificate is not valid now.
    """
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    try:
        server.load_cert_chain(certificate, key, password=_no_password)
    except ssl.SSLError as error:
        raise UnreadableInput(
            f"{certificate} and {key}", f"are no certificate with its key ({error.reason})",
            "give both as PEM files, the key without a password",
        ) from error  # fmt: skip
    except OSError as error:
        raise UnreadableInput(f"{certificate} and {key}", f"cannot be read ({error.strerror})") from error
    try:
        stated = _peer(server, certificate).get("subjectAltName", ())
    except ssl.SSLCertVerificationError as error:
        raise UnreadableInput(
            str(certificate), f"is not valid ({error.verify_message})", "give one that is"
        ) from error
    return tuple(str(each[1]).lower() for each in stated if each[0] in ("DNS", "IP Address"))


def _no_password() -> str:
    # Without this the library would ask on the terminal, which nobody may watch.
    return ""


def _peer(server: ssl.SSLContext, certificate: Path) -> dict[str, tuple[tuple[str, str], ...]]:
    """Return a certificate as a client sees it that trusts this one alone."""
    client = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    client.check_hostname = False
    client.verify_flags |= ssl.VERIFY_X509_PARTIAL_CHAIN
    client.load_verify_locations(certificate)
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = (client.wrap_bio(to_client, to_server), server.wrap_bio(to_server, to_client, server_side=True))
    for _ in range(_MOST_TURNS):
        # Each answers the other, so that both are asked every time.
        done = [_done(each) for each in ends]
        if all(done):
            break
    found: dict[str, tuple[tuple[str, str], ...]] = ends[0].getpeercert() or {}  # type: ignore[assignment]
    return found


def _done(end: ssl.SSLObject) -> bool:
    try:
        end.do_handshake()
    except ssl.SSLWantReadError:
        return False
    return True
