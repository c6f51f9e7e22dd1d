"""Statements that cannot all be true, in a listing, a case or a table: one module, one set of tolerances.

Each rule says where it applies and which facts exclude each other. What rests on one of them supports nothing
until it is known which is wrong: figures are judged without them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf
from typing import Any

from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.pack.bench_cell import excluded, on_the_bench
from verifier.pack.bms import bms_trip
from verifier.pack.capacity import rated_capacity
from verifier.pack.charger import charger_fit
from verifier.pack.counts import parallel, series
from verifier.pack.groups import groups_measured, together
from verifier.pack.mass import Exclusion, light_cell, lighter_than_its_cells, too_light_for_energy
from verifier.pack.resting import cell_at_rest, over_full
from verifier.pack.strip import COPPER, NICKEL, steel_is_proven
from verifier.pack.voltage import cell_full_voltage
from verifier.quantities import Names, Quantity, anywhere, both, either, hull, larger, negated, where


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Statements that exclude each other: a code, the fields they stand in, and the numbers of its sentence.

    ``holds`` is whether it applies, for one pack or for each of a column. ``disputes`` are the facts on which
    nothing may rest; a claim that is only compared is no such fact. ``stated`` are the facts behind ``fields`` where
    they differ from pack to pack of a column, whose ``fields`` are then those of any.
    """

    code: str
    fields: tuple[str, ...]
    holds: Any
    disputes: Names
    numbers: Mapping[str, Any] = field(default_factory=dict)
    stated: Names = 0

    def of_pack(self, pack: int) -> Contradiction:
        """Return it as it stands in one pack of a column: with the fields of that pack."""
        if not getattr(self.stated, "shape", ()):
            return self
        return replace(self, fields=RESTS_ON.in_words(int(self.stated[pack])))


def contradictions(facts: Facts) -> tuple[Contradiction, ...]:
    """Return every contradiction that applies to the pack, or to any pack of the column."""
    found = [each for rule in RULES for each in rule(facts)]
    return tuple(each for each in found if anywhere(each.holds))


def disputed(found: tuple[Contradiction, ...]) -> Names:
    """Return the facts on which nothing may rest."""
    facts: Names = 0
    for each in found:
        facts = facts | where(each.holds, each.disputes, 0)
    for side in ("claim", "observed"):
        # A count that is in doubt is so in each way in which the same side writes it.
        counts = RESTS_ON.bit(f"{side}.series", f"{side}.parallel")
        facts = facts | where(facts & counts != 0, RESTS_ON.bit(f"{side}.configuration"), 0)
    return facts


# What was seen refutes these claims; the listing itself may be sound in itself.
_UNLIKE_CLAIMED = (
    "claim_against_seen",
    "other_cell_than_claimed",
    "other_size_than_claimed",
    "other_chemistry_than_claimed",
)
_REFUTED_BY_SIGHT = (*_UNLIKE_CLAIMED, "strip_is_steel")


def excludes_itself(contradiction: Contradiction) -> bool:
    """Whether statements exclude each other, other than a claim that what was seen refutes."""
    return contradiction.code not in _REFUTED_BY_SIGHT


def unlike_claimed(contradiction: Contradiction) -> bool:
    """Whether what was seen shows a pack other than the one claimed, whatever its figures come to."""
    return contradiction.code in _UNLIKE_CLAIMED


def in_doubt(found: Sequence[Contradiction]) -> bool:
    """Whether something is in dispute on which a permission may rest: a refuted claim leaves what was seen."""
    return any(each.disputes for each in found if not unlike_claimed(each))


def _apart(first: Quantity, second: Quantity, tolerance: float) -> Any:
    """Whether two known quantities have no value in common, rounding apart."""
    known = both(both(first.known, second.known), both(first.high < inf, second.high < inf))
    away = either(first.low > second.high * (1 + tolerance), first.high < second.low * (1 - tolerance))
    return both(known, away)


def _said(facts: Facts, name: str) -> Quantity:
    """Return a claim as a quantity to compare."""
    claim = facts.claim(name)
    return Quantity(where(claim.made, claim.low, 0.0), where(claim.made, claim.high, inf))


def _of(code: str, fields: tuple[str, ...], holds: Any, **numbers: Any) -> Contradiction:
    disputes = 0
    for name in fields:
        disputes |= RESTS_ON.bit_or_none(name)
    return Contradiction(code, fields, holds, disputes, numbers)


# -- the claim against itself --------------------------------------------------------------------------------


def _capacity_of_cells(facts: Facts) -> list[Contradiction]:
    claimed, cell, count = _said(facts, "capacity_ah"), _said(facts, "cell_capacity_ah"), facts.find(parallel)
    made = count * cell
    holds = both(_apart(claimed, made, _tolerance(facts)), both(cell.known, count.known))
    return [
        _of(
            "capacity_not_of_cells", ("claim.capacity_ah", "claim.cell_capacity_ah", "claim.parallel"), holds,
            parallel=count.low, cell_ah=cell.high, made_ah=made.high, claimed_ah=claimed.high,
        )
    ]  # fmt: skip


def _tolerance(facts: Facts) -> float:
    return facts.limits.number("arithmetic_tolerance")


def _energy_of_product(facts: Facts) -> list[Contradiction]:
    volts, amp_hours, energy = (
        _said(facts, name) for name in ("nominal_voltage_v", "capacity_ah", "energy_wh")
    )
    made = volts * amp_hours
    # Trade names are rounded: 48 V is printed of 46.8 and of 51.2 V, so a product may lie a tenth off.
    holds = both(_apart(energy, made, 2 * _tolerance(facts)), both(volts.known, amp_hours.known))
    return [
        _of(
            "energy_not_of_product", ("claim.energy_wh", "claim.capacity_ah", "claim.nominal_voltage_v"), holds,
            volts=volts.high, amp_hours=amp_hours.high, made_wh=made.high, claimed_wh=energy.high,
        )
    ]  # fmt: skip


def _power_of_current(facts: Facts) -> list[Contradiction]:
    volts, amps, power = (
        _said(facts, name) for name in ("nominal_voltage_v", "continuous_current_a", "power_w")
    )
    needed = power / volts
    # A full pack has a sixth more than its nominal voltage; less power than volts times amperes is modest.
    holds = both(
        both(both(volts.known, amps.known), power.known),
        needed.low > amps.high * (7 / 6) * (1 + _tolerance(facts)),
    )
    return [
        _of(
            "power_beyond_current", ("claim.power_w", "claim.nominal_voltage_v", "claim.continuous_current_a"),
            holds, power_w=power.high, volts=volts.high, needed_a=needed.low, claimed_a=amps.high,
        )
    ]  # fmt: skip


def _count_of_product(facts: Facts) -> list[Contradiction]:
    count, in_series, beside = (_said(facts, name) for name in ("cell_count", "series", "parallel"))
    made = in_series * beside
    holds = both(_apart(count, made, 0.0), both(in_series.known, beside.known))
    return [
        _of(
            "count_not_of_product", ("claim.cell_count", "claim.series", "claim.parallel"), holds,
            series=in_series.high, parallel=beside.high, made=made.high, claimed=count.high,
        )
    ]  # fmt: skip


def _hours_of_charging(facts: Facts) -> list[Contradiction]:
    hours, amps, capacity = (
        _said(facts, name) for name in ("charge_hours", "charge_current_a", "capacity_ah")
    )
    put_in = hours * amps
    known = both(both(hours.known, amps.known), capacity.known)
    # More than enough is right: the current falls towards the end.
    holds = both(known, put_in.high < capacity.low * (1 - _tolerance(facts)))
    return [
        _of(
            "hours_too_few", ("claim.charge_hours", "claim.charge_current_a", "claim.capacity_ah"), holds,
            hours=hours.high, amps=amps.high, put_in_ah=put_in.high, claimed_ah=capacity.low,
        )
    ]  # fmt: skip


def _peak_below_continuous(facts: Facts) -> list[Contradiction]:
    peak, continuous = _said(facts, "peak_current_a"), _said(facts, "continuous_current_a")
    maximum = _said(facts, "max_current_a")
    holds = both(both(peak.known, continuous.known), peak.high < continuous.low)
    seen_peak, seen = facts.number("observed.bms.peak_a"), facts.number("observed.bms.continuous_a")
    trip = facts.find(bms_trip)
    trips = both(both(trip.known, seen.known), trip.high < seen.low)
    reversed_ = both(both(seen_peak.known, seen.known), seen_peak.high < seen.low)
    return [
        _of(
            "peak_below_continuous", ("claim.peak_current_a", "claim.continuous_current_a"), holds,
            peak_a=peak.high, continuous_a=continuous.low,
        ),
        _of(
            "maximum_below_continuous", ("claim.max_current_a", "claim.continuous_current_a"),
            both(both(maximum.known, continuous.known), maximum.high < continuous.low),
            maximum_a=maximum.high, continuous_a=continuous.low,
        ),
        _of(
            "bms_peak_below_continuous", ("observed.bms.peak_a", "observed.bms.continuous_a"), reversed_,
            peak_a=seen_peak.high, continuous_a=seen.low,
        ),
        _of(
            "bms_trips_below_continuous",
            ("observed.bms.continuous_a", "observed.bms.trip_a", "observed.bms.trip_mv"), trips,
            trip_a=trip.high, continuous_a=seen.low,
        ),
    ]  # fmt: skip


def _designation(facts: Facts) -> list[Contradiction]:
    found = []
    for name in ("series", "parallel"):
        printed, said = facts.number(f"claim.designation.{name}"), _said(facts, name)
        found.append(
            _of(
                "designation_against_count", ("claim.designation", f"claim.{name}"), _apart(printed, said, 0.0),
                printed=printed.low, claimed=said.low, what=name,
            )
        )  # fmt: skip
    return found


def _configuration(facts: Facts) -> list[Contradiction]:
    """Return a configuration beside counts that it does not stand for."""
    found = []
    for section in ("claim", "observed"):
        for name in ("series", "parallel"):
            printed, said = facts.number(f"{section}.configuration.{name}"), facts.number(f"{section}.{name}")
            fields = (f"{section}.configuration", f"{section}.{name}")
            holds = _apart(printed, said, 0.0)
            found.append(
                _of(
                    "configuration_against_count",
                    fields,
                    holds,
                    printed=printed.low,
                    claimed=said.low,
                    what=name,
                )
            )
    return found


# -- the claim against what was seen -------------------------------------------------------------------------

_COUNTS = ("observed.series", "observed.bms.series", "claim.series")


def _counts(facts: Facts) -> list[Contradiction]:
    """Return counts in series that exclude each other: as counted, as the BMS is made for, as claimed."""
    found = []
    for place, first in enumerate(_COUNTS):
        for second in _COUNTS[place + 1 :]:
            one, other = facts.number(first), facts.number(second)
            holds = _apart(one, other, 0.0)
            if first == "observed.series" and second == "claim.series":
                # A count that was seen decides over one that is claimed; that is a false claim, and no doubt.
                continue
            if second == "claim.series":
                holds = both(holds, negated(facts.number("observed.series").known))
            found.append(_of("series_counts_differ", (first, second), holds, first=one.low, second=other.low))
            if (first, second) == _COUNTS[:2]:
                found[-1] = _of_the_bms(found[-1])
    return [*found, *_more_groups(facts)]


def _more_groups(facts: Facts) -> list[Contradiction]:
    """Return more groups measured than were counted, or than the BMS is made for; some may be left unmeasured."""
    measured, counted = facts.find(groups_measured), facts.number("observed.series")
    bms = facts.number("observed.bms.series")
    holds = {
        "observed.series": both(counted.known, measured.low > counted.high),
        "observed.bms.series": both(both(bms.known, negated(counted.known)), measured.low > bms.high),
    }
    found = [
        _of(
            "more_groups_than_counted", (name, "observed.groups_v"), both(measured.known, here),
            counted=facts.number(name).high, measured=measured.low,
        )
        for name, here in holds.items()
    ]  # fmt: skip
    return [found[0], _of_the_bms(found[1])]


def _of_the_bms(found: Contradiction) -> Contradiction:
    """Return a contradiction of a BMS's count with its ratings in doubt too.

    A BMS for another count does not protect these cells, whatever is printed on it.
    """
    ratings = RESTS_ON.bit("observed.bms.continuous_a", "observed.bms.peak_a")
    return replace(found, disputes=found.disputes | ratings)


def _groups_against_claim(facts: Facts) -> list[Contradiction]:
    """Return a count claimed that is not that of the groups measured, where nobody counted them otherwise."""
    measured = facts.find(groups_measured)
    uncounted = negated(
        either(facts.number("observed.series").known, facts.number("observed.bms.series").known)
    )
    said = {"claim.series": _said(facts, "series")}
    said |= {
        f"claim.{word}": facts.number(f"claim.{word}.series") for word in ("designation", "configuration")
    }
    return [
        Contradiction(
            "claim_against_seen", (name, "observed.groups_v"), both(uncounted, _apart(claimed, measured, 0.0)),
            RESTS_ON.bit(name),
            {"what": "series", "claimed": claimed.high, "seen": measured.low},
        )
        for name, claimed in said.items()
    ]  # fmt: skip


def _claims_against_seen(facts: Facts) -> list[Contradiction]:
    found = []
    stated = [
        *((f"claim.{name}", name, _said(facts, name)) for name in ("series", "parallel", "mass_kg")),
        *(
            (f"claim.{word}", name, facts.number(f"claim.{word}.{name}"))
            for word in ("designation", "configuration")
            for name in ("series", "parallel")
        ),
    ]
    for claimed_as, name, said in stated:
        seen = facts.number(f"observed.{name}")
        tolerance = _tolerance(facts) if name == "mass_kg" else 0.0
        holds = _apart(said, seen, tolerance)
        # What was seen stands; the claim alone is in dispute.
        found.append(
            Contradiction(
                "claim_against_seen", (claimed_as, f"observed.{name}"), holds, RESTS_ON.bit(claimed_as),
                {"what": name, "claimed": said.high, "seen": seen.low},
            )
        )  # fmt: skip
    return [*found, *_groups_against_claim(facts), *_parts_against_seen(facts)]


def _parts_against_seen(facts: Facts) -> list[Contradiction]:
    """Return main leads that are thinner than claimed, and a BMS whose every rating is below the one claimed."""
    said, seen = facts.number("claim.lead_awg"), facts.number("observed.leads.awg")
    board, peak = facts.number("claim.bms_current_a"), facts.number("observed.bms.peak_a")
    lasting = facts.number("observed.bms.continuous_a")
    # A seller may call any rating of a BMS its current, so that its peak has to be seen too.
    below = both(both(lasting.high < board.low, peak.high < board.low), board.high < inf)
    thinner = both(both(said.high < inf, seen.high < inf), seen.low > said.high)
    return [
        Contradiction(
            "claim_against_seen", ("claim.lead_awg", "observed.leads.awg"), thinner,
            RESTS_ON.bit_or_none("claim.lead_awg"),
            {"what": "lead_awg", "claimed": said.high, "seen": seen.low},
        ),
        Contradiction(
            "claim_against_seen", ("claim.bms_current_a", "observed.bms.peak_a"), below,
            RESTS_ON.bit_or_none("claim.bms_current_a"),
            {"what": "bms_current_a", "claimed": board.high, "seen": larger(lasting.high, peak.high)},
        ),
    ]  # fmt: skip


def _voltages(facts: Facts) -> list[Contradiction]:
    """Return every voltage of a charger or a full pack that no pack of these counts is charged to."""
    found = []
    counts = facts.find(series)
    for name in ("claim.full_voltage_v", "claim.charge_voltage_v"):
        fit = charger_fit(facts, name)
        volts = facts.number(name)
        by_itself = counts.rests_on & RESTS_ON.bit(name) != 0
        holds = both(both(fit.cannot, volts.known), negated(by_itself))
        # Where counts exclude each other it is open which of them the voltage is held against.
        for each in _counts(facts):
            holds = both(holds, negated(each.holds))
        found.append(
            Contradiction(
                "voltage_of_no_such_pack", (name, "claim.series"), holds, RESTS_ON.bit(name),
                {"volts": volts.high, "series": counts.low, "what": name},
            )
        )  # fmt: skip
    return found


def _measured(facts: Facts) -> list[Contradiction]:
    """Return masses and a voltage at rest that the cells said to be inside cannot have."""
    rest, full = facts.find(cell_at_rest), facts.find(cell_full_voltage)
    over = over_full(facts)
    return [
        *(
            Contradiction(
                code, RESTS_ON.in_words(_any(_stated(found))), found.holds, found.facts, found.numbers, _stated(found)
            )
            for code, found in (
                ("too_light_for_energy", facts.find(too_light_for_energy)),
                ("lighter_than_its_cells", facts.find(lighter_than_its_cells)),
                ("cell_of_other_mass", facts.find(light_cell)),
            )
        ),
        Contradiction(
            "above_full", RESTS_ON.in_words(_any(over.rests_on)),
            # Groups that were counted are no fewer for being overcharged.
            both(over.surely, negated(facts.number("observed.series").known)), over.rests_on,
            {"volts": rest.low, "full_v": full.high}, over.rests_on,
        ),
    ]  # fmt: skip


def _groups_at_rest(facts: Facts) -> list[Contradiction]:
    """Return a voltage at rest that is not the sum of its groups, all of them measured, within the meter's error.

    Beside an earlier reading of the groups nobody says of which day the voltage of the pack is: it may be of either.
    Source: Kirchhoff's voltage law.
    """
    rest, counted = facts.number("observed.resting_voltage_v"), facts.find(series)
    error = facts.limits.number("meter_error")
    (now, later), (before, earlier) = (
        together(facts, f"observed.{name}") for name in ("groups_v", "groups_before_v")
    )
    made = where(before == now, hull(later, earlier), later)
    complete = both(both(now > 0, counted.low == counted.high), now == counted.low)
    # Groups that stand for the count themselves do not show that all of them were measured.
    complete = both(complete, counted.rests_on & RESTS_ON.bit("observed.groups_v") == 0)
    # Of an earlier reading that is not complete nobody knows what it adds up to.
    complete = both(complete, either(before == 0, before == now))
    away = either(
        rest.low * (1 - error) > made.high * (1 + error), rest.high * (1 + error) < made.low * (1 - error)
    )
    return [
        Contradiction(
            "groups_not_of_pack", ("observed.groups_v", "observed.resting_voltage_v"),
            both(both(complete, rest.known), away), rest.rests_on,
            {"groups": now, "made_v": where(rest.low > made.high, made.high, made.low), "volts": rest.low},
        )
    ]  # fmt: skip


def _stated(found: Exclusion) -> Names:
    """Return all facts that exclude each other: a question of some of them alone makes no sense."""
    return found.facts if found.stated is None else found.stated


def _any(names: Names) -> int:
    """Return one set of facts that stand in any pack of a column."""
    if isinstance(names, int):
        return names
    found = 0
    for each in set(names.tolist()):
        found |= each
    return found


def _cell_on_the_bench(facts: Facts) -> list[Contradiction]:
    """Return what was measured of a cell and the cell that its wrapper names cannot have; its mass stands above."""
    return [
        Contradiction(
            _OF_OTHER[each.figure], (f"observed.cell.{each.figure}", "observed.cell.marking"),
            excluded(facts, each), each.measured.rests_on | each.sheet.rests_on,
            {
                "what": each.figure, "measured": where(each.worn_out, each.measured.high, each.measured.low),
                "low": each.sheet.low, "high": each.sheet.high,
            },
        )
        for each in on_the_bench(facts)
        if each.figure in _OF_OTHER
    ]  # fmt: skip


_OF_OTHER = {
    "diameter_mm": "cell_of_other_length", "length_mm": "cell_of_other_length",
    "ac_mohm": "cell_of_other_resistance", "dc_mohm": "cell_of_other_resistance",
    "capacity_ah": "cell_of_other_capacity",
}  # fmt: skip


def _strip_against_test(facts: Facts) -> list[Contradiction]:
    named = facts.choice("observed.strip.material")
    proven = steel_is_proven(facts)
    holds = both(proven, either(named == NICKEL, named == COPPER))
    # The test decides: the strip is taken for steel, and the note beside it is wrong.
    return [Contradiction("strip_is_steel", ("observed.strip.material", "observed.material_test"), holds, 0)]


def _cell(facts: Facts) -> list[Contradiction]:
    """Return what speaks against the cell named."""
    return [
        Contradiction(
            against.code, fields, holds, against.facts, {"says": against.says, "other": against.other}
        )
        for against, fields, holds in facts.against_the_cell()
    ]


def _overfull_measurement(facts: Facts) -> list[Contradiction]:
    """Return a measured capacity that no such cells can hold: the cells are others, or the meter is wrong."""
    measured, most = facts.number("observed.capacity_ah"), facts.find(rated_capacity)
    error = 1 + facts.limits.number("meter_error")
    known = both(both(measured.known, most.high < inf), facts.cell.known)
    return [
        Contradiction(
            "measured_above_cells", ("observed.capacity_ah", "observed.cell.marking", "observed.parallel"),
            both(known, measured.low > most.high * error), measured.rests_on | most.rests_on,
            {"measured_ah": measured.low, "most_ah": most.high},
        )
    ]  # fmt: skip


RULES: tuple[Callable[[Facts], list[Contradiction]], ...] = (
    _capacity_of_cells,
    _energy_of_product,
    _power_of_current,
    _count_of_product,
    _hours_of_charging,
    _peak_below_continuous,
    _designation,
    _configuration,
    _counts,
    _claims_against_seen,
    _voltages,
    _measured,
    _groups_at_rest,
    _cell_on_the_bench,
    _strip_against_test,
    _cell,
    _overfull_measurement,
)
