"""What a page is started with: where its files are, who may open it, and from where."""

from __future__ import annotations

import socket
from dataclasses import dataclass
from pathlib import Path

LOOPBACK = "127.0.0.1"


@dataclass(frozen=True, slots=True)
class Settings:
    """What a page is started with.

    Attributes
    ----------
    cases : Path
        The folder of case files.
    registry : Path
        The registry of cells; it need not exist yet.
    key : str
        Whoever opens the page shows it once, by the link that the program prints.
    port : int
        Where it is served.
    addresses : tuple of str
        The names under which a browser may ask for it; any other is refused, so that no name of somebody else's can
        be turned to point here.
    network : str or None
        What this machine is called in the shop's network, where the page is served there too.
    home : str
        What this machine calls itself.
    encrypted : bool
        Whether what is sent is encrypted, by a certificate that the user gave.
    """

    cases: Path
    registry: Path
    key: str
    port: int
    addresses: tuple[str, ...] = (LOOPBACK, "localhost")
    network: str | None = None
    home: str = LOOPBACK
    encrypted: bool = False

    @property
    def hosts(self) -> frozenset[str]:
        """What a request may name as its host."""
        return frozenset(f"{address}:{self.port}" for address in self.addresses)

    @property
    def scheme(self) -> str:
        """How the addresses of the page begin."""
        return "https" if self.encrypted else "http"

    def link(self, address: str | None = None) -> str:
        """Return the link that opens the page, on this machine where no other address is given."""
        return f"{self.scheme}://{self.home if address is None else address}:{self.port}/open?key={self.key}"


def address_in_network() -> str | None:
    """Return this machine's address in its local network, None where it has none. Nothing is sent for it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            # An address kept for documentation (RFC 5737): choosing the way to it names our own end.
            asked.connect(("192.0.2.1", 9))
        except OSError:
            return None
        address = str(asked.getsockname()[0])
    return None if address.startswith("127.") or address == "0.0.0.0" else address  # noqa: S104
