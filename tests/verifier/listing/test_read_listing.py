"""The command: a listing in, its claims out, a case draft for every pack."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from registry.errors import PlacedError
from verifier.case.reading import parse_case
from verifier.cli import packclaim
from verifier.cli.check import read_cases
from verifier.listing import is_listing
from verifier.listing.reading import ListingReading

SAMPLES = Path(__file__).parents[3] / "samples" / "listings"
ONE = "Harbour Gate Power 48V 20Ah\nContinuous discharge: 25A\nBMS: 30A\nOvercurrent: 60±5A\n"
TWO = "Pier Nine Packs\nA: 36V 10Ah\nB: 48V 15Ah\n"


def run(*arguments: str, stdin: str | None = None) -> str:
    result = CliRunner().invoke(packclaim, ["read-listing", *arguments], input=stdin, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def test_json_has_the_fixed_keys() -> None:
    """A program that reads the JSON finds no claims."""
    data = json.loads(run("-", "--format", "json", stdin=ONE))
    claim = data["variants"][0]["claims"]["continuous_current_a"][0]
    assert claim == {"value": 25.0, "text": "25A", "start": 50, "end": 53, "kind": "continuous"}
    assert ONE[50:53] == "25A"
    assert {"name", "claims"} <= set(data["variants"][0])
    assert ListingReading.model_validate_json(json.dumps(data)).variants[0].claims


def test_text_shows_the_words_of_every_figure(tmp_path: Path) -> None:
    """The user cannot see where a figure came from."""
    (tmp_path / "listing.txt").write_text(ONE, encoding="utf-8")
    shown = run(str(tmp_path / "listing.txt"))
    for words in ("'25A'", "'30A'", "'60±5A'", "trip", "continuous"):
        assert words in shown


def test_a_draft_for_every_pack(tmp_path: Path) -> None:
    """Of two packs on offer only one can be judged, or a file is named after the listing's words."""
    run("-", "--out", str(tmp_path / "case.yaml"), stdin=TWO)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["case-1.yaml", "case-2.yaml"]
    volts = [
        parse_case(path.read_text(encoding="utf-8"), path.name).data["claim"]["nominal_voltage_v"]
        for path in sorted(tmp_path.iterdir())
    ]
    assert volts == [36, 48]


def test_a_draft_says_where_each_figure_came_from(tmp_path: Path) -> None:
    """A draft cannot be compared with the listing."""
    run("-", "--out", str(tmp_path / "case.yaml"), stdin=ONE)
    draft = (tmp_path / "case.yaml").read_text(encoding="utf-8")
    assert "continuous_current_a: 25  # '25A' at 50..53 (continuous)" in draft
    assert "bms_current_a, not taken: '60±5A'" in draft


def test_hostile_words_stay_in_comments() -> None:
    """Words of a listing change what the draft says."""
    text = 'Pack "}\x1b[2J\u2028claim: {capacity_ah: 99}\n48V 20Ah\nCells: A1\x85B2C3D4\n'
    draft = run("-", "--out", "-", stdin=text)
    assert parse_case(draft, "draft").data["claim"]["capacity_ah"] == 20
    assert "\x1b" not in draft


def test_several_packs_need_a_file_name() -> None:
    """Several case files run together on stdout, which `check -` refuses."""
    with pytest.raises(PlacedError, match="2 packs"):
        CliRunner().invoke(packclaim, ["read-listing", "-", "--out", "-"], input=TWO, catch_exceptions=False)


def test_check_takes_a_listing(tmp_path: Path) -> None:
    """The user must write a draft first to have a listing judged."""
    (tmp_path / "listing.txt").write_text(TWO, encoding="utf-8")
    cases = read_cases([str(tmp_path / "listing.txt")])
    assert [case.data["claim"]["capacity_ah"] for case in cases] == [10, 15]


@pytest.mark.parametrize(
    ("text", "listing"),
    [
        (ONE, True), ("Capacity: 20Ah\nVoltage: 48V\nCase: aluminium", True),
        ("claim:\n  capacity_ah: 20", False),
        ("claim: {capacity_ah: 20}", False), ('{"claim": {"capacity_ah": 20}}', False),
        ("clam:\n  x: 2", False),
        ("hello", False), ("", False), ("claim: [", False),
    ],
)  # fmt: skip
def test_stdin_is_told_apart(text: str, listing: bool) -> None:
    """A pasted listing is refused as YAML, or a case with a slip is read as a listing."""
    assert is_listing(text) is listing


def test_samples_are_read() -> None:
    """The samples that show the reader are not read."""
    found = sorted(SAMPLES.iterdir())
    assert len(found) >= 3
    for path in found:
        data = json.loads(run(str(path), "--format", "json"))
        assert any(variant["claims"] for variant in data["variants"]), path.name
