"""What is dangerous in the packs of a table, as a check warns of it: told beside each row, and ranked first.

A charge voltage is held against every pack of a column at once. What else a check warns of is of what was seen of a
pack, or of a charge voltage that suits some chemistries only; the few rows with any of it are judged one by one.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from registry.cells import Cells
from verifier.alarms import Alarm
from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.figures.charge_voltage import Overcharging, doubted, overcharging
from verifier.finding import Remark, remark
from verifier.judge import judge
from verifier.quantities import Quantity
from verifier.report.opening import SAID_BY, dangers
from verifier.screening import columns as table
from verifier.screening.batch import TableFacts
from verifier.screening.columns import Column

# What every other danger is told of.
SEEN = (
    "use.regeneration_a", "use.controller_current_a", "observed.charger.", "observed.charged_above_full",
    "observed.fuse.", "observed.groups_v", "observed.build.", "observed.charge_leads.", "observed.bms.",
)  # fmt: skip

_CHEMISTRIES = ("claim.chemistry", "observed.cell.chemistry")


def row_dangers(
    rows: NDArray[np.int64],
    facts: TableFacts,
    warned: Sequence[Alarm],
    stated: Sequence[Column],
    registry: Cells,
) -> list[list[Remark]]:
    """Return what each pack is warned of, beside its alarms, as `verifier.report.opening.dangers` does.

    Parameters
    ----------
    rows : array of shape (n,)
        Which rows of the columns ``stated`` the facts are of.
    warned
        The alarms, which have said some of it already.
    """
    found: list[dict[str, Remark]] = [{} for _ in rows]
    for each in overcharging(facts):
        holds = np.broadcast_to(np.asarray(each.holds), (len(rows),)).copy()
        for alarm in warned:
            if each.code in SAID_BY.get(alarm.code, ()):
                holds &= ~np.broadcast_to(np.asarray(alarm.holds), (len(rows),))
        for pack in np.flatnonzero(holds).tolist():
            found[pack][each.code] = _of_pack(each, pack, len(rows))
    told = [list(each.values()) for each in found]
    doubts = np.broadcast_to(np.asarray(doubted(facts, _any_of(_CHEMISTRIES, rows, stated))), (len(rows),))
    for pack in np.flatnonzero(doubts | _any_of(SEEN, rows, stated)).tolist():
        case = Case.model_validate(table.stated(stated, int(rows[pack])))
        told[pack] = dangers(judge(case, registry, limits=facts.limits, steps=False))
    return told


def _any_of(names: tuple[str, ...], rows: NDArray[np.int64], stated: Sequence[Column]) -> NDArray[np.bool_]:
    """Return of which packs any field is stated whose name begins so."""
    some = np.zeros(len(rows), dtype=bool)
    for column in stated:
        if column.field.name.startswith(names):
            some |= column.of(rows).codes >= 0
    return some


def _of_pack(each: Overcharging, pack: int, count: int) -> Remark:
    def of(quantity: Quantity) -> Bounds:
        low, high = (
            np.broadcast_to(np.asarray(end), (count,))[pack] for end in (quantity.low, quantity.high)
        )
        return Bounds(float(low), float(high))

    return remark(
        each.code, each.field, volts_of=each.field, volts=of(each.volts), series=of(each.series),
        cell_v=of(each.cell_v), limit_v=of(each.limit_v),
        only_said=bool(np.broadcast_to(np.asarray(each.only_said), (count,))[pack]),
    )  # fmt: skip
