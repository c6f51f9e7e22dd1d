"""Judging one table in a process of its own, so that the page answers meanwhile and may be left.

Everything about a run lies in its folder: the table, how its columns are taken, how far it is, and what came of it. A
run that was stopped goes on from there.
"""

from __future__ import annotations

import json
import shutil
import sys
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from registry.cells import InMemory
from registry.errors import PlacedError
from registry.files import write_file
from verifier.errors import fault_of_the_program
from verifier.page.screening_progress import Told
from verifier.words import ENGLISH, language_of

ABOUT, FAULT = "about.json", "fault.txt"
RESULTS, SUMMARY, SELLERS = "results.csv", "summary.html", "sellers.zip"
PARTS = f"{RESULTS}.parts"
# Where the files of single sellers lie until they are one file to save.
_SELLER_FILES = "sellers"


@dataclass(frozen=True, slots=True)
class About:
    """What a run was asked to do.

    The file as it came, what it is called, which column gives which field, and the language in which it is told.
    """

    table: str
    shown: str
    columns: dict[str, str]
    language: str = ENGLISH.code

    def write(self, folder: Path) -> None:
        """Keep it in the folder of its run."""
        data = {"table": self.table, "shown": self.shown, "columns": self.columns, "language": self.language}
        write_file(folder / ABOUT, json.dumps(data, ensure_ascii=False).encode())

    @classmethod
    def read(cls, folder: Path) -> About:
        """Return what was asked of the run of a folder."""
        return cls(**json.loads((folder / ABOUT).read_text(encoding="utf-8")))


def judge_table(folder: Path, registry: Path) -> None:
    """Judge the table of a folder and write its results and its summary.

    Raises
    ------
    PlacedError
        When the table, a column or the registry cannot be used.
    """
    from verifier import ColumnMap, Limits, ScreeningRun, open_registry, screen_table, summary_of
    from verifier.screening.summary import render

    about = About.read(folder)
    cells = InMemory((), str(registry))
    if registry.exists():
        with closing(open_registry(registry)) as opened:
            cells = InMemory.copy_of(opened)
    # What a run that was stopped has left there is written anew.
    shutil.rmtree(folder / _SELLER_FILES, ignore_errors=True)
    run = ScreeningRun(
        str(folder / about.table), str(folder / RESULTS), None, resume=(folder / PARTS).exists(),
        columns=ColumnMap(about.columns), worst=True, language=about.language,
        per_seller=str(folder / _SELLER_FILES),
    )  # fmt: skip
    read: dict[str, str] = {}
    tally = screen_table(
        run, cells, Limits(), Told(folder), tell=lambda listings: read.update(listings.how_read)
    )
    found = summary_of(
        tally, about.shown, cells, Limits(), how_read=read | {"table": about.shown},
        language=language_of(about.language),
    )  # fmt: skip
    _pack_sellers(folder)
    # The last: by it a table is known to be done.
    write_file(folder / SUMMARY, render(found, ".html"))


def _pack_sellers(folder: Path) -> None:
    """Make one file to save of the files of single sellers."""
    files = folder / _SELLER_FILES
    with TemporaryDirectory(dir=folder) as beside:
        packed = shutil.make_archive(str(Path(beside) / _SELLER_FILES), "zip", files)
        Path(packed).replace(folder / SELLERS)
    shutil.rmtree(files)


def main() -> None:
    """Judge the table of the folder that the arguments name; what is wrong with it is kept there, too."""
    folder, registry = Path(sys.argv[1]), Path(sys.argv[2])
    try:
        judge_table(folder, registry)
    except PlacedError as error:
        write_file(folder / FAULT, str(error).encode())
    except Exception as error:
        write_file(folder / FAULT, str(fault_of_the_program(error)).encode())
        raise


if __name__ == "__main__":
    main()
