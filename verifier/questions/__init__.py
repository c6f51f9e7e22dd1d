"""Questions to the seller: only what would change a verdict, and the papers that a buyer may ask for.

Which questions are asked is decided here, without a word of any language; the words of each language stand in
a file of their own beside this module, ``en.toml`` and so on. A new language is a new file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from string import Formatter
from typing import Any, NamedTuple

from registry.fields import nearest
from verifier.bounds import Bounds
from verifier.case.fields import case_fields
from verifier.case.model import Case
from verifier.contradictions import Contradiction
from verifier.errors import VerifierError
from verifier.figures import FIGURES
from verifier.finding import Finding
from verifier.next_step import NextStep
from verifier.verdict import REFUTED, Verdict
from verifier.words import Language as Spoken
from verifier.words import field_name, joined, printed
from verifier.words.language import ENGLISH as IN_ENGLISH

FOLDER = Path(__file__).parent
ENGLISH = "en"

# What a seller can answer, by the unknown facts that it would settle, in the order in which it is asked.
# What only the user can know or measure is on no line and is never asked.
TOPICS: dict[str, tuple[str, ...]] = {
    "age": (),
    "chemistry": (),
    "cell": ("observed.cell", "claim.cell_marking"),
    "sheet": ("sheet.",),
    "counts": ("observed.series", "observed.parallel", "claim.series", "claim.parallel", "claim.cell_count"),
    "current": ("claim.continuous_current_a",),
    "peak": ("claim.peak_seconds", "claim.peak_current_a"),
    "bms": ("observed.bms", "claim.bms_current_a"),
    "connector": ("observed.connector",),
    "fuse": ("observed.fuse",),
    "leads": ("observed.leads", "observed.charge_leads"),
    "strip": ("observed.strip", "observed.material_test"),
    "links": ("observed.series_links",),
    "take_off": ("observed.take_off",),
    "charger": ("observed.charger", "claim.charge_voltage_v", "claim.charge_current_a"),
    "mass": ("observed.mass_kg",),
    "photo": (),
    "contradiction": (),
    "refuted": (),
}
FIRST = {"observed.age_years": "age", "claim.chemistry": "chemistry", "observed.cell.chemistry": "chemistry"}
"""What is asked only where it is among what the answer asks for first, by what is to be found out."""
# A topic is not asked where the listing states these; what it states in two ways is asked as a contradiction.
STATED = {
    "chemistry": ("chemistry",), "cell": ("cell_marking",), "counts": ("series", "parallel"),
    "bms": ("bms_current_a",), "leads": ("lead_awg",), "charger": ("charge_voltage_v", "charge_current_a"),
    "mass": ("mass_kg",),
}  # fmt: skip
PAPERS = ("transport_test_summary", "battery_document", "declaration", "safety_report")
TEXTS = (
    "name",
    "greeting",
    "intro",
    "nothing_open",
    "papers_intro",
    "closing",
    "stated",
    "seen",
    "separator",
    "decimal",
)

# Claims beside which a continuous current is missed: they read like one and are none.
_LIKE_A_CURRENT = ("peak_current_a", "max_current_a", "bms_current_a", "power_w", "load_power_w")
_SAID_OF_A_PACK = ("nominal_voltage_v", "capacity_ah", "continuous_current_a")


_POINT = re.compile(r"(?<=\d)\.(?=\d)")
_FIGURES = re.compile(r"[\d.]+(?:-[\d.]+)?(?: \D+)?")


class Statement(NamedTuple):
    """A field of the case and its value in figures, for a question about statements that disagree."""

    side: str
    name: str
    value: str


CONTRADICTION, REFUTED_CLAIMS = "contradiction", "refuted"


class Question(NamedTuple):
    """One question, without words: its topic, and the statements that it is about."""

    topic: str
    statements: tuple[Statement, ...] = ()


@dataclass(frozen=True, slots=True)
class Language:
    """The words of one language."""

    code: str
    texts: dict[str, str]
    questions: dict[str, str]
    papers: dict[str, str]
    fields: dict[str, str] = field(hash=False)


def questions(
    findings: Sequence[Finding],
    contradictions: Sequence[Contradiction],
    case: Case,
    first: Sequence[str] = (),
) -> tuple[Question, ...]:
    """Return what to ask the seller; nothing when every claim is settled and nothing disagrees.

    Parameters
    ----------
    findings : sequence of Finding
        Those that are not settled, pass on the seller's word, or are refuted are asked about.
    contradictions : sequence of Contradiction
        Those in which the seller said something.
    case : Case
        For the values of what disagrees.
    first : sequence of str
        What the answer asks for first, by what is to be found out; it opens the questions, if there are any.
    """
    unknown = {name for each in findings if each.verdict is Verdict.NOT_SETTLED for name in each.unknown}
    topics = {topic for topic, starts in TOPICS.items() if any(name.startswith(starts) for name in unknown)}
    claim = case.claim
    like_a_current = any(getattr(claim, name) is not None for name in _LIKE_A_CURRENT)
    if claim.continuous_current_a is None and like_a_current:
        topics.add("current")
    if topics & {"cell", "counts"} or any(each.sellers_word for each in findings):
        topics.add("photo")
    asked = [Question(topic) for topic in TOPICS if topic in topics and not _stated(topic, case)]
    asked += [Question(CONTRADICTION, found) for each in contradictions if (found := statements(each, case))]
    told = {each.name for question in asked for each in question.statements}
    beyond = [each for each in _refuted(findings, case) if each.name not in told]
    if beyond:
        asked.append(Question(REFUTED_CLAIMS, tuple(beyond)))
    opening = [Question(topic) for topic in _ahead(first) if asked and not _stated(topic, case)]
    return tuple(dict.fromkeys([*opening, *asked]))


def _stated(topic: str, case: Case) -> bool:
    """Whether the listing says already what a topic asks for; to show it is asked for by photos."""
    claims = STATED.get(topic, ())
    return bool(claims) and all(getattr(case.claim, each) is not None for each in claims)


def _refuted(findings: Sequence[Finding], case: Case) -> Iterator[Statement]:
    """Yield what is claimed and refuted: the claim that its figure was judged by."""
    for each in findings:
        if each.verdict in REFUTED:
            stated = [name for name in FIGURES[each.figure].claims if _value(case, f"claim.{name}")]
            yield from (Statement("claim", name, _value(case, f"claim.{name}")) for name in stated[:1])


def best_first(
    asked: Sequence[Question], steps: Sequence[NextStep], first: Sequence[str] = ()
) -> tuple[Question, ...]:
    """Return the questions with those first whose answer settles most.

    Parameters
    ----------
    asked : sequence of Question
        What cannot be true together, or at all, is asked before everything else; of equals the order stays.
    steps : sequence of NextStep
        What each observation could settle, and how likely.
    first : sequence of str
        What the answer asks for first, by what is to be found out: it stands first here too.
    """
    ahead = _ahead(first)
    worth: dict[str, float] = {}
    for step in steps:
        for topic in _topics_of(step.observe):
            worth[topic] = max(worth.get(topic, 0.0), step.worth)

    def rank(question: Question) -> tuple[bool, int, float]:
        return (
            question.topic not in (CONTRADICTION, REFUTED_CLAIMS),
            ahead.index(question.topic) if question.topic in ahead else len(ahead),
            -worth.get(question.topic, 0.0),
        )

    return tuple(sorted(asked, key=rank))


def _ahead(first: Sequence[str]) -> list[str]:
    """Return the topics of what the answer asks for first, in its order."""
    return [topic for field in first for topic in (FIRST.get(field), *_topics_of(field)) if topic]


def _topics_of(field: str) -> list[str]:
    return [topic for topic, starts in TOPICS.items() if starts and field.startswith(starts)]


def statements(contradiction: Contradiction, case: Case) -> tuple[Statement, ...]:
    """Return the statements that disagree; none when the seller made none of them, or only one is left."""
    found = [
        Statement(side, name, value)
        for path in dict.fromkeys(contradiction.fields)
        for side, _, name in [path.partition(".")]
        if side in ("claim", "observed")
        for value in _values(case, path)
    ]
    claimed = any(each.side == "claim" for each in found)
    return tuple(found) if claimed and len(found) > 1 else ()


def _values(case: Case, path: str) -> list[str]:
    """Return what stands under a field: of a figure that is stated twice, differently, both."""
    side, _, name = path.partition(".")
    claimed: Any = getattr(case.claim, name, None) if side == "claim" else None
    if name in case.claim.stated_differently and isinstance(claimed, Bounds) and not claimed.exact:
        return [f"{end:g} {_unit(path)}".rstrip() for end in (claimed.low, claimed.high)]
    value = _value(case, path)
    return [value] if value else []


def _value(case: Case, path: str) -> str:
    inside: Any = case
    for part in path.split("."):
        inside = getattr(inside, part, None)
    if inside is None:
        return ""
    if isinstance(inside, Bounds):
        figures = f"{inside.low:g}" if inside.exact else f"{inside.low:g}-{inside.high:g}"
        return f"{figures} {_unit(path)}".rstrip()
    if isinstance(inside, str):
        return inside
    if isinstance(inside, tuple):
        # Of the groups measured their number is what disagrees.
        return str(len(inside)) if inside else ""
    # A whole section, such as what was seen of the cell.
    return ", ".join(str(each) for _, each in inside if isinstance(each, str))


def _unit(path: str) -> str:
    unit = case_fields()[path].unit if path in case_fields() else ""
    return "" if unit in ("count", "number", "cycles", "fraction") else unit


# In other languages it stands with the words of the answer.
WHICH = {"which_is_right": "which is right: {first} or {last}"}


def which_is_right(said: Sequence[Statement], language: Spoken = IN_ENGLISH) -> str:
    """Return the question which of some statements is right, in a few words."""
    fields = load_language(language.code).fields
    told = []
    for each in said:
        name = fields.get(each.name)
        if name is None:
            name = language.name("fields", each.name, field_name(f"{each.side}.{each.name}"))
        told.append(f"{name} {printed(each.value, language)}")
    text = language.text("asked", "which_is_right", WHICH)
    return text.format(first=joined(told[:-1], language), last=told[-1])


def in_words(asked: Sequence[Question], language: Language) -> tuple[str, ...]:
    """Return the questions in a language."""
    return tuple(
        language.questions[each.topic].format(
            statements=language.texts["separator"].join(_phrases(each, language))
        )
        for each in asked
    )


def _phrases(question: Question, language: Language) -> Iterator[str]:
    for each in question.statements:
        words = language.fields.get(each.name) or each.name.replace("_", " ").replace(".", " ")
        template = language.texts["stated" if each.side == "claim" else "seen"]
        # A name of cells keeps its points.
        value = (
            _POINT.sub(language.texts["decimal"], each.value)
            if _FIGURES.fullmatch(each.value)
            else each.value
        )
        yield template.format(field=words, value=value)


def message(asked: Sequence[Question], case: Case, language: Language) -> str:
    """Return the whole message to the seller, ready to paste."""
    texts = language.texts
    said = (value for name in _SAID_OF_A_PACK if (value := _value(case, f"claim.{name}")))
    pack = ", ".join(_POINT.sub(texts["decimal"], value) for value in said)
    opening = texts["intro" if asked else "nothing_open"].format(pack=f" ({pack})" if pack else "")
    numbered = [f"{number}. {text}" for number, text in enumerate(in_words(asked, language), 1)]
    papers = [texts["papers_intro"], *(f"- {language.papers[name]}" for name in PAPERS)]
    blocks = [texts["greeting"], opening, "\n".join(numbered), "\n".join(papers), texts["closing"]]
    return "\n\n".join(block for block in blocks if block) + "\n"


def languages(folder: Path | None = None) -> tuple[str, ...]:
    """Return the codes of the languages there are, such as ``en``."""
    return tuple(sorted(path.stem for path in (folder or FOLDER).glob("*.toml")))


@cache
def load_language(code: str, folder: Path | None = None) -> Language:
    """Return the words of a language.

    Raises
    ------
    VerifierError
        If there is no such language, or its file lacks words, has some too many or a slot that is not filled.
    """
    folder = folder or FOLDER
    if code not in languages(folder):
        raise VerifierError(
            f"language '{code}'", "there is no such language", nearest(code, [*languages(folder)])
        )
    place = folder / f"{code}.toml"
    import tomllib

    try:
        data = tomllib.loads(place.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise VerifierError(place.name, f"cannot be read as TOML ({error})") from error
    texts = {name: text for name, text in data.items() if isinstance(text, str)}
    _check(place.name, texts, TEXTS)
    _check(f"{place.name} [questions]", data.get("questions", {}), tuple(TOPICS))
    _check(f"{place.name} [papers]", data.get("papers", {}), PAPERS)
    return Language(code, texts, data["questions"], data["papers"], data.get("fields", {}))


_SLOTS = {
    "intro": {"pack"}, "nothing_open": {"pack"}, "stated": {"field", "value"}, "seen": {"field", "value"},
    "contradiction": {"statements"}, "refuted": {"statements"},
}  # fmt: skip


def _check(place: str, texts: dict[str, str], names: Sequence[str]) -> None:
    """Refuse a file that would leave something unsaid."""
    wrong = sorted({*names} ^ {*texts})
    if wrong:
        raise VerifierError(
            place, f"has not exactly the texts it needs: {', '.join(wrong)}", ", ".join(names)
        )
    for name, text in texts.items():
        slots = {slot for _, slot, _, _ in Formatter().parse(text) if slot is not None}
        if slots != _SLOTS.get(name, set()):
            raise VerifierError(
                f"{place} {name}", f"has the slots {sorted(slots)}", f"{sorted(_SLOTS.get(name, ()))}"
            )
