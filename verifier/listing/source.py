"""The text of a listing: as it is, or taken out of a page saved as HTML."""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser

_HTML = re.compile(
    r"<\s*(?:!doctype\s+html|html|head|body|table|div|p|ul|ol|span|br|h[1-6])\b[^>]{0,2000}>", re.I
)
_TAG = re.compile(r"<[^<>]*>")
_UNSEEN = {"script", "style", "template", "noscript", "svg", "select"}
_CELLS = {"td", "th", "dt", "dd"}
_BLOCKS = {
    "p", "div", "br", "li", "ul", "ol", "tr", "table", "section", "article", "header", "footer",
    "title", "h1",
    "h2", "h3", "h4", "h5", "h6", "dl", "tbody", "thead", "hr", "pre", "blockquote", "figcaption", "main",
    "nav", "aside",
}  # fmt: skip


def looks_like_html(text: str) -> bool:
    """Return whether text holds the tags of a page."""
    return _HTML.search(text, 0, 20_000) is not None


class _Text(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.parts: list[str] = []
        self.unseen = 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag in _UNSEEN:
            self.unseen += 1
        elif tag in _CELLS:
            self._break("\t")
        elif tag in _BLOCKS:
            self._break("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag in _UNSEEN:
            self.unseen = max(0, self.unseen - 1)
        elif tag in _BLOCKS:
            self._break("\n")

    def handle_data(self, data: str) -> None:
        if not self.unseen and (words := re.sub(r"\s+", " ", data)).strip():
            self.parts.append(words)

    def finish(self) -> None:
        """Take the words behind a tag or comment that never ends, in one go.

        The library's own way tries again from each of the signs that follow, which takes minutes.
        """
        rest, self.rawdata = self.rawdata, ""
        self.handle_data(unescape(_TAG.sub("\n", rest)))

    def parse_marked_section(self, i: int, report: int = 1) -> int:
        """Skip what HTML has no meaning for, such as ``<![if …]>``; the library would stop at some of it."""
        return self.parse_bogus_comment(i)

    def _break(self, sign: str) -> None:
        # A row begins with a line, not with the tab of its first cell.
        if sign == "\t" and (not self.parts or self.parts[-1].endswith(("\n", "\t"))):
            return
        if self.parts and not (sign == "\n" and self.parts[-1] == "\n"):
            self.parts.append(sign)


def text_of_html(page: str) -> str:
    """Return the words of a page, a line a block and a tab between the cells of a row.

    Parameters
    ----------
    page : str
        HTML, however broken.
    """
    reader = _Text()
    reader.feed(page)
    reader.finish()
    return "".join(reader.parts)


# Full-width signs as their plain forms and every blank as a space, letter for letter, so that places stay.
_PLAIN = {code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)} | dict.fromkeys(
    (0xA0, 0x2007, 0x2009, 0x200A, 0x202F, 0x3000), " "
)


def normalised(text: str) -> str:
    """Return text of the same length in lower case, full-width signs made plain."""
    plain = text.translate(_PLAIN)
    lower = plain.lower()
    if len(lower) == len(plain):
        return lower
    return "".join(letter if len(letter.lower()) != 1 else letter.lower() for letter in plain)
