"""One reading of printed numbers and their units, for sheets, listings, case files and typed answers.

What a person types is read by what is imported here; running text by `registry.printed.finding`.
"""

from registry.printed.typed import (
    UnreadableQuantity,
    likely_slip,
    read_quantity,
    read_two_sides,
    says_unknown,
    typed_examples,
)

__all__ = [
    "UnreadableQuantity",
    "likely_slip",
    "read_quantity",
    "read_two_sides",
    "says_unknown",
    "typed_examples",
]
