"""A current printed in amperes and, beside it, in multiples of the capacity: the printed amperes are the figure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from registry.sheet_reader.candidate import Candidate, doubted
from registry.sheet_reader.currents import CURRENTS


def printed_amperes(drawn: Iterable[Candidate]) -> list[Candidate]:
    """Return candidates; a rate in a column of its own beside one of amperes is the rate of that current.

    Both are of one figure, printed line and condition: "0 to 10 °C | 0.2C | 2.4 A" states 2.4 A, and no
    second current that would have to be worked out. Where the amperes are several, the rate stays and is marked.
    """
    made = list(drawn)
    # The lines of each limit, and the candidates of each line.
    limits: dict[tuple[object, ...], list[list[int]]] = {}
    for at, each in enumerate(made):
        if each.figure in CURRENTS:
            lines = limits.setdefault(_limit(each), [])
            line = next((known for known in lines if _are_one_line(made[known[0]], each)), None)
            if line is None:
                lines.append([at])
            else:
                line.append(at)
    dropped: set[int] = set()
    for group in (line for lines in limits.values() for line in lines):
        rates = [at for at in group if made[at].value is None and made[at].rate is not None]
        amperes = [at for at in group if made[at].value is not None and made[at].rate is None]
        if len(rates) == len(amperes) == 1:
            made[amperes[0]] = replace(made[amperes[0]], rate=made[rates[0]].rate)
            dropped.add(rates[0])
        elif rates and amperes:
            for at in rates:
                made[at] = doubted(made[at], "several currents in amperes stand beside it")
    return [each for at, each in enumerate(made) if at not in dropped]


def _are_one_line(one: Candidate, other: Candidate) -> bool:
    """Whether two candidates are of one line, behind which a note may stand in one of them."""
    lines = one.statement.quote, other.statement.quote
    return lines[0].startswith(lines[1]) or lines[1].startswith(lines[0])


def _limit(each: Candidate) -> tuple[object, ...]:
    holds = each.holds
    return (
        each.figure, each.kind, each.statement.page, holds.low_c, holds.high_c, holds.seconds, holds.ends_c,
    )  # fmt: skip
