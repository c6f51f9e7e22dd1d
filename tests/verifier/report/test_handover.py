"""The hand-over sheet and the label: the job, what is granted, photos without their secrets, one page of paper."""

from __future__ import annotations

import base64
import io
import re
import shutil
import subprocess
from datetime import date
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image

from registry.errors import PlacedError
from verifier.case_report import Report
from verifier.pack.use_at_most import UseAtMost
from verifier.report import as_handover, as_html, as_label, in_use
from verifier.report.opening import lines
from verifier.report.opening_texts import ANSWER
from verifier.report.photos import MOST_PHOTOS, SIDE_PX, embedded

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
in_a_browser = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium (Debian package chromium)")
MM_PER_POINT = 25.4 / 72


def picture(path: Path, size: tuple[int, int] = (40, 30), **saving: Any) -> Path:
    """Write a picture of one colour."""
    Image.new("RGB", size, (200, 90, 10)).save(path, **saving)
    return path


def with_secrets() -> Image.Exif:
    """Return what a phone writes beside a picture: who took it, where, and that it lies on its side."""
    secrets = Image.Exif()
    secrets[0x010E] = "SECRET description"
    secrets[0x0112] = 6  # to be turned by a quarter (Exif 2.3, Orientation)
    secrets.get_ifd(0x8825)[1] = "N"  # of the place
    return secrets


def shown(page: str) -> str:
    """Return the text of a page's body on one line."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page.partition("<body>")[2])).split())


def sheet(report: Report, folder: Path | None = None) -> str:
    return as_handover.render([report], [folder or Path()])


# Photos -------------------------------------------------------------------------------------------------


def test_a_photo_is_drawn_anew_small_upright_and_without_its_secrets(tmp_path: Path) -> None:
    """A customer would be handed where and when the photo was taken. Source: Exif 2.3, GPS and Orientation."""
    picture(tmp_path / "a.jpg", (3000, 2000), exif=with_secrets(), comment=b"SECRET comment")
    assert b"SECRET" in (tmp_path / "a.jpg").read_bytes()
    (address,) = embedded(["a.jpg"], tmp_path)
    data = base64.b64decode(address.removeprefix("data:image/jpeg;base64,"))
    assert b"SECRET" not in data
    with Image.open(io.BytesIO(data)) as found:
        assert dict(found.getexif()) == {}
        assert found.info.get("comment") is None
        assert found.size == (600, 900), "turned upright, and no side longer than allowed"
        assert max(found.size) == SIDE_PX


@pytest.mark.parametrize("name", ["a.png", "a.webp", "a.jpg"])
def test_photos_of_the_usual_kinds_are_taken(tmp_path: Path, name: str) -> None:
    """A photo would be refused for its ending."""
    picture(tmp_path / name)
    assert embedded([name], tmp_path)[0].startswith("data:image/jpeg;base64,")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("missing.jpg", "cannot be read"),
        ("text.jpg", "is no JPEG, PNG or WebP picture"),
        ("cut.jpg", "is no JPEG, PNG or WebP picture"),
        ("drawing.gif", "is no JPEG, PNG or WebP picture"),
        ("../outside.jpg", "is outside the case's folder"),
        ("link.jpg", "is outside the case's folder"),
        ("folder", "cannot be read"),
        ("nul\0.jpg", "cannot be read"),
    ],
)
def test_what_is_no_photo_of_the_case_is_refused_in_one_line(tmp_path: Path, name: str, said: str) -> None:
    """A case from a stranger would put a private picture, or a traceback, into what is handed on."""
    inside = tmp_path / "case"
    (inside / "folder").mkdir(parents=True)
    picture(tmp_path / "outside.jpg")
    (inside / "link.jpg").symlink_to(tmp_path / "outside.jpg")
    (inside / "text.jpg").write_text("no picture", encoding="utf-8")
    picture(inside / "whole.jpg", (400, 400))
    (inside / "cut.jpg").write_bytes((inside / "whole.jpg").read_bytes()[:300])
    picture(inside / "drawing.gif")
    with pytest.raises(PlacedError, match=re.escape(said)) as told:
        embedded([name], inside)
    assert "\n" not in str(told.value)


def test_too_many_and_too_large_photos_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder of photos would make a page that no mail takes."""
    from verifier.report import photos

    picture(tmp_path / "a.jpg")
    with pytest.raises(PlacedError, match="a sheet has room for 4"):
        embedded(["a.jpg"] * (MOST_PHOTOS + 1), tmp_path)
    monkeypatch.setattr(photos, "MOST_PIXELS", 40 * 30 - 1)
    with pytest.raises(PlacedError, match="million pixels"):
        embedded(["a.jpg"], tmp_path)
    monkeypatch.setattr(photos, "MOST_BYTES", 100)
    with pytest.raises(PlacedError, match="is larger than"):
        embedded(["a.jpg"], tmp_path)


# What stands on sheet and label ---------------------------------------------------------------------------


def test_the_sheet_holds_the_job_the_answer_pictures_and_photos(bench: Bench, tmp_path: Path) -> None:
    """The customer would not know whose pack it is, or what it may be used for."""
    picture(tmp_path / "a.jpg")
    given = {"job": "HC-2291", "customer": "Anna Brackwater", "by": "Bench 2", "notes": "New leads."}
    data = bench.seen_through(**{f"case.{name}": value for name, value in given.items()})
    report = bench.judge(bench.changed(data, {"case.photos": ["a.jpg"], "case.date": "2026-03-04"}))
    page = sheet(report, tmp_path)
    text = shown(page)
    assert [
        value for value in (*given.values(), "2026-03-04", report.answer.sentence) if value not in text
    ] == []
    assert page.count("<figure>") == 2
    assert page.count("<img ") == 1
    (use,) = report.answer.use_at_most
    assert f"10 to 40 C {use.continuous_a:g} A {use.motor_w:g} W cells" in text
    assert "54.6 V" in text


def test_nothing_is_granted_on_sheet_and_label_under_an_alarm(eight: dict[str, Report]) -> None:
    """A label on a dead pack would say with what to charge it."""
    for kind in ("dead", "wrong charger"):
        report = eight[kind]
        assert "What to use it for" not in sheet(report)
        assert "do not charge until the alarm is dealt with" in shown(sheet(report))
        label = shown(as_label.render([report]))
        assert "DO NOT USE OR CHARGE" in label
        assert "at most" not in label
        assert "54.6" not in label


def test_nothing_is_granted_on_the_sellers_word(eight: dict[str, Report]) -> None:
    """A label would grant what only a listing says."""
    label = shown(as_label.render([eight["honest listing"]]))
    assert "draw: nothing is granted yet" in label
    assert "capacity not known" in label
    assert "charger not known" in label


def test_the_label_says_what_was_measured_the_limits_the_charger_and_the_date(bench: Bench) -> None:
    """Who picks the pack from a shelf would have to look for its report."""
    seen = {
        "case.date": "2026-03-04", "observed.capacity_ah": 10.6, "observed.capacity_current_a": 2,
        "observed.capacity_temperature_c": 22,
    }  # fmt: skip
    report = bench.judge(bench.seen_through(**seen))
    label = shown(as_label.render([report]))
    (use,) = report.answer.use_at_most
    assert "10.6 Ah measured (2 A, 22 C)" in label
    assert f"at most {use.continuous_a:g} A" in label
    assert "from 10 to 40 C" in label
    assert "54.6 V" in label
    assert "2026-03-04" in label


def test_a_label_keeps_its_caution_of_cold_where_no_current_is_granted(bench: Bench) -> None:
    """Lithium plates out on cells charged in the frost; the shed where the pack hangs has only the label to tell it."""
    charge = [{"low_c": 5, "high_c": 45, "max_a": 1.2}]
    cell = bench.cell("lyr-18650-26", {**bench.sheet(), "charge": charge})
    seen = {"use.charge_temperature_c": [-5, 20], "observed.charge_leads": None}
    assert "do not charge below 5 C" in shown(
        as_label.render([bench.judge(bench.seen_through(**seen), cell)])
    )


def test_no_line_of_a_label_is_cut(bench: Bench) -> None:
    """A shop would charge with any current, since the label ends before it says that none is known."""
    report = bench.judge(bench.seen_through(**{"observed.charge_leads": None}))
    assert "54.6 V; how many amperes at most is not known before the charge leads are seen" in shown(
        as_label.render([report])
    )


def test_charging_is_granted_with_reserve_and_from_where_on(bench: Bench) -> None:
    """A pack would be charged in frost. By hand: 2/3 of 1.3 A x 4 is 3.46 A, to the safe side 3.4 A."""
    charge = [{"low_c": 0, "high_c": 45, "max_a": 1.3}]
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=charge))
    leads = {"awg": 12, "conductor": "copper", "length_m": 0.3}
    report = bench.judge(bench.seen_through(**{"observed.charge_leads": leads}), cell)
    assert in_use.charging(report) == "54.6 V, at most 3.4 A, from 0 to 45 C"


def test_many_ranges_are_joined_to_the_least() -> None:
    """A label would leave out the cold range, or grant the warm one's current in it. By hand."""
    use = [
        UseAtMost(low, low + 10, amps, 10 * amps, "cells")
        for low, amps in ((-20, 2), (-10, 9), (0, 10), (10, 30))
    ]
    assert in_use.few(use, 3) == [use[0], UseAtMost(-10, 10, 9, 90, "cells"), use[3]]
    assert in_use.few(use, 4) == use
    apart = [use[0], use[2], UseAtMost(30, 40, 5, 50, "bms")]
    assert in_use.few(apart, 2) == [use[2], apart[2]], "ranges that do not touch grant nothing between them"


# Paper --------------------------------------------------------------------------------------------------


def printed(page: str, folder: Path, name: str, paper: str = "") -> Any:
    """Return the PDF that a browser prints of a page, opened."""
    import pdfplumber

    source, target = folder / f"{name}.html", folder / f"{name}.pdf"
    # What the printer's paper is where a page does not say.
    source.write_text(page.replace("</style>", f"{paper}</style>", 1), encoding="utf-8")
    assert CHROMIUM is not None
    command = [
        CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
        f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={target}", source.as_uri(),
    ]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return pdfplumber.open(target)


@pytest.fixture(scope="module")
def crowded(bench: Bench, tmp_path_factory: pytest.TempPathFactory) -> tuple[Report, Path]:
    """Return a pack of which too much is to be said: alarms, contradictions, long words, four tall photos."""
    folder = tmp_path_factory.mktemp("crowded")
    for name in "abcd":
        picture(folder / f"{name}.jpg", (900, 1600))
    words = "harbour cart " * 160
    changes = {
        "case.title": words[:1900], "case.job": "J" * 300, "case.customer": words[:500], "case.by": words[:500],
        "case.notes": words[:1900], "case.date": "2026-03-04", "case.condition": "used",
        "observed.charger.voltage_v": 67.2, "observed.fuse": {"fitted": False}, "observed.resting_voltage_v": 19,
        "observed.leads": {"awg": 22, "conductor": "copper", "length_m": 0.3}, "observed.mass_kg": 1,
        "claim.energy_wh": 2000, "observed.build.swollen": True, "observed.build.damaged": True,
        "claim.charge_hours": 1, "claim.charge_current_a": 1, "claim.cell_count": 60, "claim.power_w": 9000,
        "use.load_power_w": 5000, "use.temperature_c": [-20, 60],
    }  # fmt: skip
    data = bench.changed(bench.seen_through(**changes), {"case.photos": [f"{name}.jpg" for name in "abcd"]})
    return bench.judge(data), folder


@pytest.mark.long
@in_a_browser
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_the_sheet_is_one_page_of_paper(
    crowded: tuple[Report, Path], eight: dict[str, Report], tmp_path: Path, paper: str
) -> None:
    """The customer would be handed a sheet with its end on another one, or cut off. Rule: A4 and Letter."""
    report, folder = crowded
    assert len(report.answer.alarms) > 3
    for name, page in (("crowded", sheet(report, folder)), ("usual", sheet(eight["honest opened"]))):
        with printed(page, tmp_path, name, f"@page {{ size: {paper} }}") as found:
            assert len(found.pages) == 1, name
            text = " ".join((found.pages[0].extract_text() or "").split())
            assert text.endswith("Made with packclaim."), "the last words are not cut off"
            assert len(found.pages[0].images) == len(report.case.case.photos if name == "crowded" else ())


@pytest.mark.long
@in_a_browser
def test_a_sheet_a_pack(eight: dict[str, Report], tmp_path: Path) -> None:
    """Two packs' sheets would run into each other."""
    reports = [eight["honest opened"], eight["dead"], eight["lie"]]
    with printed(as_handover.render(reports, [tmp_path] * 3), tmp_path, "three") as found:
        assert len(found.pages) == 3
        for page, report in zip(found.pages, reports, strict=True):
            assert report.title in (page.extract_text() or "")


@pytest.mark.long
@in_a_browser
def test_a_label_is_60_by_40_mm_and_whole(
    crowded: tuple[Report, Path], eight: dict[str, Report], tmp_path: Path
) -> None:
    """The printer would shrink it, take a second label, or cut off the date."""
    for name, report in (("crowded", crowded[0]), ("usual", eight["honest opened"])):
        with printed(as_label.render([report]), tmp_path, name) as found:
            (page,) = found.pages
            assert (page.width * MM_PER_POINT, page.height * MM_PER_POINT) == pytest.approx((60, 40), abs=0.5)
            words = page.extract_words()
            assert max(each["bottom"] for each in words) * MM_PER_POINT < 40
            assert max(each["x1"] for each in words) * MM_PER_POINT < 60
            day = "2026-03-04" if name == "crowded" else "stated"
            assert any(each["text"].startswith(day) for each in words)


@pytest.mark.long
@in_a_browser
def test_a_long_report_prints_without_empty_pages_dead_boxes_and_lost_headings(
    eight: dict[str, Report], bench: Bench, tmp_path: Path
) -> None:
    """A printed report would begin with five words on a page, and end in boxes that nobody can open."""
    for name, report in (("used", eight["used"]), ("listing", eight["contradicting listing"])):
        with printed(as_html.render([report]), tmp_path, name) as found:
            texts = [(page.extract_text() or "").strip() for page in found.pages]
            assert all(len(text) > 150 for text in texts), [len(text) for text in texts]
            assert report.title in texts[0]
            assert report.answer.sentence.split(":")[0] in " ".join(texts[0].split())
            whole = "\n".join(texts)
            assert "How each figure was found" not in whole
            assert "Limits: every limit in force" not in whole
            for page in found.pages:
                headings = [each for each in page.extract_words(extra_attrs=["size"]) if each["size"] > 12]
                others = [each for each in page.extract_words(extra_attrs=["size"]) if each["size"] <= 12]
                lowest = max((each["bottom"] for each in others), default=0)
                assert all(each["bottom"] < lowest for each in headings), (
                    "a heading stands alone at a page's foot"
                )


def test_a_sheet_for_two_ranges_of_temperature_is_written(bench: Bench) -> None:
    """A sheet for a pack of two ranges ended in a fault. By hand: 0.5C below 5 C and 3C above are two."""
    report = bench.judge(bench.seen_through(**{"use.temperature_c": [-10, 40]}))
    assert len(report.answer.use_at_most) == 2
    text = shown(sheet(report))
    assert [f"{each.continuous_a:g} A" in text for each in report.answer.use_at_most] == [True, True]
    assert "limited by the" not in text, "the words of the opening, which the table stands for"


# What an outsider met -----------------------------------------------------------------------------------


def test_the_sheet_says_what_was_claimed_and_when(bench: Bench) -> None:
    """Nobody would see what the answer is about. Rule: the claims, and the day it was printed."""
    claim = {"nominal_voltage_v": 48, "capacity_ah": 12, "mass_kg": 3.1, "price": 195, "currency": "EUR"}
    report = bench.judge({"claim": claim | {"series": 13, "parallel": 4, "cell_marking": "PX21-48E"}})
    page = as_handover.render([report], [Path()], today=date(2026, 3, 4))
    assert "48 V, 12 Ah, 3.1 kg, 13S4P, PX21-48E, 195 EUR" in shown(page)
    assert "2026-03-04" in shown(page)
    dated = bench.judge({"claim": claim, "case": {"date": "2025-01-02"}})
    assert "2026-03-04" not in as_handover.render([dated], [Path()], today=date(2026, 3, 4))


def test_no_picture_compares_parts_of_which_nothing_is_known(bench: Bench) -> None:
    """Six empty bars would fill half of the page and say nothing. Rule: a picture shows what is known."""
    report = bench.judge({"claim": {"nominal_voltage_v": 48, "capacity_ah": 12, "continuous_current_a": 30}})
    assert "<figure" not in sheet(report)
    assert "capacity not known" in shown(sheet(report))
    assert "capacity capacity" not in shown(sheet(report))


def test_nothing_is_cut_while_there_is_room(bench: Bench, eight: dict[str, Report]) -> None:
    """A warning would end in the middle of what to do. Rule: cut only what finds no room on the page."""
    for report in eight.values():
        every = [text for label, text in lines(report) if label != ANSWER]
        if sum(-(-len(each) // 95) for each in every) <= 20:
            assert "…" not in shown(sheet(report)), report.title
    long = [("beware", "x" * 700)] * 3 + [("cells", "y" * 700)] * 9
    assert as_handover._rows([], long, 150) < as_handover._rows([], long, 10_000)
