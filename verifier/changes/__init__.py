"""What changed between two screenings, or between two saved reports of the same packs."""

from verifier.changes.finding import changes
from verifier.changes.model import Changed, Changes

__all__ = ["Changed", "Changes", "changes"]
