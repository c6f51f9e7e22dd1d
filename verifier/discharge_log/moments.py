"""Dates and times with words in them, written in other words: months and halves of the day in several languages."""

from __future__ import annotations

import re

_MONTHS = {
    "Jan": "jan ene gen янв січ led sty tam oca ιαν",
    "Feb": "feb fév fev фев лют úno lut hel şub φεβ",
    "Mar": "mar mär mrt maa мар бер bře már μαρ maart",
    "Apr": "apr avr abr апр кві dub kwi huh nis απρ ápr",
    "May": "may mai mag mei май мая тра kvě maj máj tou μαι μαΐ",
    "Jun": "jun juin giu июн чер cze kes haz ιουν jún",
    "Jul": "jul juil lug июл лип lip hei tem ιουλ júl",
    "Aug": "aug aoû aou ago авг сер srp sie elo ağu αυγ",
    "Sep": "sep set сен вер zář wrz syy eyl σεπ sze",
    "Oct": "oct okt ott out окт жов říj paź lok eki οκτ",
    "Nov": "nov ноя marr kas νοε",
    "Dec": "dec dez déc dic дек гру pro gru jou ara δεκ",
}
_MONTH_OF = {stem: month for month, stems in _MONTHS.items() for stem in stems.split()}
_FIRST, _SECOND = "오전 上午 午前 öö sa π.μ. πμ de. ص ق.ظ", "오후 下午 午後 ös ch μ.μ. μμ du. م ب.ظ"
_HALF_OF = dict.fromkeys(_FIRST.split(), "AM") | dict.fromkeys(_SECOND.split(), "PM")
_WORDS = "|".join(re.escape(each) for each in sorted(_HALF_OF, key=len, reverse=True))
_TIME = r"\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?"
_HALF_BEFORE = re.compile(rf"({_WORDS})\s*({_TIME})", re.IGNORECASE)
_HALF_BEHIND = re.compile(rf"({_TIME})\s*({_WORDS})", re.IGNORECASE)
# "3:05 p. m." as in Spanish.
_APART = re.compile(rf"({_TIME})\s*([ap])\.?\s?m\.?", re.IGNORECASE)
_DATE = re.compile(
    r"(\d{1,2})(?:\.|º|er|-)?\s*(?:de\s+|d')?([^\W\d_]{3,12})\.?(?:\s+de)?[\s\-.,]+(\d{4}|\d{2})\b\.?(?:\s*[гр]\.)?(?:\s*р\.)?,?"
)
# "11.4.2026 klo 13.05" in Finnish, and so in other languages.
_AT = re.compile(
    r"(?<=\d)[\s,]+(?:klo|kl\.?|um|at|alle|ore|kell|godz\.?|o|á|à|às|a las)\s+(?=\d)", re.IGNORECASE
)
_OCLOCK = re.compile(r"(?<=\d)\s*(?:Uhr|uur|h)$", re.IGNORECASE)
# "05-14 13:02:11" and "May 14 13:02:11". A leap year stands in for the year, so that each day is one.
WITHOUT_YEAR = re.compile(r"'?(\d{1,2})([-/.])(\d{1,2})\.?(?:T|\s+)(?=\d{1,2}:\d{2})")
_NAMED_WITHOUT_YEAR = re.compile(
    r"(?:(\d{1,2})[.\s-]+([^\W\d_]{3,12})|([^\W\d_]{3,12})\.?\s+(\d{1,2}))[.,]?\s+(?=\d{1,2}:\d{2})"
)
_YEAR = "2000"
_PLAIN = re.compile(r"[\d\s:.,/+TZ-]*")


def in_usual_words(text: str) -> str:
    """Return a date or time with the months and halves of the day in English: ``11. März 2026`` is 11-Mar-2026.

    A date without a year before a time gets one, as it only counts days.
    """
    text = WITHOUT_YEAR.sub(rf"\1\2\3\g<2>{_YEAR} ", text) if WITHOUT_YEAR.match(text) else text
    if _PLAIN.fullmatch(text):
        return text
    found = _NAMED_WITHOUT_YEAR.match(text)
    if found is not None:
        text = f"{found[1] or found[4]} {found[2] or found[3]} {_YEAR} {text[found.end() :]}"
    text = _OCLOCK.sub("", _AT.sub(" ", text))
    text = _HALF_BEFORE.sub(lambda found: f"{found[2]} {_HALF_OF[found[1].lower()]}", text)
    text = _HALF_BEHIND.sub(lambda found: f"{found[1]} {_HALF_OF[found[2].lower()]}", text)
    text = _APART.sub(lambda found: f"{found[1]} {found[2].upper()}M", text)
    return _DATE.sub(_in_english, text, count=1)


def _in_english(found: re.Match[str]) -> str:
    name = found[2].lower()
    month = next((_MONTH_OF[name[:size]] for size in (5, 4, 3) if name[:size] in _MONTH_OF), None)
    return found[0] if month is None else f"{int(found[1])}-{month}-{found[3]}"
