"""The text of a listing: as it is, or the words of a page saved as HTML, without its menus."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from html import unescape
from html.parser import HTMLParser

from verifier.listing.grids import Grid

# Letters that run together into words; Chinese signs stand for themselves and need no blank around them.
LETTER = r"a-zß-ɏ"
_HTML = re.compile(
    r"<\s*(?:!doctype\s+html|html|head|body|table|div|p|ul|ol|span|br|h[1-6])\b[^>]{0,2000}>", re.I
)
_TAG = re.compile(r"<[^<>]*>")
_UNSEEN = {
    "script",
    "style",
    "template",
    "noscript",
    "svg",
    "select",
    "nav",
    "footer",
    "button",
    "form",
    "head",
}
_CELLS = {"td", "th", "dt", "dd"}
_BLOCKS = {
    "p", "div", "br", "li", "ul", "ol", "tr", "table", "section", "article", "header", "footer",
    "title", "h1",
    "h2", "h3", "h4", "h5", "h6", "dl", "tbody", "thead", "hr", "pre", "blockquote", "figcaption", "main",
    "nav", "aside",
}  # fmt: skip
_VOID = {"br", "hr", "img", "input", "meta", "link", "wbr", "source", "col", "area", "base", "embed", "track"}
# What shops call the parts of a page that are not about the article (common practice, no source).
_OTHER_PART = re.compile(
    r"(?:^|[\s_-])(?:menu\w*|[a-z]?nav|topnav|mainnav|topbar|navigation|navbar|breadcrumbs?|sidebar|cookie\w*|newsletter|social|related|recommend\w*"
    r"|similar|also[-_]?(?:like|bought|viewed)|cross[-_]?sell|up[-_]?sell)(?:$|[\s_-])",
    re.I,
)
_MENU_PARTS = {"header", "div", "ul", "ol", "p", "section", "aside", "center"}
_DEEPEST = 400


def looks_like_html(text: str) -> bool:
    """Return whether text holds the tags of a page."""
    return _HTML.search(text, 0, 20_000) is not None


@dataclass(slots=True)
class _Block:
    """A part of a page: where its words begin, and what they are."""

    tag: str
    start: int
    links: int = 0
    # Whether words stand beside the links.
    beside: bool = False
    heading: bool = False

    def is_menu(self) -> bool:
        """Return whether it holds links alone, or heads the page without its title."""
        return (self.links > 1 and not self.beside) or (self.tag == "header" and not self.heading)


class _Text(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.parts: list[str] = []
        self.open: list[tuple[str, bool]] = []
        self.unseen = 0
        self.link = 0
        self.blocks: list[_Block] = []
        self.grids: list[Grid] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in _VOID and len(self.open) < _DEEPEST:
            hidden = tag in _UNSEEN or any(
                name in ("class", "id", "role", "aria-label") and _OTHER_PART.search((value or "")[:200])
                for name, value in attrs
            )
            # The body or the whole page may carry any class of the shop's theme.
            hidden = hidden and tag not in ("html", "body", "main", "h1")
            self.open.append((tag, hidden))
            self.unseen += hidden
        self._tag(tag)
        self._enter_block(tag)
        self._enter_grid(tag, dict(attrs))

    def _enter_block(self, tag: str) -> None:
        if tag in _MENU_PARTS and len(self.blocks) < _DEEPEST:
            self.blocks.append(_Block(tag, len(self.parts)))
        elif tag == "a":
            self.link += 1
            if self.blocks:
                self.blocks[-1].links += 1
        elif tag == "h1":
            for block in self.blocks:
                block.heading = True

    def _leave_block(self, tag: str) -> None:
        """Leave out the words of a part that turns out to be a menu."""
        index = next((i for i in range(len(self.blocks) - 1, -1, -1) if self.blocks[i].tag == tag), -1)
        if index < 0:
            return
        block = self.blocks[index]
        for inner in self.blocks[index + 1 :]:
            block.links += inner.links
            block.beside |= inner.beside
        del self.blocks[index:]
        if block.is_menu() and not self.grids:
            del self.parts[block.start :]
        elif self.blocks:
            self.blocks[-1].links += block.links
            self.blocks[-1].beside |= block.beside

    def _enter_grid(self, tag: str, attrs: dict[str, str | None]) -> None:
        if tag == "table":
            if self.grids:
                self.grids[-1].nested = True
            self.grids.append(Grid(len(self.parts)))
        elif self.grids and tag == "tr":
            self.grids[-1].rows.append([])
        elif self.grids and tag in ("td", "th"):
            self.grids[-1].add(
                len(self.parts), head=tag == "th", columns=attrs.get("colspan"), rows=attrs.get("rowspan")
            )

    def _leave_grid(self) -> None:
        """Write the rows of a table anew where its cells cover several places."""
        grid = self.grids.pop()
        if grid.is_uneven(self.parts):
            rows = grid.plain(self.parts)
            del self.parts[grid.start :]
            self.parts += [part for row in rows for part in ("\t".join(row), "\n")]

    def handle_endtag(self, tag: str) -> None:
        if tag == "table" and self.grids:
            self._leave_grid()
        if tag in _MENU_PARTS:
            self._leave_block(tag)
        elif tag == "a":
            self.link = max(0, self.link - 1)
        for index in range(len(self.open) - 1, max(-1, len(self.open) - 30), -1):
            if self.open[index][0] == tag:
                self.unseen -= sum(hidden for _, hidden in self.open[index:])
                del self.open[index:]
                break
        if tag in _BLOCKS:
            self._break("\n")

    def _tag(self, tag: str) -> None:
        if tag in _CELLS:
            self._break("\n" if tag == "dt" else "\t")
        elif tag in _BLOCKS:
            self._break("\n")

    def handle_data(self, data: str) -> None:
        if not self.unseen and (words := re.sub(r"\s+", " ", data)).strip():
            if self.parts and self.parts[-1][-1:] not in "\n\t " and words[0] != " ":
                words = self._apart(words)
            self.parts.append(words)
            if not self.link and self.blocks and any(letter.isalnum() for letter in words):
                self.blocks[-1].beside = True

    def _apart(self, words: str) -> str:
        """Keep words of neighbouring elements apart where a number would run into another."""
        both_digits = self.parts[-1][-1:].isdigit() and words[0].isdigit()
        return " " + words if both_digits else words

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

    Menus, footers and what the page recommends beside the article are left out.

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
# The comma of Chinese stays: it never stands inside of a number.
_PLAIN = {code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F) if code != 0xFF0C} | dict.fromkeys(
    (0xA0, 0x2007, 0x2009, 0x200A, 0x202F, 0x3000), " "
)
_WITHOUT_MARK = {"ł": "l", "ø": "o", "đ": "d", "ı": "i", "’": "'", "´": "'", "İ": "i"}


@cache
def _folded_sign(sign: str) -> str:
    plain = sign.translate(_PLAIN)
    plain = plain.lower() if len(plain.lower()) == 1 else plain
    plain = _WITHOUT_MARK.get(plain, plain)
    if plain.isascii():
        return plain
    base = unicodedata.normalize("NFD", plain)
    # Only Latin letters lose their marks; of a Japanese sign the mark makes another sound.
    return base[0] if base[0].isascii() and base[0].isalpha() else plain


def folded(text: str) -> str:
    """Return text of the same length in lower case, without accents, full-width signs made plain."""
    return text.lower() if text.isascii() else "".join(map(_folded_sign, text))
