"""Random packs drawn from a hidden true one, so that no fact of them excludes another.

A true pack is drawn first: its cells, their sheet, how it is built and used. A case then holds some of its facts,
each with its true value. The seller tells the truth of how the pack is built; what he advertises may be anything,
as that is what is judged. Everything is invented.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from registry.cell import Cell
from verifier.electrical.resistance import cell_dc_mohm_by_capacity

Data = dict[str, Any]
MARKING = "EBBROCK {}"


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack as it is known: a case and the sheets of its cell, both as plain data."""

    case: Data
    cell: Data

    @property
    def facts(self) -> Data:
        """Case and sheets in one tree."""
        return {"case": self.case, "cell": self.cell}


@dataclass(frozen=True, slots=True)
class _Kind:
    """Cells of one size and chemistry: voltages, capacities, masses. [V, Ah, g, mm]."""

    size: str | None
    chemistry: str
    nominal_v: float
    full_v: float
    empty_v: float
    capacity_ah: tuple[float, float]
    mass_g: tuple[float, float]
    diameter_mm: float
    length_mm: float
    in_series: tuple[int, ...]
    name_v: Mapping[int, float]


_NICKEL = {7: 24, 10: 36, 13: 48, 14: 52, 20: 72}
_KINDS = (
    _Kind("18650", "NMC", 3.6, 4.2, 2.5, (1.5, 3.4), (44, 49), 18.4, 65.1, (7, 10, 13, 14, 20), _NICKEL),
    _Kind("18650", "NCA", 3.6, 4.2, 2.5, (2.5, 3.4), (46, 49), 18.4, 65.1, (10, 13, 14), _NICKEL),
    _Kind("21700", "NMC", 3.65, 4.2, 2.5, (3.0, 5.0), (66, 70), 21.2, 70.2, (10, 13, 14), _NICKEL),
    _Kind("26650", "LFP", 3.2, 3.65, 2.0, (2.3, 3.6), (82, 90), 26.2, 65.4, (8, 12, 16), {8: 24, 12: 36, 16: 48}),
    _Kind("18650", "LTO", 2.4, 2.8, 1.5, (1.0, 1.4), (36, 42), 18.3, 65.0, (10, 20), {10: 24, 20: 48}),
    _Kind(None, "LFP", 3.2, 3.65, 2.5, (20, 100), (500, 2400), 0, 0, (4, 8, 16), {4: 12, 8: 24, 16: 48}),
    _Kind("18650", "other", 3.1, 4.0, 1.5, (1.2, 1.5), (36, 40), 18.3, 65.0, (12, 15), {12: 36, 15: 48}),
)  # fmt: skip
_GRADES = ("own_test", "maker", "maker", "maker", "reseller", "secondhand")
# How far an advertised figure lies from what is true of the pack.
_BOASTS = (0.5, 0.8, 0.95, 1, 1, 1.05, 1.3, 2)


def random_pack(seed: int) -> Pack:
    """Return a pack by its seed: some facts of a true one."""
    return _Draw(random.Random(seed)).pack()  # noqa: S311 - drawn anew by its seed


def others() -> list[Cell]:
    """Return what else is registered: cells that no case names."""
    found = []
    for number, kind in enumerate(_KINDS):
        draw = _Draw(random.Random(f"other {number}"))  # noqa: S311
        data = draw.cell(kind, f"Z{number}")
        found.append(Cell.model_validate(data))
    return found


def _rounded(value: float, digits: int = 4) -> float:
    return float(f"{value:.{digits}g}")


class _Draw:
    """Draws one pack."""

    def __init__(self, chance: random.Random) -> None:
        self.chance = chance
        # Of some packs everything is known, of others little.
        self.share = chance.choice((1.0, 0.9, 0.75, 0.5))

    def some(self, data: Data) -> Data:
        """Return some of the facts; a group that is left without any is left out."""
        found = {name: value for name, value in data.items() if self.chance.random() < self.share}
        return {name: value for name, value in found.items() if value is not None and value != {}}

    def pick(self, *values: Any) -> Any:
        return self.chance.choice(values)

    def between(self, low: float, high: float, digits: int = 3) -> float:
        return _rounded(self.chance.uniform(low, high), digits)

    # -- cells ---------------------------------------------------------------------------------------------------

    def cell(self, kind: _Kind, model: str) -> Data:
        """Return a cell with its sheets; sheets of one cell state one truth."""
        minimum = self.between(*kind.capacity_ah)
        sheet = self.sheet(kind, minimum)
        sheets = [{"title": "Sheet 1", "evidence": self.pick(*_GRADES), **self.some(sheet)}]
        if self.chance.random() < 0.2:
            sheets.append({"title": "Sheet 2", "evidence": self.pick(*_GRADES), **self.some(sheet)})
        for each in sheets:
            if not (each.get("capacity") or each.get("c_rate_capacity_ah")):
                each.pop("pulse", None)
        data = {
            "id": f"ebbrock-{model.lower()}", "maker": "Ebbrock", "model": model, "chemistry": kind.chemistry,
            "markings": [MARKING.format(model)], "sheets": sheets,
        }  # fmt: skip
        if kind.size is None:
            return {**data, "form": "prismatic"}
        return {**data, "size": kind.size}

    def sheet(self, kind: _Kind, minimum_ah: float) -> Data:
        typical_ah = _rounded(minimum_ah * self.chance.uniform(1, 1.06))
        usual = cell_dc_mohm_by_capacity(capacity_ah=(minimum_ah, typical_ah))
        dc_mohm = self.between(usual.low * 1.2, usual.high / 2)
        ac_mohm = _rounded(dc_mohm / self.chance.uniform(1.1, 2.2))
        rate = self.pick(1, 2, 3, 5)
        bands = self.discharge(minimum_ah, rate)
        charge_c = self.pick(0.2, 0.5, 1)
        first = {"kind": self.pick("minimum", "minimum", "rated"), "value_ah": minimum_ah}
        usual_kind = {"kind": self.pick("typical", "typical", "nominal"), "value_ah": typical_ah}
        sheet: Data = {
            "capacity": self.listed(self.pick([first, usual_kind], [first, usual_kind], [first], [usual_kind])),
            "c_rate_capacity_ah": minimum_ah,
            "nominal_voltage_v": kind.nominal_v,
            "charge_voltage_v": kind.full_v,
            "cutoff_voltage_v": kind.empty_v,
            "discharge": bands,
            "charge": self.pick(
                [{"low_c": 0, "high_c": 45, "max_c": charge_c}],
                [{"low_c": 0, "high_c": 10, "max_c": charge_c / 2}, {"low_c": 10, "high_c": 45, "max_c": charge_c}],
                [{"low_c": -10, "high_c": 50, "max_a": _rounded(charge_c * minimum_ah)}],
                [{"max_c": charge_c}],
            ),
            "standard_charge_a": _rounded(charge_c * minimum_ah / 2),
            "pulse": self.pulses(rate),
            "resistance": self.pick(
                {"dc_mohm": dc_mohm}, {"dc_max_mohm": _rounded(dc_mohm * 1.2)}, {"ac_mohm": ac_mohm},
                {"ac_mohm": ac_mohm, "dc_mohm": dc_mohm}, {"ac_max_mohm": ac_mohm, "dc_mohm": dc_mohm},
                {"ac_max_mohm": ac_mohm, "dc_max_mohm": _rounded(dc_mohm * 1.2)},
            ),
            # A large cell weighs what it holds: some 130 to 180 Wh/kg of iron phosphate.
            "mass_g": _rounded(minimum_ah * self.chance.uniform(18, 24)) if kind.size is None
            else self.between(*kind.mass_g),
            "cycle_life": self.some({
                "to_fraction": self.pick(0.6, 0.8, 0.8), "charge_a": _rounded(charge_c * minimum_ah),
                "discharge_a": _rounded(self.pick(0.5, 1, 2) * minimum_ah), "temperature_c": 25,
            }) | {"cycles": self.pick(300, 500, 2000)},
            # A range of operation that is narrower than the bands or the pulses would exclude them.
            "discharge_temperature": {"low_c": -20, "high_c": max(60, *(each.get("high_c", 60) for each in bands))},
            "charge_temperature": {"low_c": -10, "high_c": 50},
        }  # fmt: skip
        if kind.size is not None:
            sheet |= {"diameter_mm": kind.diameter_mm, "length_mm": kind.length_mm}
        return sheet

    def listed(self, entries: list[Data]) -> list[Data]:
        return [each for each in entries if self.chance.random() < max(self.share, 0.75)]

    def discharge(self, minimum_ah: float, rate: float) -> list[Data]:
        def limit(factor: float) -> Data:
            if in_amperes:
                return {"max_continuous_a": _rounded(rate * factor * minimum_ah)}
            return {"max_continuous_c": rate * factor}

        in_amperes = self.chance.random() < 0.5
        middle = self.pick(0, 5)
        found: list[Data] = self.pick(
            [{"low_c": -20, "high_c": 60, **limit(1)}],
            [{"low_c": -20, "high_c": 60, **limit(1)}],
            [{"low_c": 0, "high_c": 45, **limit(1)}],
            [{"low_c": -20, "high_c": middle, **limit(0.3)}, {"low_c": middle, "high_c": 60, **limit(1)}],
            [{"low_c": -20, "high_c": 0, **limit(0.3)}, {"low_c": 1, "high_c": 45, **limit(1)},
             {"low_c": 45, "high_c": 60, **limit(0.5)}],
            [limit(1)],
            [{"low_c": -20, "high_c": 45, **limit(1), "basis": "surface"},
             {"low_c": 45, "high_c": 75, **limit(0.4), "basis": "surface"}],
            [{"low_c": -20, "high_c": 60, "max_unspecified_a": _rounded(rate * minimum_ah)}],
        )  # fmt: skip
        return self.listed(found) or found[:1]

    def pulses(self, rate: float) -> list[Data]:
        every = {"low_c": -20, "high_c": 60}
        return self.listed(
            self.pick(
                [{"current_c": rate * 2, "seconds": 10, **every}],
                [
                    {"current_c": rate * 1.5, "seconds": 30, **every},
                    {"current_c": rate * 3, "seconds": 5, **every},
                ],
                [{"current_c": rate * 2, **every}],
                [{"current_c": rate * 2, "seconds": 10}],
            )
        )

    # -- pack ----------------------------------------------------------------------------------------------------

    def pack(self) -> Pack:
        kind = self.pick(*_KINDS[:3], *_KINDS)
        model = f"{kind.chemistry}-{self.chance.randrange(100)}"
        cell = self.cell(kind, model)
        stated = [each["value_ah"] for sheet in cell["sheets"] for each in sheet.get("capacity", [])]
        cell_ah = min(stated, default=kind.capacity_ah[0])
        masses = [sheet["mass_g"] for sheet in cell["sheets"] if "mass_g" in sheet]
        usual_g = cell_ah * 21 if kind.size is None else sum(kind.mass_g) / 2
        cell_g = _rounded(self.chance.uniform(0.97, 1.03) * min(masses, default=usual_g))
        in_series, beside = self.pick(*kind.in_series), self.pick(1, 1, 2, 3, 4, 4, 6)
        pack_kg = _rounded(in_series * beside * cell_g / 1000 * self.chance.uniform(1.05, 1.5))
        case: Data = {
            "claim": self.claim(kind, model, in_series, beside, cell_ah, pack_kg, stated),
            "observed": self.observed(kind, model, in_series, beside, cell_ah, cell_g, pack_kg, self.dc_mohm(cell)),
            "use": self.some({
                "temperature_c": self.pick(25, [15, 35], [10, 40], [0, 40], [-10, 30], [-30, 50], [5, 70]),
                "charge_temperature_c": self.pick(22, [20, 25], [10, 30], [-5, 25]),
                "load_power_w": self.pick(250, 500, 1000), "efficiency": self.pick(0.6, 0.75, 0.8),
                "controller_current_a": self.pick(5, 10, 15, 25), "rider_kg": self.pick(70, 85, 120),
                "vehicle_kg": self.pick(22, 30, 60), "speed_km_h": self.pick(15, 22, 25, 40),
                "regeneration_a": self.pick(2, 10),
            }),
        }  # fmt: skip
        if self.chance.random() < 0.2:
            case["case"] = {"condition": self.pick("new", "used")}
        return Pack({name: group for name, group in case.items() if group}, cell)

    def claim(
        self,
        kind: _Kind,
        model: str,
        in_series: int,
        beside: int,
        cell_ah: float,
        pack_kg: float,
        stated: Any,
    ) -> Data:
        def about(true: float, *boasts: float) -> float:
            return _rounded(true * (self.pick(*(boasts or _BOASTS)) if boasting else self.pick(0.9, 1, 1)))

        boasting = self.chance.random() < 0.6
        volts = in_series * kind.nominal_v
        name_v = self.pick(kind.name_v.get(in_series, volts), _rounded(volts))
        amp_hours, cells = about(cell_ah * beside), in_series * beside
        charge_a = about(cell_ah * beside * 0.25)
        current = about(cell_ah * beside * self.pick(0.5, 1, 2, 3))
        claims = {
            "configuration": f"{in_series}S{beside}P" if self.chance.random() < 0.2 else None,
            "series": in_series, "parallel": beside, "cell_count": cells, "cell_size": kind.size,
            "cell_marking": MARKING.format(model), "chemistry": kind.chemistry,
            "cell_capacity_ah": self.pick(*stated) if stated and amp_hours == cell_ah * beside else None,
            "nominal_voltage_v": name_v, "full_voltage_v": _rounded(in_series * kind.full_v),
            "charge_voltage_v": _rounded(in_series * kind.full_v), "capacity_ah": amp_hours,
            "energy_wh": _rounded(amp_hours * name_v), "continuous_current_a": current,
            "peak_current_a": current * self.pick(1, 1.5, 2), "peak_seconds": self.pick(1, 5, 10, 30, 120),
            "max_current_a": current * 2, "power_w": _rounded(current * name_v * self.pick(0.7, 1)),
            "load_power_w": _rounded(current * volts * self.pick(0.4, 0.6, 0.8)), "charge_current_a": charge_a,
            "max_charge_current_a": charge_a * 2,
            "charge_hours": _rounded(amp_hours / charge_a * self.pick(1, 1.1, 1.5)),
            "mass_kg": _rounded(pack_kg * self.pick(0.97, 1, 1.03)), "cycles": about(400), "range_km": about(25),
        }  # fmt: skip
        return self.some(claims)

    def observed(
        self,
        kind: _Kind,
        model: str,
        in_series: int,
        beside: int,
        cell_ah: float,
        cell_g: float,
        pack_kg: float,
        dc_mohm: float | None,
    ) -> Data:
        rating = self.pick(15, 20, 30, 40, 60)
        room = self.pick(20, 25)
        worn = self.pick(1, 1.01, 1.01, 0.8)
        measured = _rounded(cell_ah * beside * worn * 0.99)
        counts: Data = {"series": in_series, "parallel": beside}
        if self.chance.random() < 0.1:
            counts = {"configuration": f"{in_series}S{beside}P"}
        resting_v = self.chance.uniform(kind.empty_v * 1.1, kind.full_v * 0.99)
        return self.some({
            **counts,
            **self.groups(in_series, resting_v),
            "mass_kg": pack_kg,
            "resting_voltage_v": _rounded(in_series * resting_v),
            "temperature_c": room,
            **(self.some({
                "capacity_ah": measured, "capacity_temperature_c": room,
                "capacity_current_a": _rounded(measured * self.pick(0.2, 0.5)),
                "capacity_cutoff_v": _rounded(in_series * kind.empty_v),
            }) if self.chance.random() < 0.3 else {}),
            **self.groups_resist(dc_mohm, beside, room),
            "cell": self.some({
                "marking": MARKING.format(model), "size": kind.size, "chemistry": kind.chemistry, "mass_g": cell_g,
                "dc_mohm": dc_mohm, "dc_seconds": 10,
                "id": f"ebbrock-{model.lower()}" if self.chance.random() < 0.1 else None,
            }),
            "bms": self.some({
                "series": in_series, "continuous_a": rating, "peak_a": rating * self.pick(1.5, 2, 3),
                "trip_a": rating * self.pick(3, 4), "temperature_sensor": True,
            }),
            "leads": self.leads(self.pick(6, 8, 10, 12, 14)),
            "charge_leads": self.leads(self.pick(12, 14, 16, 18)),
            **self.strip(kind, beside),
            "series_links": self.some({"count": self.pick(1, max(1, beside - 1), beside, 2 * beside)}),
            "connector": self.some(self.pick({"continuous_a": self.pick(30, 45, 60)}, {"fitted": False})),
            "fuse": self.some(self.pick(
                {"rating_a": self.pick(20, 30, 40, 60), "voltage_v": 100, "fitted": True}, {"fitted": False},
            )),
            "charger": self.some({
                "voltage_v": _rounded(in_series * kind.full_v), "current_a": self.pick(1, 2, 3, 5, 8),
            }),
            "build": self.some({
                "weld_marks_per_cell": 4, "positive_insulators": self.pick(True, False), "swollen": False,
                "damaged": self.pick(False, False, True),
            }),
        })  # fmt: skip

    def groups(self, in_series: int, resting_v: float) -> Data:
        """Return the voltages of the groups at rest, of some packs twice."""
        if self.chance.random() < 0.6:
            return {}
        now = [_rounded(resting_v + self.chance.uniform(-0.004, 0.004)) for _ in range(in_series)]
        if self.chance.random() < 0.5:
            return {"groups_v": now}
        return {
            "groups_v": now, "groups_hours": self.pick(24, 72, 168),
            "groups_before_v": [_rounded(each + self.chance.uniform(0, 0.002)) for each in now],
            "groups_temperature_c": self.pick(15, 20), "groups_before_temperature_c": self.pick(5, 20, 25),
        }  # fmt: skip

    def groups_resist(self, dc_mohm: float | None, beside: int, room: float) -> Data:
        """Return what the groups of some packs were measured to resist, no worse than their cells by the sheet."""
        if dc_mohm is None or self.chance.random() < 0.5:
            return {}
        most = dc_mohm / beside
        return self.some({
            "group_dc_mohm": self.pick(most, [_rounded(0.8 * most), most]),
            "group_dc_seconds": self.pick(1, 10, 10, 30), "group_dc_temperature_c": room,
        })  # fmt: skip

    def dc_mohm(self, cell: Data) -> float | None:
        """Return a measured resistance of a cell, no worse than its sheets: a worse one is no gap."""
        printed = [sheet["resistance"] for sheet in cell["sheets"] if "resistance" in sheet]
        direct = [each.get("dc_mohm", each.get("dc_max_mohm")) for each in printed]
        if None in direct or not direct or self.chance.random() < 0.6:
            return None
        return _rounded(min(direct) * self.chance.uniform(0.9, 1))

    def leads(self, gauge: int) -> Data:
        return self.some({
            self.pick("awg", "awg", "area_mm2"): gauge,
            "conductor": self.pick("copper", "tinned_copper", "copper_clad_aluminium"),
            "length_m": self.between(0.2, 0.6),
        })  # fmt: skip

    def strip(self, kind: _Kind, beside: int) -> Data:
        material = self.pick("nickel", "nickel", "plated_steel", "copper")
        tests: dict[str, list[Data]] = {
            "nickel": [{"kind": "salt_water", "hours": 48, "rust": False}, {"kind": "spark", "sparks": False}],
            "plated_steel": [
                {"kind": "salt_water", "hours": 3, "rust": True}, {"kind": "spark", "sparks": True},
                {"kind": "salt_water", "hours": 1, "rust": False},
            ],
            "copper": [{"kind": "salt_water", "hours": 48, "rust": False}, {"kind": "spark", "sparks": False}],
        }  # fmt: skip
        tabs = sorted(self.chance.sample(range(1, beside + 1), self.pick(1, 1, min(2, beside), beside)))
        place = {"positions": tabs} if self.chance.random() < 0.2 else {
            "where": self.pick("end", "middle", "every_cell")
        }  # fmt: skip
        pitch = _rounded(kind.diameter_mm + self.chance.uniform(0.2, 3.5)) if kind.diameter_mm else 45.0
        return {
            "strip": self.some({
                "material": material, "thickness_mm": self.pick(0.1, 0.15, 0.2, 0.3),
                "width_mm": self.pick(6, 8, 10, 12), "layers": self.pick(1, 1, 2, 3, 4), "pitch_mm": pitch,
            }),
            "take_off": self.some({**place, "layers": self.pick(1, 2, 4)}),
            "material_test": self.pick(*tests[material]) if self.chance.random() < 0.3 else None,
        }  # fmt: skip
