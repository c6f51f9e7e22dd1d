"""Scores the reader against the truths: which figures it finds, and which it gets wrong."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from verifier.listing.engine import read_listing
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
        lines.append(f"precision {self.precision():.3f}  recall {self.recall():.3f}  combined {self.combined():.3f}")
        return "\n".join(lines)


def score_variant(truth: dict[str, Any], read: ListingVariant, name: str, score: Score) -> None:
    expected = {key: [as_number(v) for v in listed(values)] for key, values in truth.get("claims", {}).items()}
    for key in sorted({*expected, *read.claims}):
        want = set(expected.get(key, []))
        if key == "load_power_w":
            continue
        got = {as_number(claim.value) for claim in read.claimed(key)}
        score.right[key] += len(want & got)
        for value in got - want:
            score.wrong[key] += 1
            score.notes.append(f"{name}: {key} {value} is wrong; right: {sorted(want, key=str)}")
        for value in want - got:
            score.missing[key] += 1
            score.notes.append(f"{name}: {key} {value} is missing")
    for key, kinds in truth.get("other", {}).items():
        for kind, values in kinds.items():
            got = {as_number(c.value) for c in read.claims.get(key, []) if c.kind == kind}
            for value in listed(values):
                hit = as_number(value) in got
                (score.right if hit else score.missing)[f"{key} ({kind})"] += 1
                if not hit:
                    score.notes.append(f"{name}: {key} {value} as {kind} is missing")
    for key, values in truth.get("never", {}).items():
        for claim in read.claimed(key):
            if values == "any" or as_number(claim.value) in [as_number(v) for v in listed(values)]:
                score.notes.append(f"{name}: {key} {claim.value} must never be claimed")
                score.wrong[key] += 1


def score_listing(truth: dict[str, Any], score: Score) -> ListingReading:
    reading = read_listing(truth["text"])
    wanted = truth.get("variants") or [truth]
    if len(wanted) != len(reading.variants):
        score.notes.append(f"{truth['name']}: {len(reading.variants)} variants, not {len(wanted)}")
        score.wrong["variants"] += 1
    else:
        score.right["variants"] += 1
    for number, each in enumerate(wanted):
        read = reading.variants[min(number, len(reading.variants) - 1)]
        score_variant(each, read, f"{truth['name']} [{number + 1}]", score)
        if "name" in each and truth.get("variants") and each["name"] != read.name:
            score.notes.append(f"{truth['name']}: variant is called {read.name!r}, not {each['name']!r}")
            score.wrong["variants"] += 1
    about = {name for remark in reading.remarks for name in remark.about}
    for name in truth.get("remarks", []):
        if name not in about:
            score.notes.append(f"{truth['name']}: no remark about {name}")
            score.missing["remarks"] += 1
        else:
            score.right["remarks"] += 1
    return reading


def score_all() -> Score:
    score = Score()
    for truth in truths():
        score_listing(truth, score)
    return score
