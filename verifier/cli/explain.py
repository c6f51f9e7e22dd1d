"""The command that explains a figure, a field of a case, a limit, or a word of a report."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

import click

from registry.fields import nearest
from verifier.case.case_field import CaseField
from verifier.case.explained import ExplainedField, explained, field_data, fields_named
from verifier.case.fields import case_fields, inside, meant
from verifier.case.limits import DEFAULTS
from verifier.cli.completion import words
from verifier.cli.options import format_option, say, say_json
from verifier.errors import VerifierError
from verifier.explanations import Explanation, explanation, explanation_data, explanations, figure_of
from verifier.figures import FIGURES
from verifier.report.layout import block, table
from verifier.topics import Topic, topics, topics_of
from verifier.words import figure_name, limit_text


@click.command()
@click.argument("word", required=False, metavar="[FIGURE|FIELD|LIMIT|WORD]", shell_complete=words)
@format_option("text", "json")
def explain(word: str | None, format_name: str) -> None:
    """Explain a figure, a field of a case, a limit, or a word of a report.

    A figure of a report, such as continuous_current: what it checks, how it decides, its sources and limits.
    A field of a case, such as claim.capacity_ah or observed.strip: its unit and how it is found out; 'fields'
    lists every field. A limit, such as reserve. Any other word of a report, such as 'cannot tell yet' or 'ask
    first'. A topic: report, verdicts, conclusions, alarms, contradictions, evidence, parts, exit-status.
    Without a word all figures are listed.

    Example: packclaim explain continuous_current
    """
    data, text = _told(word)
    if format_name == "json":
        say_json(data)
    else:
        say(text)


def _told(word: str | None) -> tuple[Any, str]:
    """Return what is to be told, as plain data and as text."""
    if word is None:
        told = explanations()
        return [explanation_data(each) for each in told], _all(told)
    name = word.strip().casefold()
    if name in topics():
        return _topic_data(topics()[name]), _topic(topics()[name])
    if name == "fields":
        listed = list(case_fields().values())
        return [field_data(explained(each)) for each in listed], _listed(listed)
    found = list(_meant(word))
    data = [each for each, _ in found]
    return data[0] if len(data) == 1 else data, "\n\n".join(text for _, text in found)


def _meant(word: str) -> Iterator[tuple[Any, str]]:
    """Yield everything that goes by a word: a figure, else a word of a report, a limit, fields of a case."""
    if (figure := figure_of(word)) is not None:
        yield explanation_data(explanation(figure)), _one(explanation(figure))
        return
    topics_found = topics_of(word)
    limit = _limit_of(word)
    for topic in topics_found:
        yield _topic_data(topic), _word(topic)
    if limit:
        yield _limit_data(limit), block(limit_text(limit))
    try:
        fields = _fields(word)
    except VerifierError:
        if topics_found or limit:
            return
        raise
    yield from ((field_data(each), _field(each)) for each in map(explained, fields))


def _limit_of(word: str) -> str:
    """Return the limit that a word names, as a report writes it or as its key; nothing for none."""
    name = re.sub(r"^limits?[ .]", "", word.strip().casefold()).strip(" .'").replace(" ", "_")
    return name if name in DEFAULTS else ""


def _limit_data(name: str) -> dict[str, Any]:
    limit = DEFAULTS[name]
    return {
        "limit": name, "low": limit.value.low, "high": limit.value.high, "unit": limit.unit,
        "meaning": limit.meaning, "source": limit.source, "allowed": list(limit.allowed),
    }  # fmt: skip


def _fields(word: str) -> tuple[CaseField, ...]:
    try:
        return fields_named(word)
    except VerifierError as error:
        if "." in word:
            raise
        words = [known for topic in topics().values() for known in topic.words]
        names = [*FIGURES, *case_fields(), *topics(), *DEFAULTS, *words, "fields"]
        advice = meant(word, "") or nearest(word.strip().casefold().replace(" ", "_"), names)
        if advice.startswith("known here"):
            advice = "'packclaim explain' lists the figures, 'packclaim explain fields' the fields of a case"
        found = "is no figure, field, limit or word of a report"
        raise VerifierError(f"'{word}'", found, advice) from error


def _topic_data(topic: Topic) -> dict[str, Any]:
    return {"topic": topic.name, "title": topic.title, "words": dict(topic.words)}


def _word(topic: Topic) -> str:
    """Return one word of a topic with its meaning, and where its neighbours stand."""
    ((word, meaning),) = topic.words.items()
    more = f"More of the kind: packclaim explain {topic.name}"
    return "\n".join([block(f"{word}: {meaning}."), block(more)])


def _topic(topic: Topic) -> str:
    after = "\n".join(block(text) for text in topic.after)
    return "\n\n".join(
        [
            block(f"{topic.title}. {topic.before}"),
            table(("word", "meaning"), list(topic.words.items())),
            after,
        ]
    )


def _listed(fields: Iterable[CaseField]) -> str:
    rows = [(each.name, each.unit or "-", _meaning(each)) for each in fields if not any(inside(each.name))]
    return table(("field", "unit", "meaning"), rows)


def _meaning(field: CaseField) -> str:
    """Return what a field means, with the very words it takes where it takes no others."""
    told = explained(field)
    return f"{field.meaning}; write {told.write}" if told.words else field.meaning


def _field(told: ExplainedField) -> str:
    field = told.field
    unit = f" [{field.unit}]" if field.unit else ""
    parts = [
        block(f"{field.name}: {field.words}{unit}"),
        block(f"{field.meaning[0].upper()}{field.meaning[1:]}."),
    ]
    facts = [
        ("Write", told.write),
        ("Find out", f"{field.effort}{': ' if field.look and field.effort else ''}{field.look}"),
        ("Usual", f"{field.usual[0]:g} to {field.usual[1]:g} {field.unit}" if field.usual else ""),
        ("Also called", ", ".join(field.also)),
    ]
    lines = [block(f"{title}: {text}") for title, text in facts if text]
    if lines:
        parts.append("\n".join(lines))
    if told.within:
        parts.append(_listed(told.within))
    return "\n\n".join(parts)


def _all(told: tuple[Explanation, ...]) -> str:
    return table(("figure", "checks"), [(each.figure, each.checks) for each in told])


def _one(told: Explanation) -> str:
    example = told.example
    supported = f"; supported: {example.supported}" if example.supported else ""
    caution = f" The report says: {example.caution}." if example.caution else ""
    outcome = f"Verdict: {example.verdict}{supported}. {example.because}{caution}"
    blocks = [
        block(f"{figure_name(told.figure).capitalize()}: {told.checks}"),
        f"Why it matters\n{block(told.why)}",
        *(
            "\n".join([title, *(block(f"- {text}", indent="  ") for text in texts)])
            for title, texts in (
                ("What it needs", told.needs),
                ("How it decides", told.decides),
                ("Sources", told.sources),
                ("Limits", told.limits),
            )
        ),
        # The case keeps its own lines, so that it can be copied into a file.
        f"Example\n{block(example.says)}\n\n{_set_in(example.case)}\n\n{block(outcome)}",
    ]
    return "\n\n".join(blocks)


def _set_in(case: str) -> str:
    return "\n".join(f"  {line}" for line in case.strip().splitlines())
