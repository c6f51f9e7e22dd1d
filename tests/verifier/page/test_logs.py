"""Discharge logs of a pack on the page: the curve, what they say of the claims, their evidence taken into the case."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.verifier.page.conftest import SAMPLES, Served, Visitor
from verifier.case.reading import parse_case

CASE = (SAMPLES / "cases" / "quay-street-loaner-7.yaml").read_text(encoding="utf-8")
LOG = (SAMPLES / "logs" / "quay-street-loaner-7.csv").read_bytes()
PLACE = "/packs/a.yaml/logs"


def dropped(page: Served, case: str = CASE) -> tuple[Visitor, Path]:
    path = page.write("a.yaml", case)
    visitor = page.visitor()
    assert visitor.send_file(PLACE, "../My tester.csv", LOG).status == 303
    return visitor, path


def kept(page: Served) -> list[Path]:
    return [each for each in (page.cases / "logs").rglob("*") if each.is_file()]


def log_of(page: Served) -> str:
    """Return the address of the one log that is kept."""
    [folder] = {each.parent.name for each in kept(page)}
    return f"{PLACE}/{folder}"


def observed(path: Path) -> dict[str, object]:
    found: dict[str, object] = parse_case(path.read_text(encoding="utf-8"), path.name).data["observed"]
    return found


def test_a_log_stands_with_its_pack(page: Served) -> None:
    """Otherwise the result is gone once the view is left. Values: by hand from the sample's log."""
    visitor, _ = dropped(page)
    text = visitor.get(PLACE).text
    assert "My tester.csv" in text
    assert "../" not in text.partition("<main")[2]
    assert "Delivered 11.6 Ah" in text
    # Of the claims: 14 Ah were claimed, and the pack was emptied from full.
    assert "does not hold" in text
    assert "not as advertised" in text.lower()
    for kind in ("voltage", "temperature", "groups"):
        drawn = visitor.get(f"{log_of(page)}/0-{kind}.svg")
        assert drawn.headers["content-type"] == "image/svg+xml"
        assert "<svg" in drawn.text
    assert visitor.get(f"{log_of(page)}/1-voltage.svg").status == 404
    assert visitor.get(f"{log_of(page)}/0-other.svg").status == 404
    report = visitor.get(f"{log_of(page)}/report.html")
    assert "Against the claims" in report.text
    assert "sandbox" in report.headers["content-security-policy"]


def test_its_evidence_is_taken_into_the_case(page: Served) -> None:
    """Otherwise somebody types over from a picture. Source: what 'log --case --write' writes of the same files."""
    visitor, path = dropped(page)
    assert "observed" in parse_case(CASE, "case").data
    assert visitor.post(f"{log_of(page)}/take", {}).status == 303
    found = observed(path)
    # 7 A until the BMS opened at 32.35 V (in the log's last rows under load), the room at 22 C.
    assert found["capacity_current_a"] == 7
    assert found["capacity_cutoff_v"] == 32.35
    assert found["capacity_temperature_c"] == 22
    assert found["capacity_ah"] == pytest.approx(11.59, abs=0.01)
    assert "# The bench lends this pack out" in path.read_text(encoding="utf-8")
    assert "The case holds it" in visitor.get(PLACE).text
    visitor.post("/packs/a.yaml/undo", {"step": "logs"})
    assert "capacity_ah" not in observed(path)


def test_other_values_are_not_written_over_unasked(page: Served) -> None:
    """Otherwise a log of another day replaces a measurement in silence. Rule: neither side's work is lost."""
    visitor, path = dropped(page, CASE.replace("  parallel: 4\n", "  parallel: 4\n  capacity_ah: 12\n"))
    text = visitor.get(PLACE).text
    assert "The case holds other values" in text
    [seen] = visitor.get(PLACE).values("seen")
    assert visitor.post(f"{log_of(page)}/take", {"seen": seen}).status == 422
    assert observed(path)["capacity_ah"] == 12
    # What was changed after it was looked at is not written over either.
    path.write_text(
        path.read_text(encoding="utf-8").replace("capacity_ah: 12", "capacity_ah: 13"), encoding="utf-8"
    )
    assert visitor.post(f"{log_of(page)}/take", {"seen": seen, "over": "yes"}).status == 422
    assert observed(path)["capacity_ah"] == 13
    [seen] = visitor.get(PLACE).values("seen")
    assert visitor.post(f"{log_of(page)}/take", {"seen": seen, "over": "yes"}).status == 303
    assert observed(path)["capacity_ah"] == pytest.approx(11.59, abs=0.01)


def test_a_log_of_another_pack_is_refused_and_not_kept(page: Served) -> None:
    """Otherwise a good pack's log vouches for a bad one. Rule: refuse_other_pack, as on the command line."""
    page.write(
        "a.yaml",
        CASE.replace("series: 10", "series: 13").replace("nominal_voltage_v: 36", "nominal_voltage_v: 48"),
    )
    answer = page.visitor().send_file(PLACE, "x.csv", LOG)
    assert answer.status == 422
    assert "x.csv" in answer.text
    assert "packclaim-" not in answer.text
    assert not kept(page)


def test_a_case_that_is_changed_later_is_told_of_at_its_log(page: Served) -> None:
    """Otherwise a verdict of a log stands although it is of another pack by now. Rule: nothing is said of old facts."""
    visitor, _ = dropped(page)
    visitor.change("a.yaml", "pack", observed__series="13")
    text = visitor.get(PLACE).text
    assert "Delivered" not in text
    assert "13 in series" in text
    assert visitor.get(f"{log_of(page)}/report.html").status == 422


def test_a_log_that_proves_no_capacity_says_why(page: Served) -> None:
    """Otherwise half a discharge is written as the pack's capacity. Source: a whole discharge, IEC 61960-3."""
    page.write("a.yaml", CASE)
    visitor = page.visitor()
    lines = LOG.decode().splitlines(keepends=True)
    assert visitor.send_file(PLACE, "half.csv", "".join(lines[:160]).encode()).status == 303
    text = visitor.get(PLACE).text
    assert "It gives no measured capacity" in text
    assert "Take it into the case" not in text
    assert visitor.post(f"{log_of(page)}/take", {}).status == 422


def test_a_log_is_deleted(page: Served) -> None:
    """Otherwise the folder fills with files that nobody can get rid of. Rule: what is taken in can be taken out."""
    visitor, _ = dropped(page)
    assert visitor.post(f"{log_of(page)}/remove", {}).status == 303
    assert not kept(page)
    assert "My tester" not in visitor.get(PLACE).text


def test_a_log_alone_is_read_too(page: Served) -> None:
    """Otherwise somebody without a case cannot look at a log. Rule: the log command needs no case."""
    visitor = page.visitor()
    answer = visitor.send_file("/logs", "x.csv", LOG, {"pack": ""})
    place = answer.headers["location"]
    assert "Delivered 11.6 Ah" in visitor.get(place).text
    assert visitor.get(f"{place}/0-voltage.svg").status == 200
    assert "Delivered" in visitor.get(f"{place}/report.html").text


def test_a_log_with_a_pack_goes_to_that_pack(page: Served) -> None:
    """Otherwise what it says of the claims is not kept with the pack. Rule: part of the case."""
    page.write("a.yaml", CASE)
    answer = page.visitor().send_file("/logs", "x.csv", LOG, {"pack": "a.yaml"})
    assert answer.headers["location"] == PLACE


@pytest.mark.parametrize("language", ["de", "zh"])
def test_what_the_page_says_of_a_log_is_in_the_reader_s_language(page: Served, language: str) -> None:
    """Otherwise the view is English for whoever does not read it. Rule: German and Chinese complete."""
    visitor, _ = dropped(page)
    visitor.get(f"/language/{language}")
    text = visitor.get(PLACE).text
    said = {"de": ("Abgegeben: 11,6 Ah", "Kapazität", "In den Fall übernehmen"), "zh": ("放出", "写入案例")}
    for each in said[language]:
        assert each in text
    assert "by this test" not in text
    drawn = visitor.get(f"{log_of(page)}/0-groups.svg").text
    assert {"de": "Gruppe 7", "zh": "第 7 串"}[language] in drawn
    assert "group 7<" not in drawn


@pytest.mark.parametrize("log", ["..", "%2e%2e", "..%2f..%2fa.yaml", "about.json", "x"])
def test_a_log_s_name_is_never_a_path(page: Served, log: str) -> None:
    """Otherwise an address deletes or shows any folder. Source: path traversal, CWE-22."""
    visitor, path = dropped(page)
    for place in (f"{PLACE}/{log}/remove", f"{PLACE}/{log}/take"):
        assert visitor.post(place, {}).status in (404, 422, 405)
    assert visitor.get(f"{PLACE}/{log}/report.html").status in (404, 422)
    assert path.exists()
    assert len(kept(page)) == 2


@pytest.mark.parametrize("data", [b"", b"no,log\nhere,at all\n", b"PK\x03\x04", b"\x00" * 100])
def test_what_is_no_log_is_refused(page: Served, data: bytes) -> None:
    """Otherwise a picture or a letter ends the page. Rule: typed errors, one line."""
    answer = page.visitor().send_file("/logs", "x.csv", data)
    assert answer.status == 422
    assert "Traceback" not in answer.text


def two_channels() -> bytes:
    """Return the sample's log and one of half its current, as the two channels of one instrument."""
    lines = ["Channel,time_s,voltage_v,current_a"]
    for n in range(600):
        amps = 0.0 if n < 30 or n > 570 else 5.0
        volts = 41.9 - (0.4 + 0.018 * max(n - 30, 0)) * (amps > 0) - 8.0 * (n > 570)
        lines += [f"CH1,{10 * n},{volts:.3f},{amps:.3f}", f"CH2,{10 * n},{volts:.3f},{amps / 2:.3f}"]
    return ("\n".join(lines) + "\n").encode()


def test_one_of_several_channels_is_read(page: Served) -> None:
    """A log of two packs can only be read at the terminal. Truth: 5 A over 541 rows of 10 s."""
    visitor = page.visitor()
    assert "CH1, CH2" in visitor.send_file("/logs", "x.csv", two_channels(), {"pack": ""}).text
    answer = visitor.send_file("/logs", "x.csv", two_channels(), {"pack": "", "channel": "CH2"})
    assert "Delivered 3.76 Ah" in visitor.get(answer.headers["location"]).text
    page.write("a.yaml", CASE)
    assert visitor.send_file(PLACE, "x.csv", two_channels(), {"channel": "CH1"}).status == 303
    assert "Delivered 7.51 Ah" in visitor.get(PLACE).text
    assert 'name="channel"' in visitor.get("/logs").text
