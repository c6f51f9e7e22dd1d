"""What a seller says that cannot all be true, whatever the pack is."""

from __future__ import annotations

from verifier.contradictions.model import (
    Contradiction,
    apart,
    arithmetic_tolerance,
    claimed_as_quantity,
    of_fields,
)
from verifier.facts import Facts
from verifier.finding import ARITHMETIC
from verifier.pack.bms import bms_trip
from verifier.pack.counts import parallel
from verifier.quantities import both


def capacity_of_cells(facts: Facts) -> list[Contradiction]:
    """Return a capacity that is not that of so many cells of the capacity claimed."""
    claimed, cell, count = (
        claimed_as_quantity(facts, "capacity_ah"),
        claimed_as_quantity(facts, "cell_capacity_ah"),
        facts.find(parallel),
    )
    made = count * cell
    holds = both(apart(claimed, made, arithmetic_tolerance(facts)), both(cell.known, count.known))
    facts.step("Q_made", "P x capacity claimed of a cell", made, "Ah", ARITHMETIC)
    return [
        of_fields(
            "capacity_not_of_cells", ("claim.capacity_ah", "claim.cell_capacity_ah", "claim.parallel"), holds,
            parallel=count.low, cell_ah=cell.high, made_ah=made.high, claimed_ah=claimed.high,
        )
    ]  # fmt: skip


def energy_of_product(facts: Facts) -> list[Contradiction]:
    """Return an energy that is not volts times ampere-hours."""
    volts, amp_hours, energy = (
        claimed_as_quantity(facts, name) for name in ("nominal_voltage_v", "capacity_ah", "energy_wh")
    )
    made = volts * amp_hours
    facts.step("E_made", "nominal voltage x capacity, both as claimed", made, "Wh", ARITHMETIC)
    # Trade names are rounded: 48 V is printed of 46.8 and of 51.2 V, so a product may lie a tenth off.
    holds = both(apart(energy, made, 2 * arithmetic_tolerance(facts)), both(volts.known, amp_hours.known))
    return [
        of_fields(
            "energy_not_of_product", ("claim.energy_wh", "claim.capacity_ah", "claim.nominal_voltage_v"), holds,
            volts=volts.high, amp_hours=amp_hours.high, made_wh=made.high, claimed_wh=energy.high,
        )
    ]  # fmt: skip


def power_of_current(facts: Facts) -> list[Contradiction]:
    """Return a power that takes more current than is claimed."""
    volts, amps, power = (
        claimed_as_quantity(facts, name) for name in ("nominal_voltage_v", "continuous_current_a", "power_w")
    )
    needed = power / volts
    facts.step("I_needed", "power / nominal voltage, both as claimed", needed, "A", ARITHMETIC)
    # A full pack has a sixth more than its nominal voltage; less power than volts times amperes is modest.
    holds = both(
        both(both(volts.known, amps.known), power.known),
        needed.low > amps.high * (7 / 6) * (1 + arithmetic_tolerance(facts)),
    )
    return [
        of_fields(
            "power_beyond_current", ("claim.power_w", "claim.nominal_voltage_v", "claim.continuous_current_a"),
            holds, power_w=power.high, volts=volts.high, needed_a=needed.low, claimed_a=amps.high,
        )
    ]  # fmt: skip


def count_of_product(facts: Facts) -> list[Contradiction]:
    """Return a count of cells that is not series times parallel."""
    count, in_series, beside = (
        claimed_as_quantity(facts, name) for name in ("cell_count", "series", "parallel")
    )
    made = in_series * beside
    facts.step("n_made", "cells in series x in parallel, both as claimed", made, "-", ARITHMETIC)
    holds = both(apart(count, made, 0.0), both(in_series.known, beside.known))
    return [
        of_fields(
            "count_not_of_product", ("claim.cell_count", "claim.series", "claim.parallel"), holds,
            series=in_series.high, parallel=beside.high, made=made.high, claimed=count.high,
        )
    ]  # fmt: skip


def hours_of_charging(facts: Facts) -> list[Contradiction]:
    """Return a charging time in which the charge current cannot put in the capacity."""
    hours, amps, capacity = (
        claimed_as_quantity(facts, name) for name in ("charge_hours", "charge_current_a", "capacity_ah")
    )
    put_in = hours * amps
    facts.step("Q_put_in", "hours x charge current, both as claimed", put_in, "Ah", ARITHMETIC)
    known = both(both(hours.known, amps.known), capacity.known)
    # More than enough is right: the current falls towards the end.
    holds = both(known, put_in.high < capacity.low * (1 - arithmetic_tolerance(facts)))
    return [
        of_fields(
            "hours_too_few", ("claim.charge_hours", "claim.charge_current_a", "claim.capacity_ah"), holds,
            hours=hours.high, amps=amps.high, put_in_ah=put_in.high, claimed_ah=capacity.low,
        )
    ]  # fmt: skip


def peak_below_continuous(facts: Facts) -> list[Contradiction]:
    """Return a peak, a maximum or a trip below the current that is to last, of the pack or of its BMS."""
    peak, continuous = (
        claimed_as_quantity(facts, "peak_current_a"),
        claimed_as_quantity(facts, "continuous_current_a"),
    )
    maximum = claimed_as_quantity(facts, "max_current_a")
    holds = both(both(peak.known, continuous.known), peak.high < continuous.low)
    seen_peak, seen = facts.number("observed.bms.peak_a"), facts.number("observed.bms.continuous_a")
    trip = facts.find(bms_trip)
    trips = both(both(trip.known, seen.known), trip.high < seen.low)
    reversed_ = both(both(seen_peak.known, seen.known), seen_peak.high < seen.low)
    return [
        of_fields(
            "peak_below_continuous", ("claim.peak_current_a", "claim.continuous_current_a"), holds,
            peak_a=peak.high, continuous_a=continuous.low,
        ),
        of_fields(
            "maximum_below_continuous", ("claim.max_current_a", "claim.continuous_current_a"),
            both(both(maximum.known, continuous.known), maximum.high < continuous.low),
            maximum_a=maximum.high, continuous_a=continuous.low,
        ),
        of_fields(
            "bms_peak_below_continuous", ("observed.bms.peak_a", "observed.bms.continuous_a"), reversed_,
            peak_a=seen_peak.high, continuous_a=seen.low,
        ),
        of_fields(
            "bms_trips_below_continuous",
            ("observed.bms.continuous_a", "observed.bms.trip_a", "observed.bms.trip_mv"), trips,
            trip_a=trip.high, continuous_a=seen.low,
        ),
    ]  # fmt: skip


def designation(facts: Facts) -> list[Contradiction]:
    """Return a printed designation beside counts that it does not stand for."""
    found = []
    for name in ("series", "parallel"):
        printed, said = facts.number(f"claim.designation.{name}"), claimed_as_quantity(facts, name)
        found.append(
            of_fields(
                "designation_against_count", ("claim.designation", f"claim.{name}"), apart(printed, said, 0.0),
                printed=printed.low, claimed=said.low, what=name,
            )
        )  # fmt: skip
    return found


def configuration(facts: Facts) -> list[Contradiction]:
    """Return a configuration beside counts that it does not stand for."""
    found = []
    for section in ("claim", "observed"):
        for name in ("series", "parallel"):
            printed, said = facts.number(f"{section}.configuration.{name}"), facts.number(f"{section}.{name}")
            fields = (f"{section}.configuration", f"{section}.{name}")
            holds = apart(printed, said, 0.0)
            found.append(
                of_fields(
                    "configuration_against_count",
                    fields,
                    holds,
                    printed=printed.low,
                    claimed=said.low,
                    what=name,
                )
            )
    return found
