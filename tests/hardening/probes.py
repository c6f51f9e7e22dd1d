"""The readers under test, their samples, and what becomes of one input: read, refused, or a fault.

A fault is any error that is not one of the program's own typed ones, an input of at most 100 kB that takes
longer than its reader may, or one that needs more memory than the process is given.
"""

from __future__ import annotations

import io
import json
import re
import signal
import sys
import tempfile
import time
import traceback
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from zlib import crc32

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"
LONGEST_S = 5.0
PART = b"\n\0part "
"""Begins the name of a workbook's part in the text form that a workbook is changed in."""


class TooLong(BaseException):
    """An input takes longer than its reader may; no error that a reader could take for its own."""


@dataclass(frozen=True, slots=True)
class Reader:
    """One reader: its samples, how it is called, and how long it may take with one input. [s]."""

    name: str
    samples: Callable[[], list[bytes]]
    read: Callable[[bytes], bool]
    longest_s: float = LONGEST_S


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one input: ``read``, ``refused`` or ``fault``, how long it took, and what went wrong."""

    kind: str
    seconds: float
    fault: str = ""
    where: str = ""


@contextmanager
def time_limit(seconds: float) -> Iterator[None]:
    """Stop what takes more of the processor's time, which other programs do not lengthen. [s]."""
    if not hasattr(signal, "setitimer"):
        yield
        return

    def stop(number: int, frame: Any) -> None:
        raise TooLong

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def probe(reader: Reader, data: bytes) -> Outcome:
    """Give one input to a reader and tell what became of it."""
    from registry.errors import ManyProblems, PlacedError

    began = time.process_time()
    kind, fault, where = "refused", "", ""
    try:
        with time_limit(reader.longest_s):
            kind = "read" if reader.read(data) else "refused"
    except PlacedError as error:
        told = [error, *(error.problems if isinstance(error, ManyProblems) else [])]
        if any("\n" in str(each) or not str(each).isprintable() for each in told):
            kind, fault, where = "fault", f"{type(error).__name__} is not one printable line", "message"
    except TooLong:
        kind, fault, where = "fault", f"takes longer than {reader.longest_s:g} s", _place(sys.exc_info()[2])
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # whatever it is, it is what is looked for
        kind, fault = "fault", f"{type(error).__name__}: {str(error)[:200]}"
        where = f"{type(error).__name__} {_place(error.__traceback__)}"
    seconds = time.process_time() - began
    if seconds > 1.2 * reader.longest_s and not fault:  # what the time limit could not stop
        kind, fault, where = "fault", f"takes longer than {reader.longest_s:g} s", "time"
    return Outcome(kind, seconds, fault, where)


def _place(trace: Any) -> str:
    """Return the innermost place in the program, which faults of one cause share."""
    frames = traceback.extract_tb(trace)
    own = [
        each for each in frames if f"{ROOT}/registry" in each.filename or f"{ROOT}/verifier" in each.filename
    ]
    for last in (own or frames)[-1:]:
        return f"{Path(last.filename).name}:{last.lineno} {last.name}"
    return ""


def smallest(reader: Reader, data: bytes, fault: Outcome, budget_s: float = 30.0) -> bytes:
    """Return the input less everything that can be left out of it while the fault stays the same."""
    ends = time.monotonic() + budget_s
    step = len(data) // 2
    while step and time.monotonic() < ends:
        at = 0
        while at < len(data) and time.monotonic() < ends:
            shorter = data[:at] + data[at + step :]
            if probe(reader, shorter).where == fault.where:
                data = shorter
            else:
                at += step
        step //= 2
    return data


# Samples -------------------------------------------------------------------------------------------------


def _files(*patterns: str) -> list[bytes]:
    return [path.read_bytes() for pattern in patterns for path in sorted(SAMPLES.glob(pattern))]


def _cases() -> list[bytes]:
    from verifier.case.reading import parse_case

    written = _files("cases/*.yaml")
    return written + [json.dumps(parse_case(each.decode(), "sample").data).encode() for each in written]


def _tables() -> list[bytes]:
    from registry.bundle import read_bundle
    from registry.table import write_table

    cells = read_bundle(SAMPLES / "registry.jsonl")
    return [write_table(cells[at : at + 3]).encode() for at in range(0, len(cells), 3)]


def _bundles() -> list[bytes]:
    lines = (SAMPLES / "registry.jsonl").read_bytes().splitlines(keepends=True)
    return [b"".join(lines[at : at + 2]) for at in range(0, len(lines), 2)]


def _reports() -> list[bytes]:
    from registry.opening import open_registry
    from verifier.case.reading import parse_case
    from verifier.judge import judge
    from verifier.report import as_json

    registry = open_registry(SAMPLES / "registry.jsonl")
    cases = [parse_case(each.decode(), "sample").case for each in _files("cases/*.yaml")[:6]]
    made = [as_json.render([judge(case, registry, explain=at == 0)]) for at, case in enumerate(cases)]
    # Without the white space that makes most of a report's bytes.
    return [json.dumps(json.loads(each), ensure_ascii=False).encode() for each in made]


def _spec_texts() -> list[bytes]:
    return [*_files("sheets/*.txt"), *_files("sheets/*.csv"), _RANGES.encode(), _CHINESE.encode("gb18030")]


_RANGES = """LYR 18650-30V cell (invented)
Model: LYR 18650-30V | Nominal capacity 3000 mAh @ 0.2C | Min. 2950mAh
Max. continuous discharge: -20~5°C 0.5C; 5 ~ 45 °C 4C (12 A); 45~60°C: 1C
1C = 2950 mA   Pulse discharge  20A (10 s)
Item\tMin\tTyp\tMax\tUnit
Internal resistance (AC 1 kHz)\t\t22\t25\tmohm
Cycle life: 300 cycles to 80% at 1C/1C
Operating temperature  Charge 0~45 C  Discharge -20~60 C
Diameter x height 18.4 ± 0.2 x 65.1 mm
"""
_CHINESE = """型号 OSK-21700-40 电池规格
标称容量 4000mAh 最小容量 3900mAh
最大持续放电电流 3C (12A) 充电温度 0~45℃ 放电温度 -20~60℃
标称电压 3.6V 充电电压 4.2V 放电终止电压 2.5V 重量 70g 内阻 20mΩ
"""


def _workbooks() -> list[bytes]:
    """Return a workbook as it is, and in the text form whose parts can be changed one by one."""
    from openpyxl import Workbook

    made = []
    for text in _spec_texts()[:2]:
        book = Workbook()
        sheet = book.worksheets[0]
        for line in text.decode().splitlines():
            sheet.append([piece for piece in re.split(r"\t|,|\s{2,}", line) if piece])
        sheet.merge_cells("A1:C1")
        with io.BytesIO() as packed:
            book.save(packed)
            made.append(packed.getvalue())
    return [*made, *map(_parts_of, made)]


def _parts_of(packed: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(packed)) as book:
        kept = [name for name in book.namelist() if "theme" not in name]
        return b"".join(PART + name.encode() + b"\n" + book.read(name) for name in kept)


def _packed(data: bytes) -> bytes:
    """Return the workbook that the text form describes; other bytes are a workbook as they are."""
    if not data.startswith(PART):
        return data
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as book:
        for number, part in enumerate(data.split(PART)[1:]):
            name, _, content = part.partition(b"\n")
            book.writestr(name.decode("latin-1").replace("\0", "")[:200] or str(number), content)
    return made.getvalue()


def pdf(*contents: bytes, extra: str = "") -> bytes:
    """Return a small PDF with one page for each content stream, none of it compressed."""
    kids = " ".join(f"{3 + 2 * at} 0 R" for at in range(len(contents)))
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        f"<</Type/Pages/Kids[{kids}]/Count {len(contents)}>>".encode(),
    ]
    for at, content in enumerate(contents):
        font = "/Font<</F1<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>>>"
        page = (
            f"<</Type/Page/Parent 2 0 R/MediaBox[0 0 595 842]/Resources<<{font}>>"
            f"/Contents {4 + 2 * at} 0 R{extra}>>"
        )
        objects += [page.encode(), b"<</Length %d>>stream\n%s\nendstream" % (len(content), content)]
    body = b"".join(b"%d 0 obj %s endobj\n" % (number, each) for number, each in enumerate(objects, 1))
    return b"%PDF-1.4\n" + body + b"trailer<</Root 1 0 R>>\n%%EOF\n"


def _pdfs() -> list[bytes]:
    lines = [line for line in _RANGES.replace("°", "").splitlines() if line.isascii()]
    shown = [
        f"BT /F1 9 Tf 50 {800 - 14 * at} Td ({line}) Tj ET".replace("\t", "   ")
        for at, line in enumerate(lines)
    ]
    ruled = [f"50 {796 - 14 * at} m 400 {796 - 14 * at} l S" for at in range(9)]
    ruled += [f"{x} 796 m {x} 684 l S" for x in (50, 150, 400)]
    rows = [
        f"BT /F1 9 Tf 1 0 0 1 {x} {786 - 14 * at} Tm ({text}) Tj ET"
        for at, pair in enumerate([line.partition(": ")[::2] for line in lines if ": " in line])
        for x, text in zip((54, 154), pair, strict=True)
    ]
    plain, table = "\n".join(shown).encode(), "\n".join([*ruled, *rows]).encode()
    return [*_files("sheets/*.pdf"), pdf(plain), pdf(table), pdf(plain, table, extra="/Rotate 90")]


def _drafts() -> list[bytes]:
    return _files("sheets/*.json")


def _listings_csv() -> list[bytes]:
    """Return the samples' tables, and one as a shop saves it, in two of its encodings."""
    tabbed = _SHOPS_OWN.replace(";", "\t").encode("utf-16")
    return [*_files("screening/*.csv"), _SHOPS_OWN.encode(), tabbed]


_SHOPS_OWN = """sep=;
Artikel;Preis;Spannung;Kapazit\u00e4t;Beschreibung
1;\u20ac 219,00;48V;14,5 Ah;"Akku 13S4P 48V 14,5Ah, 30 A Dauer, BMS 30A"
2;;36 V;10400 mAh;Ladeger\u00e4t 42V 2A
"""


def _listings_json() -> list[bytes]:
    return _files("screening/*.jsonl")


def _listings_parquet() -> list[bytes]:
    import pyarrow as pa
    import pyarrow.parquet as pq

    rows = [
        {"claim.nominal_voltage_v": 48.0, "claim.capacity_ah": "14.5 Ah", "text": "48V 14.5Ah 13S4P 30A"},
        {
            "claim.configuration": "10S3P",
            "observed.cell.marking": "LYR 18650-30V",
            "claim.mass_kg": [2.0, 3.0],
        },
    ]
    made = []
    for table in (pa.Table.from_pylist(rows), pa.Table.from_pylist(rows[1:])):
        with io.BytesIO() as file:
            pq.write_table(table, file)
            made.append(file.getvalue())
    return made


def _registries() -> list[bytes]:
    from registry.bundle import parse_bundle
    from registry.sqlite.store import Store

    path = _folder() / "sample.sqlite"
    path.unlink(missing_ok=True)
    with Store.open(path, create=True) as store:
        store.add(parse_bundle(_bundles()[0].decode(), "cells.jsonl"), who="fuzzing", why="")
    return [path.read_bytes()]


# Readers -------------------------------------------------------------------------------------------------


def _text(data: bytes) -> str:
    """Return any bytes as a text, whatever no encoding knows as halves of characters."""
    return data.decode("utf-8-sig", "surrogateescape")


@cache
def _folder() -> Path:
    return Path(tempfile.mkdtemp(prefix="packclaim-hardening-"))


def _file(data: bytes, name: str) -> Path:
    path = _folder() / name
    path.write_bytes(data)
    return path


def _read_case(data: bytes) -> bool:
    from verifier.case.reading import parse_case

    file = parse_case(_text(data), "case.yaml")
    json.dumps(file.data, allow_nan=False).encode()
    return True


def _read_bundle(data: bytes) -> bool:
    from registry.bundle import bundle_text, parse_bundle, read_bundle
    from registry.errors import PlacedError

    with suppress(PlacedError):
        parse_bundle(_text(data), "cells.jsonl")
    bundle_text(read_bundle(_file(data, "cells.jsonl"))).encode()
    return True


def _read_table(data: bytes) -> bool:
    from registry.table import parse_table, write_table

    write_table(parse_table(_text(data), "cells.csv")).encode()
    return True


def _read_listing(data: bytes) -> bool:
    from verifier.listing import cases_from_reading, is_listing, read_listing

    text = _text(data)
    # It reads the text as the next line does, which takes half of the time: asked of one input in four.
    if crc32(data) % 4 == 0:
        is_listing(text)
    reading = read_listing(text)
    cases_from_reading(reading, "listing.txt")
    return any(variant.claims for variant in reading.variants)


def _read_sheet(name: str) -> Callable[[bytes], bool]:
    def read(data: bytes) -> bool:
        from registry.sheet_reader.reader import read_sheet

        reading = read_sheet(_file(data, name))
        reading.model_dump_json().encode()
        return reading.refused is None

    return read


def _read_apart(kind: str, name: str) -> Callable[[bytes], bool]:
    """Return a reader that does in this process what a child does, so that many inputs can be read.

    What the libraries raise is a refusal, as it is in the child; what our own lines raise is a fault, which
    the child would tell as a damaged file.
    """

    def read(data: bytes) -> bool:
        from registry.errors import PlacedError, UnreadableFile
        from registry.sheet_reader.files.pdf import rows_of_pdf
        from registry.sheet_reader.files.sandbox import from_plain, to_plain
        from registry.sheet_reader.files.workbook import rows_of_workbook
        from registry.sheet_reader.reader import read_document

        path = _file(_packed(data) if kind == "workbook" else data, name)
        try:
            document = (rows_of_workbook if kind == "workbook" else rows_of_pdf)(path)
        except PlacedError:
            raise
        except Exception as error:
            raised = Path(traceback.extract_tb(error.__traceback__)[-1].filename)
            if any(raised.is_relative_to(ROOT / package) for package in ("registry", "verifier")):
                raise
            raise UnreadableFile(name, "is damaged") from error
        reading = read_document(from_plain(json.loads(json.dumps(to_plain(document)))), name)
        reading.model_dump_json().encode()
        return reading.refused is None

    return read


def _read_report(data: bytes) -> bool:
    from verifier.recheck import read_reports, recheck

    for saved in read_reports(_text(data), "report.json"):
        "".join(each.text for each in recheck(saved, "report.json").differ).encode()
    return True


def _read_draft(data: bytes) -> bool:
    from verifier.cli.cells.accept import _reading

    _reading(str(_file(data, "draft.json")))
    return True


@cache
def _screener() -> Any:
    from registry.opening import open_registry
    from verifier.screening.engine import Screener

    return Screener(open_registry(SAMPLES / "registry.jsonl"))


def _read_listings(name: str) -> Callable[[bytes], bool]:
    """Return a reader of a table of listings that also judges what it has read."""

    def read(data: bytes) -> bool:
        from verifier.screening.tables import open_listings

        screener = _screener()
        good = False
        with open_listings(str(_file(data, name))) as listings:
            for chunk in listings.chunks():
                rows = listings.read(chunk.raw)
                screener.screen({**rows.columns, screener.FAULT: rows.faults}, chunk.first_row)
                good = good or any(fault is None for fault in rows.faults)
        return good

    return read


def _read_registry(data: bytes) -> bool:
    from registry.opening import open_registry

    return bool(open_registry(_file(data, "registry.sqlite")).cells(all=True))


def _read_log(data: bytes) -> bool:
    from verifier.discharge_log import as_json
    from verifier.discharge_log.reading import read_log

    as_json.render([read_log(str(_file(data, "log.csv")))], None).encode()
    return True


READERS: dict[str, Reader] = {
    reader.name: reader
    for reader in (
        Reader("case", _cases, _read_case), Reader("bundle", _bundles, _read_bundle),
        Reader("table", _tables, _read_table),
        Reader("listing", lambda: _files("listings/*"), _read_listing),
        Reader("sheet-text", _spec_texts, _read_sheet("sheet.txt")),
        Reader("sheet-csv", _spec_texts, _read_sheet("sheet.csv")),
        Reader("sheet-xlsx", _workbooks, _read_apart("workbook", "sheet.xlsx"), 20.0),
        Reader("sheet-pdf", _pdfs, _read_apart("PDF", "sheet.pdf"), 20.0),
        Reader("report", _reports, _read_report),
        Reader("draft", _drafts, _read_draft),
        Reader("rows-csv", _listings_csv, _read_listings("listings.csv")),
        Reader("rows-json", _listings_json, _read_listings("listings.jsonl")),
        Reader("rows-parquet", _listings_parquet, _read_listings("listings.parquet")),
        Reader("registry", _registries, _read_registry),
        Reader("log", lambda: _files("logs/*.csv"), _read_log),
    )
}  # fmt: skip
