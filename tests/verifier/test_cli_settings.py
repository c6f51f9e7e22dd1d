"""The settings file: what it sets, what goes before it, and what is wrong with it told in one line."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from verifier.cli import packclaim
from verifier.cli.user_settings import EXAMPLE, PLACE
from verifier.errors import UnreadableInput

ROOT = Path(__file__).parents[2]
REGISTRY = ROOT / "samples" / "registry.jsonl"
LISTED = str(ROOT / "samples" / "cases" / "listing-three-figures.yaml")
SEEN = str(ROOT / "samples" / "cases" / "quay-street-loaner-7.yaml")


def run(*words: str) -> Result:
    return CliRunner().invoke(packclaim, words, catch_exceptions=False)


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return where the settings of this test lie."""
    path = tmp_path / "settings.toml"
    monkeypatch.setenv(PLACE, str(path))
    return path


def test_settings_hold_for_every_command_and_options_go_before_them(place: Path) -> None:
    """A shop would type its registry, temperature and reserve with every command, or be judged by others unasked."""
    place.write_text(f'registry = "{REGISTRY}"\ntemperature = "-5..35"\nreserve = "1/2"\nlanguage = "de"\n')
    told = run("check", LISTED).stdout
    assert "of 31 registered cells" in told
    assert "air of -5 to 35 C. Of each limit half may be used" in " ".join(told.split())
    colder = run("check", LISTED, "--temperature", "10..20").stdout
    assert "air of 10 to 20 C. Of each limit half" in " ".join(colder.split())
    assert "Guten Tag" in run("questions", LISTED).stdout
    assert "Hello" in run("questions", LISTED, "--language", "en").stdout
    assert "lyr-18650-25w" in run("cells", "list").stdout


def test_a_limit_of_the_settings_is_told_as_such_and_the_case_goes_before_it(
    place: Path, tmp_path: Path
) -> None:
    """Somebody else's report would be judged by limits that nobody can see."""
    place.write_text(f'registry = "{REGISTRY}"\n[limits]\nreserve = 0.5\n')
    assert "reserve 0.5, in your settings" in run("check", LISTED).stdout
    own = tmp_path / "own.yaml"
    own.write_text(Path(LISTED).read_text() + "\nlimits: {reserve: 0.9}\n")
    told = run("check", str(own)).stdout
    assert "Of each limit 90 % may be used" in " ".join(told.split())
    assert "reserve 0.9, in the case" in told
    assert "in your settings" not in told


def test_a_hand_over_sheet_carries_the_shops_name(place: Path) -> None:
    """A customer would not see whose sheet it is. What is typed there is text, never markup."""
    place.write_text(f'registry = "{REGISTRY}"\n[shop]\nname = "Quay <b>Street</b> Cycles"\nlogo = "QSC"\n')
    page = run("check", SEEN, "--format", "handover").stdout
    assert "Quay &lt;b&gt;Street&lt;/b&gt; Cycles" in page
    assert ">QSC<" in page


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ('temprature = "1"', "temprature: is no setting; did you mean 'temperature'?"),
        ("temperature = [1, 2, 3]", "temperature"),
        ('language = "klingon"', "language: there is no language"),
        ("[limits]\nreserve = 7", "limits.reserve: 7 makes no sense; use 0.05 to 1"),
        ("[limits]\nreservee = 0.5", "limits"),
        ("[shop]\nname = 3", "shop.name: must be a text"),
        ("shop = 3", "shop: must be a table"),
        ("registry = ", "is no TOML"),
        ('registry = ""', "registry: must be a text"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_the_settings_is_one_line(place: Path, text: str, wrong: str) -> None:
    """A slip in a file that was written months ago would change verdicts in silence, or end in a traceback."""
    place.write_text(text)
    with pytest.raises(UnreadableInput) as raised:
        run("check", LISTED)
    line = str(raised.value)
    assert wrong in line
    assert str(place) in line
    assert "\n" not in line


def test_the_settings_are_shown_and_the_example_is_one(place: Path) -> None:
    """Nobody could tell why a command uses another registry, nor how to write the file."""
    assert "there is none" in run("settings").stdout
    place.write_text(EXAMPLE)
    told = run("settings").stdout
    assert str(place) in told
    assert "bench.sqlite" in told
    assert "limit conductor_limit_c: 70" in told
    assert run("settings", "--example").stdout == EXAMPLE


def test_the_registry_of_the_settings_is_never_written_over(place: Path, tmp_path: Path) -> None:
    """A summary written to the wrong name would cost a shop its datasheets."""
    own = tmp_path / "own.jsonl"
    own.write_bytes(REGISTRY.read_bytes())
    place.write_text('registry = "own.jsonl"\n')
    with pytest.raises(Exception, match=r"own\.jsonl"):
        run("check", LISTED, "--out", str(own), "--format", "json")
    assert own.read_bytes() == REGISTRY.read_bytes()


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("packclaim cells show lyr-18650-2", "plain,lyr-18650-25w"),
        ("packclaim explain continuous_c", "plain,continuous_current"),
        ("packclaim questions case.yaml --language p", "plain,pl"),
        ("packclaim check sam", "file,sam"),
    ],
)  # fmt: skip
def test_shells_complete_cells_words_languages_and_files(
    place: Path, monkeypatch: pytest.MonkeyPatch, typed: str, offered: str
) -> None:
    """Ids such as tarn-tr18-31a would be typed by hand, where one letter halves the current."""
    monkeypatch.setenv("PACKCLAIM_REGISTRY", str(REGISTRY))
    words = typed.split()
    environment = {
        "_PACKCLAIM_COMPLETE": "bash_complete", "COMP_WORDS": typed, "COMP_CWORD": str(len(words) - 1),
    }  # fmt: skip
    found = CliRunner().invoke(packclaim, [], prog_name="packclaim", env=environment)
    assert offered in found.stdout.splitlines()
