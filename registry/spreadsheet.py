r"""Text that a spreadsheet takes as text and not as a formula, wherever it divides it; and back.

What begins a formula in spreadsheets (OWASP, "CSV Injection"), the wide forms of East Asian keyboards among
them, begins one after blanks, quotation marks and letters that are not seen too. A cell begins elsewhere than
a CSV file says as well: where decimals have a comma, spreadsheets divide at semicolons and line ends.
"""

from __future__ import annotations

import re

_UNSEEN = (
    r"[\x00-\x08\x0b\x0c\x0e-\x20\x7f-\xa0\xad\u1680\u2000-\u200f\u2028-\u202f\u205f-\u206f\u3000\ufeff\"']*"
)
_SIGN = r"[=+\-@＝＋－＠]"
_BEGINS = r"(?:^|(?<=[;\t\r\n]))"
_FIRST = re.compile(rf"{_UNSEEN}{_SIGN}|'*[\t\r\n]")
_FURTHER = re.compile(rf"[;\t\r\n](?={_UNSEEN}{_SIGN})")
_MARKED = re.compile(rf"{_BEGINS}'(?={_UNSEEN}{_SIGN})|^'(?='*[\t\r\n])")


def safe(text: str) -> str:
    """Return text with an apostrophe before whatever could begin a formula."""
    marked = _FURTHER.sub(r"\g<0>'", text) if _FURTHER.search(text) else text
    return f"'{marked}" if _FIRST.match(text) else marked


def as_written(text: str) -> str:
    """Return text as it was before it was made `safe`."""
    return _MARKED.sub("", text)
