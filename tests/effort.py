"""How much the tests try: what every run needs in minutes, or all of it, as the gate and a release do."""

from __future__ import annotations

import os


def is_long() -> bool:
    """Whether ``PACKCLAIM_TESTS=long`` in the environment asks for the longer run."""
    return os.environ.get("PACKCLAIM_TESTS") == "long"


def tried(usually: int, long: int) -> int:
    """Return how many random examples a test tries."""
    return long if is_long() else usually
