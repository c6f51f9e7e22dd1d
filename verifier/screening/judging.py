"""Judging one chunk of rows, in whichever process: raw rows in, a part of the result out.

A part is an Arrow stream of one batch: what was carried, then what was found. What else belongs to it (which
rows, what the summary counts) is in the metadata of its schema, so that a part stands for itself.
"""

from __future__ import annotations

import gc
import json
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from registry.cells import Cells, InMemory
from registry.errors import PlacedError
from verifier.case.limits import Limits
from verifier.screening.carried import as_text, output_name
from verifier.screening.columns import is_field
from verifier.screening.engine import Screener
from verifier.screening.rows import Chunk, Rows
from verifier.screening.tally import Tally, tally_of
from verifier.version import program_version

if TYPE_CHECKING:
    import pyarrow as pa

METADATA = b"packclaim"
_here = threading.local()


@dataclass(frozen=True, slots=True)
class Setup:
    """All that a process needs to judge rows; it can be sent to another machine.

    The registry goes along, so no machine needs the file, and all judge by the same cells even when somebody
    changes the registry meanwhile.
    """

    registry: InMemory
    limits: Limits
    read: Callable[[Any], Rows]
    version: str = field(default_factory=program_version)

    @classmethod
    def of(cls, registry: Cells, limits: Limits, read: Callable[[Any], Rows]) -> Setup:
        """Return the setup for a registry that is open."""
        return cls(InMemory(registry.cells(all=True), registry.place), limits, read)


@dataclass(frozen=True, slots=True)
class Judged:
    """A chunk's part as bytes, or why there is none. Errors travel as words: not every one can be pickled."""

    chunk: Chunk
    part: bytes = b""
    problem: tuple[str, str, str] | None = None


def judge(setup: Setup, chunk: Chunk) -> Judged:
    """Judge a chunk of rows."""
    done = Chunk(chunk.number, chunk.first_row, chunk.rows, None, chunk.share)
    if setup.version != program_version():
        found = f"runs packclaim {program_version()}, and the run was begun by {setup.version}"
        return Judged(done, problem=("a worker", found, "install the same version everywhere"))
    try:
        return Judged(done, part_of(_screener(setup), setup.read(chunk.raw), chunk))
    except PlacedError as error:
        return Judged(done, problem=(error.place, error.found, error.expected))
    except Exception as error:
        place = f"rows {chunk.first_row} to {chunk.first_row + chunk.rows - 1}"
        return Judged(done, problem=(place, f"cannot be judged ({type(error).__name__}: {error})", ""))


def _screener(setup: Setup) -> Screener:
    # One for each thread: a screener keeps what it has looked up, and promises nothing about threads.
    if getattr(_here, "setup", None) is not setup:
        _here.screener = Screener(setup.registry, setup.limits)
        _here.setup = setup
        # The registry stays to the end: looking through it for garbage takes longer than judging a chunk.
        gc.freeze()
    screener: Screener = _here.screener
    return screener


def part_of(screener: Screener, rows: Rows, chunk: Chunk) -> bytes:
    """Return rows with what was found of them."""
    import pyarrow as pa

    judged_columns = {name: values for name, values in rows.columns.items() if is_field(name)}
    found = screener.screen({screener.FAULT: rows.faults, **judged_columns}, chunk.first_row)
    if found.num_rows != chunk.rows:
        raise PlacedError(f"rows from {chunk.first_row}", f"{found.num_rows} results for {chunk.rows} rows")
    carried = {
        output_name(name): pa.array(map(as_text, values), pa.string())
        for name, values in rows.columns.items()
        if name not in judged_columns
    }
    batch = pa.RecordBatch.from_arrays(
        [*carried.values(), *found.columns], names=[*carried, *found.schema.names]
    )
    tally = tally_of(found, rows.columns)
    return _as_bytes(batch, _about(chunk, list(carried), tally))


def _about(chunk: Chunk, carried: list[str], tally: Tally) -> dict[str, Any]:
    return {
        "first_row": chunk.first_row,
        "rows": chunk.rows,
        "digest": chunk.digest,
        "carried": carried,
        "tally": tally.data(),
    }


def _as_bytes(batch: pa.RecordBatch, about: dict[str, Any]) -> bytes:
    import pyarrow as pa

    batch = batch.replace_schema_metadata({METADATA: json.dumps(about).encode()})
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, batch.schema, options=pa.ipc.IpcWriteOptions(compression="lz4")) as stream:
        stream.write_batch(batch)
    return bytes(sink.getvalue())
