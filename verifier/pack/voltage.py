"""Voltages of the pack: cells in series times the voltage of one."""

from __future__ import annotations

from verifier.facts import Facts
from verifier.finding import ARITHMETIC
from verifier.pack.chemistry import chemistry_rests_on
from verifier.pack.counts import series
from verifier.quantities import Quantity


def _of_chemistry(facts: Facts, figure: str) -> Quantity:
    """Return a voltage of the cell; of one that nobody knows its chemistry tells, and its size nothing. [V]."""
    found = facts.of_cell(figure)
    return Quantity(found.low, found.high, found.missing, facts.find(chemistry_rests_on), found.grade)


def cell_nominal_voltage(facts: Facts) -> Quantity:
    """Return the nominal voltage of one cell: its sheet's, else what its chemistry is usually given. [V]."""
    found = _of_chemistry(facts, "nominal_v")
    facts.step("U_cell", "nominal voltage of a cell", found, "V", facts.cell.source("nominal_voltage_v"))
    return found


def cell_full_voltage(facts: Facts) -> Quantity:
    """Return the voltage to which one cell may be charged: its sheet's, else its chemistry's. [V]."""
    found = _of_chemistry(facts, "full_v")
    facts.step("U_full", "charge limit of a cell", found, "V", facts.cell.source("charge_voltage_v"))
    return found


def cell_empty_voltage(facts: Facts) -> Quantity:
    """Return the voltage of one cell when empty: its cut-off to the usual end of discharge. [V]."""
    found = _of_chemistry(facts, "empty_v")
    facts.step("U_empty", "end of discharge of a cell", found, "V", facts.cell.source("cutoff_voltage_v"))
    return found


def pack_nominal_voltage(facts: Facts) -> Quantity:
    """Return the nominal voltage of the pack. [V]."""
    found = facts.find(series) * facts.find(cell_nominal_voltage)
    facts.step("U_pack", "S x U_cell", found, "V", ARITHMETIC)
    return found


def pack_full_voltage(facts: Facts) -> Quantity:
    """Return the voltage of the pack when full, which is that of its charger. [V]."""
    found = facts.find(series) * facts.find(cell_full_voltage)
    facts.step("U_charge", "S x U_full", found, "V", ARITHMETIC)
    return found


def pack_empty_voltage(facts: Facts) -> Quantity:
    """Return the voltage of the pack when it counts as empty. [V]."""
    found = facts.find(series) * facts.find(cell_empty_voltage)
    facts.step("U_low", "S x U_empty", found, "V", ARITHMETIC)
    return found
