"""How much of what is random or without end a test tries: enough for every run, or more before a release."""

from __future__ import annotations

import os


def tried(usually: int, long: int) -> int:
    """Return how many a test tries; ``PACKCLAIM_TESTS=long`` in the environment asks for the longer run."""
    return long if os.environ.get("PACKCLAIM_TESTS") == "long" else usually
