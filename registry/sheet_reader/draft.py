"""What a reader found in a spec sheet: every figure with its place, and what is not stated or conflicts."""

from __future__ import annotations

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
    to_fraction: Fraction | None = None
    """What is left of the capacity after these cycles."""
    seconds: NonNegative | None = None
    months: NonNegative | None = None
    """How long the cell may be stored at these temperatures."""
    current_a: NonNegative | None = None
    """The current that a capacity is stated at."""
    stated_at_c: TemperatureC | None = None
    """The temperature that a capacity is stated at."""
    kind: FigureKind | None = None
    page: Count | None = None
    quote: Text | None = None
    confirm: bool = False
    why_confirm: Text | None = None
    condition: Text | None = None
    """What the sheet says beside the figure, as printed."""


class DraftConflict(StrictModel):
    """Two or more statements of one figure that cannot all be true."""

    figure: FigureName
    values: Annotated[tuple[DraftFigure, ...], Field(strict=False)]
    text: Text


class SheetDraft(StrictModel):
    """What was read for one cell model."""

    model: str
    c_rate_capacity_ah: NonNegative | None = None
    """What the sheet says that 1C is; ``None`` when it does not say."""
    figures: Annotated[tuple[DraftFigure, ...], Field(strict=False)] = ()
    not_stated: Annotated[tuple[FigureName, ...], Field(strict=False)] = ()
    conflicts: Annotated[tuple[DraftConflict, ...], Field(strict=False)] = ()


class SheetReading(StrictModel):
    """What was read from one file; `refused` says why nothing could be."""

    file: str
    file_sha256: str | None = None
    refused: Text | None = None
    drafts: Annotated[tuple[SheetDraft, ...], Field(strict=False)] = ()
    remarks: Annotated[tuple[Text, ...], Field(strict=False)] = ()
