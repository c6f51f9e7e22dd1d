"""Mass: what the scales say, else what so many cells weigh and what packs of them usually weigh."""

from __future__ import annotations

from math import inf

from verifier.fact_names import GRADES
from verifier.facts import Facts
from verifier.figures.common import Judged, answer, caution_of_grade
from verifier.finding import ARITHMETIC, remark
from verifier.pack.mass import cells_mass, usual_mass
from verifier.quantities import Mask, Quantity, both, either, negated, where
from verifier.verdict import Claim, at_most, settle

LIMITS = ("cells", "as weighed")

OWN_TEST = GRADES.index("own_test")
# Beyond this there is something else than cells, case and BMS in the box. Common practice, no source.
HEAVY = 2.0


def judge(facts: Facts) -> Judged:
    """Judge the mass. [kg].

    A pack that was weighed weighs what the scales say, within the rounding of a printed mass. One that was
    not cannot weigh less than its cells, and what is said of it is believed where packs of such cells usually
    weigh so much.
    """
    claim, weighed = facts.claim("mass_kg"), facts.number("observed.mass_kg")
    cells, usual = facts.find(cells_mass), facts.find(usual_mass)
    near = facts.limits.number("arithmetic_tolerance")

    # Of every mass within the reading, and of none.
    every = both(at_most(claim.high, weighed.low * (1 + near)), at_most(weighed.high * (1 - near), claim.low))
    some = _can_be(claim, weighed, near)
    is_usual = both(at_most(usual.low, claim.low), at_most(claim.high, usual.high))
    read = facts.as_read("observed.mass_kg")
    # A weighing that speaks against the cells grants nothing, and refutes all the same.
    refuted = both(negated(weighed.known), both(read.known, negated(_can_be(claim, read, near))))
    can_fit = where(weighed.known, some, at_most(cells.low, claim.high))
    can_differ = where(weighed.known, negated(every), negated(is_usual))
    by_cells = Quantity(
        cells.low, inf, cells.missing | weighed.missing, usual.rests_on | cells.rests_on, cells.grade
    )
    by_scales = Quantity(weighed.low, weighed.high, weighed.missing, weighed.rests_on, OWN_TEST)
    supported = where(weighed.known, by_scales, by_cells)
    facts.step("m_pack", "as weighed, else m_cells or more", supported, "kg", ARITHMETIC)
    supported = where(refuted, Quantity(read.low, read.high, 0, read.rests_on, OWN_TEST), supported)
    outcome = settle(claim, supported, both(can_fit, negated(refuted)), either(can_differ, refuted))
    judged = answer(facts, claim, supported, outcome, where(either(weighed.known, refuted), 1, 0))
    if facts.single:
        _remarks(facts, judged, cells)
    return judged


def _can_be(claim: Claim, weighed: Quantity, near: float) -> Mask:
    """Whether some mass of the reading is the one claimed, within the rounding of a printed mass."""
    return both(at_most(claim.low, weighed.high * (1 + near)), at_most(weighed.low * (1 - near), claim.high))


def _remarks(facts: Facts, judged: Judged, cells: Quantity) -> None:
    claim, weighed = judged.claim, facts.number("observed.mass_kg")
    caution_of_grade(facts, judged.supported)
    for said in facts.cell.said("mass_g"):
        facts.caution(said)
    if claim.made and not at_most(cells.low, claim.high):
        facts.caution(
            remark("claimed_lighter_than_cells", "claim.mass_kg", claimed_kg=claim.high, cells_kg=cells.low)
        )
    for name, low, made in (
        ("claim.mass_kg", claim.low, claim.made), ("observed.mass_kg", weighed.low, weighed.known),
    ):  # fmt: skip
        if made and low > HEAVY * cells.high:
            facts.caution(remark("heavy_for_its_cells", name, mass_kg=low, cells_kg=cells.high))
