"""An invented bench for the verifier's tests: cells, registries and cases, and judging them.

Everything is data of the harbour town of Brackwater; no cell or pack here exists.
"""

from __future__ import annotations

import json
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st

from registry.bundle import validate_cell
from registry.cell import Cell
from registry.cells import InMemory
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.case.reading import case_from
from verifier.case.strict_yaml import Document
from verifier.case_facts import CaseFacts
from verifier.case_report import Report
from verifier.cell_inside import look_inside
from verifier.contradictions import contradictions, disputed
from verifier.figures import FIGURES
from verifier.finding import Element, Finding, Remark
from verifier.judge import judge, judge_figure

# The deadline is off because the machines that run these tests differ by more than what they measure.
settings.register_profile("packclaim", deadline=None, max_examples=40)
settings.load_profile("packclaim")


BUILD_CLAIMS = {
    "series", "parallel", "cell_count", "cell_size", "cell_marking", "cell_capacity_ah", "chemistry",
    "bms_current_a",
}  # fmt: skip
# Facts that stand for each other, so that only without all of them something is not known.
GROUPS: list[tuple[str, ...]] = [
    ("observed.cell", "claim.cell_marking"),
    ("observed.cell", "claim.cell_marking", "claim.cell_size", "claim.chemistry"),
    ("observed.series", "observed.bms.series"),
    ("observed.series", "observed.bms.series", "claim.series", "claim.cell_count"),
    ("observed.parallel",),
    ("observed.parallel", "claim.parallel", "claim.cell_count"),
    ("observed.bms", "claim.bms_current_a"),
    ("observed.connector", "observed.fuse"),
]


class Bench:
    """Makes cells, registries and cases, and judges them."""

    MARKING = "LYR 18650-26"
    BUILD_CLAIMS = BUILD_CLAIMS
    GROUPS = GROUPS

    @staticmethod
    def sheet(**changes: Any) -> dict[str, Any]:
        """Return a sheet with three bands, as trade data sheets of an 18650 of 2.6 Ah print them."""
        return {
            "title": "Invented sheet",
            "evidence": "maker",
            "capacity": [{"kind": "minimum", "value_ah": 2.6}],
            "c_rate_capacity_ah": 2.6,
            "nominal_voltage_v": 3.6,
            "charge_voltage_v": 4.2,
            "cutoff_voltage_v": 2.5,
            "discharge": [
                {"low_c": -20, "high_c": 5, "max_continuous_c": 0.5, "basis": "ambient"},
                {
                    "low_c": 5,
                    "high_c": 45,
                    "max_continuous_c": 3,
                    "basis": "ambient",
                    "page": 3,
                    "quote": "5 to 45 C: 3C",
                },
                {"low_c": 45, "high_c": 75, "max_continuous_c": 1, "basis": "ambient"},
            ],
            **changes,
        }

    def cell(self, cell_id: str = "lyr-18650-26", *sheets: dict[str, Any], **changes: Any) -> Cell:
        """Return a cell with the sheets given, or with the banded one."""
        maker, _, model = cell_id.partition("-")
        data = {
            "id": cell_id,
            "maker": maker.title(),
            "model": model.upper(),
            "size": "18650",
            "chemistry": "NMC",
            "sheets": list(sheets) or [self.sheet()],
            **changes,
        }
        return validate_cell(data, cell_id)

    def cells(self) -> list[Cell]:
        """Return the banded cell, a weak one that looks like it, and one of iron phosphate."""
        weak = self.sheet(
            discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 2}],
            capacity=[{"kind": "minimum", "value_ah": 1.2}],
            c_rate_capacity_ah=None,
        )
        phosphate = self.sheet(
            nominal_voltage_v=3.2, charge_voltage_v=3.65, cutoff_voltage_v=2.0,
            capacity=[{"kind": "minimum", "value_ah": 1.5}, {"kind": "typical", "value_ah": 1.6}],
        )  # fmt: skip
        return [
            self.cell(),
            self.cell("tarn-18650-w", weak),
            self.cell("osk-18650-l", phosphate, chemistry="LFP"),
        ]

    @staticmethod
    def registry(*cells: Cell) -> InMemory:
        """Return a registry of these cells."""
        return InMemory(cells)

    @staticmethod
    def case(data: dict[str, Any]) -> Case:
        """Return a case from plain data, read as a report's is: no number is taken for a slip."""
        return case_from(Document(json.loads(json.dumps(data))), "bench.json").case

    def judge(
        self, data: dict[str, Any], *cells: Cell, limits: Limits | None = None, sheet: str | None = None
    ) -> Report:
        """Judge a case by these cells, or by the banded one."""
        return judge(self.case(data), InMemory(cells or [self.cell()]), limits=limits, sheet=sheet)

    def explained(self, data: dict[str, Any], *cells: Cell) -> Report:
        """Judge a case with the whole pack solved."""
        return judge(self.case(data), InMemory(cells or [self.cell()]), explain=True)

    def known(self, data: dict[str, Any], *cells: Cell) -> CaseFacts:
        """Return the facts of a case."""
        case = self.case(data)
        return CaseFacts(case, look_inside(case, InMemory(cells or [self.cell()])), Limits(case.limits))

    def figure(self, figure: str, data: dict[str, Any], *cells: Cell) -> Finding:
        """Judge one figure of a case alone, without the facts that a contradiction touches, and fast."""
        facts = self.known(data, *cells)
        against = contradictions(facts)
        return judge_figure(figure, facts.without(disputed(against)) if against else facts)

    def findings(self, data: dict[str, Any], *cells: Cell) -> dict[str, Finding]:
        """Judge every figure of a case, without the facts that a contradiction touches, and fast."""
        facts = self.known(data, *cells)
        against = contradictions(facts)
        facts = facts.without(disputed(against)) if against else facts
        return {name: judge_figure(name, facts) for name in FIGURES}

    @staticmethod
    def told(finding: Finding, code: str) -> Remark | None:
        """Return what a finding remarks under a code, None where it does not."""
        return next((each for each in finding.cautions if each.code == code), None)

    @staticmethod
    def remark(finding: Finding, code: str) -> Remark:
        """Return the one remark of a finding under a code, which it must have."""
        (told,) = (each for each in finding.cautions if each.code == code)
        return told

    @staticmethod
    def margin(finding: Finding) -> Bounds:
        """Return the margin of a finding, which must have been claimed."""
        assert finding.margin_percent is not None
        return finding.margin_percent

    def alone(self, figure: str, data: dict[str, Any], *cells: Cell, limits: Limits | None = None) -> Finding:
        """Judge one figure of a case by itself, without contradictions and what else a report holds."""
        case = self.case(data)
        inside = look_inside(case, InMemory(cells or [self.cell()]))
        return judge_figure(figure, CaseFacts(case, inside, limits or Limits(case.limits)))

    def finding(self, figure: str, data: dict[str, Any], *cells: Cell, **options: Any) -> Finding:
        """Judge a case and return one figure."""
        return self.judge(data, *cells, **options).finding(figure)

    def element(self, element: str, data: dict[str, Any], *cells: Cell, **options: Any) -> Element:
        """Judge a case and return one element of the current's path."""
        found = self.finding("continuous_current", data, *cells, **options).elements
        return next(each for each in found if each.element == element)

    @staticmethod
    def build(**changes: Any) -> dict[str, Any]:
        """Return a case of 13S4P of the banded cell, opened, at 25 C; ``{"claim.mass_kg": 3}`` adds."""
        return Bench.changed(
            {
                "case": {"title": "Quay Street pack", "stage": "opened"},
                "claim": {},
                "observed": {"series": 13, "parallel": 4, "cell": {"marking": Bench.MARKING}},
                "use": {"temperature_c": 25},
            },
            changes,
        )

    @staticmethod
    def seen_through(**changes: Any) -> dict[str, Any]:
        """Return a case of which everything is claimed truly and everything is observed."""
        build = {
            "claim.nominal_voltage_v": 48,
            "claim.series": 13,
            "claim.parallel": 4,
            "claim.cell_count": 52,
            "claim.cell_size": "18650",
            "claim.cell_marking": Bench.MARKING,
            "claim.cell_capacity_ah": 2.6,
            "claim.chemistry": "NMC",
            "claim.capacity_ah": 10.4,
            "claim.energy_wh": 480,
            "claim.continuous_current_a": 20,
            "claim.bms_current_a": 60,
            "claim.load_power_w": 350,
            "observed.cell.size": "18650",
            "observed.cell.chemistry": "NMC",
            "observed.bms.series": 13,
            "observed.bms.continuous_a": 40,
            "observed.connector.continuous_a": 45,
            "observed.fuse.rating_a": 40,
            "observed.leads": {"awg": 10, "conductor": "copper", "length_m": 0.3},
            "observed.strip": {
                "material": "nickel", "thickness_mm": 0.2, "width_mm": 10, "layers": 4, "pitch_mm": 20,
            },
            "observed.series_links.count": 8,
            "observed.take_off": {"where": "every_cell", "layers": 4},
            "use.temperature_c": [10, 40],
            "use.efficiency": 0.8,
        }  # fmt: skip
        return Bench.build(**{**build, **changes})

    @staticmethod
    def by_figure(report: Report) -> dict[str, Finding]:
        """Return the findings of a report by figure."""
        return {finding.figure: finding for finding in report.findings}

    @staticmethod
    def facts(data: dict[str, Any]) -> list[str]:
        """Return the dotted path of every observation, and of every claim about how the pack is built."""
        found = [f"claim.{name}" for name in data.get("claim", {}) if name in BUILD_CLAIMS]

        def walk(part: dict[str, Any], path: str) -> None:
            for name, value in part.items():
                if isinstance(value, dict):
                    walk(value, f"{path}.{name}")
                else:
                    found.append(f"{path}.{name}")

        walk(data.get("observed", {}), "observed")
        return found

    def some_facts(self, draw: st.DataObject, data: dict[str, Any]) -> list[str]:
        """Draw facts to be removed: whole groups that stand for each other, and single ones."""
        every = self.facts(data)
        groups = draw.draw(st.lists(st.sampled_from(GROUPS), max_size=3))
        single = draw.draw(st.lists(st.sampled_from(every), max_size=6))
        chosen = tuple(path for group in groups for path in group)
        return sorted({path for path in every if path in single or path.startswith(chosen)})

    @staticmethod
    def changed(data: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
        """Return the data with fields set by their dotted path; ``None`` removes one."""
        data = deepcopy(data)
        for path, value in changes.items():
            *sections, name = path.split(".")
            place = data
            for section in sections:
                place = place.setdefault(section, {})
            if value is None:
                place.pop(name, None)
            else:
                place[name] = deepcopy(value)
        return data


@pytest.fixture(scope="session")
def bench() -> Bench:
    """Makes cells and cases, and judges them."""
    return Bench()
