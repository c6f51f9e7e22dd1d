"""What can go wrong while judging, told so that a user can mend it.

registry.errors.PlacedError   place, what was found, what would be right
└── VerifierError             everything this package raises
    ├── InvalidCase           a case file breaks a rule
    ├── InvalidQuestion       what is asked is no pack
    ├── InvalidReport         a saved report cannot be read
    └── UnreadableInput       a file cannot be read or written
"""

from __future__ import annotations

from registry.errors import PlacedError


class VerifierError(PlacedError):
    """Base of every error the verifier raises."""


def fault_of_the_program(error: Exception) -> VerifierError:
    """Return how a user of the page is told of an error that is none of theirs."""
    return VerifierError("packclaim", f"a fault of the program ({type(error).__name__})", "please report it")


class InvalidCase(VerifierError):
    """A case file breaks a rule."""


class InvalidQuestion(VerifierError):
    """What is asked is nothing that a pack has or does."""


class InvalidReport(VerifierError):
    """A saved report cannot be read."""


class UnreadableInput(VerifierError):
    """A file cannot be read or written."""
