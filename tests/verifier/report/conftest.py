"""Eight packs, one of each kind of answer, and their reports; everything is invented."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from registry.bundle import write_bundle
from verifier.case_report import Report
from verifier.judge import judge

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

DEAD, WRONG_CHARGER, CONTRADICTING, LIE = "dead", "wrong charger", "contradicting listing", "lie"
HONEST_LISTING, HONEST_OPENED, USED, UNKNOWN_CELL = "honest listing", "honest opened", "used", "unknown cell"


def eight_packs(bench: Bench) -> dict[str, dict[str, Any]]:
    """Return the case of each pack by its kind."""
    listing = {
        "claim.series": 13, "claim.parallel": 4, "claim.cell_marking": bench.MARKING,
        "claim.nominal_voltage_v": 48, "claim.capacity_ah": 10,
    }  # fmt: skip
    contradicting = {"claim.capacity_ah": 20, "claim.charge_hours": 4, "claim.charge_current_a": 2}
    dead = {"case.stage": "arrived", "observed.resting_voltage_v": 3.9, "claim.nominal_voltage_v": 48}
    return {
        DEAD: bench.build(**{**dead, "claim.capacity_ah": 10}),
        WRONG_CHARGER: bench.seen_through(**{"observed.charger.voltage_v": 67.2}),
        CONTRADICTING: bench.changed({"case": {"stage": "listed"}}, {**listing, **contradicting}),
        LIE: bench.seen_through(**{"claim.capacity_ah": 20, "claim.energy_wh": 960, "claim.cell_capacity_ah": None}),
        HONEST_LISTING: bench.changed({"case": {"stage": "listed"}}, listing),
        HONEST_OPENED: bench.seen_through(),
        USED: bench.seen_through(**{"case.condition": "used", "observed.capacity_ah": 8.6}),
        UNKNOWN_CELL: bench.build(**{"observed.cell": None, "claim.capacity_ah": 14, "claim.continuous_current_a": 20}),
    }  # fmt: skip


def eight_reports(bench: Bench) -> dict[str, Report]:
    """Return the report of each pack, judged by a registry of three cells."""
    registry = bench.registry(*bench.cells())
    found = {}
    for kind, data in eight_packs(bench).items():
        titled = bench.changed(data, {"case.title": f"Pack {kind}"})
        found[kind] = judge(bench.case(titled), registry, explain=True)
    return found


@pytest.fixture(scope="session")
def eight(bench: Bench) -> dict[str, Report]:
    """Return a report of each kind of pack."""
    return eight_reports(bench)


@pytest.fixture(scope="session")
def varied(eight: dict[str, Report], bench: Bench) -> list[Report]:
    """Return reports with every verdict that a whole case can get."""
    more: tuple[dict[str, Any], ...] = (
        {},
        bench.seen_through(**{"claim.continuous_current_a": [20, 500]}),
        bench.build(**{"claim.capacity_ah": 1e-5, "claim.energy_wh": 1e6}),
        bench.build(**{"observed.cell.marking": "LYR 18650-2G", "claim.nominal_voltage_v": 36}),
        bench.seen_through(**{"claim.continuous_current_a": 31.2}),
    )
    return [*eight.values(), *(bench.judge(data) for data in more)]


def working_folder(bench: Bench, folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Go to a folder with a registry of the banded cell, which every command takes for its own."""
    write_bundle([bench.cell()], folder / "cells.jsonl")
    monkeypatch.chdir(folder)
    monkeypatch.setenv("PACKCLAIM_REGISTRY", "cells.jsonl")
    return folder
