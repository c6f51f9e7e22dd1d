"""What a sheet calls its cell: the name without label words and notes, and whether it is only likely."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from registry.sheet_reader.lines import NOUNS, figure_quantities
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document
from registry.sheet_reader.vocabulary import meanings

_CODE = re.compile(
    r"(?:(?<![\w-])[A-Z]{2,}(?:-[A-Z]+)? )?(?<![\w.])(?=[A-Z0-9./-]*\d)"
    r"[A-Z0-9](?:[A-Z0-9/-]|\.(?=\d)){1,24}(?:-?[a-z]{1,3}(?![\w]))?(?![\w%°])"
)
_STANDARDS = re.compile(
    r"^(?:GB|IEC|UL|UN|ISO|EN|JIS|QC|DIN|IEEE|REV|VER|PAGE|NO|KS)(?:[\s\d/.]|$)"
    r"|^(?:DC|AC|CC|CV|CC[-/]?CV|SOC|DOD|RH|KPA|HZ|V|A)\s?[\d.]*$",
    re.I,
)
_NUMBER_OF = r"[\s\W]*(?:no|number|nr|num(?:mer|ero|éro|er)|code|id|#|:|n°|nº|º)[.:\s]*"
_DOCUMENT_BEFORE = re.compile(
    r"(?:(?:doc(?:ument)?|spec(?:ification)?|sheet|form|item|datenblatt|dokument|artikel|fiche|hoja|ficha|scheda|karta|blad)"
    rf"{_NUMBER_OF}|(?:report|drawing|file|certificate|order|article|lot|batch|zeichnung|bestell)(?:{_NUMBER_OF})?"
    r"|(?:rev|ver|no|nr|n°|nº|doc(?:ument)?)|(?:编号|文件|文書|図面|管理)(?:番号|编号|号)?|(?:仕様書|规格书)(?:番号|编号|号)|문서\s?(?:번호)?)\W*$",
    re.I,
)
_SHEET_BEFORE = re.compile(
    r"\b(?:data\s?sheet|datenblatt|fiche technique|hoja de datos|规格书|仕様書)\s*[:：]?\s*", re.I
)
"""What stands before the number of a sheet, or before the name of the cell in its title."""
_DOCUMENT_AFTER = re.compile(
    r"^\s*[,;/(-]?\s*(?:rev|ver(?!y)|vers|issue|edition|ed\.|ausgabe|stand\b|index\b|indice|[ée]dition|edici[óo]n|edizione|wydanie"
    r"|uitgave|versie|版本|版|第\s?\d+\s?版|(?:19|20)\d\d[-./年])",
    re.I,
)
"""What stands behind the number of a paper: its issue or its date."""
_ANOTHER = re.compile(
    r"(?i)\b(?:replac\w+|supersed\w+|successor (?:of|to)|see also|compare(?:d)? (?:with|to)|instead of|unlike|formerly"
    r"|ersetzt|nachfolger (?:von|der)|vorg[äa]nger|remplace|sustituye|sostituisce|zast[ęe]puje|vervangt"
    r"|替代|取代|代替)\W*"
)
"""What stands before the name of another cell."""
_SIZE = re.compile(r"(?<!\d)(?:1[0-9]|2[0-9]|3[2-8]|4[0-6])\d{3}(?!\d)|(?<!\d)\d{6,8}(?!\d)")
"""The size of a cell within its name."""
_LABEL = re.compile(
    r"^(?:[:：#\-–—=.\s]|model(?:l|o|e|lo)?(?:\s?(?:no|number|nr|name))?(?![\w])|mod[eè]le|type(?![\w])|typ(?![\w])|zelltyp|"
    r"part\s?(?:no|number)|product(?:\s?(?:name|code|no))?(?![\w])|cell(?:\s?(?:type|name))?(?![\w])|name(?![\w])|no\.|nr\.|"
    r"referenz|r[ée]f[ée]rence|referencia|产品型号|电芯型号|型号|型式|型番|品番|모델명?|형명|품명)+",
    re.I,
)  # fmt: skip
_NOTE = re.compile(r"\s*[(（\[【][^)）\]】]*[)）\]】]?")
_ENDS = re.compile(
    r"\s{2,}|[;；,，|/]\s|\b(?:rev|ver|version|date|datum|issue|page)\b\.?|版本|日期",
    re.I,
)  # fmt: skip
_DASH = re.compile(r"(?:\s(?:-{1,2}|[–—])\s|\s?—\s?)(?=(?:\d{1,2}\s)?[^\W\d_]{2,}(?![\w-]*\d))")
"""A dash with words behind it, which say what the cell is: "KRV-606090-40 - soft pouch"."""
_LONGEST = 60
_NEAR = 200
"""How far around a code is looked for what makes it the number of a paper. [letters]."""
_KIND_WORDS = re.compile(
    r"\b(?:li(?:thium)?|ion(?:en)?|polymer|po|fe|life?po4|lmfp|lfp|nmc|ncm|nca|lco|lmo|lto|na|sodium|iron|phosphate|titanate"
    r"|mangan\w*|cobalt|nickel|recharg\w*|batter\w+|batterie\w*|akku|zellen?|cells?|cylindri\w+|zylind\w+|prismatic|pouch|round"
    r"|锂离子|锂电池|电池|电芯|磷酸铁锂|三元)(?![\w])|锂离子|锂电池|电池|电芯|磷酸铁锂|三元",
    re.I,
)
"""Words of what a cell is made of and how it is built, which many cells are."""
_OF_FIGURES = NOUNS | {"storage", "charge", "discharge", "pulse"}
_TITLE_LINES = 3
_NAMES_MODEL = re.compile(
    r"^\s*(?:typ|type|modell?|modell?o|mod[eè]le|bezeichnung|zelltyp|designation)\W*$", re.I
)


@dataclass(frozen=True, slots=True)
class ModelName:
    """The name of a cell; ``doubtful`` where no label of its own gives it, or several names do."""

    name: str = ""
    doubtful: bool = True


def model_name(document: Document) -> ModelName:
    """Return what the sheet calls the cell: by a label, else the code that its title and first lines tell best.

    What a page's own title names goes before a label that names something else; the number of a paper, a
    standard and the text of a link name no cell.
    """
    titled = list(dict.fromkeys(code for title in document.titles for code in codes(title)))
    labelled = [name for name in dict.fromkeys(_labelled_names(document)) if not _STANDARDS.match(name)]
    if labelled and (not titled or any(_same(name, code) for name in labelled for code in titled)):
        ordered = sorted(labelled, key=lambda name: not any(_same(name, code) for code in titled))
        several = len({_plain(name) for name in labelled}) > 1
        return ModelName(ordered[0], several or len(ordered[0].split()) > 3)
    made = _told_best(document, titled)
    if labelled and made.name:
        return replace(made, doubtful=True)
    return made if made.name else _told_best(document, titled, papers=True)


def _plain(name: str) -> str:
    return re.sub(r"\W", "", name).lower()


def _same(one: str, other: str) -> bool:
    """Whether one of two names is the other, or the other with more behind or before it."""
    return _plain(one) in _plain(other) or _plain(other) in _plain(one)


def _told_best(document: Document, titled: Sequence[str], *, papers: bool = False) -> ModelName:
    """Return the code that the titles and first lines of a document tell best."""
    lines = [_without_links(quote, document.links) for quote in (row.quote for row in document.rows[:200])]
    counted: Counter[str] = Counter()
    numbers = set() if papers else _numbers_of_sheets(document)
    for quote in (*document.titles, *document.running, *lines[:12]):
        counted.update(code for code in codes(quote, papers=papers) if code not in numbers)
    for quote in lines[12:]:
        counted.update(code for code in codes(quote, papers=papers) if code in counted)
    counted = Counter({code: count for code, count in counted.items() if not _is_only_a_kind(code)})
    if not counted:
        return ModelName()
    title = " ".join((*document.titles, *document.running, *lines[:_TITLE_LINES]))
    beside = {
        code for line in lines for found in _ANOTHER.finditer(line) for code in codes(line[found.end() :])[:1]
    }

    def weight(code: str) -> tuple[bool, bool, bool, int]:
        return code not in beside, code in titled, bool(_SIZE.search(code)), counted[code]

    name = max(counted, key=weight)
    rest = [code for code in counted if not _same(code, name)]
    telling = len(re.findall(r"\d", name)) > 1 and name in title
    return ModelName(name, papers or bool(rest) or not (telling or counted[name] > 1))


def _without_links(quote: str, links: Sequence[str]) -> str:
    """Return a line without the texts of links, which name what they lead to."""
    for link in links:
        if codes(link):
            quote = quote.replace(link, "  ")
    return quote


def _numbers_of_sheets(document: Document) -> set[str]:
    """Return the codes that stand behind "data sheet" amid a line, where the title holds another code.

    "Data sheet DRB-18650-25" as a title names the cell; behind the maker's name it is the sheet's own number.
    """
    lines = [row.quote for row in document.rows[:12]]
    title = next((found for line in lines[:_TITLE_LINES] if (found := codes(line))), [])
    numbers = {
        code
        for line in lines
        for found in _SHEET_BEFORE.finditer(line)
        if found.start() > 0
        for code in codes(line[found.end() :])[:1]
        if line[found.end() :].lstrip().startswith(code)
    }
    return numbers - set(title)


def _labelled_names(document: Document) -> Iterator[str]:
    for index, row in enumerate(document.rows[:200]):
        for at, cell in enumerate(row.cells):
            name = _labelled(cell.text, row.cells[at + 1 :])
            if name:
                yield name
        alone = row.filled
        following = document.rows[index + 1].filled if index + 1 < len(document.rows) else []
        if len(alone) == len(following) == 1 and len(alone[0].text) < 24 and is_model_label(alone[0].text):
            yield from codes(following[0].text)[:1]


def is_model_label(text: str) -> bool:
    """Whether a text is what stands before the name of a cell, such as "Model" or "Type"."""
    return "model" in meanings(text) or bool(_NAMES_MODEL.match(text))


def _is_only_a_kind(name: str) -> bool:
    """Whether a name is a size and a chemistry or shape, which many cells have: "18650 Li-ion"."""
    rest, kinds = _KIND_WORDS.subn(" ", name)
    return kinds > 0 and not re.search(r"\w", _SIZE.sub(" ", rest))


def _labelled(text: str, after: Sequence[Cell]) -> str:
    """Return the name in ``Model: X`` or in the cell after ``Model``."""
    plain = text.replace("：", ":")
    for match in re.finditer(r":|(?<=[a-z号])\s+(?=[A-Z]{1,6}[\d-]|[A-Z0-9]+-)", plain):
        label, value = plain[: match.start()], plain[match.end() :]
        if is_model_label(label[-30:]) and "not_rating" not in meanings(label[-30:]) and len(label) < 80:
            name = clean_name(value)
            if name and not figure_quantities(normal(name)) and not _is_only_a_kind(name):
                return name
    if len(plain) > 30 or not is_model_label(plain):
        return ""
    following = next((cell.text for cell in after if cell.text.strip(" :")), "")
    name = clean_name(following)
    return "" if figure_quantities(normal(following)) or _is_only_a_kind(name) else name


def clean_name(text: str) -> str:
    """Return a name without label words, notes in brackets and what follows; empty without a number."""
    text = _LABEL.sub("", _NOTE.sub("", text.strip()).strip())
    text = _ENDS.split(text.strip())[0]
    before = _DASH.split(text)[0]
    text = (before if re.search(r"\d", before) else text).strip(" :：.,;-–\"'")
    return text[:_LONGEST] if re.search(r"\d", text) and re.search(r"[^\W\d_]", text) else ""


def codes(text: str, *, papers: bool = False) -> list[str]:
    """Return the codes of a line that may name a cell: no standards and, without ``papers``, no numbers of papers."""
    found = []
    for match in _CODE.finditer(text):
        code = match[0].strip("-/ ")
        if _is_code(code) and (papers or not _is_of_a_paper(text, match)):
            found.append(clean_name(code))
    return found


def _is_of_a_paper(text: str, code: re.Match[str]) -> bool:
    # Looked for close by: from the start of a long line it would be looked for once more for every code.
    before = text[max(0, code.start() - _NEAR) : code.start()]
    return bool(
        _DOCUMENT_BEFORE.search(before) or _DOCUMENT_AFTER.match(text[code.end() : code.end() + _NEAR])
    )


def _is_code(code: str) -> bool:
    bare = code.split()[-1]
    if re.fullmatch(r"[\d.]+C\d?M?A?", bare):
        return False
    if re.match(r"[A-Z]{2,4}\d{2,3}/\d{2,3}", bare):
        # What a standard designates a cell by says its size and chemistry, not its model.
        return False
    if not re.search(r"[A-Z]", code) or not re.search(r"\d", bare) or _STANDARDS.match(code):
        return False
    if re.fullmatch(r"[\d.]+(?:K?HZ|MAH|AH|MA|A|V|WH|W|G|MM|C|S|P|H)", bare) or len(code) < 4:
        return False
    if re.fullmatch(r"(?:19|20)\d\d(?:-\d\d){1,2}", bare) or re.fullmatch(r"\d+-\d+", code):
        return False
    return bool(re.search(r"[A-Z]{2}", code)) or "-" in code or len(re.findall(r"\d", code)) >= 3


def looks_like_a_model(text: str) -> bool:
    """Whether a cell of a table's head may be a model's name."""
    if (
        len(text) > 40
        or figure_quantities(normal(text))
        or re.match(r"(?i)(?:page|seite|rev|ver|sheet)\b", text)
    ):
        return False
    if meanings(text) & _OF_FIGURES and not codes(text):
        # "Storage 1 month (°C)" heads a column of figures.
        return False
    return bool(re.search(r"\d", text) and re.search(r"[A-Za-z]", text)) and not re.fullmatch(
        r"[\d.,\s]*(?:m?Ah?|V|°?C|g|mm|k?Hz|%)|\d+\s?°.*", text.strip()
    )
