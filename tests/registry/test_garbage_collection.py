"""Pausing the search for garbage: it goes on afterwards, whatever happened meanwhile."""

from __future__ import annotations

import gc

import pytest

from registry.garbage_collection import garbage_collection_paused


@pytest.mark.parametrize("kept", [False, True])
def test_it_goes_on_after_what_was_made_and_after_a_fault(kept: bool) -> None:
    """A long run would fill the memory with what nobody refers to. Source: the library's gc, isenabled."""
    assert gc.isenabled()
    with garbage_collection_paused(kept=kept):
        assert not gc.isenabled()
        with garbage_collection_paused():
            pass
        assert not gc.isenabled(), "an inner pause does not end the outer one"
    assert gc.isenabled()
    with pytest.raises(ValueError, match="broken"), garbage_collection_paused(kept=kept):
        raise ValueError("broken")
    assert gc.isenabled()


def test_only_what_is_kept_is_not_looked_through_again() -> None:
    """A large registry would be looked through at every chunk of a table. Source: the library's gc, freeze."""
    gc.unfreeze()
    with garbage_collection_paused():
        made = [[number] for number in range(1000)]
    assert gc.get_freeze_count() == 0
    with garbage_collection_paused(kept=True):
        made += [[number] for number in range(1000)]
    try:
        assert gc.get_freeze_count() >= len(made)
    finally:
        gc.unfreeze()
