"""The reader against invented listings whose truth is known: figure by figure, right, wrong and missing.

The truths are written from the wordings that listings use, not from what the reader can do. A figure counts
as claimed when its kind says that the seller states it of this pack.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from verifier.listing import cases_from_listing, read_listing
from verifier.listing.reading import ListingReading, ListingVariant

TRUTHS = Path(__file__).parent / "truths"


@cache
def truths() -> tuple[dict[str, Any], ...]:
    """Return every invented listing with what it says."""
    found: list[dict[str, Any]] = []
    for path in sorted(TRUTHS.glob("*.yaml")):
        for truth in yaml.safe_load_all(path.read_text(encoding="utf-8")):
            found.append({**truth, "name": f"{path.stem}/{truth['name']}"})
    return tuple(found)


def listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def ends(value: Any) -> tuple[Any, ...]:
    """Return the two ends of a range, or the one value there is."""
    return tuple(value) if isinstance(value, (list, tuple)) else (value,)


def as_number(value: Any) -> Any:
    return round(float(value), 6) if isinstance(value, (int, float)) else str(value).replace(" ", "")


@dataclass
class Score:
    """Right, wrong and missing by field, and what was wrong in words."""

    right: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    wrong: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    missing: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    notes: list[str] = field(default_factory=list)

    def precision(self) -> float:
        return sum(self.right.values()) / max(1, sum(self.right.values()) + sum(self.wrong.values()))

    def recall(self) -> float:
        return sum(self.right.values()) / max(1, sum(self.right.values()) + sum(self.missing.values()))

    def combined(self) -> float:
        right = sum(self.right.values())
        return right / max(1, right + sum(self.missing.values()) + 10 * sum(self.wrong.values()))

    def table(self) -> str:
        lines = [f"{'figure':26}{'right':>7}{'wrong':>7}{'missing':>9}{'precision':>11}{'recall':>8}"]
        for name in sorted({*self.right, *self.wrong, *self.missing}):
            right, wrong, missing = self.right[name], self.wrong[name], self.missing[name]
            lines.append(
                f"{name:26}{right:7}{wrong:7}{missing:9}{right / max(1, right + wrong):11.3f}"
                f"{right / max(1, right + missing):8.3f}"
            )
        lines.append(
            f"precision {self.precision():.3f}  recall {self.recall():.3f}  combined {self.combined():.3f}"
        )
        return "\n".join(lines)


def score_claims(truth: dict[str, Any], read: ListingVariant, name: str, score: Score) -> None:
    expected = {
        key: {as_number(v) for v in listed(values)} for key, values in truth.get("claims", {}).items()
    }
    for key in sorted({*expected, *read.claims} - {"load_power_w"}):
        want = expected.get(key, set())
        got = {as_number(end) for claim in read.claimed(key) for end in ends(claim.value)}
        score.right[key] += len(want & got)
        score.wrong[key] += len(got - want)
        score.missing[key] += len(want - got)
        score.notes += [
            f"{name}: {key} {value} is wrong; right is {want or 'nothing'}" for value in got - want
        ]
        score.notes += [f"{name}: {key} {value} is missing" for value in want - got]


def score_others(truth: dict[str, Any], read: ListingVariant, name: str, score: Score) -> None:
    for key, kinds in truth.get("other", {}).items():
        for kind, values in kinds.items():
            got = {
                as_number(end)
                for claim in read.claims.get(key, [])
                if claim.kind == kind
                for end in ends(claim.value)
            }
            for value in listed(values):
                hit = as_number(value) in got
                (score.right if hit else score.missing)[f"{key} ({kind})"] += 1
                score.notes += [] if hit else [f"{name}: {key} {value} as {kind} is missing"]


def forbidden(truth: dict[str, Any], read: ListingVariant) -> list[str]:
    return [
        f"{key} {claim.value}"
        for key, values in truth.get("never", {}).items()
        for claim in read.claimed(key)
        if values == "any" or {*map(as_number, ends(claim.value))} & {as_number(v) for v in listed(values)}
    ]


def pairs(truth: dict[str, Any], reading: ListingReading) -> list[tuple[dict[str, Any], ListingVariant]]:
    """Return every variant of the truth with the one read at its place."""
    wanted = truth.get("variants") or [truth]
    return [(each, reading.variants[min(n, len(reading.variants) - 1)]) for n, each in enumerate(wanted)]


def score_listing(truth: dict[str, Any], score: Score) -> None:
    reading = read_listing(truth["text"])
    found = pairs(truth, reading)
    fitting = len(found) == len(reading.variants)
    (score.right if fitting else score.wrong)["variants"] += 1
    score.notes += [] if fitting else [f"{truth['name']}: {len(reading.variants)} variants, not {len(found)}"]
    for number, (each, read) in enumerate(found, start=1):
        name = f"{truth['name']} variant {number}"
        score_claims(each, read, name, score)
        score_others(each, read, name, score)
        score.notes += [f"{name}: {words} must never be claimed" for words in forbidden(each, read)]


@cache
def score_all() -> Score:
    score = Score()
    for truth in truths():
        score_listing(truth, score)
    return score


NAMED = [pytest.param(truth, id=truth["name"]) for truth in truths()]


def having(key: str) -> list[Any]:
    """Return the listings whose truth says something under a key, in a variant or as a whole."""
    return [
        pytest.param(truth, id=truth["name"])
        for truth in truths()
        if key in truth or any(key in variant for variant in truth.get("variants", []))
    ]


def test_figures_are_found_and_right(capsys: pytest.CaptureFixture[str]) -> None:
    """A figure read wrongly is judged as if the seller had claimed it; a missing one must be typed."""
    score = score_all()
    with capsys.disabled():
        print(f"\n{score.table()}\n" + "\n".join(score.notes))
    assert len(truths()) >= 40
    assert score.precision() >= 0.98, score.notes
    assert score.recall() >= 0.90, score.notes


def test_the_score_sees_what_is_wrong() -> None:
    """A score that cannot fall would let every error through."""
    score = Score()
    truth = {
        "name": "made wrong", "text": "48V 20Ah", "claims": {"nominal_voltage_v": 36, "mass_kg": 3},
    }  # fmt: skip
    score_listing(truth, score)
    assert (score.wrong["nominal_voltage_v"], score.wrong["capacity_ah"], score.missing["mass_kg"]) == (
        1,
        1,
        1,
    )
    assert score.precision() < 0.98
    assert score.combined() < 0.1


@pytest.mark.parametrize("truth", [each for each in NAMED if str(each.id).startswith("subjects/")])
def test_a_figure_is_of_its_own_subject(truth: dict[str, Any]) -> None:
    """A figure of another pack, time, person or thing is judged as a claim of this pack, or one is lost."""
    score = Score()
    score_listing(truth, score)
    assert [note for note in score.notes if ": price" not in note and ": currency" not in note] == []


@pytest.mark.parametrize("truth", having("never"))
def test_nothing_forbidden_is_claimed(truth: dict[str, Any]) -> None:
    """A trap of the wording (a trip, a motor, another product) becomes a claim of the pack."""
    for each, read in pairs(truth, read_listing(truth["text"])):
        assert forbidden(each, read) == []


@pytest.mark.parametrize(
    "truth", [each for each in having("variants") if "name" in each.values[0]["variants"][0]]
)
def test_variants_carry_their_names(truth: dict[str, Any]) -> None:
    """The user cannot tell which draft is which pack."""
    for each, read in pairs(truth, read_listing(truth["text"])):
        assert read.name == each["name"]


@pytest.mark.parametrize("truth", NAMED)
def test_words_stand_where_they_are_said_to(truth: dict[str, Any]) -> None:
    """The words shown for a figure are not the listing's."""
    reading = read_listing(truth["text"])
    text = truth["text"] if reading.extracted_text is None else reading.extracted_text
    for variant in reading.variants:
        for claims in variant.claims.values():
            assert all(text[claim.start : claim.end] == claim.text for claim in claims)


@pytest.mark.parametrize("truth", having("remarks"))
def test_what_is_worth_a_remark_gets_one(truth: dict[str, Any]) -> None:
    """A slip or a conflict passes without a word."""
    about = {name for remark in read_listing(truth["text"]).remarks for name in remark.about}
    assert set(truth["remarks"]) <= about


@pytest.mark.parametrize("truth", NAMED)
def test_drafts_are_cases_that_hold_only_claims(truth: dict[str, Any]) -> None:
    """`check` refuses a draft, or judges something that the seller never said of this pack."""
    reading = read_listing(truth["text"])
    cases = cases_from_listing(truth["text"], "listing")
    assert len(cases) == len(reading.variants)
    for case, variant in zip(cases, reading.variants, strict=True):
        assert set(case.data) <= {"case", "claim", "observed"}
        # Of what else is known the seller tells the cycles so far.
        assert set(case.data.get("observed", {})) <= {"cycles"}
        for field_name, value in case.data.get("claim", {}).items():
            if field_name in ("load_power_w", "stated_differently"):
                continue
            stated = {as_number(end) for claim in variant.claimed(field_name) for end in ends(claim.value)}
            assert {as_number(each) for each in listed(value)} <= stated


@pytest.mark.parametrize("truth", having("draft"))
def test_drafts_hold_what_was_settled(truth: dict[str, Any]) -> None:
    """A draft holds another value than the listing settles, or one where it settles none."""
    claim = cases_from_listing(truth["text"], "listing")[0].data.get("claim", {})
    for field_name, value in truth["draft"].items():
        assert claim.get(field_name) == value
