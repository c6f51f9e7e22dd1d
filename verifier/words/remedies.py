"""What would lift a limit, in words."""

from __future__ import annotations

from verifier.finding import Remedy
from verifier.words.numbers import digits

_REMEDIES = {
    "take_off_every_cell": "main lead joined to every cell",
    "take_off_middle": "main lead joined in the middle of the row",
    "one_more_tab_layer": "one more layer of strip to the main lead",
    "one_more_layer": "one more layer of strip on the rows",
    "one_more_link_layer": "one more layer on the links",
    "thicker_strip": "strip of {thickness_mm} mm",
    "nickel_strip": "strip of nickel",
    "link_at_every_cell": "a link at every cell",
    "two_links_at_every_cell": "two links at every cell",
    "heavier_leads": "copper main leads of {awg} AWG",
}


def remedy_text(remedy: Remedy) -> str:
    """Return a change of the build in words."""
    return _REMEDIES[remedy.code].format_map({name: digits(value) for name, value in remedy.numbers.items()})
