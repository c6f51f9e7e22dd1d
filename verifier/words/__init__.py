"""The one place where facts, sources, remarks and conclusions become English sentences."""

from verifier.words.alarms import alarm_name, alarm_text, groups_beyond
from verifier.words.certificates import certificate_mark, certificate_statement, certificate_text
from verifier.words.contradictions import contradiction_text, in_places
from verifier.words.handling import handling
from verifier.words.language import ENGLISH, InEnglish, Lacking, Language, in_language, language_of, languages
from verifier.words.limits import limit_text, limit_value, with_limits
from verifier.words.lists import joined, listed
from verifier.words.names import (
    asked_directly,
    asked_of_the_seller,
    datasheet_in_place,
    datasheet_wanted,
    element_name,
    evidence_name,
    field_name,
    figure_name,
    makers_sheet,
    observation_text,
    once_more,
    refuted_reason,
    registered_cells,
    rest_of_the_test,
    verdict_name,
    voltage_when_full,
    which_letters,
    which_of_one_name,
)
from verifier.words.numbers import (
    amount,
    digits,
    part,
    percent,
    printed,
    span,
    step_value,
    support,
    temperatures,
)
from verifier.words.remarks import remark_text
from verifier.words.remedies import remedy_text
from verifier.words.sentence import refuted_sentence, refuted_text, sentence, unlike_sentence
from verifier.words.sources import citation_place, source_text

__all__ = [
    "ENGLISH",
    "InEnglish",
    "Lacking",
    "Language",
    "alarm_name",
    "alarm_text",
    "amount",
    "asked_directly",
    "asked_of_the_seller",
    "certificate_mark",
    "certificate_statement",
    "certificate_text",
    "citation_place",
    "contradiction_text",
    "datasheet_in_place",
    "datasheet_wanted",
    "digits",
    "element_name",
    "evidence_name",
    "field_name",
    "figure_name",
    "groups_beyond",
    "handling",
    "in_language",
    "in_places",
    "joined",
    "language_of",
    "languages",
    "limit_text",
    "limit_value",
    "listed",
    "makers_sheet",
    "observation_text",
    "once_more",
    "part",
    "percent",
    "printed",
    "refuted_reason",
    "refuted_sentence",
    "refuted_text",
    "registered_cells",
    "remark_text",
    "remedy_text",
    "rest_of_the_test",
    "sentence",
    "source_text",
    "span",
    "step_value",
    "support",
    "temperatures",
    "unlike_sentence",
    "verdict_name",
    "voltage_when_full",
    "which_letters",
    "which_of_one_name",
    "with_limits",
]
