"""What no other test noticed when the judging of build and arrival was changed on purpose."""

from __future__ import annotations

from math import inf
from typing import Any

import pytest
from verifier.support.leads import lead_support_a


def words(found: Any) -> str:
    return " | ".join(found.cautions)


def built(bench: Any, **changes: Any) -> Any:
    return bench.finding("build", bench.build(**changes))


# -- build ---------------------------------------------------------------------------------------------------

BUILD_FIELDS = (
    "weld_marks_per_cell", "positive_insulators", "leads_isolated", "wires_free", "spacers", "shipping_mark",
    "balance_leads",
)  # fmt: skip














