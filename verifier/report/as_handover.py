"""The hand-over sheet: one page for whoever takes the pack away, with the job, the answer, pictures and photos."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from math import ceil
from pathlib import Path
from unicodedata import east_asian_width

from verifier.case.fields import case_fields
from verifier.case_report import Report
from verifier.pack.use_at_most import UseAtMost
from verifier.report import in_use, pictures
from verifier.report.as_html import page
from verifier.report.html import answer
from verifier.report.html.markup import Markup, given, join, spoken, table, tag
from verifier.report.html.markup import text as escaped
from verifier.report.opening import lines, particulars, stage_text
from verifier.report.opening_texts import ALARM, ANSWER, Line, Maker
from verifier.report.photos import embedded
from verifier.report.pictures import Picture
from verifier.words import (
    ENGLISH,
    InEnglish,
    Lacking,
    Language,
    amount,
    element_name,
    in_language,
    span,
    temperatures,
)

# One page has room for so much; the report holds the rest.
_MOST_OF_A_LABEL = 3
# What a person wrote is bounded; what the program says of the condition is a line.
_LONGEST_OF = {"notes": 300, "condition": 150}
_LONGEST_TITLE = 90
LONGEST_LINE = 150
_WIDEST_ROW = 95
"""Letters on a printed row, of which a Chinese one takes two."""
_ROWS, _ROWS_OF_PHOTOS, _ROWS_OF_PICTURES = 40, 9, 8
"""Printed rows that a page leaves to the opening, and how many fewer beside photos and pictures."""
_SHORTER = (10_000, 600, 400, 280, 200, LONGEST_LINE)
"""What a line is cut to, one after another, until everything fits."""
# What the answer is about, in the order in which a listing says it.
_CLAIMED = ("nominal_voltage_v", "capacity_ah", "energy_wh", "continuous_current_a", "mass_kg")
HANDOVER = {
    "title": "{pack}: hand-over sheet",
    "titles": "{count} hand-over sheets",
    "kicker": "Hand-over sheet: {stage}",
    "path": "What each part carries",
    "temperatures": "By temperature",
    "photo": "Photo {place} of the pack",
    "alarms_left": "{alarm} (and {more} more)",
    "use_for": "What to use it for",
    "capacity_unknown": "not known",
    "charger_unknown": "not known: ask before charging",
    "air": "air",
    "draw": "draw at most",
    "motor": "motor of at most",
    "limit": "limited by",
    "caution": (
        "Arithmetic on stated figures: no replacement for a test, local rules or licensed practice. Lithium packs "
        "burn; a supported figure does not show that a pack is safe, genuine or undamaged. Made with packclaim."
    ),
}


def _say(code: str, language: Language, **slots: str) -> str:
    return in_language(lambda spoken: spoken.text("handover", code, HANDOVER).format_map(slots), language)


def render(
    reports: Sequence[Report],
    folders: Sequence[Path],
    *,
    shop: str | None = None,
    logo: str | None = None,
    language: Language = ENGLISH,
    today: date | None = None,
) -> str:
    """Return one page of paper a report.

    Parameters
    ----------
    reports, folders
        The reports, and for each the folder in which its photos lie.
    shop, logo
        Who hands the pack over: a name, and a few letters to stand beside it.
    language
        In which the page is written.
    today
        Printed as its date where the case has none.

    Raises
    ------
    UnreadableInput
        If a photo cannot be shown.
    """
    sheets = [
        _sheet(report, folder, number, _letterhead(shop, logo), language, today)
        for number, (report, folder) in enumerate(zip(reports, folders, strict=True), 1)
    ]
    code = "title" if len(reports) == 1 else "titles"
    title = _say(code, language, pack=reports[0].title if reports else "", count=str(len(reports)))
    return page(title, *sheets, styles=("style.css", "handover.css"), foot=False, lang=language.code)


def cut(text: str, most: int) -> str:
    """Return a text of at most so many letters, a longer one with an ellipsis."""
    if len(text) <= most:
        return text
    shorter = f"{text[: most - 1].rstrip()}…"
    return InEnglish(shorter) if isinstance(text, InEnglish) else shorter


def _letterhead(shop: str | None, logo: str | None) -> Markup:
    told = [tag("span", given(text), class_=kind) for text, kind in ((logo, "logo"), (shop, "shop")) if text]
    return tag("p", *told, class_="letterhead") if told else Markup("")


def _sheet(
    report: Report, folder: Path, number: int, letterhead: Markup, language: Language, today: date | None
) -> Markup:
    current = report.finding("continuous_current")
    name = f"h{number}"
    use = report.answer.use_at_most
    drawn = (
        _drawn(lambda spoken: pictures.path(current, f"{name}-path", spoken), "path", language),
        _drawn(
            lambda spoken: pictures.temperatures(current, report.temperature_c, f"{name}-bands", use, spoken),
            "temperatures",
            language,
        ),
    )
    # Of a listing, of which nothing was seen, a bar beside parts that nobody knows compares nothing.
    known = sum(bool(each.supported.known) for each in current.elements)
    compared = known > (1 if report.stage == "listed" else 0)
    shown = [each for each in (drawn if compared else drawn[1:]) if each]
    photos = [
        Markup(f'<img src="{address}" alt="{escaped(_say("photo", language, place=str(place)))}"/>')
        for place, address in enumerate(embedded(report.case.case.photos, folder), 1)
    ]
    stage = stage_text(report, language)
    return tag(
        "article",
        letterhead,
        tag("p", spoken(_say("kicker", language, stage=stage)), class_="kicker"),
        tag("h1" if number == 1 else "h2", given(cut(report.title, _LONGEST_TITLE)), class_="title"),
        _particulars(report, language, today),
        _answer(report, language, _room(photos=bool(photos), pictures=bool(shown))),
        _use(report, language),
        tag("div", *shown, class_="pictures") if shown else "",
        tag("div", *photos, class_="photos") if photos else "",
        tag("p", spoken(_say("caution", language)), class_="caution"),
        class_="handover alarmed" if report.answer.alarms else "handover",
    )


def _drawn(make: Callable[[Language], Picture | None], caption: str, language: Language) -> Markup:
    """Return a picture with what it shows, or nothing; one that the language lacks words for stands in English."""
    try:
        picture, attributes = make(language), {}
    except Lacking:
        picture, attributes, language = make(ENGLISH), {"lang": ENGLISH.code}, ENGLISH
    if picture is None:
        return Markup("")
    return tag(
        "figure", Markup(picture.svg), tag("figcaption", spoken(_say(caption, language))), **attributes
    )


def _room(*, photos: bool, pictures: bool) -> int:
    return _ROWS - _ROWS_OF_PHOTOS * photos - _ROWS_OF_PICTURES * pictures


def _particulars(report: Report, language: Language, today: date | None) -> Markup:
    told = [(label, cut(text, _LONGEST_OF.get(label, 60))) for label, text in particulars(report, language)]
    if today is not None and report.case.case.date is None:
        told.append(("date", today.isoformat()))
    claimed = in_language(partial(_claimed, report), language)
    if claimed:
        told.append(("claimed", cut(claimed, LONGEST_LINE)))
    return answer.definitions(told, language) if told else Markup("")


def _claimed(report: Report, language: Language) -> str:
    """Return what the seller claims of the pack, as far as it says what the answer is about."""
    claim = report.case.claim
    fields = case_fields()
    found = [
        span(stated, fields[f"claim.{name}"].unit, language)
        for name in _CLAIMED
        if (stated := getattr(claim, name)) is not None
    ]
    if claim.series is not None and claim.parallel is not None:
        found.append(f"{span(claim.series, '', language)}S{span(claim.parallel, '', language)}P")
    found += [claim.cell_marking] if claim.cell_marking else []
    if claim.price is not None:
        found.append(span(claim.price, claim.currency if claim.currency else "", language).strip())
    return ", ".join(found)


def _answer(report: Report, language: Language, room: int) -> Markup:
    every = lines(report, language)
    alarms = [text for label, text in every if label == ALARM]
    told = _without(every, (ALARM, ANSWER, "use at most"))
    longest = next((each for each in _SHORTER if _rows(alarms, told, each) <= room), LONGEST_LINE)
    shown = [cut(each, longest) for each in alarms[:_MOST_OF_A_LABEL]]
    if len(alarms) > len(shown):
        spoken_in = ENGLISH if isinstance(shown[-1], InEnglish) else language
        left = _say("alarms_left", spoken_in, alarm=shown[-1], more=str(len(alarms) - len(shown)))
        shown[-1] = InEnglish(left) if isinstance(shown[-1], InEnglish) else left
    return join(
        answer.alarm_box(shown, language),
        answer.box(report, answer.definitions(_short(told, longest), language), language),
    )


def _rows(alarms: Sequence[str], told: Sequence[Line], longest: int) -> int:
    """Return how many printed rows the alarms and the opening take, each line cut to so many letters."""
    texts = [*alarms[:_MOST_OF_A_LABEL], *(text for _, text in _short(told, longest))]
    return sum(ceil(_width(cut(each, longest)) / _WIDEST_ROW) for each in texts)


def _width(text: str) -> int:
    return sum(2 if east_asian_width(each) in "WF" else 1 for each in text)


def _without(told: Sequence[Line], labels: Sequence[str]) -> list[Line]:
    """Return the opening without these labels, nor what goes on under them."""
    found: list[Line] = []
    left_out = False
    for label, text in told:
        left_out = label in labels if label else left_out
        if not left_out:
            found.append((label, text))
    return found


def _short(told: Sequence[Line], longest: int) -> list[Line]:
    """Return the opening with at most three lines under each label, none of them longer than so many letters."""
    found: list[Line] = []
    under = 0
    for label, text in told:
        under = 1 if label else under + 1
        if under <= _MOST_OF_A_LABEL:
            found.append((label, cut(text, longest)))
    return found


def _use(report: Report, language: Language) -> Markup:
    few = in_use.few(report.answer.use_at_most, _MOST_OF_A_LABEL)
    rows = [tuple(spoken(in_language(make, language)) for make in _use_row(each)) for each in few]
    header = [_say(code, language) for code in ("air", "draw", "motor", "limit")]
    facts = [
        ("capacity", _fact(in_use.measured, "capacity", report, language)),
        ("charger", _fact(in_use.charging, "charger", report, language)),
    ]
    caption = spoken(_say("use_for", language))
    return join(table(caption, header, rows) if rows else "", answer.definitions(facts, language))


def _fact(make: Callable[[Report, Language], str], name: str, report: Report, language: Language) -> str:
    """Return a fact as it stands beside its name, which what is said of an unknown one need not repeat."""
    told = in_language(partial(make, report), language)
    unknown = in_language(partial(in_use.not_known, name), language)
    return _say(f"{name}_unknown", language) if told == unknown else told


def _use_row(use: UseAtMost) -> tuple[Maker, ...]:
    """Return air, current, motor and what limits."""
    return (
        lambda language: temperatures(use.low_c, use.high_c, language),
        lambda language: amount(use.continuous_a, "A", language),
        lambda language: "-" if use.motor_w is None else amount(use.motor_w, "W", language),
        lambda language: element_name(use.limited_by, language),
    )
