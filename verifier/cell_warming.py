"""How far a cell's own heat warms its surface over the air, for bands that a sheet states of the surface."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from registry.sheet_limits import CurrentForRise, SurfaceEnd
from verifier.electrical.heat import cell_rise_bounds_k, cell_surface_m2
from verifier.electrical.resistance import HOTTEST_C, cold_resistance_factor
from verifier.quantities import Quantity


class Warming(NamedTuple):
    """What a cell's own heat does to its surface in one discharge: see `cell_rise_bounds_k`.

    What is not known of the cell enters by its farthest bound: no current is sure without a bound of what it warms,
    and any is possible without a bound of what warms at least. ``room_mohm`` is its resistance in a room.
    """

    room_mohm: Quantity
    capacity_ah: Quantity
    mass_g: Quantity
    diameter_mm: Quantity
    length_mm: Quantity

    @property
    def missing(self) -> int:
        """The facts that would tell more."""
        found = 0
        for each in (self.room_mohm, self.capacity_ah, self.mass_g, self.diameter_mm, self.length_mm):
            found |= each.missing
        return found

    def dc_mohm_from(self, air_c: float) -> tuple[float, float]:
        """Return between what the resistance lies while the cell warms from the air on: warmer cells resist less."""
        factor = cold_resistance_factor(temperature_c=min(air_c, HOTTEST_C))
        return self.room_mohm.low * factor.low, self.room_mohm.high * factor.high

    @property
    def surface_m2(self) -> tuple[float, float] | None:
        """Between what the surface of the cell lies; None where its size is not known. [m2]."""
        diameter, length = self.diameter_mm, self.length_mm
        if diameter.high == inf or length.high == inf:
            return None
        return (
            cell_surface_m2(diameter_mm=diameter.low, length_mm=length.low),
            cell_surface_m2(diameter_mm=diameter.high, length_mm=length.high),
        )

    @property
    def for_rise(self) -> CurrentForRise | None:
        """The currents that surely and perhaps warm the cell by so many kelvin at most; None where nothing tells."""
        capacity_ah, mass_g, surface = self.capacity_ah, self.mass_g, self.surface_m2
        sure = self.room_mohm.high < inf and capacity_ah.high < inf and mass_g.low > 0
        bounded = surface is not None and mass_g.high < inf and capacity_ah.low > 0
        if not sure and not bounded:
            return None
        holds = (max(capacity_ah.low, 1e-3), min(capacity_ah.high, 1e6))
        weighs = (max(mass_g.low, 1e-3), min(mass_g.high, 1e6))
        cools = surface or (1.0, 1.0)

        def largest(kelvin: float, air_c: float, end: int) -> float:
            least, most = self.dc_mohm_from(air_c)
            resists = (least, min(most, 1e6))
            low, high = 0.0, 1000.0
            for _ in range(40):
                middle = (low + high) / 2
                warms = cell_rise_bounds_k(
                    current_a=(middle, middle),
                    dc_mohm=resists,
                    capacity_ah=holds,
                    mass_g=weighs,
                    surface_m2=cools,
                )
                low, high = (middle, high) if warms[end] <= kelvin else (low, middle)
            return low

        def for_rise(kelvin: float, air_c: float) -> tuple[float, float]:
            if kelvin <= 0:
                return 0.0, 0.0
            return largest(kelvin, air_c, 1) if sure else 0.0, largest(kelvin, air_c, 0) if bounded else inf

        return for_rise


class Warmed(NamedTuple):
    """How the two ends of a current follow from bands of the surface; None for an end that does not."""

    warming: Warming
    sure: SurfaceEnd | None
    possible: SurfaceEnd | None
