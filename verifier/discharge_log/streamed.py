"""What streaming a log left behind, and what belongs to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.bms_reports import Reports
from verifier.discharge_log.layout import Layout
from verifier.discharge_log.steps import Step
from verifier.discharge_log.stretches import Stretch

Array = npt.NDArray[np.float64]


@dataclass(slots=True)
class Streamed:
    """What streaming a log left behind, with what belongs to it; ``twice`` says which rows stand in it twice."""

    layout: Layout
    stretches: list[Stretch]
    kinds: dict[int, str]
    steps: list[Step]
    meter: float
    remarks: list[str]
    reports: Reports
    twice: str = ""

    def following(self, number: int) -> Stretch | None:
        """Return the stretch after one, None where the log breaks off between them."""
        if number + 1 >= len(self.stretches) or self.stretches[number].after_v is None:
            return None
        return self.stretches[number + 1]

    def preceding(self, number: int) -> Stretch | None:
        """Return the stretch before one, None where the log breaks off between them."""
        return self.stretches[number - 1] if number and self.stretches[number].before_v is not None else None

    def kind_at(self, seconds: float) -> str:
        """Return charge or discharge at a moment, nothing at rest."""
        number = self._at(seconds)
        return "" if number is None else self.kinds[number]

    def sign_of_discharge(self, seconds: float) -> int:
        """Return the sign that a discharging current is written with at a moment, 0 where nothing flows."""
        number = self._at(seconds)
        if number is None:
            return 0
        return self.stretches[number].way * (1 if self.kinds[number] == "discharge" else -1)

    def stretch_at(self, seconds: float) -> Stretch | None:
        """Return the stretch of current at a moment, None at rest."""
        number = self._at(seconds)
        return None if number is None else self.stretches[number]

    def _at(self, seconds: float) -> int | None:
        for number in self.kinds:
            stretch = self.stretches[number]
            if stretch.begin_s - stretch.usual_s <= seconds <= stretch.end_s + stretch.usual_s:
                return number
        return None
