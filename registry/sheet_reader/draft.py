"""What a reader found in a spec sheet: every figure with its place, and what is not stated or conflicts."""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Literal

from pydantic import Field

from registry.fields import Count, Fraction, NonNegative, StrictModel, TemperatureC, Text
from registry.sheet_figures import DraftName

FigureName = DraftName
FigureKind = Literal[
    "minimum", "typical", "nominal", "rated", "maximum", "continuous", "pulse", "unspecified", "ac", "dc",
    "charge", "discharge",
]  # fmt: skip


class DraftFigure(StrictModel):
    """One figure as read: its value in Ah, V, A, mohm, g, mm, cycles or C, and where and how it stands."""

    figure: FigureName
    value: float | None = None
    unit: Text
    as_printed: Text
    derived_from: Text | None = None
    low_c: TemperatureC | None = None
    high_c: TemperatureC | None = None
    basis: Literal["ambient", "surface"] | None = None
    c_rate: NonNegative | None = None
    """The printed multiple of C, where there is one."""
    cutoff_c: TemperatureC | None = None
    """The cell temperature that ends a current which holds only until then."""
    stated_at_c: TemperatureC | None = None
    """Where the figure was measured; not a band that it holds in."""
    current_a: NonNegative | None = None
    """The discharge current that a capacity was measured with."""
    to_v: NonNegative | None = None
    """The voltage that a capacity was measured down to."""
    charge_a: NonNegative | None = None
    discharge_a: NonNegative | None = None
    """The currents that cycles were counted with."""
    months: NonNegative | None = None
    """For how long a storage temperature holds."""
    to_fraction: Fraction | None = None
    """What is left of the capacity after these cycles or months."""
    seconds: NonNegative | None = None
    at_most: bool = False
    """Whether a resistance, mass or size is printed as a limit: the cell has less, and nobody says how much less."""
    kind: FigureKind | None = None
    page: Count | None = None
    quote: Text | None = None
    confirm: bool = False
    why_confirm: Text | None = None
    place: Annotated[tuple[Fraction, Fraction], Field(strict=False)] | None = None
    """Top and bottom of its line, in parts of the page's height, where it was recognised in a picture of the page."""
    condition: Text | None = None
    """What the sheet says beside the figure, as printed."""


class DraftConflict(StrictModel):
    """Two or more statements of one figure that cannot all be true."""

    figure: FigureName
    values: Annotated[tuple[DraftFigure, ...], Field(strict=False)]
    text: Text


class NotUnderstood(StrictModel):
    """A figure whose label was seen and whose value was not read, or a condition of one that was read.

    Of the first it is not known whether the sheet states it; of the second, when it holds.
    """

    figure: FigureName
    page: Count | None = None
    text: Text


class SheetDraft(StrictModel):
    """What was read for one cell model."""

    model: str
    model_confirm: bool = False
    """Whether the name is only likely; it is the key that tells twins apart."""
    c_rate_capacity_ah: NonNegative | None = None
    """What the sheet says that 1C is; ``None`` when it does not say."""
    figures: Annotated[tuple[DraftFigure, ...], Field(strict=False)] = ()
    not_stated: Annotated[tuple[FigureName, ...], Field(strict=False)] = ()
    """Figures that no label of the whole sheet speaks of."""
    not_understood: Annotated[tuple[NotUnderstood, ...], Field(strict=False)] = ()
    conflicts: Annotated[tuple[DraftConflict, ...], Field(strict=False)] = ()


class SheetReading(StrictModel):
    """What was read from one file; `refused` says why it is no sheet of a cell that can be stored.

    What a refused file holds is in `drafts` all the same, every figure to be confirmed.
    """

    file: str
    file_sha256: str | None = None
    refused: Text | None = None
    next: Text | None = None
    """The command that goes on from a refusal."""
    drafts: Annotated[tuple[SheetDraft, ...], Field(strict=False)] = ()
    remarks: Annotated[tuple[Text, ...], Field(strict=False)] = ()


@lru_cache(maxsize=1024)
def as_text(printed: str) -> str:
    """Return printed words as text that can be kept: in one line, without what no screen shows."""
    shown = "".join(letter if letter.isprintable() else " " for letter in printed)
    return " ".join(shown.encode("utf-8", "replace").decode().split())[:1900]
