"""What a case would be once more were observed: worked out from what is known already, and no otherwise than anew."""

from __future__ import annotations

import random
from collections.abc import Iterator
from math import isnan
from pathlib import Path
from typing import Any

import pytest

from registry.cell import Cell
from registry.cells import Cells, InMemory
from registry.errors import PlacedError
from registry.opening import open_registry
from tests.effort import tried
from tests.properties.true_packs import others, random_pack
from verifier.bounds import Bounds
from verifier.case.differing import differing
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.case.reading import parse_case
from verifier.case_facts import CaseFacts, SupposedFacts
from verifier.cell_inside import look_inside
from verifier.contradictions import contradictions, disputed
from verifier.figures import FIGURES
from verifier.observations import OBSERVATIONS, Open, as_observed
from verifier.pack.charging import charge_cells
from verifier.pack.current import pack_current

SAMPLES = Path(__file__).parents[2] / "samples"
REGISTRY = open_registry(SAMPLES / "registry.jsonl")
CASES = sorted((SAMPLES / "cases").glob("*.yaml"))


def known_of(case: Case, registry: Cells) -> tuple[CaseFacts, CaseFacts]:
    """Return the facts as stated and without dispute, every figure judged."""
    stated = CaseFacts(case, look_inside(case, registry), Limits(case.limits))
    undisputed = stated.without(disputed(contradictions(stated)))
    for entry in FIGURES.values():
        undisputed.find(entry.judge)
    return stated, undisputed


def told(stated: CaseFacts) -> list[Any]:
    """Return what a pack comes to: its contradictions, and of every figure what is supported and its outcome."""
    against = contradictions(stated)
    facts = stated.without(disputed(against))
    found: list[Any] = [(each.code, each.fields, each.disputes, dict(each.numbers)) for each in against]
    for name, entry in FIGURES.items():
        judged = facts.find(entry.judge)
        outcome, supported = judged.outcome, judged.supported
        margin = None if isnan(outcome.margin_low_percent) else outcome.margin_low_percent
        found.append((name, supported, outcome.verdict, outcome.worst, outcome.best, margin))
    return found


def supposed_of(case: Case, undisputed: CaseFacts, registry: Cells) -> Iterator[tuple[str, Any, Case]]:
    """Yield every observation that could be made of a case, with each of its values."""
    known = Open(undisputed, registry)
    for each in OBSERVATIONS:
        for value in [*each.as_claimed(case), *each.values(known)]:
            try:
                yield each.field, value, as_observed(case, each.field, value)
            except ValueError:
                continue


def compare(case: Case, registry: Cells, part: slice) -> int:
    """Compare what is supposed with the same judged anew; return how many were compared."""
    stated, undisputed = known_of(case, registry)
    compared = 0
    for field, value, then in list(supposed_of(case, undisputed, registry))[part]:
        inside = look_inside(then, registry, suggest=False)
        anew = CaseFacts(then, inside, stated.limits)
        try:
            anew.check()
        except PlacedError:
            continue
        assert told(SupposedFacts(then, inside, stated, undisputed)) == told(anew), (field, value)
        compared += 1
    return compared


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_what_is_supposed_is_what_would_be_found(path: Path) -> None:
    """Otherwise a user is sent to observe what settles nothing, or not told of what would."""
    case = parse_case(path.read_text(encoding="utf-8"), path.name).case
    step, chance = tried(10, 1), random.Random(path.stem)  # noqa: S311 - the same part in every run, no secret
    assert compare(case, REGISTRY, slice(chance.randrange(step), None, step)) > 0


@pytest.mark.parametrize("seed", range(900, tried(915, 930)))
def test_the_same_of_random_packs(seed: int) -> None:
    """Otherwise it holds of the samples alone."""
    pack, chance = random_pack(seed), random.Random(seed)  # noqa: S311 - a choice of what to try, no secret
    registry = InMemory([Cell.model_validate(pack.cell), *others()])
    case = Case.model_validate(pack.case)
    # Less of it was seen, so that more is left to suppose.
    left_out = {name for name in sorted(case.observed.model_fields_set) if chance.random() < 0.3}
    data = case.model_dump(mode="json", exclude_unset=True)
    data["observed"] = {
        name: value for name, value in data.get("observed", {}).items() if name not in left_out
    }
    assert compare(Case.model_validate(data), registry, slice(chance.randrange(6), None, 6)) > 0


def test_what_differs_is_named_with_its_groups() -> None:
    """Otherwise a figure that asks for a whole group, or for a field of one that is new, is not judged anew."""
    case = Case.model_validate({"observed": {"leads": {"awg": 12, "length_m": 0.3}}})
    then = Case.model_validate(
        {
            "observed": {
                "leads": {"awg": 14, "length_m": 0.3},
                "material_test": {"kind": "spark", "sparks": True},
            }
        }
    )
    names = differing(case, then)
    assert {"observed", "observed.leads", "observed.leads.awg", "observed.material_test.sparks"} <= names
    assert not {"observed.leads.length_m", "observed.strip", "claim"} & names
    assert differing(case, case) == set()


def test_what_was_asked_for_quietly_counts_too() -> None:
    """Otherwise what rests on a fact that was asked for without a note is not judged anew when it changes."""
    case = Case.model_validate({"observed": {"series": 10}})
    facts = CaseFacts(case, look_inside(case, REGISTRY), Limits(case.limits))

    def inner(facts: CaseFacts) -> float:
        return float(facts.number("observed.series").low)

    def outer(facts: CaseFacts) -> float:
        return facts.quietly(inner)

    facts.find(outer)
    _, notes = facts.noted(outer)
    assert "observed.series" in notes.asked
    then = Case.model_validate({"observed": {"series": 13}})
    assert SupposedFacts(then, look_inside(then, REGISTRY), facts, facts).find(outer) == 13


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_other_air_is_judged_as_if_it_alone_had_been_asked_for(path: Path) -> None:
    """Otherwise a report grants in the frost what the cells deliver in a room."""
    case = parse_case(path.read_text(encoding="utf-8"), path.name).case
    inside = look_inside(case, REGISTRY)
    # A limit that stands for the very air that the case states.
    stated = case.model_copy(
        update={"use": case.use.model_copy(update={"temperature_c": Bounds(-10.0, 5.0)})}
    )
    limits = Limits(case.limits).with_overrides({"use_temperature_c": Bounds(20.0, 30.0)})
    facts = CaseFacts(stated, inside, limits)
    told(facts)
    for low_c, high_c in ((-10.0, 5.0), (20.0, 30.0), (40.0, 55.0)):
        use = case.use.model_copy(update={"temperature_c": Bounds(low_c, high_c)})
        anew = CaseFacts(case.model_copy(update={"use": use}), inside, Limits(case.limits))
        assert told(facts.in_air(low_c, high_c)) == told(anew)
        assert facts.in_air(low_c, high_c).noted(pack_current) == anew.noted(pack_current)


@pytest.mark.parametrize("path", CASES[:8], ids=lambda path: path.stem)
def test_what_is_supposed_is_found_anew_in_other_air(path: Path) -> None:
    """A current would be told for the frost that was found for a room, once something was only supposed.

    Rule: what hangs on the air is not taken over from facts of another air.
    """
    case = parse_case(path.read_text(encoding="utf-8"), path.name).case
    stated, undisputed = known_of(case, REGISTRY)
    then = case.with_observed(parallel=Bounds(6, 6))
    supposed = SupposedFacts(then, stated.inside, stated, undisputed)
    anew = CaseFacts(then, stated.inside, Limits(case.limits))
    for function in (pack_current, charge_cells):
        supposed.find(function)
        for air in ((-15, -12), (55, 58)):
            assert supposed.in_air(*air).find(function) == anew.in_air(*air).find(function)
            assert supposed.in_charging_air(*air).find(function) == anew.in_charging_air(*air).find(function)
