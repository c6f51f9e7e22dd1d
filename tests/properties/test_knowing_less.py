"""Knowing less of a pack never settles, sharpens or improves anything: for every figure, and for all that is granted.

What that means stands in `tests/properties/knowing_less.py`. The long run is ``tests/hardening/knowing_less.py``.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from pydantic import ValidationError

from registry.cell import Cell
from tests.effort import tried
from tests.properties import knowing_less
from tests.properties.knowing_less import (
    Found,
    Judged,
    facts_of,
    improved,
    judged,
    search,
    smallest,
    told,
    without,
)
from tests.properties.true_packs import Pack, others, random_pack
from verifier.bounds import Bounds
from verifier.verdict import REFUTED, Verdict

CHANGES = 6


@pytest.fixture(scope="module")
def registered() -> list[Cell]:
    return others()


@pytest.mark.parametrize("first", range(0, tried(30, 60), 10))
def test_knowing_less_never_makes_anything_better(registered: list[Cell], first: int) -> None:
    """Somebody would be told to trust a pack because a fact is missing, or to send it back for that."""
    found: list[Found] = []
    for seed in range(first, first + 10):
        found += search(seed, CHANGES, registered)[1]
    assert not found, "\n".join(told(smallest(each, registered)) for each in found[:2])


@pytest.mark.parametrize("first", range(0, 40, 20))
def test_a_contradiction_that_stands_grants_no_more_for_knowing_less(
    registered: list[Cell], first: int
) -> None:
    """A pack whose evidence excludes itself would be granted a current once something else is not known.

    Only what is granted is compared: which figures a contradiction opens depends on the facts in it.
    """
    stood = 0
    for seed in range(first, first + 20):
        pack = random_pack(seed)
        cell_g = pack.case.get("observed", {}).get("cell", {}).get("mass_g")
        if cell_g is None:
            continue
        pack.case["observed"]["cell"]["mass_g"] = cell_g * 0.65
        then = judged(pack, registered)
        for path in facts_of(pack)[:: len(facts_of(pack)) // 4]:
            fewer = without(pack, [path])
            try:
                now = judged(fewer, registered)
            except ValidationError:
                continue  # half a figure is none
            stood += bool(then.against) and then.excluded == now.excluded
            assert [*improved(pack, fewer, then, now)] == [], path
    assert stood


# -- the comparison bites ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def known(registered: list[Cell]) -> tuple[Pack, Judged]:
    """A pack of which something is granted over a range of air, and something refuted."""
    for seed in range(200):
        pack = random_pack(seed)
        found = judged(pack, registered)
        verdicts = {each.verdict for each in found.findings.values()}
        wide = any(each.high_c - each.low_c >= 1 for each in found.use_at_most)
        granted = wide and found.rely_on.continuous_current_a.low > 0
        if not found.against and verdicts & REFUTED and granted:
            return pack, found
    raise AssertionError("no such pack")


def changed(found: Judged, figure: str, **fields: object) -> Judged:
    findings = {**found.findings, figure: replace(found.findings[figure], **fields)}  # type: ignore[arg-type]
    return replace(found, findings=findings)


def test_every_kind_of_improvement_is_seen(known: tuple[Pack, Judged]) -> None:
    """The property would hold because nothing is compared."""
    pack, found = known
    figure, finding = next((name, each) for name, each in found.findings.items() if each.verdict in REFUTED)
    assert [*improved(pack, pack, found, found)] == []
    passed = changed(found, figure, verdict=Verdict.HOLDS)
    assert any("becomes holds" in each for each in improved(pack, pack, found, passed))
    opened = changed(found, figure, verdict=Verdict.NOT_SETTLED, unknown=("observed.series",))
    assert any(f"becomes {finding.verdict}" in each for each in improved(pack, pack, opened, found))
    silent = changed(found, figure, verdict=Verdict.NOT_SETTLED, unknown=())
    assert f"{figure}: not settled, and nothing is missing" in [*improved(pack, pack, found, silent)]
    assert f"{figure}: observed.series is missing no more" in [*improved(pack, pack, opened, silent)]
    for ends in (Bounds(finding.supported.low + 1, finding.supported.high + 1), Bounds(0, 0)):
        narrower = changed(found, figure, supported=ends)
        assert any(f"{figure}: supported" in each for each in improved(pack, pack, found, narrower))
    granted = found.rely_on.continuous_current_a
    relied = replace(found.rely_on, continuous_current_a=Bounds(granted.low * 1.01, granted.high * 1.01))
    assert any("rely_on" in each for each in improved(pack, pack, found, replace(found, rely_on=relied)))
    more = tuple(replace(each, continuous_a=each.continuous_a + 1) for each in found.use_at_most)
    assert any(
        "use_at_most" in each for each in improved(pack, pack, found, replace(found, use_at_most=more))
    )
    failed = changed(found, figure, verdict=Verdict.CHECK_FAILED)
    assert any("check failed" in each for each in improved(pack, pack, found, failed))


def test_the_fewest_facts_are_told(registered: list[Cell], monkeypatch: pytest.MonkeyPatch) -> None:
    """A violation would be told among a hundred facts that have nothing to do with it."""
    claim = {"mass_kg": 3, "series": 13, "cycles": 300}
    cell = {
        "id": "ebbrock-s1", "maker": "Ebbrock", "model": "S1", "chemistry": "NMC",
        "sheets": [{"evidence": "maker", "mass_g": 48, "nominal_voltage_v": 3.6}],
    }  # fmt: skip
    pack = Pack({"claim": claim, "observed": {"series": 13}}, cell)

    def better(before: Pack, *_: object) -> list[str]:
        sheet = before.cell["sheets"][0]
        return (
            ["mass: 3 becomes 4"] if "mass_kg" in before.case.get("claim", {}) and "mass_g" in sheet else []
        )

    monkeypatch.setattr(knowing_less, "improved", better)
    kept = smallest(Found(0, pack, pack, ("mass: 1 becomes 2",)), registered)
    assert kept.after.case == {"claim": {"mass_kg": 3}, "observed": {}}
    assert set(kept.after.cell["sheets"][0]) == {"evidence", "mass_g"}
    assert told(kept).startswith("seed 0: mass: 3 becomes 4")


def test_the_random_packs_are_of_every_kind(registered: list[Cell]) -> None:
    """The property would be tested on packs of which nothing is ever known, or that exclude themselves."""
    found = [judged(random_pack(seed), registered) for seed in range(60)]
    verdicts = {each.verdict for one in found for each in one.findings.values()}
    wanted = {
        Verdict.HOLDS, Verdict.HOLDS_WITH_RESERVE, Verdict.DOES_NOT_HOLD, Verdict.NOT_SETTLED, Verdict.CONSISTENT,
        Verdict.HOLDS_ON_SELLERS_WORD, Verdict.CONSISTENT_ON_SELLERS_WORD, Verdict.NOT_CLAIMED,
    }  # fmt: skip
    assert wanted <= verdicts
    assert sum(bool(one.against) for one in found) < 10
    assert sum(one.rely_on.continuous_current_a.low > 0 for one in found) > 3
