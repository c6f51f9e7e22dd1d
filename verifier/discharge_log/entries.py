"""What a single entry of a log can be: a number, a number with its unit, a time, a date, or words."""

from __future__ import annotations

import re
from math import nan

from verifier.discharge_log.moments import in_usual_words

NOTHING = frozenset(
    {"", "-", "--", "---", "nan", "n/a", "na", "null", "none", "#n/a", "ovld", "inf", "-inf", "?"}
)

_MINUS = str.maketrans(
    {"\u2212": "-", "\u2012": "-", "\u2013": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "}
)
# "0,000" and "0123,456" have no thousands: a number does not begin with a nought.
_POINT = re.compile(
    r"[-+]?(?:(?:[1-9]\d{0,2}(?:,\d{3})+|[1-9]\d{0,2}(?:[ ']\d{3})+|\d+)(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?$"
)
_COMMA = re.compile(r"[-+]?(?:\d{1,3}(?:[. ']\d{3})+|\d+)?(?:,\d*)?(?:[eE][-+]?\d+)?$")
# The unit may stand behind the number with or without a blank, as in "3.95 V" and "25°C".
_WITH_UNIT = re.compile(
    r"(?P<number>[-+]?[\d.,' ]*\d(?:[eE][-+]?\d+)?[.,]?)\s*(?P<unit>[^\W\d_][\w.·]*|°\s?[CF]|[%℃Ωº]\w?)$"
)
_CLOCK = re.compile(
    r"(?:(?P<days>\d+)\s*(?:d|days?|tage?|[.])[\s,:.]*)?\d{1,5}:\d{1,2}(?::\d{1,2}(?:[.,:]\d+)?|[.,]\d+)?"
    r"\s*(?:[ap]\.?m\.?)?$",
    re.IGNORECASE,
)
_SPOKEN_CLOCK = re.compile(
    r"(?:\d+\s*d[^\W\d]*\s*)?(?:\d+\s*h[^\W\d]*\s*)?(?:\d+\s*m[^\W\d]*\s*)(?:\d+(?:[.,]\d+)?\s*s[^\W\d]*)?$",
    re.IGNORECASE,
)
_DATE = re.compile(
    r"\d{1,4}[-/.]\s?\d{1,2}[-/.]\s?\d{1,4}\.?$|\d{1,2}[- ][A-Za-z]{3,9}[- ,]+\d{2,4}$"
    r"|[A-Za-z]{3,9} \d{1,2},? \d{4}$"
)
# Without marks between its parts only with the letter T, else it is a number. Source: ISO 8601, the basic format.
_DATE_CLOCK = re.compile(
    r"\d{8}T\d{6}(?:[.,]\d+)?(?:Z|[-+]\d{2}:?\d{2})?$"
    r"|(?:\d{1,4}[-/.]\s?\d{1,2}[-/.]\s?\d{1,4}\.?|\d{1,2}[- ][A-Za-z]{3,9}[- ,]+\d{2,4}|[A-Za-z]{3,9} \d{1,2},? \d{4})"
    r"(?:[T_,]\s*|\s+)\d{1,2}[:.]\d{2}(?:[:.]\d{2}(?:[.,:]\d+)?)?\s*(?:[ap]\.?m\.?)?\s*(?:Z|UTC|[-+]\d{2}:?\d{2})?$",
    re.IGNORECASE,
)

_MAY_BE_MOMENT = re.compile(r"\d[:.]\d\d[:.]\d\d|\d:\d\d")


def tidy(text: str) -> str:
    """Return an entry without blanks around it and with the usual minus and blank."""
    return text.translate(_MINUS).strip().strip("'\"").strip()


def split_unit(text: str) -> tuple[str, str]:
    """Return the number of an entry and the unit behind it, ("", "") where it is no number with a unit."""
    found = _WITH_UNIT.match(text)
    return (found["number"].strip(), found["unit"]) if found else ("", "")


def kind_of(text: str, decimal: str) -> str:
    """Return what an entry is: number, unit (a number with one), clock, date, moment, nothing or words.

    Parameters
    ----------
    text : str
    decimal : str
        ``.`` or ``,``.
    """
    entry = in_usual_words(tidy(text)) if _MAY_BE_MOMENT.search(text) else tidy(text)
    if entry.lower() in NOTHING:
        return "nothing"
    if is_number(entry, decimal):
        return "number"
    for kind, pattern in (
        ("clock", _CLOCK),
        ("clock", _SPOKEN_CLOCK),
        ("moment", _DATE_CLOCK),
        ("date", _DATE),
    ):
        if pattern.match(entry):
            return kind
    number, _ = split_unit(entry)
    return "unit" if number and is_number(number, decimal) else "words"


def is_number(entry: str, decimal: str) -> bool:
    """Whether a tidy entry is a number, thousands apart or not."""
    if not any(letter.isdigit() for letter in entry):
        return False
    pattern = _POINT if decimal == "." else _COMMA
    return pattern.match(entry) is not None or (decimal == "," and _PLAIN.match(entry) is not None)


# Where decimals have a comma, some columns of the same file still have points.
_PLAIN = re.compile(r"[-+]?\d+\.\d+(?:[eE][-+]?\d+)?$")


def number(text: str, decimal: str) -> float:
    """Return the number of an entry, with or without a unit behind it; nan where there is none."""
    entry = tidy(text)
    if not is_number(entry, decimal):
        entry, _ = split_unit(entry)
        if not entry or not is_number(entry, decimal):
            return nan
    if decimal == "," and not ("." in entry and "," not in entry and _PLAIN.match(entry)):
        entry = re.sub(r"[. ']", "", entry).replace(",", ".")
    else:
        entry = entry.replace(",", "").replace(" ", "").replace("'", "")
    try:
        return float(entry)
    except ValueError:
        return nan
