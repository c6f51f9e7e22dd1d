"""Making a case by questions: what to ask at which stage, what an answer means, and the file it makes.

The words come from the catalogue of fields. Nothing here prompts; `verifier.cli.start` does.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from registry.errors import ManyProblems, PlacedError
from registry.printed import says_unknown, typed_examples
from registry.printed.prices import read_price
from verifier.case.case_field import CaseField
from verifier.case.fields import case_fields
from verifier.case.model import STAGES, Case, group_in
from verifier.case.reading import parse_case
from verifier.case.strict_yaml import parse

Data = dict[str, Any]

SCHEMA_LINE = "# yaml-language-server: $schema="
_SECTION = re.compile(r"^([a-z]+):")
_PLAIN = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")
_PRICE, _CURRENCY = "claim.price", "claim.currency"

# What is asked once a stage is reached, in the order in which a person finds it out. Some 5 to 20 fields each:
# those that decide most; everything else can be written into the file.
ASKED: dict[str, tuple[str, ...]] = {
    "listed": (
        "claim.nominal_voltage_v", "claim.capacity_ah", "claim.continuous_current_a", "claim.peak_current_a",
        "claim.peak_seconds", "claim.configuration", "claim.cell_marking", "claim.chemistry",
        "claim.bms_current_a", "claim.charge_voltage_v", "claim.charge_current_a", "claim.mass_kg",
        "use.load_power_w", "use.temperature_c",
    ),
    "arrived": (
        "case.condition", "observed.mass_kg", "observed.resting_voltage_v", "observed.charger.voltage_v",
        "observed.charger.current_a", "observed.charged_above_full", "observed.leads.awg",
    ),
    "opened": (
        "observed.configuration", "observed.cell.marking", "observed.cell.mass_g",
        "observed.bms.continuous_a", "observed.bms.temperature_sensor", "observed.fuse.fitted",
        "observed.fuse.rating_a", "observed.connector.continuous_a", "observed.leads.conductor",
        "observed.strip.material", "observed.strip.thickness_mm", "observed.strip.width_mm",
        "observed.strip.layers", "observed.series_links.count", "observed.take_off.where",
        "observed.take_off.layers",
    ),
    "tested": (
        "observed.material_test.kind", "observed.material_test.hours", "observed.material_test.rust",
        "observed.material_test.sparks", "observed.capacity_ah", "observed.capacity_current_a",
        "observed.capacity_temperature_c", "observed.cycles", "observed.cell.capacity_ah",
        "observed.cell.capacity_current_a", "observed.cell.capacity_temperature_c", "observed.cell.dc_mohm",
        "observed.cell.dc_seconds",
    ),
}  # fmt: skip
# What makes sense only after another answer.
_ONLY_AFTER: dict[str, tuple[str, Any]] = {
    "claim.peak_seconds": ("claim.peak_current_a", None),
    "observed.fuse.rating_a": ("observed.fuse.fitted", True),
    "observed.material_test.hours": ("observed.material_test.kind", "salt_water"),
    "observed.material_test.rust": ("observed.material_test.kind", "salt_water"),
    "observed.material_test.sparks": ("observed.material_test.kind", "spark"),
    "observed.capacity_current_a": ("observed.capacity_ah", None),
    "observed.capacity_temperature_c": ("observed.capacity_ah", None),
    "observed.cell.capacity_current_a": ("observed.cell.capacity_ah", None),
    "observed.cell.capacity_temperature_c": ("observed.cell.capacity_ah", None),
    "observed.cell.dc_seconds": ("observed.cell.dc_mohm", None),
}
# Where a figure may be given in two ways, the other field that takes it.
_ELSE = {"observed.leads.awg": "observed.leads.area_mm2"}


class BadAnswer(ValueError):
    """What was typed is no answer; the message says what is right."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question: its field, and the few answers that it takes, where they are few."""

    field: CaseField
    choices: tuple[str, ...]

    @property
    def hint(self) -> str:
        """What it is, how it is found out, and how it may be typed."""
        parts = [self.field.meaning]
        if self.field.look:
            parts.append(self.field.look)
        if self.choices:
            parts.append(f"one of: {', '.join(each.replace('_', ' ') for each in self.choices)}")
        elif self.field.unit and self.field.unit not in ("count", "number"):
            parts.append(f"such as {typed_examples(self.field.unit)}")
        return "; ".join(parts)


def questions(stage: str) -> list[Question]:
    """Return everything that is asked up to a stage, in order."""
    names = [name for each in STAGES[: STAGES.index(stage) + 1] for name in ASKED[each]]
    return [Question(case_fields()[name], choices_of(name)) for name in names]


def applies(question: Question, data: Mapping[str, Any], known: Mapping[str, Any]) -> bool:
    """Whether a question is to be asked: it is not answered in the file, and makes sense after what was."""
    name = question.field.name
    if value_at(known, name) is not None or (name in _ELSE and value_at(known, _ELSE[name]) is not None):
        return False
    if name.endswith(".configuration"):
        side = name.partition(".")[0]
        if all(value_at(known, f"{side}.{count}") is not None for count in ("series", "parallel")):
            return False
    if name not in _ONLY_AFTER:
        return True
    before, wanted = _ONLY_AFTER[name]
    found = value_at(data, before)
    return found is not None and wanted in (None, found)


def value_at(data: Mapping[str, Any], name: str) -> Any:
    """Return what stands under a dotted name; None where nothing does."""
    inside: Any = data
    for part in name.split("."):
        inside = inside.get(part) if isinstance(inside, Mapping) else None
    return inside


def choices_of(name: str) -> tuple[str, ...]:
    """Return the few words that a field takes; none where it takes any text or number."""
    *groups, leaf = name.split(".")
    model: Any = Case
    for part in groups:
        model = group_in(model, part)
    kinds = list(_kinds(model.model_fields[leaf].annotation))
    if bool in kinds:
        return ("yes", "no")
    return tuple(str(each) for kind in kinds if get_origin(kind) is Literal for each in get_args(kind))


def _kinds(annotation: Any) -> Iterator[Any]:
    yield annotation
    if get_origin(annotation) is not Literal:
        for each in get_args(annotation):
            yield from _kinds(each)


# What people type to a question, beside what says so of a figure anywhere; common practice, no source.
_NO_ANSWER = frozenset(
    {
        "", "-", "--", "n/a", "na", "n.a", "none known", "not sure", "dunno", "i dont know", "idk", "unsure",
        "cant tell", "cannot tell",
    }
)  # fmt: skip


def is_unknown(text: str) -> bool:
    """Whether an answer says that somebody does not know: it states nothing."""
    plain = " ".join(text.casefold().replace("'", "").replace("\u2019", "").split()).strip(" .!")
    return plain in _NO_ANSWER or says_unknown(text)


def answered(data: Data, question: Question, text: str) -> Data:
    """Return the data with an answer in it, in the field's unit.

    Raises
    ------
    BadAnswer
        When it is none for this field; the data stays as it was.
    """
    name = question.field.name
    if name == _PRICE:
        text, currency = read_price(text)
        if currency is not None:
            data = with_value(data, _CURRENCY, currency)
    value = _value(question, text)
    try:
        return with_value(data, name, value)
    except BadAnswer:
        if name not in _ELSE or value_at(data, _ELSE[name]) is not None:
            # What stands there already is not written over by what was typed here.
            raise
        try:
            return with_value(data, _ELSE[name], value)
        except BadAnswer:
            pass
        raise


def _value(question: Question, text: str) -> Any:
    if question.choices:
        word = "_".join(text.casefold().split())
        fitting = [each for each in question.choices if each.casefold() == word] or [
            each for each in question.choices if each.casefold().startswith(word)
        ]
        if len(fitting) != 1:
            raise BadAnswer(f"write one of: {', '.join(each.replace('_', ' ') for each in question.choices)}")
        return {"yes": True, "no": False}.get(fitting[0], fitting[0])
    if not question.field.unit:
        return text
    return (
        json.loads(text.lstrip("+"))
        if _PLAIN.fullmatch(text) and not re.match(r"[+-]?0[0-9]", text)
        else text
    )


def with_value(data: Data, name: str, value: Any) -> Data:
    """Return the data with a value in it. Raises ``BadAnswer`` when it is none for this field."""
    changed = deepcopy(data)
    inside = changed
    *groups, leaf = name.split(".")
    for part in groups:
        inside = inside.setdefault(part, {})
    inside[leaf] = value
    try:
        return parse_case(json.dumps(changed), "answer").data
    except PlacedError as error:
        problems = error.problems if isinstance(error, ManyProblems) else (error,)
        raise BadAnswer(
            _words(next((each for each in problems if name in each.place), problems[0]))
        ) from error


def _words(error: PlacedError) -> str:
    return f"{error.found}; {error.expected}" if error.expected else error.found


def without(data: Data, question: Question) -> Data:
    """Return the data without the answer to a question."""
    changed = deepcopy(data)
    *groups, leaf = question.field.name.split(".")
    inside: Any = changed
    for part in groups:
        inside = inside.get(part, {})
    # A configuration stands for two counts.
    also = ("series", "parallel") if leaf == "configuration" and leaf in inside else ()
    other = _ELSE.get(question.field.name, "").rpartition(".")[2]
    for name in (leaf, other, *also):
        inside.pop(name, None)
    return _without_empty(changed)


def _without_empty(data: Data) -> Data:
    found = {name: _without_empty(each) if isinstance(each, dict) else each for name, each in data.items()}
    return {name: each for name, each in found.items() if each != {}}


# -- the file ------------------------------------------------------------------------------------------------


def case_text(data: Data, *, schema: str | None, before: str = "") -> str:
    """Return a case file that holds the data.

    Parameters
    ----------
    data
        Everything that is known, as `answered` gives it.
    schema
        Where the schema is, for an editor; None leaves the line out.
    before
        The file as it was, or a draft of it: sections that did not change keep their lines and comments.
    """
    old = parse(before, "case").data if before.strip() else {}
    old = old if isinstance(old, dict) else {}
    kept = parse_case(before, "case").data if old else {}
    lead, blocks = _sections(before)
    lines = [line for line in lead if not line.startswith(SCHEMA_LINE)]
    if schema is not None:
        lines.insert(0, f"{SCHEMA_LINE}{schema}")
    for section in dict.fromkeys([*blocks, *data]):
        if section in blocks and kept.get(section) == data.get(section):
            lines += blocks[section]
        elif data.get(section):
            lines += _dumped(section, data[section])
    text = "\n".join(lines).rstrip("\n") + "\n"
    if parse_case(text, "case").data != parse_case(json.dumps(data), "case").data:
        # A file that is laid out in a way of its own is written anew.
        head = [] if schema is None else [f"{SCHEMA_LINE}{schema}"]
        text = (
            "\n".join([*head, *(line for name in data if data[name] for line in _dumped(name, data[name]))])
            + "\n"
        )
    return text


def _sections(text: str) -> tuple[list[str], dict[str, list[str]]]:
    """Return the lines before the first section, and the lines of each."""
    lead: list[str] = []
    found: dict[str, list[str]] = {}
    here = lead
    for line in text.splitlines():
        match = _SECTION.match(line)
        if match:
            here = found.setdefault(match[1], [])
        here.append(line)
    return lead, found


def _dumped(section: str, group: Any) -> Sequence[str]:
    import yaml

    text: str = yaml.safe_dump({section: plain(group)}, sort_keys=False, allow_unicode=True, width=100)
    return text.splitlines()


def plain(value: Any) -> Any:
    """Return data as a person writes it: 48, not 48.0."""
    if isinstance(value, Mapping):
        return {name: plain(each) for name, each in value.items()}
    if isinstance(value, list):
        return [plain(each) for each in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value
