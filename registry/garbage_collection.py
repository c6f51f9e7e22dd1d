"""Making very many objects without looking for garbage among them."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def garbage_collection_paused() -> Iterator[None]:
    """Pause garbage collection while very many objects are made and kept; looking through them takes as long again."""
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.enable()
