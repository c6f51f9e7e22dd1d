"""The one table of meanings: what the words at a number, in whatever language, make of it.

There is no default: a number whose words do not say what it is stays open (``None``), and is settled from
the whole listing or not at all, see ``settling``. What is said of another thing (a fuse, a plug, the mains)
is set aside with the reason.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from verifier.listing.asides import FEWEST_OF_LIFE, FURTHEST_KM, is_use_so_far
from verifier.listing.bare import BARE
from verifier.listing.context import HOW_OFTEN, Aside, Context, Meaning, Read
from verifier.listing.exchanges import PUT_IN, TAKEN_OUT
from verifier.listing.quantity import Quantity
from verifier.listing.reading import ClaimKind
from verifier.listing.weights import once_more, weight

HIGHEST_CELL_V = 5.0
MOST_SERIES = 40
LARGEST_SMALL_CELL_AH = 6.5
_MAINS_V = 90.0
_FULL_CELL_V = 4.2
_WHOLE = 0.01
# A voltage by which a pack is called, among others ("72V的配84V充电器").
REFERENCE = "reference"
FOR_REFERENCE = "for a reference"
_MAINS = (110.0, 115.0, 120.0, 220.0, 230.0, 240.0, 250.0, 264.0)
# Nobody charges a pack so often before selling it (common practice, no source).
_NEVER_CYCLED = 1000
_WEAKEST_MOTOR_W = 100
# No light vehicle goes further on one charge (common practice, no source).
_FURTHEST_EVER_KM = 600
_MOST_WH_PER_KM = 100
_FEWEST_CELLS = 4
_BESIDE = 3
_LONGEST_CHARGE_H = 48
_NO_CHARGING = ("range", "shipping", "discharge", "how_far", "odometer", "time", "used")
# A range of volts from empty to full spans about this (2.5..3 V to 4.2 V a cell; datasheets).
_WORKING_SPAN = (1.25, 2.0)


def _of_cell(quantity: Quantity, context: Context) -> bool:
    """Return whether a figure is said of one cell."""
    if "per_cell" in quantity.labels:
        return True
    return ("each" in quantity.labels or quantity.times is not None) and context.speaks_of_cells


def _is_full(volts: float) -> bool:
    """Return whether a voltage with a fraction is that of cells in series at 4.2 V. [V]"""
    return volts != round(volts) and abs(volts / _FULL_CELL_V - round(volts / _FULL_CELL_V)) < _WHOLE


def _top(quantity: Quantity) -> float:
    return quantity.high if quantity.high is not None else quantity.value


def _voltage(quantity: Quantity, context: Context) -> Read:
    own = quantity.own
    if (
        _top(quantity) >= _MAINS_V
        and not _is_full(_top(quantity))
        and (quantity.labels & {"mains", "charger", "charge", "input"} or _top(quantity) in _MAINS)
    ):
        return Meaning("nominal_voltage_v", "other_product")
    named = _set_aside_volts(quantity, context) or _by_reference(quantity, context)
    if named is not None:
        return named
    if "per_cell" in quantity.labels or _top(quantity) <= HIGHEST_CELL_V:
        return Meaning("nominal_voltage_v", "per_cell")
    if "falls" in own and not own & {"full", "charge", "nominal"}:
        return _falling(context)
    ends = _voltage_of_an_end(quantity, context)
    if ends is not None:
        return ends
    if own & {"supports", "motor", "vehicle", "controller"} and not (
        "pack" in own and ("named" in quantity.about or context.title)
    ):
        if context.beside("capacity") or own & {"nominal", "voltage"}:
            return Meaning("nominal_voltage_v", context.plain)
        return Meaning("nominal_voltage_v", "compatibility")
    if own & {"nominal", "voltage", "working", "output", "pack", "discharge"}:
        return Meaning("nominal_voltage_v", context.plain)
    # "48V 20Ah" is what the trade calls a pack; common practice, no source.
    if context.beside("capacity", "energy") and not quantity.labels & {"charger"}:
        return Meaning("nominal_voltage_v", context.plain)
    return Meaning("nominal_voltage_v", context.plain) if "voltage" in quantity.labels else None


def _falling(context: Context) -> Read:
    """Return what volts that a pack falls to are: where it is cut off, if something cuts it off there."""
    if context.sentence & {"bms", "end", "protect", "trip", "empty", "low"}:
        return Meaning("cutoff_voltage_v", "stated")
    return Aside("how far it falls")


def _by_reference(quantity: Quantity, context: Context) -> Meaning | None:
    """Return what volts are that name the pack of a charger, or are the charger's behind them."""
    if FOR_REFERENCE in quantity.about:
        return Meaning("charge_voltage_v", context.plain)
    return Meaning("nominal_voltage_v", context.plain) if REFERENCE in quantity.about else None


def _set_aside_volts(quantity: Quantity, context: Context) -> Aside | None:
    own = quantity.own
    if "at_rest" in context.sentence and context.clause.named("at_rest"):
        return Aside("measured")
    if own & {"connector", "fuse"} and not _of_charger_first(quantity):
        return Aside("said of a connector or fuse")
    if own & {"protect", "trip"} and not own & {"low", "end", "full", "empty"}:
        return Aside("a threshold of the protection")
    if "mains" in own:
        return Aside("said of the mains")
    return None


def _voltage_of_an_end(quantity: Quantity, context: Context) -> Read:
    """Return what volts of a charged or an empty pack, or of its charger, are; None for others."""
    own, labels = set(quantity.own), quantity.labels
    if not own & {"nominal", "working", "charge", "voltage", "pack", "full", "end", "low", "empty"}:
        # "Full, it is at 84 V"; of an "end" it goes on whether it is that of charge.
        ends = quantity.carried & {"full", "end", "low", "empty"}
        # "At the end of its days, this one of 36 V and 12 Ah …".
        if ends and any(q.dimension == "capacity" for q in context.clause.quantities):
            ends = set()
        own |= ends | (quantity.carried & {"charge"} if "end" in ends else set())
    if quantity.high is not None and own & {"working", "voltage", "discharge", "full", "empty", "end"}:
        low, high = _WORKING_SPAN
        if low <= quantity.high / quantity.value <= high:
            return Meaning("working_range", "stated")
    if labels & {"charger", "input"}:
        return Meaning("charge_voltage_v", context.plain)
    if (
        own & {"full"}
        or own >= {"charge", "end"}
        or _ends_charging(quantity, context)
        or (own & {"charge"} and own & {"limit", "max"} and "voltage" in own)
    ):
        return Meaning("full_voltage_v", "stated")
    if (
        own & {"end", "low", "empty"}
        or _ends_discharge(quantity, context)
        or ("min" in own and "voltage" in labels and "nominal" not in own)
    ):
        # "My controller cuts at 41 V": the pack may be emptied further.
        of_another = "controller" in own and not own & {"bms", "pack"}
        return Meaning("cutoff_voltage_v", "other_product" if of_another else "stated")
    if "charge" in labels:
        return Meaning("charge_voltage_v", context.plain)
    if own & {"max"}:
        return Meaning("full_voltage_v", "stated") if not context.title or "voltage" in own else None
    return None


def _ends_charging(quantity: Quantity, context: Context) -> bool:
    """Return whether a verb ends discharge at one voltage and charging at this ("at 39 V and charging at 54 V")."""
    return (
        "charge" in quantity.own
        and context.clause.named("end")
        and any(
            q.own & {"discharge", "low"} and not q.own & {"charge"} for q in _other_volts(quantity, context)
        )
    )


def _ends_discharge(quantity: Quantity, context: Context) -> bool:
    """Return whether a verb ends charging at one voltage and discharge at this ("at 54 V and discharge at 39 V")."""
    return (
        quantity.own == {"discharge"}
        and context.clause.named("end")
        and any(q.own >= {"charge", "end"} for q in _other_volts(quantity, context))
    )


def _other_volts(quantity: Quantity, context: Context) -> Iterator[Quantity]:
    return (q for q in context.clause.quantities if q is not quantity and q.dimension == "voltage")


def _current(quantity: Quantity, context: Context) -> Read:
    labels, own = quantity.labels, quantity.own
    if quantity.seconds is not None and "bears" in context.sentence and labels & {"trip", "protect"}:
        # "An overload of 55 A is tolerated for 10 s".
        return Meaning("peak_current_a", "peak")
    if (
        "trip" in labels
        or ("end" in quantity.own and not labels & {"charge", "charger"})
        or (quantity.tolerance and not labels & {"charger", "charge"})
    ):
        return Meaning("bms_current_a", "trip")
    aside = _set_aside_amperes(quantity, context)
    if aside is not None:
        return aside
    if _most_it_accepts(quantity, context):
        return Meaning("max_charge_current_a", context.plain)
    # "Can it be charged faster?" "Up to 10 A": the most it may be charged with, whatever charger it is.
    of_charger = "charger" in own and "limited" not in quantity.about
    # A second charger that is only bounded ("chargers of up to 12 A may be used") does not come with the pack.
    other_charger = of_charger and "limit" in own and context.has_charger
    most_of_charging = (not of_charger or other_charger) and own & {"max", "limit"}
    if "charger" in labels and not most_of_charging:
        return Meaning("charge_current_a", context.plain)
    if labels & {"charge", "charger", "input"} and "discharge" not in own:
        # "The cells accept 30 A of charge current" tells what they bear, whatever charges them.
        most = bool(own & {"max", "limit", "peak", "bears"} or quantity.carried & {"max", "limit"})
        # "Standard charge 4 A, fast charge 10 A".
        most = most or ("charger" not in labels and 0 < context.usual_charge < quantity.value)
        return Meaning("max_charge_current_a" if most else "charge_current_a", context.plain)
    return _discharge_current(quantity, context)


def _most_it_accepts(quantity: Quantity, context: Context) -> bool:
    """Return whether a current is the most to charge with.

    "We give a charger of 6 A with it; it accepts at most 15 A", "nobody should charge it faster than with 8 A".
    """
    own = quantity.own
    if not own & {"bears", "charge"}:
        return False
    accepts = "bears" in own and own & {"max", "limit"} and "charger" in context.sentence
    if accepts and not own & {"charger", "bms", "discharge", "continuous", "peak"}:
        return "discharge" not in context.sentence
    if "charge" not in own or "charger" in own:
        return False
    return context.clause.named("faster") and context.clause.named("negation")


def _set_aside_amperes(quantity: Quantity, context: Context) -> Aside | None:
    labels = quantity.labels
    if labels & {"connector", "fuse"} and not _of_charger_first(quantity):
        return Aside("said of a connector or fuse")
    if labels & {"mains", "protect", "lead", "charge_lead"} or ("input" in labels and _of_mains(context)):
        return Aside("said of the mains, a lead or the protection")
    return None


def _of_charger_first(quantity: Quantity) -> bool:
    """Return whether a label names a charger alone, and a plug is only its plug ("Charger: 54.6V 2A, US plug")."""
    return "headed" in quantity.about and any(
        "charger" in names and not names & {"connector", "fuse"} for names in quantity.said
    )


def _of_mains(context: Context) -> bool:
    """Return whether the voltage beside a current is that of the mains, or none is given."""
    volts = [_top(q) for q in context.run if q.dimension == "voltage"]
    return not volts or max(volts) >= _MAINS_V


def _discharge_current(quantity: Quantity, context: Context) -> Read:
    labels, own = quantity.labels, quantity.own
    if "bypass" in context.sentence:
        # "It is discharged around the BMS, so the cells are the limit: 80 A".
        labels = labels - {"bms", "cell"}
        own = own - {"bms", "cell"}
    brief = "peak" in labels or quantity.seconds is not None
    if (
        "bms" in labels
        and "limited" in quantity.about
        and "continuous" in own
        and _bms_has_another(quantity, context)
    ):
        # "A 50 A BMS (I would not run it over 40 A continuous)".
        return Meaning("continuous_current_a", "continuous")
    if "bms" in labels:
        kind: ClaimKind = "peak" if brief else "continuous" if "continuous" in labels else context.plain
        return Meaning("bms_current_a", kind)
    # "So that the moped runs with 80 A continuous" is of the pack.
    named = own & {"continuous", "peak"}
    if labels & {"controller", "motor"} or ("vehicle" in labels and not named):
        return Meaning("continuous_current_a", "other_product")
    if "supports" in labels and not own & {"continuous", "peak"} and quantity.seconds is None:
        return Meaning("continuous_current_a", "compatibility")
    if "cell" in labels or _of_cell(quantity, context):
        return Meaning("continuous_current_a", "per_cell")
    if brief:
        return Meaning("peak_current_a", "peak")
    return _named_current(quantity, own | (quantity.carried & (MODIFIED | {"discharge", "current"})), context)


def _bms_has_another(quantity: Quantity, context: Context) -> bool:
    """Return whether a larger current stands before a current as the BMS's own."""
    return any(
        q.dimension == "current" and "bms" in q.own and q.end <= quantity.start and q.value > quantity.value
        for q in context.clause.quantities
    )


MODIFIED = frozenset({"continuous", "working", "nominal", "max", "limit"})


def _named_current(quantity: Quantity, names: set[str], context: Context) -> Read:
    """Return what an ampere figure of the pack is by its own words."""
    if names & {"continuous", "working"}:
        return Meaning("continuous_current_a", "continuous")
    if "nominal" in names:
        return Meaning("continuous_current_a", "continuous")
    if names & {"max", "limit"}:
        return Meaning("max_current_a", context.plain)
    if names & {"discharge", "output", "current"}:
        # Beside a smaller one that is called continuous it is not said for how long.
        brief = 0 < context.continuous < quantity.value
        return None if brief else Meaning("continuous_current_a", context.plain)
    return None


def _capacity(quantity: Quantity, context: Context) -> Read:
    own, labels = quantity.own, quantity.labels
    if quantity.unit.name == BARE:
        return Meaning("cell_capacity_ah", "stated") if "of cells" in quantity.about else None
    in_pack = any(q.dimension == "voltage" and q.value > HIGHEST_CELL_V * 1.5 for q in context.run)
    # Of two capacities behind one voltage the first is the pack's.
    in_pack = in_pack and next(q for q in context.run if q.dimension == "capacity") is quantity
    beside_cell = any(q.dimension == "voltage" and _top(q) <= HIGHEST_CELL_V for q in context.run)
    if "per_pack" in own:
        return Meaning("capacity_ah", context.plain)
    # Nobody tells a pack's capacity in mAh and calls it a cell's.
    if quantity.milli and own & {"cell", "per_cell", "each"} and quantity.value <= LARGEST_SMALL_CELL_AH:
        return Meaning("cell_capacity_ah", "stated")
    if _behind_count(quantity, context) or _of_counted(quantity, context):
        return Meaning("cell_capacity_ah", "stated")
    if (_of_cell(quantity, context) or beside_cell) and not in_pack:
        return Meaning("cell_capacity_ah", "stated")
    # "Cells exchanged: from 9 to 14 Ah" is of the pack.
    exchanged = quantity.about & {PUT_IN, TAKEN_OUT} and quantity.value <= LARGEST_SMALL_CELL_AH
    apart = context.title or _named_apart(quantity) or (PUT_IN in quantity.about and "capacity" in own)
    # "Cells 21700 of a capacity of 5 Ah".
    of_size = context.sized and not context.title and quantity.value <= LARGEST_SMALL_CELL_AH
    of_size = of_size and [label.names for label in context.clause.labels[:1]] == [{"cell"}]
    if "cell" in own and not in_pack and (exchanged or of_size or not apart):
        return Meaning("cell_capacity_ah", "stated")
    if in_pack:
        return Meaning("capacity_ah", context.plain)
    if "cell" in labels and "capacity" not in own:
        return None
    if own & {"capacity", "nominal", "min", "pack"} or "capacity" in labels:
        return Meaning("capacity_ah", context.plain)
    return None


def _behind_count(quantity: Quantity, context: Context) -> bool:
    """Return whether a number of cells stands right before a capacity that one can hold ("52 cells 3500 mAh")."""
    before = [q for q in context.run if q.end <= quantity.start]
    return bool(before) and before[-1].dimension == "cells" and quantity.value <= LARGEST_SMALL_CELL_AH


def _of_counted(quantity: Quantity, context: Context) -> bool:
    """Return whether a few mAh are told behind a number of cells ("40 cells with a capacity of 3200 mAh")."""
    before = [q for q in context.clause.quantities if q.end <= quantity.start]
    if "of counted cells" in quantity.about:
        return True
    small = quantity.milli and quantity.value <= LARGEST_SMALL_CELL_AH
    return small and bool(before) and before[-1].dimension == "cells" and "per_pack" not in quantity.own


def _named_apart(quantity: Quantity) -> bool:
    """Return whether a label calls it a capacity, and the cells are only named beside it."""
    return any("capacity" in names and not names & {"cell", "per_cell"} for names in quantity.said)


def _energy(quantity: Quantity, context: Context) -> Read:
    if quantity.labels & {"per_cell", "cell"} and quantity.value < 30:
        return Meaning("energy_wh", "per_cell")
    if quantity.value <= _MOST_WH_PER_KM and (
        context.clause.named("per_distance")
        or any(q.dimension == "distance" and q.value == 1 for q in context.clause.quantities)
    ):
        return Aside("what it uses on its way")
    if "limit" in quantity.own and not quantity.own & {"energy", "capacity"}:
        return Aside("a limit of somebody else's")
    if context.of_carriage and context.bounded(quantity) and "energy" not in quantity.own:
        return Aside("from where on goods are sent otherwise")
    return Meaning("energy_wh", context.plain)


def _power(quantity: Quantity, context: Context) -> Read:
    labels = quantity.labels
    if labels & {"charger", "charge", "mains", "connector", "input", "fuse"}:
        return Aside("said of another thing than the pack")
    if labels & {"motor", "supports", "controller", "vehicle"} or context.clause.named("motor"):
        return Meaning("load_power_w", "compatibility")
    if labels & {"power", "discharge", "output", "continuous", "peak", "bears"}:
        brief = "peak" in labels or quantity.seconds is not None
        return Meaning("power_w", "peak" if brief else "continuous" if "continuous" in labels else "stated")
    if context.title and quantity.value >= _WEAKEST_MOTOR_W:
        return Meaning("load_power_w", "compatibility")
    return None


def _distance(quantity: Quantity, context: Context) -> Read:
    labels = quantity.labels
    if context.warranted:
        return Aside("a condition of the warranty")
    if quantity.value > _FURTHEST_EVER_KM:
        return Aside("how far it has gone")
    if any("speed" in voice.names and voice.end == quantity.start for voice in context.clause.voices):
        return Aside("a speed")
    if is_use_so_far(quantity, context.clause, context.sentence, used=context.used):
        return Aside("how far it has gone")
    if context.used and not quantity.own & {"range"} and not context.how_far:
        # Of something used a distance may be either, unless it is too far for one charge.
        return Aside("how far it has gone") if _top(quantity) > FURTHEST_KM else None
    if "odometer" in labels and "range" not in labels:
        return Aside("how far it has gone")
    if once_more(quantity, context):
        return Meaning("range_km", "derived")
    if "range" not in labels and context.clause.named("carriage", "shipping"):
        return Aside("how far it is sent")
    if (
        labels & {"range", "limit", "at_least", "per_pack"}
        or context.how_far
        or context.alone
        or context.beside("capacity")
        or context.lists_a_pack
    ):
        return Meaning("range_km", context.plain)
    return None


def _cycles(quantity: Quantity, context: Context) -> Read:
    if context.warranted:
        return Aside("a condition of the warranty")
    if is_use_so_far(quantity, context.clause, context.sentence, used=context.used):
        return Aside(HOW_OFTEN)
    # "Number of charges: 700" is how many a new pack stands, and how many a used one has had.
    promised = (
        ("life" in quantity.labels or context.share) and quantity.value >= FEWEST_OF_LIFE and not context.used
    )
    if not promised and ("odometer" in quantity.labels or context.clause.named("used", "odometer")):
        return Aside(HOW_OFTEN)
    if context.used and "life" not in quantity.labels and quantity.value < _NEVER_CYCLED:
        return Aside(HOW_OFTEN)
    return Meaning("cycles", context.plain)


def _times(quantity: Quantity, context: Context) -> Read:
    life = "life" in quantity.labels or context.clause.named("life", "charge")
    return _cycles(quantity, context) if life or context.alone else None


def _hours(quantity: Quantity, context: Context) -> Read:
    # "The 8 A charger fills it in 5 hours": the verb stands before the amperes.
    charged = context.clause.named("charge", "charger") and not context.clause.named(*_NO_CHARGING)
    charged = charged or context.tells_of_charging
    if (charged or quantity.labels & {"charge", "charger", "full", "empty"}) and _top(
        quantity
    ) <= _LONGEST_CHARGE_H:
        return Meaning("charge_hours", context.plain)
    return Aside("a time")


def _gauge(quantity: Quantity, context: Context) -> Read:
    if quantity.labels & {"charge_lead", "charge"} and "discharge" not in quantity.own:
        return Aside("a charge or signal lead")
    return Meaning("lead_awg", context.plain)


def _series(quantity: Quantity, context: Context) -> Read:
    if not 2 <= quantity.value <= MOST_SERIES or quantity.value != round(quantity.value) or context.ask:
        return None
    return Meaning("series", context.plain)


def _parallel(quantity: Quantity, context: Context) -> Read:
    whole = quantity.value == round(quantity.value)
    if context.clause.named("choosing") and context.clause.named("condition"):
        return Aside("how many packs to buy")
    spelled_out = quantity.unit.name == "parallel" and not quantity.attached
    beside_series = any(q.dimension == "series" for q in (*context.run, *context.clause.quantities))
    heads = quantity.start - context.clause.start <= 6 and quantity.value <= 20 and not context.title
    heads = heads or context.bracketed
    # "3000mAh×8並列": cells of that capacity.
    multiplied = any(
        q.dimension == "capacity" and "cell" in q.own and 0 < quantity.start - q.end <= _BESIDE
        for q in context.clause.quantities
    )
    if not whole or not (beside_series or spelled_out or heads or multiplied):
        return None
    return Meaning("parallel", context.plain)


def _cells(quantity: Quantity, context: Context) -> Read:
    if "of a group" in quantity.about:
        return Aside("the cells of one group")
    if quantity.value != round(quantity.value) or quantity.value < _FEWEST_CELLS:
        return None
    if quantity.dimension == "pieces" and _are_packs(quantity, context):
        return Aside("how many packs are for sale")
    counted = "cell" in quantity.labels or context.clause.named("cell") or context.speaks_of_cells
    counted = counted or _is_product(quantity, context)
    if quantity.dimension == "pieces" and not counted:
        return None
    return Meaning("cell_count", context.plain)


def _is_product(quantity: Quantity, context: Context) -> bool:
    """Return whether a number of pieces is that of the cells beside it ("50 pieces in 10S5P")."""
    counts = {
        q.dimension: q.value for q in context.clause.quantities if q.dimension in ("series", "parallel")
    }
    return len(counts) == 2 and counts["series"] * counts["parallel"] == quantity.value


def _are_packs(quantity: Quantity, context: Context) -> bool:
    """Return whether the volts and ampere-hours of a pack stand right behind a number ("6 pieces 48V 18Ah")."""
    behind = [q for q in context.clause.quantities if q.start >= quantity.end]
    return (
        [q.dimension for q in behind[:2]] == ["voltage", "capacity"]
        and behind[0].value > HIGHEST_CELL_V
        and behind[0].start - quantity.end <= _BESIDE
    )


def _seconds(quantity: Quantity, context: Context) -> Read:
    return Aside("a time")


_READERS: dict[str, Callable[[Quantity, Context], Read]] = {
    "voltage": _voltage, "current": _current, "capacity": _capacity, "energy": _energy, "power": _power,
    "mass": weight, "distance": _distance, "cycles": _cycles, "times": _times, "hours": _hours,
    "gauge": _gauge, "seconds": _seconds, "nothing": _seconds,
    "series": _series, "parallel": _parallel, "cells": _cells, "pieces": _cells,
}  # fmt: skip

# The field of a sum such as "8 x 5A = 40A", whatever else is said.
_SUMS = {
    "current": "continuous_current_a",
    "capacity": "capacity_ah",
    "energy": "energy_wh",
    "distance": "range_km",
}


def meaning(quantity: Quantity, context: Context) -> Read:
    """Return the claim field a number speaks of and the kind of statement, why it is none, or None."""
    if "sum" in quantity.about and quantity.dimension in _SUMS:
        return Meaning(_SUMS[quantity.dimension], "derived")
    if context.ask:
        return Aside("to be asked for")
    reader = _READERS.get(quantity.dimension)
    return reader(quantity, context) if reader else None
