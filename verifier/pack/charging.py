"""What the pack may be charged with: by its cells and charge leads, in the air of charging."""

from __future__ import annotations

from typing import Any

from verifier.facts import Facts
from verifier.finding import ARITHMETIC, remark
from verifier.pack.counts import parallel, source_of
from verifier.pack.elements import cells_carry, sharing_step
from verifier.pack.leads import lead_support
from verifier.pack.sharing import row_is_seen
from verifier.pack.surface import surface_steps
from verifier.quantities import Quantity, first_known, least, surely_least, where

ELEMENTS = ("cells", "leads")


def charge_cells(facts: Facts) -> Quantity:
    """Return what the cells take in the air of charging; the hottest cell of a row decides. [A]."""
    found = _cells(facts, "charge_a", "I_charge", "charge limit of a cell in the air of charging")
    notes = () if not facts.single or facts.find(row_is_seen) else (remark("row_not_seen"),)
    facts.element("cells", found, notes=notes)
    return found


def cells_where_allowed(facts: Facts) -> Quantity:
    """Return what the cells take where their sheets allow charging at all. [A].

    A pack that must not be charged in frost is charged indoors, so frost says nothing of the time it takes.
    """
    formula = "charge limit of a cell where charging is allowed"
    return _cells(facts, "charge_where_allowed_a", "I_allowed", formula)


def charge_at_best(facts: Facts) -> Quantity:
    """Return what the cells surely take in the air where their sheets grant the most. [A]."""
    return cells_carry(facts, facts.of_cell("charge_best_a"))


def cells_when_riding(facts: Facts) -> Quantity:
    """Return what braking may charge the cells with, in the air of use. [A]."""
    return cells_carry(facts, facts.of_cell("charge_riding_a"))


def _cells(facts: Facts, figure: str, symbol: str, formula: str) -> Quantity:
    one = facts.of_cell(figure)
    found: Quantity = cells_carry(facts, one)
    if facts.single:
        facts.find(parallel)
        if figure == "charge_a":
            surface_steps(facts, figure)
        facts.step(symbol, formula, one, "A", facts.cell.source("charge_a"))
        sharing_step(facts)
        facts.step(f"{symbol}_cells", f"P x {symbol} / f_share", found, "A", ARITHMETIC)
    return found


def charge_leads(facts: Facts) -> Quantity:
    """Return what the charge leads carry; unseen ones may carry nothing or anything. [A]."""
    found: Quantity = lead_support(facts, "observed.charge_leads")
    facts.element("leads", found, notes=(remark("charge_leads"),))
    return found


def pack_charge(facts: Facts) -> tuple[Quantity, Any]:
    """Return the charge current that cells and charge leads support, and which of `ELEMENTS` limits. [A]."""
    found, limiting = least((facts.find(charge_cells), facts.find(charge_leads)))
    facts.step("I_charge_pack", "least of I_charge_cells and I_leads", found, "A", ARITHMETIC)
    return found, limiting


def sure_charge_limit(facts: Facts) -> Any:
    """Return which of `ELEMENTS` surely takes least: it decides what is granted."""
    return surely_least((facts.find(charge_cells), facts.find(charge_leads)))


def charger_current(facts: Facts) -> Quantity:
    """Return what the charger gives: as seen, else as said, else at most what is said to be taken. [A]."""
    seen = facts.number("observed.charger.current_a")
    said = facts.number("claim.charge_current_a")
    # What the seller leaves open between two ends, the charger itself would tell.
    known = first_known(seen, said.lacking(seen.missing, said.low < said.high))
    most = facts.number("claim.max_charge_current_a")
    found: Quantity = where(known.known, known, Quantity(0.0, most.high, seen.missing, most.rests_on))
    facts.step(
        "I_charger", "what the charger gives", found, "A", source_of(found) if facts.single else ARITHMETIC
    )
    return found


def full_charge_current(facts: Facts) -> tuple[Quantity, Any]:
    """Return the current of a full charge, and what limits it: 0 the charger, 1 the cells. [A].

    Where the sheets allow no charging, nothing is sure and the charger is all that bounds it.
    """
    charger, cells = facts.find(charger_current), facts.find(cells_where_allowed)
    limited, limiting = least((charger, cells))
    nowhere = cells.high <= 0
    at_best = Quantity(0.0, charger.high, charger.missing | cells.missing, limited.rests_on, limited.grade)
    found = where(nowhere, at_best, limited)
    facts.step("I_full", "least of I_charger and I_allowed_cells", found, "A", ARITHMETIC)
    return found, where(nowhere, 1, limiting)
