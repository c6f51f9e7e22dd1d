"""Readings as one HTML page: what was delivered, pictures, what it proves, and where every figure is from."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from verifier.case.model import Case
from verifier.discharge_log import pictures
from verifier.discharge_log.against_claims import ClaimTested, current_words
from verifier.discharge_log.as_text import (
    amount,
    claim_words,
    delivered_lines,
    ended_words,
    group_mohm_words,
    left_words,
    method_words,
    mohm_heading,
    mohm_words,
    pulse_lines,
    rest_lines,
    seconds_words,
    step_words,
)
from verifier.discharge_log.expected import Band, expected_band
from verifier.discharge_log.model import Flow, LogReading
from verifier.discharge_log.remarks import NO_DISCHARGE, intermittent_words
from verifier.discharge_log.same_pack import chemistries_of, series_of
from verifier.report.as_html import page
from verifier.report.html.answer import definitions
from verifier.report.html.markup import Content, Markup, bullets, given, table, tag
from verifier.report.html.shapes import marked
from verifier.report.layout import counted
from verifier.report.pictures import Picture
from verifier.words import ENGLISH, Language, digits, figure_name, span

PICTURES = ("voltage", "temperature", "groups")
"""The pictures of a discharge: voltage and groups over what was delivered, temperatures over time."""
_MOST_DRAWN = 6


def render(
    readings: Sequence[LogReading], tested: Sequence[Sequence[ClaimTested]] | None, case: Case | None
) -> str:
    """Return one page with every reading; `tested` holds what each says of the case's claims."""
    names = [_name(each) for each in readings]
    title = f"{names[0]}: discharge log" if len(names) == 1 else f"{len(names)} discharge logs"
    articles = [
        _article(reading, tested[number] if tested is not None else None, case, number + 1)
        for number, reading in enumerate(readings)
    ]
    return page(title, *articles, _foot(), foot=False)


def _foot() -> Markup:
    words = "Written by packclaim from what was logged; what it had to guess stands under Remarks."
    return tag("footer", tag("p", f"{words} This page fetches and runs nothing."))


def _name(reading: LogReading) -> str:
    return Path(reading.file).name


def _article(
    reading: LogReading, tested: Sequence[ClaimTested] | None, case: Case | None, number: int
) -> Markup:
    said: set[str] = set()
    return tag(
        "article",
        tag("p", *_of_which(case), class_="kicker"),
        tag("h1", given(_name(reading)), class_="title"),
        _answer(reading, tested),
        _particulars(case),
        *(
            _discharge(each, reading, case, f"log{number}-{place}", said)
            for place, each in enumerate(reading.discharges[:_MOST_DRAWN], 1)
        ),
        _claims(tested),
        _charges(reading),
        _resistance(reading),
        _groups(reading),
        _lines("At rest", rest_lines(reading)),
        _lines("Pulses", pulse_lines(reading)),
        _remarks(reading),
        _columns(reading),
        id=f"log-{number}",
    )


def _of_which(case: Case | None) -> list[Content]:
    return ["Discharge log"] if case is None else ["Discharge log of ", given(case.case.title)]


def _particulars(case: Case | None) -> Content:
    """Return for whom and by whom, as far as the case says so."""
    if case is None:
        return ""
    names = ("job", "customer", "date", "by", "notes")
    told = [(name, str(value)) for name in names if (value := getattr(case.case, name)) is not None]
    return definitions(told) if told else ""


def _lines(title: str, lines: Sequence[str]) -> Content:
    return tag("section", tag("h2", title, class_="part"), bullets(lines)) if lines else ""


def _answer(reading: LogReading, tested: Sequence[ClaimTested] | None) -> Markup:
    judged = [claim_words(each) for each in tested or () if each.claimed is not None]
    claims = bullets(f"{each[:1].upper()}{each[1:]}" for each in judged) if judged else ""
    if not reading.discharges:
        words = next((each for each in reading.remarks if each.startswith(NO_DISCHARGE)), NO_DISCHARGE)
        said = tag("p", f"{words[:1].upper()}{words[1:]}", class_="headline")
        return tag("section", said, claims, class_="answer open")
    most = max(reading.discharges, key=lambda each: each.ah)
    headline = f"Delivered {digits(most.ah)} Ah, {digits(most.wh)} Wh at {current_words(most).rstrip(',')}"
    # What keeps a reader from taking the figure for what it is not stands above it.
    warned = (tag("p", tag("strong", f"{each[:1].upper()}{each[1:]}.")) for each in reading.warnings)
    return tag(
        "section",
        *warned,
        tag("p", headline, class_="headline"),
        tag(
            "p",
            f"{amount(most.ah, most.ah_bounds, 'Ah')}; {amount(most.wh, most.wh_bounds, 'Wh')}. "
            f"Ended by: {ended_words(most)} ({most.ended_how}).",
        ),
        *(tag("p", f"{each[:1].upper()}{each[1:]}.") for each in filter(None, [intermittent_words(most)])),
        claims,
        tag(
            "p",
            f"{f'Logged from {reading.begun}; ' if reading.begun else ''}"
            f"{counted(reading.rows, 'row')} over {digits(reading.hours)} h; "
            f"{counted(len(reading.discharges), 'discharge')}, {counted(len(reading.charges), 'charge')}.",
        ),
        class_="answer",
    )


def _discharge(flow: Flow, reading: LogReading, case: Case | None, name: str, said: set[str]) -> Markup:
    drawn = (picture_of(kind, flow, reading, case, f"{name}-{kind}") for kind in PICTURES)
    return tag(
        "section",
        tag("h2", f"{digits(flow.ah)} Ah at {current_words(flow).rstrip(',')}", class_="part"),
        *(_figure(each) for each in drawn if each is not None),
        bullets(delivered_lines(flow, said)),
    )


def picture_of(
    kind: str, flow: Flow, reading: LogReading, case: Case | None, name: str, language: Language = ENGLISH
) -> Picture | None:
    """Return one of the `PICTURES` of a discharge, None where the log has nothing to draw for it."""
    if kind == "voltage":
        return pictures.voltage(flow, _band(flow, case), name, language)
    if kind == "temperature":
        return pictures.temperature(flow, pictures.temperature_headings(reading), name, language)
    return pictures.groups(flow, name, language)


def _band(flow: Flow, case: Case | None) -> Band | None:
    """Return the band of the pack as claimed; None where its count, capacity or chemistry is not known."""
    series = series_of(case) if case is not None else None
    if case is None or series is None or not series.exact or case.claim.capacity_ah is None:
        return None
    kinds = tuple(each.name for each in chemistries_of(case))
    return expected_band(series.low, case.claim.capacity_ah.low, flow.current_a, kinds)


def _figure(drawn: Picture) -> Markup:
    return tag("figure", Markup(drawn.svg), tag("figcaption", drawn.words))


def _claims(tested: Sequence[ClaimTested] | None) -> Content:
    if not tested:
        return ""
    rows = [
        (
            figure_name(each.figure),
            span(each.claimed, each.unit) if each.claimed is not None else "-",
            marked(each.verdict),
            each.proves,
            bullets(each.does_not_prove) if each.does_not_prove else "-",
        )
        for each in tested
    ]
    return tag(
        "section",
        tag("h2", "Against the claims", class_="part"),
        table(
            "Evidence: own test, under its conditions and no others",
            ("figure", "claimed", "by this test", "proves", "does not prove"),
            rows,
        ),
    )


def _charges(reading: LogReading) -> Content:
    if not reading.charges:
        return ""
    rows = [
        (
            f"{digits(each.ah)} Ah",
            f"{digits(each.minutes / 60)} h",
            f"{digits(each.peak_a)} A",
            f"{digits(each.start_v)} to {digits(each.end_v)} V",
            each.ended_how,
        )
        for each in reading.charges
    ]
    return tag(
        "section",
        tag("h2", "Charges", class_="part"),
        table("", ("charged", "in", "at up to", "voltage", "ended"), rows),
    )


def _resistance(reading: LogReading) -> Content:
    if not reading.resistance:
        return ""
    rows = [
        (
            f"{mohm_words(each)} mohm",
            f"{seconds_words(each)} s",
            f"{step_words(each)} A",
            f"{digits(each.at_ah)} Ah",
            method_words(each),
        )
        for each in reading.resistance[:40]
    ]
    return tag(
        "section", tag("h2", "DC resistance", class_="part"),
        table(
            "From steps of the current; resistance grows with the seconds",
            ("resistance", "after", "step", "at", "how"),
            rows,
        ),
    )  # fmt: skip


def _groups(reading: LogReading) -> Content:
    if not reading.groups:
        return ""
    rows = [
        (
            str(each.group), f"{each.start_v:.3f} V", f"{each.end_v:.3f} V", f"{-each.below_mean_mv:+.0f} mV",
            left_words(each), group_mohm_words(each),
        )
        for each in reading.groups
    ]  # fmt: skip
    marks = [each.ends_first for each in reading.groups]
    return tag(
        "section", tag("h2", "Groups", class_="part"),
        table(
            f"Over {'the longest discharge' if reading.discharges else 'the log'}",
            ("group", "first", "last", "to the mean", "would have given more", mohm_heading(reading)),
            rows,
            marks,
        ),
    )  # fmt: skip


def _remarks(reading: LogReading) -> Content:
    if not reading.remarks:
        return ""
    return tag(
        "section", tag("h2", "Remarks", class_="part"), bullets(given(each) for each in reading.remarks)
    )


def _columns(reading: LogReading) -> Markup:
    rows = [
        (str(each.number), given(each.heading or "-"), each.read_as, each.unit or "-", each.told_by)
        for each in reading.columns
    ]
    return tag(
        "section",
        tag("h2", "Columns", class_="part"),
        table("How the file was read", ("column", "heading", "read as", "unit", "told by"), rows),
    )
