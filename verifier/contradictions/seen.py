"""What a seller says, or what was seen, that something else that was seen excludes."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from verifier.contradictions.model import (
    Contradiction,
    apart,
    arithmetic_tolerance,
    claimed_as_quantity,
    of_fields,
)
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.pack.charger import charger_fit
from verifier.pack.counts import series, shared_out
from verifier.pack.groups import groups_measured
from verifier.pack.strip import COPPER, NICKEL, steel_is_proven
from verifier.quantities import both, either, larger, negated

_SAID_OF_THE_COUNT = RESTS_ON.bit(
    "claim.charge_voltage_v", "claim.full_voltage_v", "claim.cell_count", "claim.designation"
)
_COUNTS = ("observed.series", "observed.bms.series", "claim.series")


def counts(facts: Facts) -> list[Contradiction]:
    """Return counts in series that exclude each other: as counted, as the BMS is made for, as claimed."""
    found = []
    for place, first in enumerate(_COUNTS):
        for second in _COUNTS[place + 1 :]:
            one, other = facts.number(first), facts.number(second)
            holds = apart(one, other, 0.0)
            if first == "observed.series" and second == "claim.series":
                # A count that was seen decides over one that is claimed; that is a false claim, and no doubt.
                continue
            if second == "claim.series":
                holds = both(holds, negated(facts.number("observed.series").known))
            found.append(
                of_fields(
                    "series_counts_differ",
                    (first, second),
                    holds,
                    first=one.low,
                    second=other.low,
                    first_of=first,
                    second_of=second,
                )
            )
            if (first, second) == _COUNTS[:2]:
                found[-1] = _of_the_bms(found[-1])
            elif second == "claim.series":
                found[-1] = _of_all_that_is_said(found[-1])
    return [*found, _cells_of_another_bms(facts), *_more_groups(facts)]


def _cells_of_another_bms(facts: Facts) -> Contradiction:
    """Return a number of cells claimed that shares out to another count in series than the BMS is made for."""
    bms, said = facts.number("observed.bms.series"), shared_out(facts, "parallel")
    counted = either(facts.number("observed.series").known, facts.number("claim.series").known)
    found = of_fields(
        "series_counts_differ", ("observed.bms.series", "claim.cell_count"),
        both(apart(bms, said, 0.0), negated(counted)),
        first=bms.low, second=said.low, first_of="observed.bms.series", second_of="claim.cell_count",
    )  # fmt: skip
    return _of_all_that_is_said(found)


def _of_all_that_is_said(found: Contradiction) -> Contradiction:
    """Return a contradiction of a seen count and a claimed one with all that the seller says of the same count."""
    return replace(found, disputes=found.disputes | _SAID_OF_THE_COUNT)


def _more_groups(facts: Facts) -> list[Contradiction]:
    """Return more groups measured than were counted, or than the BMS is made for; some may be left unmeasured."""
    measured, counted = facts.find(groups_measured), facts.number("observed.series")
    bms = facts.number("observed.bms.series")
    holds = {
        "observed.series": both(counted.known, measured.low > counted.high),
        "observed.bms.series": both(both(bms.known, negated(counted.known)), measured.low > bms.high),
    }
    found = [
        of_fields(
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
    said = {"claim.series": claimed_as_quantity(facts, "series")}
    said |= {
        f"claim.{word}": facts.number(f"claim.{word}.series") for word in ("designation", "configuration")
    }
    return [
        Contradiction(
            "claim_against_seen", (name, "observed.groups_v"), both(uncounted, apart(claimed, measured, 0.0)),
            RESTS_ON.bit(name),
            {"what": "series", "claimed": claimed.high, "seen": measured.low},
        )
        for name, claimed in said.items()
    ]  # fmt: skip


def claims_against_seen(facts: Facts) -> list[Contradiction]:
    """Return counts, a mass or parts that are claimed other than they were seen."""
    found = []
    stated = [
        *(
            (f"claim.{name}", name, claimed_as_quantity(facts, name))
            for name in ("series", "parallel", "mass_kg")
        ),
        *(
            (f"claim.{word}", name, facts.number(f"claim.{word}.{name}"))
            for word in ("designation", "configuration")
            for name in ("series", "parallel")
        ),
    ]
    for claimed_as, name, said in stated:
        seen = facts.number(f"observed.{name}")
        tolerance = arithmetic_tolerance(facts) if name == "mass_kg" else 0.0
        holds = apart(said, seen, tolerance)
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


def voltages(facts: Facts) -> list[Contradiction]:
    """Return every voltage of a charger or a full pack that no pack of these counts is charged to."""
    found = []
    in_series = facts.find(series)
    for name in ("claim.full_voltage_v", "claim.charge_voltage_v"):
        fit = charger_fit(facts, name)
        volts = facts.number(name)
        by_itself = in_series.rests_on & RESTS_ON.bit(name) != 0
        holds = both(both(fit.cannot, volts.known), negated(by_itself))
        # Where counts exclude each other it is open which of them the voltage is held against.
        for each in facts.find(counts):
            holds = both(holds, negated(each.holds))
        found.append(
            Contradiction(
                "voltage_of_no_such_pack", (name, "claim.series"), holds, RESTS_ON.bit(name),
                {"volts": volts.high, "series": in_series.low, "what": name},
            )
        )  # fmt: skip
    return found


def strip_against_test(facts: Facts) -> list[Contradiction]:
    """Return a strip noted as nickel or copper that a test shows to be steel."""
    named = facts.choice("observed.strip.material")
    proven = steel_is_proven(facts)
    holds = both(proven, either(named == NICKEL, named == COPPER))
    # The test decides: the strip is taken for steel, and the note beside it is wrong.
    return [Contradiction("strip_is_steel", ("observed.strip.material", "observed.material_test"), holds, 0)]


def against_the_cell(facts: Facts) -> list[Contradiction]:
    """Return what speaks against the cell named."""
    return [
        Contradiction(
            against.code, fields, holds, against.facts, {"says": against.says, "other": against.other}
        )
        for against, fields, holds in facts.against_the_cell()
    ]
