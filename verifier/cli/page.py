"""``page``: the local page, for whoever would rather not type commands."""

from __future__ import annotations

from pathlib import Path

import click

from verifier.cli.options import registry_option, registry_path_or_default, say


@click.command()
@click.option(
    "--cases", "folder", type=click.Path(path_type=Path, file_okay=False), default=None,
    help="Folder of the case files.  [default: 'cases' in your data folder]",
)  # fmt: skip
@registry_option
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    metavar="N",
    help="Port to serve on.  [default: any free]",
)
@click.option("--no-browser", is_flag=True, help="Only print the link, and open no browser.")
@click.option(
    "--shop-network", is_flag=True,
    help="Let phones in the same network open the page too, by a link with a key and its QR code; what is sent is not "
    "encrypted unless --certificate is given.",
)  # fmt: skip
@click.option(
    "--certificate", type=click.Path(path_type=Path, dir_okay=False), default=None, metavar="FILE",
    help="Encrypt what is sent, with this certificate (PEM); --key gives its key.",
)  # fmt: skip
@click.option(
    "--key", type=click.Path(path_type=Path, dir_okay=False), default=None, metavar="FILE",
    help="Key of the certificate (PEM, without a password).",
)  # fmt: skip
def page(
    folder: Path | None,
    registry_path: Path | None,
    port: int,
    no_browser: bool,
    shop_network: bool,
    certificate: Path | None,
    key: Path | None,
) -> None:
    """Check packs on a page in your browser: paste a listing, answer a few questions, see the answer.

    Everything stays on this machine. The cases are the same files that the other commands read.

    Example: packclaim page --cases my-packs
    """
    from verifier.page.serving import Wanted, serve

    cases = folder if folder is not None else _own_cases()
    serve(
        Wanted(
            cases,
            registry_path_or_default(registry_path),
            port,
            shop_network,
            not no_browser,
            certificate,
            key,
        ),
        lambda text: say(text, err=True),
    )


def _own_cases() -> Path:
    from platformdirs import user_data_path

    return user_data_path("packclaim", appauthor=False) / "cases"
