"""What streaming a log left behind, and what belongs to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.layout import Layout
from verifier.discharge_log.steps import Step
from verifier.discharge_log.stretches import Stretch

Array = npt.NDArray[np.float64]


@dataclass(slots=True)
class Streamed:
    """What streaming a log left behind, with what belongs to it."""

    layout: Layout
    stretches: list[Stretch]
    kinds: dict[int, str]
    steps: list[Step]
    meter: float
    remarks: list[str]

    def following(self, number: int) -> Stretch | None:
        """Return the stretch after one, None where the log breaks off between them."""
        if number + 1 >= len(self.stretches) or self.stretches[number].after_v is None:
            return None
        return self.stretches[number + 1]

    def kind_at(self, seconds: float) -> str:
        """Return charge or discharge at a moment, nothing at rest."""
        for number, kind in self.kinds.items():
            stretch = self.stretches[number]
            if stretch.begin_s - stretch.usual_s <= seconds <= stretch.end_s + stretch.usual_s:
                return kind
        return ""
