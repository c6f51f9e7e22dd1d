"""Making very many objects without looking for garbage among them."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def garbage_collection_paused(*, kept: bool = False) -> Iterator[None]:
    """Pause garbage collection while very many objects are made; looking through them takes as long as making them.

    Parameters
    ----------
    kept : bool
        Whether what was made is not looked through afterwards either: for programs that end with it, since no
        circle of objects that stands then is ever found. What stands in none goes when nothing refers to it.
    """
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
        if kept:
            gc.freeze()
    finally:
        if enabled:
            gc.enable()
