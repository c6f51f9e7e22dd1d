"""One reading of printed numbers and their units, for sheets, listings, case files and typed answers."""

from registry.printed.finding import find_printed
from registry.printed.model import Printed, Relation
from registry.printed.typed import UnreadableQuantity, likely_slip, read_quantity, typed_examples

__all__ = [
    "Printed",
    "Relation",
    "UnreadableQuantity",
    "find_printed",
    "likely_slip",
    "read_quantity",
    "typed_examples",
]
