"""Which program this is, for what must not be mixed with the work of another version."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version


def program_version() -> str:
    """Return the version of packclaim, such as ``0.1.0``; of sources that are not installed there is none."""
    try:
        return version("packclaim")
    except PackageNotFoundError:
        return "not installed"
