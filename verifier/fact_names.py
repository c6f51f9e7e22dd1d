"""The facts that judging asks for or rests on, as bits: sets of facts travel with every quantity.

Two sets are told apart. `MISSING` are what nobody knows and somebody could find out: fields of the case, and
figures that a sheet does not state. `RESTS_ON` are the facts of the case that a quantity was worked out from.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache


class NameSet:
    """Names in a fixed order, each of them one bit.

    Raises
    ------
    ValueError
        If there are more names than an int64 column has room for.
    """

    def __init__(self, names: Sequence[str]) -> None:
        if len(names) > 62 or len(set(names)) != len(names):
            raise ValueError(f"{len(names)} names; at most 62 different ones fit an int64")
        self.names = tuple(names)
        # A table asks for the same few sets row after row.
        self.in_words = lru_cache(maxsize=4096)(self._in_words)
        self._bits = {name: 1 << place for place, name in enumerate(names)}

    def bit(self, *names: str) -> int:
        """Return the set of some names."""
        found = 0
        for name in names:
            found |= self._bits[name]
        return found

    def bit_or_none(self, name: str) -> int:
        """Return the set of one name, empty where the name is none of these."""
        return self._bits.get(name, 0)

    def matching(self, prefix: str) -> int:
        """Return the set of every name that begins with a text."""
        return self.bit(*(name for name in self.names if name.startswith(prefix)))

    def _in_words(self, names: int) -> tuple[str, ...]:
        """Return the names in a set, in their order."""
        return tuple(name for place, name in enumerate(self.names) if names >> place & 1)


# In the order in which a person would find them out: what decides most comes first.
MISSING = NameSet(
    (
        "observed.series", "observed.parallel", "observed.cell.marking", "observed.cell.chemistry",
        "observed.cell.size", "observed.bms.continuous_a", "observed.connector.continuous_a",
        "observed.fuse.rating_a", "observed.leads.awg", "observed.leads.conductor",
        "observed.take_off.where", "observed.take_off.layers", "observed.strip.thickness_mm",
        "observed.strip.width_mm", "observed.strip.layers", "observed.strip.material",
        "observed.strip.pitch_mm", "observed.series_links.count", "observed.bms.peak_a",
        "observed.charge_leads.awg", "observed.charge_leads.conductor", "observed.charger.voltage_v",
        "observed.charger.current_a", "observed.resting_voltage_v", "observed.capacity_ah",
        "observed.capacity_temperature_c", "observed.capacity_current_a", "observed.capacity_cutoff_v",
        "observed.mass_kg", "observed.cell.mass_g", "observed.cell.dc_mohm", "claim.peak_seconds",
        "claim.continuous_current_a", "claim.nominal_voltage_v", "use.temperature_c",
        "use.charge_temperature_c", "use.efficiency",
        "use.rider_kg", "use.vehicle_kg",
        "use.speed_km_h", "sheet.capacity", "sheet.typical_capacity", "sheet.discharge", "sheet.charge",
        "sheet.pulse", "sheet.resistance", "sheet.mass_g", "sheet.size", "sheet.nominal_voltage_v",
        "sheet.charge_voltage_v", "sheet.cutoff_voltage_v", "sheet.cycle_life", "sheet.cycle_conditions",
    )
)  # fmt: skip

RESTS_ON = NameSet(
    (
        "claim.series", "claim.parallel", "claim.cell_count", "claim.designation", "claim.full_voltage_v",
        "claim.charge_voltage_v", "claim.nominal_voltage_v", "claim.cell_marking", "claim.chemistry",
        "claim.cell_size", "claim.cell_capacity_ah", "claim.bms_current_a", "claim.lead_awg",
        "claim.charge_current_a", "claim.max_charge_current_a", "claim.continuous_current_a",
        "claim.capacity_ah", "claim.energy_wh", "claim.mass_kg", "claim.charge_hours", "claim.power_w",
        "claim.peak_current_a", "claim.peak_seconds", "claim.configuration",
        "observed.series", "observed.parallel", "observed.bms.series", "observed.cell.id",
        "observed.cell.marking", "observed.cell.size", "observed.cell.chemistry", "observed.cell.mass_g",
        "observed.mass_kg", "observed.capacity_ah", "observed.resting_voltage_v", "observed.charger.voltage_v",
        "observed.charger.current_a", "observed.bms.continuous_a", "observed.bms.peak_a",
        "observed.fuse.rating_a", "observed.connector.continuous_a", "observed.leads.awg",
        "observed.charge_leads.awg", "observed.strip.material", "observed.strip", "observed.material_test",
        "observed.take_off", "observed.series_links.count", "observed.series_links.layers",
        "use.temperature_c", "use.charge_temperature_c",
        "observed.configuration", "observed.cell.diameter_mm", "observed.cell.length_mm",
        "observed.cell.ac_mohm", "observed.cell.dc_mohm", "observed.cell.capacity_ah",
        "observed.charger.no_load_v", "observed.groups_v", "observed.group_dc_mohm",
    )
)  # fmt: skip

SELLERS_WORD = RESTS_ON.matching("claim.")
# Facts of an observation that name the cell.
CELL = RESTS_ON.bit("observed.cell.id", "observed.cell.marking", "claim.cell_marking")

# Evidence of sheets, best first; 0 is none.
GRADES = ("", "own_test", "maker", "reseller", "secondhand")
SECONDHAND = GRADES.index("secondhand")
_GRADE_CODES: dict[str | None, int] = {None: 0, **{grade: code for code, grade in enumerate(GRADES)}}


def missing(*names: str) -> int:
    """Return a set of missing facts."""
    return MISSING.bit(*names)


def worst(grades: Iterable[str | None]) -> int:
    """Return the worst of several grades; 0 when there is none."""
    return max(map(_GRADE_CODES.__getitem__, grades), default=0)
