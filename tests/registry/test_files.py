"""The one way out for files: whole or not at all, and never over what must not be lost."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from registry.errors import UnreadableFile
from registry.files import is_stream, write_file
from registry.sqlite.beginning import MAGIC

ROOT = Path(__file__).parents[2]


def test_what_was_written_is_said(tmp_path: Path) -> None:
    """Nobody would know where a result went, or that it is empty."""
    assert write_file(tmp_path / "a.txt", b"x" * 1234) == f"wrote {tmp_path / 'a.txt'} (1,234 bytes)"
    assert write_file(tmp_path / "b.txt", b"x") == f"wrote {tmp_path / 'b.txt'} (1 byte)"
    assert (tmp_path / "a.txt").read_bytes() == b"x" * 1234


@pytest.mark.parametrize(
    "fails", [OSError(28, "No space left on device"), KeyboardInterrupt(), MemoryError()]
)
def test_a_failed_write_leaves_the_old_file_and_nothing_else(
    fails: BaseException, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk would destroy the report that was there, and every stopped run leave a stray file."""
    path = tmp_path / "cells.jsonl"
    write_file(path, b"old")

    def fail(handle: int) -> None:
        raise fails

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(UnreadableFile if isinstance(fails, OSError) else type(fails)):
        write_file(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_new_file_has_the_rights_of_the_users_files_and_an_old_one_keeps_its_own(tmp_path: Path) -> None:
    """A shared report would become private, or a private one readable to all. Source: umask(2)."""
    new, old, link = (tmp_path / name for name in ("new", "old", "link"))
    write_file(old, b"")
    old.chmod(0o640)
    link.symlink_to(old)
    mask = os.umask(0o027)
    try:
        write_file(new, b"x")
        write_file(link, b"x")
    finally:
        os.umask(mask)
    assert new.stat().st_mode & 0o777 == 0o640
    assert old.stat().st_mode & 0o777 == 0o640
    assert link.is_symlink()
    assert old.read_bytes() == b"x"


@pytest.mark.parametrize("name", ["in.yaml", "./in.yaml", "folder/../in.yaml", "soft", "hard"])
def test_an_input_is_never_written_over_by_whatever_name(name: str, tmp_path: Path) -> None:
    """A slip in --out would cost the case, the listing or the bundle that the result was made from."""
    (tmp_path / "folder").mkdir()
    (tmp_path / "in.yaml").write_bytes(b"claim: {}")
    (tmp_path / "soft").symlink_to("in.yaml")
    (tmp_path / "hard").hardlink_to(tmp_path / "in.yaml")
    with pytest.raises(UnreadableFile, match=r"is a file that this is made from; name another file"):
        write_file(tmp_path / name, b"x", inputs=[tmp_path / "other", tmp_path / "in.yaml"])
    assert (tmp_path / "in.yaml").read_bytes() == b"claim: {}"


@pytest.mark.parametrize("name", ["r.sqlite", "r.sqlite-wal", "r.sqlite-shm", "r.sqlite-journal"])
def test_a_registry_is_never_written_over_nor_its_log(name: str, tmp_path: Path) -> None:
    """A slip in --out would cost the registry with its whole history. Source: sqlite.org/fileformat.html."""
    (tmp_path / "r.sqlite").write_bytes(MAGIC + b"the rest")
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    with pytest.raises(UnreadableFile, match="which is not overwritten"):
        write_file(tmp_path / name, b"x")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_precious_file_is_kept(tmp_path: Path) -> None:
    """A case with what was seen at the bench would be lost to a draft from a listing."""
    path = tmp_path / "case.yaml"
    assert write_file(path, b"old", precious=lambda _: "is dear")
    with pytest.raises(UnreadableFile, match="is dear; name another file"):
        write_file(path, b"new", precious=lambda _: "is dear")
    assert path.read_bytes() == b"old"
    write_file(path, b"new", precious=lambda _: None)
    assert path.read_bytes() == b"new"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_is_written_into_and_stays_a_pipe(tmp_path: Path) -> None:
    """Whoever reads at the other end would wait for ever."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    assert is_stream(pipe)
    read: list[bytes] = []
    reader = threading.Thread(target=lambda: read.append(pipe.read_bytes()))
    reader.start()
    write_file(pipe, b"through the pipe")
    reader.join(10)
    assert read == [b"through the pipe"]
    assert list(tmp_path.iterdir()) == [pipe]
    assert pipe.is_fifo()


PRINTING = """
import sys
from registry.files import write_file
print("before", flush=True)
write_file("/dev/stdout", b"between\\n")
print("after")
"""


@pytest.mark.skipif(not Path("/dev/stdout").exists(), reason="needs /dev/stdout")
def test_stdout_by_its_name_is_stdout_wherever_it_leads(tmp_path: Path) -> None:
    """'--out /dev/stdout' would fail in a pipe, or tear the file that the output is sent to."""
    command = [sys.executable, "-c", PRINTING]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == "before\nbetween\nafter\n"
    with (tmp_path / "sent").open("wb") as stream:
        subprocess.run(command, cwd=ROOT, stdout=stream, check=True)
    assert (tmp_path / "sent").read_bytes() == b"before\nbetween\nafter\n"
    assert [path.name for path in tmp_path.iterdir()] == ["sent"]


@pytest.mark.parametrize("name", ["", ".", "missing/file", "file/inside", "x" * 300, "a\0b"])
def test_what_is_no_place_for_a_file_is_a_plain_error(name: str, tmp_path: Path) -> None:
    """A slip in a path would end in a traceback."""
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(UnreadableFile, match="cannot be written"):
        write_file(f"{tmp_path}/{name}", b"x")
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
