"""Tables of listings in and out: no row is lost, merged or moved, and what is at fault says so.

CSV is RFC 4180, and Python's own csv module the reader and writer to agree with. JSON is RFC 8259, JSON Lines
one value a line. Parquet is written and read by pyarrow's own functions.
"""

from __future__ import annotations

import csv
import io
import json
import re
import time
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.errors import PlacedError
from registry.spreadsheet import as_written, safe
from verifier.case.limits import Limits
from verifier.errors import UnreadableInput
from verifier.screening import columns, csv_rows, json_rows
from verifier.screening.output import Wanted, figures_named
from verifier.screening.progress import Progress
from verifier.screening.rows import LONGEST_ROW, Lines, Rows
from verifier.screening.running import Run, screen_table
from verifier.screening.tables import Source, open_listings

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)
TABLES = st.integers(1, 4).flatmap(
    lambda width: st.lists(st.lists(CELLS, min_size=width, max_size=width), min_size=1, max_size=12)
)
NAMES = ("title", "claim.capacity_ah", "claim.series")
HEADER = "title,claim.capacity_ah,claim.series\n"


def read_csv(text: str | bytes, names: Sequence[str]) -> Rows:
    """Return the rows below a header that has been taken off."""
    data = text.encode() if isinstance(text, str) else text
    records = csv_rows.Records(Lines(io.BytesIO(data), "table"))
    records.cells = len(names)
    return csv_rows.read(list(records), names)


def rows_of(read: Rows) -> list[list[Any]]:
    """Return rows by row."""
    return [list(row) for row in zip(*read.columns.values(), strict=True)]


def all_rows(name: str | Path, chunk_rows: int = 3) -> tuple[list[dict[str, Any]], list[str | None]]:
    """Return every row of a table, chunk by chunk, with its faults."""
    rows: list[dict[str, Any]] = []
    faults: list[str | None] = []
    with open_listings(Source(str(name), chunk_rows=chunk_rows)) as listings:
        for number, chunk in enumerate(listings.chunks()):
            read = listings.read(chunk.raw)
            assert (chunk.number, chunk.first_row) == (number, len(rows) + 1)
            assert chunk.rows == len(read.faults) <= chunk_rows
            rows += [dict(zip(read.columns, row, strict=True)) for row in rows_of(read)]
            faults += read.faults
    return rows, faults


@given(TABLES)
def test_what_the_csv_module_writes_is_read_back(table: list[list[str]]) -> None:
    """A title with quotes, commas or line ends would be changed or shift rows. RFC 4180; csv module."""
    written = io.StringIO()
    csv.writer(written).writerows(table)
    read = read_csv(written.getvalue(), [f"c{at}" for at in range(len(table[0]))])
    # A line without anything on it is no row, and a row of one empty cell is written as "".
    assert rows_of(read) == table
    assert set(read.faults) == {None}


@given(st.integers(0, 9), st.integers(0, 2), st.text("ab ,", max_size=5))
def test_a_quotation_mark_too_many_spoils_its_own_row_alone(row: int, cell: int, more: str) -> None:
    """One slip in a listing would swallow the listings after it, which are then never judged."""
    table = [[f"t{at}", str(at), "13"] for at in range(10)]
    lines = [",".join(cells) for cells in table]
    spoilt = list(table[row])
    spoilt[cell] = f'"{more}{spoilt[cell]}'
    lines[row] = ",".join(spoilt)
    read = read_csv("\n".join(lines) + "\n", NAMES)
    assert [at for at, fault in enumerate(read.faults) if fault] == [row]
    assert [cells for at, cells in enumerate(rows_of(read)) if at != row] == table[:row] + table[row + 1 :]


@pytest.mark.parametrize(
    ("text", "faulty"),
    [
        ('a,"b,c\nd,"e",f\ng,h,i\n', [0]),
        ('a,"b,c\nd,e,f\n"g\n1",h,i\nj,k,l\n', [0]),
        ('"a"b,c,d\ne,f,g\n', [0]),
        ('a,"b,c\n"d,e,f\ng,"h",i\n', [0, 1]),
        ('a,b,"c\nd,e,f\ng,h,i",j\nk,l,m\n', [0, 2]),
        ('a\nc,d,e,f\ng,h,i\n', [0, 1]),
        ('"b\nb\nb"\nc,d,e\n', [0]),
        ('a,b,c\n"d,e,f', [1]),
        ('a,b\rb,c\nd,e,f\n', [0]),
    ],
)  # fmt: skip
def test_a_faulty_row_stays_in_its_place_and_leaves_its_neighbours(text: str, faulty: list[int]) -> None:
    """A row would be dropped, or take its neighbour with it, without a word."""
    read = read_csv(text, ("x", "y", "z"))
    assert [at for at, fault in enumerate(read.faults) if fault] == faulty
    good = [row for at, row in enumerate(rows_of(read)) if at not in faulty]
    assert all(len("".join(row)) in (3, 5) for row in good)
    assert good or len(faulty) == len(read.faults)


def test_quotation_marks_inside_a_cell_and_blank_lines_are_no_faults() -> None:
    """A 26" frame, or a blank line at the end, would make rows unreadable."""
    read = read_csv('26" frame,10,13\r\n\r\n"say ""ok""",1,2\n\n', NAMES)
    assert rows_of(read) == [['26" frame', "10", "13"], ['say "ok"', "1", "2"]]
    assert read.faults == [None, None]


def test_rows_that_are_no_text_say_so(tmp_path: Path) -> None:
    """Bytes from another code page, NUL or an endless line would stop the whole run, or vanish."""
    path = tmp_path / "t.csv"
    long = b"x" * (LONGEST_ROW + 5)
    path.write_bytes(
        b"\xef\xbb\xbf" + HEADER.encode() + b"caf\xe9,10,13\nn\0l,10,13\n" + long + b",10,13\n" + long
        + b"\nok,10,13"
    )  # fmt: skip
    rows, faults = all_rows(path)
    assert [fault or "" for fault in faults] == [
        "byte 4 of the row is not UTF-8", "the row holds a NUL character", "the row is longer than 1 MB",
        "the row is longer than 1 MB", "",
    ]  # fmt: skip
    assert [row["title"] for row in rows] == ["caf\ufffd", "n\ufffdl", None, None, "ok"]


def test_reading_hostile_quotes_stays_linear(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file made for it would keep the program reading the same lines for hours."""
    looked_at = 0
    state = csv_rows._state

    def counted(line: bytes, mark: bytes, *, inside: bool) -> int:
        nonlocal looked_at
        looked_at += 1
        return state(line, mark, inside=inside)

    monkeypatch.setattr(csv_rows, "_state", counted)
    lines = 20_000
    read = read_csv('a","\n' * lines, NAMES)
    assert len(read.faults) == lines
    assert all(read.faults)
    assert looked_at <= 3 * lines


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"", "is empty"),
        (b"\n\n", "is empty"),
        (b"claim.series,claim.capacity_ah,claim.series\n", "column 'claim.series' stands twice"),
        (b'title,"claim.capacity_ah\n', "quotation mark"),
        (b"colour,stock\n", "nothing to judge"),
        (b"title,claim.capacty_ah\n", "did you mean 'claim.capacity_ah'"),
    ],
)
def test_a_header_that_cannot_be_used_is_refused_before_anything_is_judged(
    text: bytes, words: str, tmp_path: Path
) -> None:
    """A misspelt column would silently not be judged, after hours of work."""
    path = tmp_path / "t.csv"
    path.write_bytes(text)
    with pytest.raises(PlacedError, match=words), open_listings(str(path)):
        pass


def test_a_column_name_may_have_blanks_around_it(tmp_path: Path) -> None:
    """A blank in the header would make a claim a column that is carried through and never judged."""
    path = tmp_path / "t.csv"
    path.write_text("title, claim.capacity_ah \nx,20\n", encoding="utf-8")
    assert all_rows(path) == ([{"title": "x", "claim.capacity_ah": "20"}], [None])


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("{", "not JSON"),
        ("[1, 2]", "no JSON object"),
        ("20", "no JSON object"),
        ('{"claim.capacity_ah": NaN}', "NaN is not a number"),
        ('{"claim.capacity_ah": 1, "claim.capacity_ah": 2}', "stands twice"),
        ('{"claim.capacity_ah": 1, "claim": {"capacity_ah": 2}}', "stands twice"),
        ('{"claim": {"capacity": 2}}', "did you mean 'claim.capacity_ah'"),
        ('{"claim": 5}', "holds no fields"),
        ('{"title": "\\ud800"}', "half of a character"),
        ('{"title": ["a\\u0000"]}', "NUL"),
        ('{"": 1}', "key is empty"),
        ('{"a": ' * 100_000, "nested too deeply|not JSON"),
        ('{"a": ' * 20 + "1" + "}" * 20, "nested too deeply"),
        ('{"claim.capacity_ah": ' + "9" * 5000 + "}", "too long"),
        ('{"title": "' + "x" * LONGEST_ROW + '"}', "longer than 1 MB"),
        ('{"title": "a" "b"}', "not JSON"),
    ],
    ids=range(16),
)
def test_a_bad_line_of_json_says_what_is_wrong_and_nothing_else(line: str, words: str) -> None:
    """One bad line would end the run, or be judged as something it does not say. RFC 8259."""
    good = b'{"claim.capacity_ah": 20}'
    read = json_rows.read([good, line.encode(), good])
    assert read.faults[0] is read.faults[2] is None
    assert re.search(words, read.faults[1] or "")
    assert read.columns == {"claim.capacity_ah": [20, None, 20]}


def test_objects_and_dotted_keys_say_the_same(tmp_path: Path) -> None:
    """Half of the ways to write a listing would not be judged."""
    nested = {"id": 7, "claim": {"capacity_ah": [10, 12]}, "observed": {"cell": {"marking": "LYR"}}}
    dotted = {"id": 7, "claim.capacity_ah": [10, 12], "observed.cell.marking": "LYR"}
    path = tmp_path / "t.ndjson"
    path.write_text(f"{json.dumps(nested)}\n\n  \n{json.dumps(dotted)}", encoding="utf-8")
    (first, second), faults = all_rows(path)
    assert first == second == dotted
    assert faults == [None, None]


def test_keys_without_end_are_refused(tmp_path: Path) -> None:
    """A file whose every line has keys of its own would fill the memory with empty columns."""
    lines = [json.dumps({f"k{at}": 1}).encode() for at in range(columns.MOST_COLUMNS + 1)]
    with pytest.raises(PlacedError, match="same names"):
        json_rows.read(lines)


def test_parquet_gives_what_it_holds(tmp_path: Path) -> None:
    """Numbers would turn into text, structs vanish, or a missing number be read as one. Source: pyarrow."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    table = pa.table(
        {
            "title": pa.array(["a", None]).dictionary_encode(),
            "when": pa.array([0, 86_400], pa.timestamp("ms")),
            "price": pa.array([Decimal("1.10"), None]),
            "tags": [["x", "y"], None],
            "claim": [{"capacity_ah": 20.0, "certificates": ["UN38.3"]}, None],
            "claim.power_w": pa.array([float("nan"), 500.0]),
            "claim.mass_kg": pa.array([Decimal("3.25"), None]),
            "observed": [None, {"cell": {"marking": "LYR"}}],
        }
    )
    pq.write_table(table, tmp_path / "t.parquet")
    rows, faults = all_rows(tmp_path / "t.parquet", chunk_rows=1)
    assert faults == [None, None]
    assert rows[0] == {
        "title": "a", "when": "1970-01-01 00:00:00.000", "price": "1.10", "tags": ["x", "y"],
        "claim.capacity_ah": 20.0, "claim.certificates": ["UN38.3"], "claim.power_w": None,
        "claim.mass_kg": 3.25, "observed.cell.marking": None,
    }  # fmt: skip
    assert rows[1]["claim.capacity_ah"] is None
    assert rows[1]["observed.cell.marking"] == "LYR"


def test_parquet_text_that_is_none_is_a_fault(tmp_path: Path) -> None:
    """Damaged text in one row would end the run in a traceback."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    raw = pa.array([b"caf\xe9", b"n\0l", b"ok", b"x" * (LONGEST_ROW + 1)])
    texts = pa.StringArray.from_buffers(len(raw), *raw.buffers()[1:])
    pq.write_table(pa.table({"title": texts, "claim.capacity_ah": [1, 2, 3, 4]}), tmp_path / "t.parquet")
    rows, faults = all_rows(tmp_path / "t.parquet")
    assert [fault is None for fault in faults] == [False, False, True, False]
    assert rows[2] == {"title": "ok", "claim.capacity_ah": 3}


@pytest.mark.parametrize("content", [b"", b"PAR1", b"title,claim.capacity_ah\n1,2\n"])
def test_a_file_that_is_no_parquet_is_refused(content: bytes, tmp_path: Path) -> None:
    """A user would see a traceback of a library."""
    path = tmp_path / "t.parquet"
    path.write_bytes(content)
    with pytest.raises(PlacedError, match="no Parquet file"), open_listings(str(path)):
        pass


def write_repeated(path: Path, text: str, rows: int) -> Path:
    """Write a table in which one text stands in every row, which Parquet holds once."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    note = pa.DictionaryArray.from_arrays(pa.array([0] * rows, pa.int32()), pa.array([text]))
    pq.write_table(pa.table({"note": note, "claim.capacity_ah": [10.0] * rows}), path, compression="zstd")
    return path


def test_a_text_that_stands_in_every_row_is_laid_out_a_few_rows_at_a_time(tmp_path: Path) -> None:
    """A small file would take all memory. Rule: a chunk is at most 32 MB."""
    path = write_repeated(tmp_path / "t.parquet", "x" * 100_000, 2000)
    seen = []
    with open_listings(str(path)) as listings:
        for chunk in listings.chunks():
            assert chunk.raw.nbytes <= 33_000_000
            seen += [len(text) for text in listings.read(chunk.raw).columns["note"]]
    assert seen == [100_000] * 2000


def test_struct_columns_of_repeated_text_are_read_as_any(tmp_path: Path) -> None:
    """Titles inside a struct would be lost where texts are held once."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    rows = [{"title": "a", "maker": None}, None, {"title": "b", "maker": "Lyr"}]
    table = pa.table({"of": pa.array(rows), "claim.capacity_ah": [1.0, 2.0, 3.0]})
    pq.write_table(table, tmp_path / "t.parquet")
    read, faults = all_rows(tmp_path / "t.parquet")
    assert [(row["of.title"], row["of.maker"]) for row in read] == [("a", None), (None, None), ("b", "Lyr")]
    assert faults == [None] * 3


@pytest.mark.parametrize(
    ("text", "rows", "said"),
    [("x" * 100_000, 20_000, "2,000 MB of repeated text"), ("x" * 120_000_000, 1, "unpacks to 120 MB")],
)
def test_a_few_bytes_that_unpack_to_gigabytes_are_refused(
    text: str, rows: int, said: str, tmp_path: Path
) -> None:
    """A file of 1 kB would take gigabytes of memory, or of disk. Rule: refused before it is unpacked."""
    path = write_repeated(tmp_path / "t.parquet", text, rows)
    assert path.stat().st_size < 50_000
    with pytest.raises(UnreadableInput, match=said), open_listings(str(path)) as listings:
        next(iter(listings.chunks()))


def test_a_text_longer_than_any_listing_is_the_fault_of_its_row(bench: Bench, tmp_path: Path) -> None:
    """Four rows of a megabyte would keep the run busy for a minute."""
    source = tmp_path / "in.jsonl"
    texts = ["10S4P " * 40_000, "36V 10Ah battery"]
    source.write_text("".join(json.dumps({"text": text}) + "\n" for text in texts), encoding="utf-8")
    began = time.process_time()
    first, second = as_json(screened(source, tmp_path / "out.jsonl", bench))
    assert time.process_time() - began < 5
    assert "larger than 200,000 letters" in first["sentence"]
    assert second["read"] == "ok"


LISTINGS: list[dict[str, Any]] = [
    {"id": "1", "row": "mine", "title": "=2+3", "claim.capacity_ah": 20, "claim.series": 13,
     "claim.parallel": 4},
    {"id": "2", "row": None, "title": 'a "b", c\nd', "claim.capacity_ah": 10, "claim.series": 13,
     "claim.parallel": 4, "claim.cell_marking": "LYR 18650-26"},
    {"id": "3", "row": "", "title": "ünï → 電", "claim.capacity_ah": "ten"},
    {"id": "4", "row": "x", "title": "\t@x", "claim.capacity_ah": 10, "observed.series": 13,
     "observed.parallel": 4, "observed.cell.marking": "LYR 18650-26"},
]  # fmt: skip
COLUMNS = list(dict.fromkeys(name for each in LISTINGS for name in each))


def write_listings(path: Path) -> Path:
    """Write the same listings in the form of the file's ending."""
    if path.suffix == ".jsonl":
        path.write_text("".join(f"{json.dumps(each)}\n" for each in LISTINGS), encoding="utf-8")
    elif path.suffix == ".csv":
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, COLUMNS)
            writer.writeheader()
            writer.writerows(LISTINGS)
    else:
        import pyarrow as pa
        import pyarrow.parquet as pq

        text = {
            name: [None if row.get(name) is None else str(row[name]) for row in LISTINGS] for name in COLUMNS
        }
        pq.write_table(pa.table(text), path)
    return path


def screened(source: Path, out: Path, bench: Bench, **options: Any) -> Path:
    """Screen a table by the bench's cells."""
    wanted = Wanted(figures=figures_named("all"))
    run = Run(str(source), str(out), **{"chunk_rows": 3, "wanted": wanted, **options})
    screen_table(run, bench.registry(*bench.cells()), Limits(), Progress(None))
    assert not out.with_name(f"{out.name}.parts").exists()
    return out


def as_json(path: Path) -> list[dict[str, Any]]:
    """Return the rows of a result in JSON Lines."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


@pytest.mark.parametrize("ending", ["csv", "jsonl", "parquet"])
def test_a_table_says_the_same_in_every_form(ending: str, bench: Bench, tmp_path: Path) -> None:
    """Saving a table in another form would change what is found of it."""
    source = write_listings(tmp_path / f"in.{ending}")
    rows = as_json(screened(source, tmp_path / "out.jsonl", bench))
    reference = as_json(screened(write_listings(tmp_path / "ref.jsonl"), tmp_path / "ref-out.jsonl", bench))
    # What the source states is carried along as it came: a number of JSON stays one, text of CSV stays text.
    for row in (*rows, *reference):
        row |= {name: str(row[name]) for name in COLUMNS if "." in name and row.get(name) is not None}
    assert rows == reference
    assert [row["row"] for row in rows] == [1, 2, 3, 4]
    assert [row.get("listing.row") for row in rows] == ["mine", None, None, "x"]
    assert [row["title"] for row in rows] == [row["title"] for row in LISTINGS]
    assert "'ten' is not a number" in rows[2]["not_read"]
    assert rows[2]["conclusion"] == "not settled"
    assert rows[3]["capacity.verdict"] == "holds"


def test_a_result_says_the_same_in_every_form(bench: Bench, tmp_path: Path) -> None:
    """A result would differ between a spreadsheet and a notebook. Sources: csv module, pyarrow."""
    import pyarrow.parquet as pq

    source = write_listings(tmp_path / "in.csv")
    lines = as_json(screened(source, tmp_path / "out.jsonl", bench))
    table = pq.read_table(screened(source, tmp_path / "out.parquet", bench))
    with screened(source, tmp_path / "out.csv", bench).open(newline="", encoding="utf-8") as file:
        header, *rows = csv.reader(file)
    assert header == table.schema.names
    assert header[:4] == ["row", "pack", "seller", "title"]
    assert {"id", "listing.row"} < set(header)
    for line, cells, row in zip(lines, rows, table.to_pylist(), strict=True):
        assert {name: value for name, value in row.items() if value is not None} == line
        for name, cell in zip(header, cells, strict=True):
            expected = line.get(name, "")
            # A table for people has four digits of a figure.
            digits = float(f"{expected:.4g}") if "." in name and isinstance(expected, float) else expected
            assert as_written(cell) == expected if isinstance(expected, str) else float(cell) == digits


def test_csv_holds_no_formula(bench: Bench, tmp_path: Path) -> None:
    """A seller's title would run as a formula in the user's spreadsheet. Source: OWASP, CSV Injection."""
    titles = ["=2+3", "\t@x", "+1", "-1", "＝1", " =1", "a;=1", "a\n=1", '26" pack', "plain"]
    lines = [json.dumps({"title": title, "claim.series": 13}) for title in titles]
    (tmp_path / "in.jsonl").write_text("\n".join(lines), encoding="utf-8")
    out = screened(tmp_path / "in.jsonl", tmp_path / "out.csv", bench)
    with out.open(newline="", encoding="utf-8") as file:
        written = [row["title"] for row in csv.DictReader(file)]
    # The same rule as for every other table that the program writes.
    assert written == [safe(title) for title in titles]
    assert [title for title in titles if title in written] == titles[-2:]


def test_a_key_that_comes_late_is_carried_all_the_same(bench: Bench, tmp_path: Path) -> None:
    """What only later lines state would be lost, or the rows before them be misplaced."""
    path = tmp_path / "in.jsonl"
    path.write_text('{"claim.series": 13}\n' * 7 + '{"claim.series": 13, "note": {"a": [1]}, "n": 1}\n')
    text = screened(path, tmp_path / "out.csv", bench).read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert list(rows[0])[-2:] == ["note.a", "n"]
    assert [(row["note.a"], row["n"]) for row in rows] == [("", "")] * 7 + [("[1]", "1")]


@pytest.mark.parametrize("ending", ["csv", "jsonl", "parquet"])
@pytest.mark.parametrize("source", ["t.csv", "t.jsonl"])
def test_a_table_without_rows_gives_a_table_without_rows(
    source: str, ending: str, bench: Bench, tmp_path: Path
) -> None:
    """An empty day's table would break a nightly job."""
    import pyarrow.parquet as pq

    (tmp_path / source).write_text(HEADER if source == "t.csv" else "", encoding="utf-8")
    out = screened(tmp_path / source, tmp_path / f"out.{ending}", bench)
    first = "row"
    if ending == "parquet":
        assert pq.read_metadata(out).num_rows == 0
        assert pq.read_schema(out).names[0] == first
    elif ending == "csv":
        (header,) = csv.reader(out.read_text(encoding="utf-8").splitlines())
        assert header[0] == first
    else:
        assert out.read_bytes() == b""
