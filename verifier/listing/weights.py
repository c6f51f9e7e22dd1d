"""Weights: of the pack, or of the parcel, a part, the bike, the rider."""

from __future__ import annotations

from verifier.listing.context import Aside, Context, Meaning, Read
from verifier.listing.quantity import Quantity

# What weighs so many times less than the pack before it is a part of it or beside it (common practice, no source).
_PART = 3
# "Almost 3 kg, to be exact 2.95 kg" is one weight.
_SAME_WEIGHT = 1.25
# A small cell of a pack weighs less than this, a pack more (common practice, no source). [kg]
_LIGHTEST_PACK_KG = 0.25
# No rider is lighter; where packs are so heavy nobody tells a range in one breath (common practice, no source). [kg]
_LIGHTEST_RIDER_KG = 40


def _before(quantity: Quantity, context: Context) -> list[Quantity]:
    """Return what stands before a number in its clause and measures the same."""
    return [
        q for q in context.clause.quantities if q.dimension == quantity.dimension and q.end <= quantity.start
    ]


def once_more(quantity: Quantity, context: Context) -> bool:
    """Return whether a number says the same in another unit: "1.2 kg (2.65 lb)", "40 km (25 miles)"."""
    return any(
        q is not quantity and 0 < abs(q.value - quantity.value) < 0.03 * q.value
        for q in (*_before(quantity, context), *(m for m in context.masses if m.end <= quantity.start))
        if q.dimension == quantity.dimension
    )


def weight(quantity: Quantity, context: Context) -> Read:
    """Return what a weight is of: of the pack, or of what else."""
    labels = quantity.labels
    if once_more(quantity, context):
        return Meaning("mass_kg", "derived")
    why = _not_of_the_pack(quantity, context)
    if why:
        return Aside(why)
    if "bagged" in quantity.own and not _alone_of_its_kind(quantity, context):
        # The bare pack is what weighs; both are told.
        return Meaning("mass_kg", "derived")
    if quantity.own & {"vehicle", "motor"} or _second_in_bracket(quantity, context):
        return Meaning("mass_kg", "other_product")
    if labels & {"per_cell", "cell"} and quantity.value < _LIGHTEST_PACK_KG:
        return Meaning("mass_kg", "per_cell")
    if labels & {"mass", "net", "per_pack"} or quantity.unit.name != "gram":
        return Meaning("mass_kg", context.plain)
    return None


def _not_of_the_pack(quantity: Quantity, context: Context) -> str:
    """Return of what else a weight is, "" where nothing says so."""
    labels, own = quantity.labels, quantity.own
    cases: tuple[tuple[bool, str], ...] = (
        (
            context.of_carriage and context.bounded(quantity) and "mass" not in own,
            "from where on goods are sent otherwise",
        ),
        (
            bool(labels & {"gross", "payload"}) and not own & {"net", "per_pack", "each"},
            "a weight of the parcel or the rider",
        ),
        (_of_charger(quantity, context), "a weight with or of the charger"),
        (
            context.pack_mass and context.clause.named("both") and not context.clause.named("pack", "net"),
            "a weight of all that is sold",
        ),
        (
            context.of_carriage and context.other_mass and not own & {"mass", "net", "pack"},
            "a weight of what is sent",
        ),
        (
            "difference" in labels and not _is_compared(quantity, context),
            "by how much it differs from another",
        ),
        (
            quantity.value >= _LIGHTEST_RIDER_KG and context.beside_range and not own & {"net", "pack"},
            "the rider's weight",
        ),
        ("of a part" in quantity.about and context.other_mass, "of something named beside the pack"),
        (
            not own & {"pack", "net"} and context.heaviest > _PART * quantity.value,
            "a part of the weight before",
        ),
        (
            bool(context.heaviest)
            and not 1 / _SAME_WEIGHT < quantity.value / context.heaviest < _SAME_WEIGHT
            and not own
            and not context.alone
            and len(context.clause.quantities) == 1,
            "of something named beside the pack",
        ),
    )
    return next((why for applies, why in cases if applies), "")


def _is_compared(quantity: Quantity, context: Context) -> bool:
    """Return whether a weight is what is heavier ("at 3.1 kg the pack is heavier than stock"), and not by how much."""
    return any(
        "difference" in later.names and "pack" in named.names and quantity.end <= named.start < later.start
        for named in context.clause.labels
        for later in context.clause.labels
    )


def _alone_of_its_kind(quantity: Quantity, context: Context) -> bool:
    return not any(
        q is not quantity and q.dimension == quantity.dimension
        for q in (*context.clause.quantities, *context.masses)
    )


def _of_charger(quantity: Quantity, context: Context) -> bool:
    """Return whether a weight is that of a charger, or of all with it; a charger behind may have its own figures."""
    if "charger" in quantity.labels:
        return True
    for label in context.clause.labels:
        if "charger" not in label.names:
            continue
        own_figures = any(q.start >= label.end for q in context.clause.quantities)
        if not (label.start >= quantity.end and own_figures and "mass" in quantity.own):
            return True
    return False


def _second_in_bracket(quantity: Quantity, context: Context) -> bool:
    """Return whether a weight in a bracket is of something else than the one before it ("3 kg (box 4 kg)")."""
    if context.bracket < 0 or context.bracketed or quantity.own & {"net", "pack"}:
        return False
    first = any(q.end <= context.bracket for q in _before(quantity, context))
    # "3 kg (48V: 4 kg)" names another pack on offer.
    named = any(
        q.dimension in ("voltage", "capacity") and q.start > context.bracket
        for q in context.clause.quantities
    )
    return first and not named
