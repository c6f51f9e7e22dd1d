"""Cells of a shop's table as the fields of a case take them: a heading's unit, prices, chemistries, "not stated".

Nothing is repaired: what cannot be read goes on as it stands, and the field says that it cannot be read.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

from registry.printed.prices import CURRENCIES, read_price
from verifier.case.fields import case_fields
from verifier.screening.columns import states_nothing
from verifier.screening.heading_words import meanings

PRICE, CURRENCY = "claim.price", "claim.currency"
_CHEMISTRY, CERTIFICATES = "claim.chemistry", "claim.certificates"
MARKING, _SIZE, CELL_COUNT = "claim.cell_marking", "claim.cell_size", "claim.cell_count"
_LONGEST_CELLS = 200
_COUNTS = {"claim.series": "s", "claim.parallel": "p"}
# What people write into a cell of which they know nothing. Common practice, no source.
_NOTHING = frozenset(
    {
        "-", "--", "–", "—", "/", "?", "n/a", "na", "n.a.", "none", "null", "nan", "unknown", "not stated", "tbd",
        "k.a.", "k. a.", "keine angabe", "unbekannt", "nicht angegeben", "entfällt", "o.a.",
        "nc", "n.c.", "non précisé", "non communiqué", "inconnu", "sin datos", "desconocido", "无", "未知", "不详",
        "n.d.", "n.d", "nd", "n/d", "s/d", "n/s", "n.s.", "n.r.", "n.b.", "n. b.", "n.v.t.", "nvt", "b.d.", "bd", "b/d",
        "not specified", "not given", "not available", "nicht bekannt", "nicht spezifiziert", "ohne angabe",
        "non renseigné", "non spécifié", "non indiqué", "inconnue", "no disponible", "no indicado",
        "no especificado", "sin especificar", "desconocida", "non disponibile", "non dichiarato", "non dichiarata",
        "non specificato", "non specificata", "non indicato", "non indicata", "non noto", "sconosciuto", "sconosciuta",
        "onbekend", "niet opgegeven", "niet bekend", "niet vermeld", "brak danych", "nie podano", "nieznany",
        "nieznana", "nieznane", "não informado", "não disponível", "não especificado", "não indicado", "desconhecido",
        "desconhecida", "不明", "記載なし", "未記載", "情報なし", "未标注", "未注明", "未提供", "暂无", "未標注",
        # What somebody is still to weigh, or only says to be there.
        "to be weighed", "unweighed", "ungewogen", "wird noch gewogen", "wordt nog gewogen", "à peser", "por pesar",
        "da pesare", "do zważenia", "nieważone", "未称重", "未計測", "vorhanden", "eingebaut", "integriert",
        "inklusive", "inkl.", "included", "incl.", "built in", "fitted", "inclusief", "ingebouwd", "aanwezig",
        "inclus", "intégré", "incluido", "integrado", "incluso", "integrato", "presente", "incluído", "w zestawie",
        "有り", "あり", "有", "内置", "tbc", "tba", "n.o.t.k.", "notk", "vb", "vhb", "folgt", "volgt", "à venir",
        "por confirmar",
        # Of a part that does not come with the pack.
        "without", "not included", "not supplied", "ohne", "nicht enthalten", "keine", "keiner", "kein", "sans",
        "aucun", "aucune", "non fourni", "non inclus", "sin", "ninguno", "no incluido", "senza", "nessuno",
        "non incluso", "zonder", "geen", "bez", "brak", "sem", "nenhum",
        "não incluído", "不含", "没有", "なし", "無し", "付属なし",
    }
)  # fmt: skip
# Beside those that a listing is read by.
_CHEMISTRIES = {"lithiumferphosphate": "LFP", "linca": "NCA", "lithiumtitanat": "LTO", "三元锂": None}
# "Lithium-ion" in the languages that are read leaves open which it is; any further word may not.
_LITHIUM = re.compile(r"li(?:th?ium|tio|to|tow\w+)?|锂|鋰|リチウム")
_OF_LITHIUM = re.compile(
    r"li(?:th?ium|tio|to|tow\w+)?|liion(?:en)?|lipo|ion|ion(?:s|en|i|es|ic[ao]s?|iche)|ioes|jon\w+|po|pol[iy]mer\w*|"
    r"de|d|di|do|da|ak[ku]u|accus?|batter(?:y|ie|ies|ij|ia)|bater[iy]\w|akumulator|pack|cel\w{0,4}|cellules?|zellen?|ogniw\w*|"
    r"锂|离子|鋰|離子|聚合物|电池|電池|电芯|リチウム|イオン|ポリマー"
)
_SCRIPT = re.compile(r"[a-z]+|[0-9]+|锂|鋰|离子|離子|聚合物|电池|電池|电芯|リチウム|イオン|ポリマー|[^\W_]")
# Words that state no number: whether there is one, that there is none, or that it may be asked for.
_NO_NUMBER = frozenset({"yes", "no", "negation", "without", "not_included", "have_none", "ask"})
_BARE = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)*")
# A number whose comma or point can only be a decimal sign, or only one of thousands.
_DECIMAL = {
    ",": re.compile(r"(?<![\d.,])(?:\d{1,3}(?:\.\d{3})+|\d+),(?:\d{1,2}|\d{4,})(?![\d.,])|(?<![\d.,])0,\d+"),
    ".": re.compile(r"(?<![\d.,])(?:\d{1,3}(?:,\d{3})+|\d+)\.(?:\d{1,2}|\d{4,})(?![\d.,])|(?<![\d.,])0\.\d+"),
}
_EITHER = re.compile(r"(?<![\d.,])([1-9]\d{0,2}),(\d{3})(?![\d.,])")
_FEWEST_DECIMALS = 3
_SHORT = 60


def decimal_commas(columns: Iterable[Sequence[Any]]) -> bool:
    """Return whether a table writes decimals with a comma throughout: several surely do, and none with a point.

    Parameters
    ----------
    columns : iterable of sequences
        The first values of its columns. Long texts are left out: they may be quoted from elsewhere.
    """
    counts = dict.fromkeys(_DECIMAL, 0)
    for values in columns:
        for each in values:
            if isinstance(each, str) and len(each) <= _SHORT:
                for sign, pattern in _DECIMAL.items():
                    counts[sign] += pattern.search(each) is not None
    return counts[","] >= _FEWEST_DECIMALS and not counts["."]


def with_points(values: Sequence[Any]) -> list[Any]:
    """Return the values of a table of decimal commas so that each reads in one way: "1,176 kWh" as "1.1760 kWh".

    With a fourth decimal no reader takes the point for one of thousands.
    """
    return [
        _EITHER.sub(r"\1.\g<2>0", each) if isinstance(each, str) and len(each) <= _SHORT else each
        for each in values
    ]


def prepared(field: str, unit: str | None, raw: Sequence[Any]) -> dict[str, list[Any]]:
    """Return the columns that a source column gives: its field, and the currency where prices name one.

    Parameters
    ----------
    field : str
        Dotted name of the field.
    unit : str or None
        In which a bare number stands, by the heading; None for the unit of the field. Of a price, its currency.
    raw : sequence of n_rows values
    """
    stated = [None if says_nothing(each) else each for each in raw]
    if field == PRICE:
        pairs = [_price(each) for each in stated]
        found = {PRICE: [number for number, _ in pairs]}
        # What the heading says holds where the cell says nothing else.
        currencies = [said or (unit if number is not None else None) for number, said in pairs]
        return found | ({CURRENCY: currencies} if any(currencies) else {})
    if field in (MARKING, _SIZE, CELL_COUNT):
        return _cells(field, stated)
    if field == CURRENCY:
        return {field: [CURRENCIES.get(_folded(each), each) for each in stated]}
    if field == _CHEMISTRY:
        return {field: [_chemistry(each) for each in stated]}
    if field == CERTIFICATES:
        return {field: [each.replace(",", ";") if isinstance(each, str) else each for each in stated]}
    if field in _COUNTS:
        return {field: [_count(each, _COUNTS[field]) for each in stated]}
    known = case_fields().get(field)
    if known is not None and known.unit:
        stated = [None if isinstance(each, str) and _states_no_number(each) else each for each in stated]
    # Under a heading in the field's own unit a number stays bare: it may still be a slip.
    other = unit if unit and unit != case_fields()[field].unit else None
    return {field: [_in_unit(each, other) for each in stated] if other else stated}


def _folded(value: Any) -> str:
    return value.strip().casefold() if isinstance(value, str) else ""


def number_in(value: Any) -> float | None:
    """Return the number that a cell begins with, to compare columns by; None where there is none."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    match = re.match(r"\s*([0-9]+(?:[.,][0-9]+)?)", value) if isinstance(value, str) else None
    return float(match[1].replace(",", ".")) if match else None


def says_nothing(value: Any) -> bool:
    """Whether a cell states nothing: empty, "k. A.", "-" and their like."""
    return states_nothing(value) or _folded(value) in _NOTHING


@lru_cache(maxsize=20_000)
def _states_no_number(text: str) -> bool:
    """Whether words under a figure say only that there is one or none, or that it may be asked for: "not weighed"."""
    if len(text) > _SHORT or any(map(str.isdigit, text)):
        return False
    return not _NO_NUMBER.isdisjoint(meanings(text))


def _in_unit(value: Any, unit: str) -> Any:
    """Return a bare number with the unit of its heading; what has a unit of its own keeps that."""
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        return f"{value:.15g}{unit}"
    return f"{value.strip()}{unit}" if isinstance(value, str) and _BARE.fullmatch(value.strip()) else value


def _price(value: Any) -> tuple[Any, str | None]:
    if not isinstance(value, str):
        return value, None
    if not any(map(str.isdigit, value)):
        # "On request": of a shop's own price there is nothing to be found out.
        return None, None
    return read_price(value)


def _chemistry(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    return _chemistry_in(value)


@lru_cache(maxsize=2_000)
def _chemistry_in(text: str) -> str | None:
    """Return the chemistry that words name, None where they leave open which; other words as they stand."""
    from verifier.listing.source import folded
    from verifier.listing.vocabulary import load_vocabulary

    lower = folded(text.strip())
    squeezed = re.sub(r"[\W_]+", "", lower)
    if squeezed in _CHEMISTRIES:
        return _CHEMISTRIES[squeezed]
    named = load_vocabulary().chemistry.find(lower, 0, len(lower))
    found = {name for _, _, names in named for name in names}
    if len(found) == 1:
        return found.pop()
    plain = "".join(each for each in unicodedata.normalize("NFKD", lower) if not "\u0300" <= each <= "\u036f")
    parts = _SCRIPT.findall(unicodedata.normalize("NFC", plain))
    only = all(map(_OF_LITHIUM.fullmatch, parts)) and any(map(_LITHIUM.match, parts))
    return None if only and not found else text


def _count(value: Any, letter: str) -> Any:
    """Return "13S" as 13, in a column of counts in series."""
    match = re.fullmatch(rf"\s*([0-9]{{1,4}})\s*{letter}\s*", value, re.I) if isinstance(value, str) else None
    return int(match[1]) if match else value


def _cells(field: str, values: Sequence[Any]) -> dict[str, list[Any]]:
    """Return a column of cells as it is meant in each row: a name, a size, how many, or "52 x 18650", which is both."""
    found: dict[str, list[Any]] = {field: list(values)}

    def put(name: str, row: int, value: Any) -> None:
        found.setdefault(name, [None] * len(values))[row] = value

    for row, value in enumerate(values):
        if value is None or isinstance(value, bool):
            continue
        read = cells_stated(str(value))
        if read is None:
            continue
        found[field][row] = None
        for name, each in read.items():
            put(name, row, each)
    return found


@lru_cache(maxsize=20_000)
def cells_stated(text: str) -> dict[str, Any] | None:
    """Return what a text states of cells other than their name, by field; None for one that states nothing else."""
    bare = re.fullmatch(r"[0-9]{1,5}(?:\.0)?", text.strip())
    if bare:
        number = text.strip().removesuffix(".0")
        return {_SIZE if len(number) == 5 else CELL_COUNT: number}
    if not any(letter.isdigit() for letter in text) or len(text) > _LONGEST_CELLS:
        return None
    from verifier.listing import read_listing
    from verifier.listing.drafts import claims_of

    # As a listing would say it: one reader of what sellers write.
    claims = claims_of(read_listing(f"Cells: {text}").variants[0])
    if "cell_count" not in claims:
        return None
    return {
        f"claim.{name}": claims[name]
        for name in ("cell_count", "cell_size", "cell_marking")
        if name in claims
    }


def currency_of(word: str) -> str | None:
    """Return the currency that a word or sign of a heading stands for, None for any other."""
    return CURRENCIES.get(word.strip().casefold())
