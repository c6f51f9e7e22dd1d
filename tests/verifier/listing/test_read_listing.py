"""The command: a listing in, its claims out, a case draft for every pack."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from registry.errors import PlacedError
from verifier.case.reading import parse_case
from verifier.cli import packclaim
from verifier.cli.inputs import read_cases
from verifier.listing import is_listing, read_listing
from verifier.listing.files import listing_text
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
    lines = shown.splitlines()
    assert lines[lines.index("Continuous discharge: 25A") + 1].strip() == "continuous current 25 A"
    assert lines[lines.index("BMS: 30A") + 1].strip() == "BMS current 30 A"
    assert lines[lines.index("Overcurrent: 60±5A") + 1].strip() == "BMS current 60 A (where the BMS trips)"
    assert ".." not in shown


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
    assert "continuous_current_a: 25  # '25A' (continuous)" in draft
    assert "bms_current_a, not taken: '60±5A' (where the BMS trips)" in draft
    first = draft.splitlines()[0]
    assert first == "# yaml-language-server: $schema=schemas/case.schema.json"


def test_a_draft_names_what_was_not_understood(tmp_path: Path) -> None:
    """A figure that the reader could not place is lost to whoever fills in the draft."""
    run("-", "--out", str(tmp_path / "case.yaml"), stdin="Battery 48V 20Ah\ncomfort 35A\n")
    assert "# Not understood: '35A' in 'comfort 35A'" in (tmp_path / "case.yaml").read_text(encoding="utf-8")


def test_a_draft_never_replaces_the_listing(tmp_path: Path) -> None:
    """`--out` with the listing's own name wipes the listing."""
    listing = tmp_path / "listing.txt"
    listing.write_text(ONE, encoding="utf-8")
    with pytest.raises(PlacedError, match="is a file that this is made from"):
        CliRunner().invoke(
            packclaim, ["read-listing", str(listing), "--out", str(listing)], catch_exceptions=False
        )
    assert listing.read_text(encoding="utf-8") == ONE


def _docx(*paragraphs: str) -> bytes:
    body = "".join(f"<w:p><w:r><w:t>{words}</w:t></w:r></w:p>" for words in paragraphs)
    space = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr(
            "word/document.xml", f'<w:document xmlns:w="{space}"><w:body>{body}</w:body></w:document>'
        )
    return file.getvalue()


MAIL = "From: a@example.org\nTo: b@example.org\nSubject: Akku 48V 20Ah\nDate: Mon, 2 Mar 2026 10:00:00 +0100\n\nDauerstrom: 25 A\n"  # noqa: E501


@pytest.mark.parametrize(
    "data",
    [
        "Akku 48V 20Ah, Kapazität geprüft\nDauerstrom: 25 A".encode("cp1252"),
        "Akku 48V 20Ah\nDauerstrom: 25 A".encode("utf-16"), "Akku 48V 20Ah\nDauerstrom: 25 A".encode("utf-16-le"),
        _docx("Akku 48V 20Ah", "Dauerstrom: 25 A"), MAIL.encode(),
        b"<html><body><h1>Akku 48V 20Ah</h1><p>Dauerstrom: 25 A</p></body></html>",
    ],
    ids=["Windows-1252", "UTF-16", "UTF-16 without mark", "docx", "mail", "page"],
)  # fmt: skip
def test_files_as_people_save_them_are_read(data: bytes) -> None:
    """A listing saved with another program is refused, or read as rubbish."""
    claims = read_listing(listing_text(data, "file")).variants[0].claims
    assert {name: [claim.value for claim in claims[name]] for name in ("capacity_ah", "continuous_current_a")} == {
        "capacity_ah": [20], "continuous_current_a": [25],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("data", "help_given"),
    [
        (b"%PDF-1.7 x", "copy its text"), (b"\xff\xd8\xff\xe0", "type or paste"), (b"PK\x03\x04rubbish", "save it as a text file"),  # noqa: E501
        (b"48V\x00\x01\x02", "listing's text"), (b"48V 20Ah\n" * 30_000, "part that describes"),
    ],
)  # fmt: skip
def test_what_is_no_listing_is_refused_with_what_would_help(data: bytes, help_given: str) -> None:
    """The user is told that a byte is not UTF-8, and not what to do."""
    with pytest.raises(PlacedError) as refused:
        listing_text(data, "file")
    assert help_given in str(refused.value)
    assert "\n" not in str(refused.value)


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
