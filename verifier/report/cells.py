"""Cells and sheets in plain words: a sheet figure by figure, and what differs between two records."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import reduce
from typing import NamedTuple

from registry.cell import (
    Capacity,
    Cell,
    DischargeBand,
    Figure,
    Form,
    Sheet,
    TemperatureRange,
)
from registry.designation import cell_designation
from registry.sheet_figures import FIELD_WORDS, FIGURES, SHEET_FIGURES, expected_of, figure_of
from verifier.report.layout import WIDTH, paragraph, printable
from verifier.words import ENGLISH, Language, evidence_name
from verifier.words.translated import in_readers_words

DECIDES = (
    "A check takes each figure from the sheets of the best evidence grade that state it, and of those the "
    "most cautious one."
)
LABEL_WIDTH = 24
CELL_LINES = {
    "in_band": "{value} at {band}",
    "and": "{first} and {then}",
    "of_sheet": "{values} (sheet {at})",
    "differs": "{label}: {said}",
    "against": "{first}, against {then}",
    "new": "{label}: {now} (new)",
    "taken_out": "{label}: {was} (taken out)",
    "changed": "{label}: {was} -> {now}",
    "on_sheet": "sheet {at}, {label}",
    "maker": "maker",
    "model": "model",
    "form": "form",
    "chemistry": "chemistry",
    "size": "size",
    "markings": "markings",
    "date codes": "date codes",
    "retired": "retired",
    "evidence": "evidence",
    "title": "title",
    "revision": "revision",
    "date": "date",
    "SHA-256 of the file": "SHA-256 of the file",
    "not stated": "not stated",
}
"""What is said of the sheets of a cell beside their figures, by code."""


class Line(NamedTuple):
    """One figure of a sheet.

    ``label`` is what it is called, ``band`` the temperatures it holds for, ``value`` the figure itself,
    ``conditions`` what else is said of it, and ``cited`` where it stands on the sheet.
    """

    label: str
    value: str
    conditions: str = ""
    band: str = ""
    cited: str = ""

    @property
    def name(self) -> str:
        """What the figure is called, with its band."""
        return f"{self.label}, {self.band}" if self.band else self.label

    @property
    def whole(self) -> str:
        """The value, its conditions and where it stands."""
        conditions = f"{self.value} {self.conditions}" if self.conditions else self.value
        return f"{conditions}; {self.cited}" if self.cited else conditions


def number(value: float) -> str:
    """Return a number without trailing zeros and without an exponent where one can be done without."""
    return f"{value:.10g}"


def span(low: float, high: float) -> str:
    """Return a temperature range in words, such as ``-20..60 C``."""
    return f"{number(low)} C" if low == high else f"{number(low)}..{number(high)} C"


def figure_lines(sheet: Sheet) -> Iterator[Line]:
    """Yield the figures of a sheet, one line each, in the order that sheets print them."""
    for field in FIGURES:
        yield from _FIELD_LINES.get(field, _single_number)(sheet, field)


def _capacities(sheet: Sheet, field: str) -> Iterator[Line]:
    for stated in sheet.capacity:
        words = figure_of(field, stated.kind).words
        yield _line(words, f"{number(stated.value_ah)} Ah", stated, _stated_at(stated))


def _pulses(sheet: Sheet, field: str) -> Iterator[Line]:
    for pulse in sheet.pulse:
        lasting = "with no duration stated" if pulse.seconds is None else f"for {number(pulse.seconds)} s"
        yield _line(FIELD_WORDS[field], _limit(sheet, pulse.current_a, pulse.current_c), pulse, lasting)


def _charges(sheet: Sheet, field: str) -> Iterator[Line]:
    for charge in sheet.charge:
        yield _line(
            FIELD_WORDS[field], _limit(sheet, charge.max_a, charge.max_c), charge, _basis(charge.basis)
        )


def _ranges(sheet: Sheet, field: str) -> Iterator[Line]:
    found: TemperatureRange | None = getattr(sheet, field)
    if found:
        # Here the range is the figure, not the condition of one.
        text = span(found.low_c, found.high_c)
        yield Line(FIELD_WORDS[field], text, _basis(found.basis), cited=_cited(found))


def _storage(sheet: Sheet, field: str) -> Iterator[Line]:
    for row in sheet.storage:
        told = _conditions(("up to {} months", row.months))
        left = (
            "" if row.recovery_fraction is None else f"to {number(100 * row.recovery_fraction)}% of capacity"
        )
        conditions = " ".join(filter(None, (told, left, _basis(row.basis))))
        yield Line(FIELD_WORDS[field], span(row.low_c, row.high_c), conditions, cited=_cited(row))


def _line(label: str, value: str, figure: Figure | None, conditions: str = "") -> Line:
    low, high = getattr(figure, "low_c", None), getattr(figure, "high_c", None)
    band = "" if low is None or high is None else span(low, high)
    return Line(label, value, conditions, band, _cited(figure))


def _cited(figure: Figure | None) -> str:
    if figure is None:
        return ""
    page = "" if figure.page is None else f"page {figure.page}"
    quote = "" if figure.quote is None else f'"{figure.quote}"'
    return ", ".join(filter(None, (page, quote)))


def _single_number(sheet: Sheet, field: str) -> Iterator[Line]:
    value: float | None = getattr(sheet, field)
    if value is not None:
        unit = figure_of(field).unit
        yield _line(FIELD_WORDS[field], f"{number(value)} {unit}", sheet.citations.get(field))


def _basis(basis: str | None) -> str:
    return {"ambient": "(ambient)", "surface": "(cell surface)"}.get(basis or "", "")


def _conditions(*conditions: tuple[str, float | None]) -> str:
    return ", ".join(words.format(number(value)) for words, value in conditions if value is not None)


def _stated_at(capacity: Capacity) -> str:
    conditions = _conditions(
        ("{} A", capacity.current_a),
        ("{} C", capacity.temperature_c),
        ("down to {} V", capacity.cutoff_voltage_v),
    )
    return f"at {conditions}" if conditions else ""


def _limit(sheet: Sheet, amperes: float | None, multiples: float | None) -> str:
    """Return a limit as the sheet gives it, and in A where it gives multiples of C."""
    if multiples is None:
        return "" if amperes is None else f"{number(amperes)} A"
    if amperes is not None:
        return f"{number(amperes)} A ({number(multiples)}C)"
    worth = sheet.amperes(None, multiples)
    if worth is None:
        return f"{number(multiples)}C (no capacity says how many A)"
    return f"{number(multiples)}C ({number(worth)} A)"


def _discharges(sheet: Sheet, field: str) -> Iterator[Line]:
    for band in sheet.discharge:
        yield from _discharge(sheet, band)


def _discharge(sheet: Sheet, band: DischargeBand) -> Iterator[Line]:
    continuous = _limit(sheet, band.max_continuous_a, band.max_continuous_c)
    if continuous:
        yield _line(figure_of("discharge", "max_continuous").words, continuous, band, _basis(band.basis))
    maximum = _limit(sheet, band.max_unspecified_a, band.max_unspecified_c)
    if maximum:
        kind = (
            "not called continuous"
            if band.cutoff_temperature_c is None
            else f"until the cell reaches {number(band.cutoff_temperature_c)} C"
        )
        yield _line(
            figure_of("discharge", "max_unspecified").words,
            maximum,
            band,
            f"{_basis(band.basis)} {kind}".strip(),
        )


def _resistance(sheet: Sheet, field: str) -> Iterator[Line]:
    found = sheet.resistance
    for figure in SHEET_FIGURES if found is not None else ():
        value = getattr(found, figure.part) if figure.field == field else None
        if value is not None and found is not None:
            of_pulse = figure.part.startswith("dc") and found.dc_seconds is not None
            pulse = f"by a pulse of {number(found.dc_seconds or 0)} s" if of_pulse else ""
            yield _line(figure.words, f"{number(value)} mohm", found, pulse)


def _cycle_life(sheet: Sheet, field: str) -> Iterator[Line]:
    found = sheet.cycle_life
    if found is None:
        return
    conditions = _conditions(
        ("{} A charge", found.charge_a), ("{} A discharge", found.discharge_a), ("{} C", found.temperature_c)
    )
    left = "" if found.to_fraction is None else f" to {number(100 * found.to_fraction)}% of capacity"
    at = f"at {conditions}" if conditions else ""
    yield _line(FIELD_WORDS[field], f"{found.cycles} cycles{left}", found, at)


_FIELD_LINES: dict[str, Callable[[Sheet, str], Iterator[Line]]] = {
    "capacity": _capacities,
    "discharge": _discharges,
    "pulse": _pulses,
    "charge": _charges,
    "resistance": _resistance,
    "cycle_life": _cycle_life,
    "discharge_temperature": _ranges,
    "charge_temperature": _ranges,
    "storage_temperature": _ranges,
    "storage": _storage,
}
"""How a field of several values is told; every other is a single number."""


def sheet_heading(sheet: Sheet) -> str:
    """Return a sheet's evidence grade, title, revision and date."""
    parts = [evidence_name(sheet.evidence)]
    if sheet.title:
        parts.append(f'"{sheet.title}"')
    if sheet.revision:
        parts.append(f"revision {sheet.revision}")
    if sheet.date:
        parts.append(sheet.date)
    return ", ".join(parts)


def sheet_text(sheet: Sheet, place: str, form: Form) -> str:
    """Return a sheet as text: its heading, its figures, what it does not state and what is unknown."""
    lines = [paragraph(f"{place}: {sheet_heading(sheet)}", indent="  ")]
    for line in figure_lines(sheet):
        lines.append(_entry(line.label, f"{line.band}: {line.whole}" if line.band else line.whole))
    if sheet.not_stated:
        lines.append(_entry("not stated", ", ".join(FIELD_WORDS[name] for name in sheet.not_stated)))
    unknown = [
        FIELD_WORDS[name]
        for name in expected_of(round_cell=form == "cylindrical")
        if not getattr(sheet, name) and name not in sheet.not_stated
    ]
    if unknown:
        lines.append(_entry("not known", ", ".join(unknown)))
    if sheet.file_sha256:
        lines.append(_entry("SHA-256 of the file", sheet.file_sha256))
    return "\n".join(lines)


def _entry(label: str, text: str) -> str:
    indent = " " * (LABEL_WIDTH + 2)
    # A label as wide as its column, or wider, still stands apart from its figure.
    return paragraph_after(f"  {f'{label} ':<{LABEL_WIDTH}}", text, indent)


def paragraph_after(start: str, text: str, indent: str) -> str:
    """Return ``start`` and the text wrapped beside it."""
    wrapped = paragraph(text, width=WIDTH - len(indent)).split("\n")
    return "\n".join([start + wrapped[0], *(indent + line for line in wrapped[1:])])


def cell_heading(cell: Cell) -> str:
    """Return what a cell is: id, maker, model, form, size, chemistry, markings, and whether it is retired."""
    designation = cell_designation(cell)
    kind = " ".join(filter(None, (cell.form, cell.size, cell.chemistry)))
    lines = [printable(f"{cell.id}: {cell.maker} {cell.model}, {kind}")]
    if cell.markings:
        lines.append(_entry("markings on the wrapper", "; ".join(cell.markings)))
    if cell.date_code:
        lines.append(_entry("date codes", cell.date_code))
    if designation:
        lines.append(_entry("by its size, IEC 61960", f"{designation} (letters from the chemistry)"))
    if cell.retired:
        lines.append(_entry("retired", cell.retired))
    return "\n".join(lines)


def cell_text(cell: Cell) -> str:
    """Return a cell as text: what it is, every sheet, numbered from 1, and where its sheets disagree."""
    blocks = [cell_heading(cell)]
    blocks += [sheet_text(sheet, f"Sheet {at}", cell.form) for at, sheet in enumerate(cell.sheets, start=1)]
    differing = disagreements(cell)
    if differing:
        lines = [paragraph(f"- {line}", indent="  ") for line in differing]
        blocks.append("\n".join(["The sheets disagree", *lines, paragraph(DECIDES)]))
    return "\n\n".join(blocks)


def disagreements(cell: Cell, language: Language = ENGLISH) -> list[str]:
    """Return the figures of which the sheets of a cell say different things, one line each."""
    say = _Say(language)
    by_label: dict[str, dict[int, list[str]]] = {}
    for at, sheet in enumerate(cell.sheets, start=1):
        for line in figure_lines(sheet):
            value = say.told(line.value)
            value = say("in_band", value=value, band=line.band) if line.band else value
            by_label.setdefault(line.label, {}).setdefault(at, []).append(value)
    return [
        say("differs", label=say.told(label), said=say.joined("against", [
            say("of_sheet", values=say.joined("and", values), at=at) for at, values in said.items()
        ]))
        for label, said in by_label.items()
        if len({tuple(sorted(values)) for values in said.values()}) > 1
    ]  # fmt: skip


def change_lines(before: Cell | None, after: Cell | None, language: Language = ENGLISH) -> list[str]:
    """Return what differs between two records of a cell, one line a figure, each from what to what."""
    say = _Say(language)
    old, new = _flat(before, say), _flat(after, say)
    lines = []
    for label in [*old, *(label for label in new if label not in old)]:
        was, now = old.get(label), new.get(label)
        if was == now:
            continue
        code = "new" if was is None else "taken_out" if now is None else "changed"
        lines.append(say(code, label=label, was=was, now=now))
    return lines


class _Say:
    """The words of one language."""

    def __init__(self, language: Language) -> None:
        self.language = language

    def __call__(self, code: str, **slots: object) -> str:
        return self.language.text("cell_lines", code, CELL_LINES).format_map(slots)

    def told(self, text: str) -> str:
        """Return a part that is found in English."""
        return in_readers_words(text, self.language)

    def joined(self, code: str, texts: list[str]) -> str:
        """Return several texts one after another."""
        return reduce(lambda first, then: self(code, first=first, then=then), texts)


def _flat(cell: Cell | None, say: _Say) -> dict[str, str]:
    if cell is None:
        return {}
    flat = {
        say("maker"): cell.maker,
        say("model"): cell.model,
        say("form"): say.told(cell.form),
        say("chemistry"): cell.chemistry,
        say("size"): cell.size or "",
        say("markings"): "; ".join(cell.markings),
        say("date codes"): cell.date_code or "",
        say("retired"): cell.retired or "",
    }
    for at, sheet in enumerate(cell.sheets, start=1):
        of_sheet = {
            "evidence": evidence_name(sheet.evidence, say.language),
            "title": sheet.title,
            "revision": sheet.revision,
            "date": sheet.date or "",
            "SHA-256 of the file": sheet.file_sha256 or "",
            "not stated": ", ".join(say.told(FIELD_WORDS[name]) for name in sheet.not_stated),
        }
        flat |= {say("on_sheet", at=at, label=say(name)): text for name, text in of_sheet.items()}
        for line in figure_lines(sheet):
            told = line._replace(
                label=say.told(line.label), value=say.told(line.value), conditions=say.told(line.conditions),
                cited=say.told(line.cited),
            )  # fmt: skip
            label = say("on_sheet", at=at, label=told.name)
            flat[label] = f"{flat[label]} | {told.whole}" if label in flat else told.whole
    return {label: text for label, text in flat.items() if text}
