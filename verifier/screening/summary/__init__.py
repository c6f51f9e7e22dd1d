"""The summary of a screening: listings by conclusion, figures, sellers, reasons, and the worst by proof."""

from verifier.screening.summary.contents import Summary, Table, summary_of
from verifier.screening.summary.forms import ENDINGS, form_of, render

__all__ = ["ENDINGS", "Summary", "Table", "form_of", "render", "summary_of"]
