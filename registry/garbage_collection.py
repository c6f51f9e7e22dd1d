"""Making very many objects without looking for garbage among them."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def garbage_collection_paused() -> Iterator[None]:
    """Pause garbage collection while very many objects are made; looking through them takes as long as making them.

    Nor is what was made looked through afterwards. It is freed all the same when nothing refers to it any more, as
    long as no objects refer to each other in a circle.
    """
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
        gc.freeze()
    finally:
        if enabled:
            gc.enable()
