"""What a pack must have, in words: one sentence for each way to build a part."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import ceil, inf
from typing import Any

from verifier.bounds import down
from verifier.bounds import up as up_to
from verifier.finding import Remark
from verifier.words.numbers import digits

_MATERIALS = {
    "nickel": "pure nickel",
    "plated_steel": "plated steel",
    "copper": "copper",
    "unknown": "the pack's own (material not known)",
}
Sentence = str | Callable[[Mapping[str, Any]], str]


def up(value: float) -> float:
    """Return a rating rounded up to a whole ampere, so that nobody buys one too small."""
    return float(ceil(value - 1e-9))


def _cells(numbers: Mapping[str, Any]) -> str:
    return (
        f"{numbers['parallel']} in parallel ({digits(ceil(100 * numbers['exact'] - 1e-9) / 100)} by the arithmetic), "
        f"{digits(numbers['one_a'])} A each by the datasheet, sharing evenly"
    )


def _strip(numbers: Mapping[str, Any]) -> str:
    size = f"{digits(numbers['thickness_mm'])} x {digits(numbers['width_mm'])} mm"
    return f"{_MATERIALS[numbers['material']]} {size}"


def _layers(numbers: Mapping[str, Any]) -> str:
    count = int(numbers["layers"])
    return f"{count} layer{'' if count == 1 else 's'} of {_strip(numbers)}"


def _fuse(numbers: Mapping[str, Any]) -> str:
    low, keeps, high = (numbers[name] for name in ("low_a", "keeps_a", "high_a"))
    text = f"rated {digits(up(low))} A or more (it runs at three quarters of its rating)"
    if up(keeps) > up(low):
        text += f", {digits(up(keeps))} A for a check to find the reserve kept"
    if high < inf:
        text += f", and at most the {digits(down(high))} A that the leads carry"
    return text


NEEDS: dict[str, Sentence] = {
    "cells_in_parallel": _cells,
    "too_many_cells": lambda numbers: f"no count of cells of {digits(numbers['one_a'])} A gives it",
    "each_cell_must_carry": lambda numbers: (
        f"cells that carry {digits(numbers['each_a'])} A each, {digits(numbers['parallel'])} in parallel"
    ),
    "cells_not_known": "name the cell, or the number in parallel, to say how many",
    "single_group": "none: a single group",
    "links_of_strip": lambda numbers: f"{numbers['links']} links of {_strip(numbers)}, spread over the cells",
    "take_off_at_every_cell": lambda numbers: f"lead taken off at every cell through {_layers(numbers)}",
    "take_off_at_end": lambda numbers: f"lead taken off at one end through {_layers(numbers)}",
    "no_strip_carries_it": "no strip of four layers carries it: use a copper bar",
    "leads_of": lambda numbers: (
        f"copper, {numbers['awg']} AWG or thicker (carries {digits(down(numbers['carries_a']))} A)"
    ),
    "no_lead_carries_it": "no single lead up to 2 AWG carries it in this air",
    "rated": lambda numbers: f"rated {digits(up(numbers['current_a']))} A continuous or more",
    "fuse_window": _fuse,
    "fuse_breaks": lambda numbers: (
        f"for {digits(up(numbers['volts']))} V direct or more, and able to break "
        f"{digits(up_to(numbers['breaking_a']), 2)} A (a short circuit of the full pack)"
    ),
    "fuse_volts": lambda numbers: (
        f"for {digits(up(numbers['volts']))} V direct or more; what it must break needs the count in parallel"
    ),
    "fuse_open": "its voltage and breaking capacity need the cells and the count in series",
}


def need_text(option: Remark) -> str:
    """Return one way to build a part in words."""
    said = NEEDS[option.code]
    return said if isinstance(said, str) else said(option.numbers)
