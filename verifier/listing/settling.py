"""Settles, from the whole listing, what the words at a number leave open.

Volts, amperes and ampere-hours without a label have no meaning of their own. The title says what a pack is
called; else arithmetic chooses the label: cells in series times 4.2 V is a full pack, parallel cells times
their Ah is a pack's capacity, no 18650 holds 10 Ah. Arithmetic chooses labels and never changes a number;
each choice is marked with its reason. What nothing settles stays open and is told as not understood.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from verifier.listing.bare import BARE
from verifier.listing.context import Meaning, Read
from verifier.listing.meaning import FOR_REFERENCE, HIGHEST_CELL_V, LARGEST_SMALL_CELL_AH, MOST_SERIES
from verifier.listing.quantity import Quantity

# Volts of a cell that is full, nominal and empty: datasheets of nickel and of iron phosphate cells.
_FULL_CELL_V = (4.2, 3.65)
_NOMINAL_CELL_V = (3.15, 3.75)
_EMPTY_CELL_V = (2.4, 3.1)
# A full pack over its nominal volts: 4.2/3.7 to 4.2/3.5, and the names 48 V and 52 V for 54.6 and 58.8 V.
FULL_OVER_NOMINAL = (1.10, 1.22)
_EMPTY_OVER_NOMINAL = (0.65, 0.88)
# 48 V and 46.8 V name one pack, 48 V and 52 V two.
_ONE_NAME = 1.07
_SAME = 0.02
_NEAR_CAPACITY = 30
_NEAR = 0.035
_LARGEST_CHARGER_A = 10.0
# What packs are called (common practice, no source).
_NAMES_V = (12.0, 24.0, 36.0, 48.0, 52.0, 60.0, 72.0)


_MAYBE_NOMINAL: tuple[Read, ...] = (
    None, Meaning("nominal_voltage_v", "title"), Meaning("nominal_voltage_v", "stated"),
)  # fmt: skip


@dataclass(slots=True)
class Facts:
    """What is settled so far of one line or of the whole listing."""

    series: set[float] = field(default_factory=set)
    parallel: set[float] = field(default_factory=set)
    nominal: set[float] = field(default_factory=set)
    capacity: set[float] = field(default_factory=set)
    cell_capacity: set[float] = field(default_factory=set)
    energy: set[float] = field(default_factory=set)
    largest_cell_ah: set[float] = field(default_factory=set)

    def take(self, name: str, value: float) -> None:
        """Add a claim."""
        kept = {
            "series": self.series, "parallel": self.parallel, "nominal_voltage_v": self.nominal,
            "capacity_ah": self.capacity, "cell_capacity_ah": self.cell_capacity, "energy_wh": self.energy,
        }.get(name)  # fmt: skip
        if kept is not None:
            kept.add(value)


def _near(value: float, other: float, tolerance: float = _NEAR) -> bool:
    return abs(value - other) <= tolerance * max(value, other)


def is_full(volts: float, series: int | None = None) -> bool:
    """Return whether cells in series, some number of them where none is given, are full at a voltage. [V]"""
    if series is not None:
        return any(_near(volts, series * cell, 0.008) for cell in _FULL_CELL_V)
    return any(
        abs(volts / cell - round(volts / cell)) * cell <= 0.051 and 3 <= round(volts / cell) <= MOST_SERIES
        for cell in _FULL_CELL_V
    )


def _of_series(volts: float, series: Iterable[float]) -> set[tuple[str, str]]:
    found: set[tuple[str, str]] = set()
    for count in series:
        each = volts / count
        if any(_near(each, full, 0.008) for full in _FULL_CELL_V):
            found.add(("full_voltage_v", f"{count:g} cells in series are full at {volts:g} V"))
        elif _NOMINAL_CELL_V[0] <= each <= _NOMINAL_CELL_V[1]:
            found.add(("nominal_voltage_v", f"{each:.2f} V a cell with {count:g} in series"))
        elif _EMPTY_CELL_V[0] <= each <= _EMPTY_CELL_V[1]:
            found.add(("cutoff_voltage_v", f"{each:.2f} V a cell with {count:g} in series"))
    return found


def _of_nominal(volts: float, nominal: Iterable[float]) -> set[tuple[str, str]]:
    found: set[tuple[str, str]] = set()
    for name in nominal:
        ratio = volts / name
        if _near(volts, name, _SAME):
            found.add(("nominal_voltage_v", f"as {name:g} V elsewhere"))
        elif FULL_OVER_NOMINAL[0] <= ratio <= FULL_OVER_NOMINAL[1] and is_full(volts):
            found.add(("full_voltage_v", f"{name:g} V packs are full near {volts:g} V"))
        elif _EMPTY_OVER_NOMINAL[0] <= ratio <= _EMPTY_OVER_NOMINAL[1]:
            found.add(("cutoff_voltage_v", f"below {name:g} V"))
    return found


class Settler:
    """Settles the open numbers of one listing."""

    def __init__(
        self,
        reads: dict[Quantity, Read],
        claimed: Sequence[Quantity],
        titles: set[Quantity],
        without_charger: set[Quantity],
    ) -> None:
        self.reads = reads
        self.titles = titles
        self.without_charger = without_charger
        self.large_cells = False
        self.claimed = claimed
        self.by_start = sorted(claimed, key=lambda q: q.start)
        self.starts = [q.start for q in self.by_start]
        self.reasons: dict[Quantity, str] = {}
        self.all = Facts()
        self.lines: dict[int, Facts] = {}
        self.runs: dict[int, list[Quantity]] = {}
        self.bare: dict[int, list[Quantity]] = {}
        for quantity in claimed:
            self.runs.setdefault(quantity.run, []).append(quantity)
            if quantity.unit.name == BARE:
                self.bare.setdefault(quantity.line, []).append(quantity)

    def add_size(self, line: int, largest_ah: float) -> None:
        """Take note of a cell's size code in a line."""
        self.all.largest_cell_ah.add(largest_ah)
        self.lines.setdefault(line, Facts()).largest_cell_ah.add(largest_ah)

    def settle(self) -> dict[Quantity, str]:
        """Choose labels for what is open; returns the reason of each choice."""
        for quantity in self.claimed:
            read = self.reads[quantity]
            if isinstance(read, Meaning) and quantity.high is None:
                self._note(quantity, read)
        self._several_volts()
        self._ends_by_nominal()
        self._single_cells()
        self._names_elsewhere()
        self._chargers_by_pack()
        self._charge_voltage_of_pack()
        self._chargers()
        for _ in range(2):
            for quantity in self.claimed:
                if self.reads[quantity] is None:
                    self._choose(quantity)
        return self.reasons

    def _note(self, quantity: Quantity, read: Meaning) -> None:
        if read.kind in ("stated", "title", "continuous"):
            self.all.take(read.field, quantity.value)
            self.lines.setdefault(quantity.line, Facts()).take(read.field, quantity.value)

    def _take(self, quantity: Quantity, name: str, reason: str) -> None:
        read = Meaning(name, "title" if quantity in self.titles else "stated")
        self.reads[quantity] = read
        self.reasons[quantity] = reason
        self._note(quantity, read)

    # -- volts -----------------------------------------------------------------------------------------------

    def _several_volts(self) -> None:
        """Part the voltages of one pack ("48V 52V 54.6V"): full, nominal, other names for it."""
        for run in self.runs.values():
            volts = [
                q for q in run
                if q.dimension == "voltage" and q.high is None
                and self.reads[q] in _MAYBE_NOMINAL
            ]  # fmt: skip
            if len({q.value for q in volts}) < 2:
                continue
            top = max(volts, key=lambda q: q.value)
            rest = [q for q in volts if q.value != top.value]
            if top.value <= _ONE_NAME * min(q.value for q in volts):
                self._other_names(volts)
            elif (
                is_full(top.value)
                and all(q.value >= 0.8 * top.value for q in rest)
                and self._is_top(top, rest)
            ):
                self._part(top, rest)

    def _ends_by_nominal(self) -> None:
        """Tell by the nominal voltage of which end an "end voltage" is: full for cells, or below it.

        What is called full or empty stays that, however little it fits.
        """
        titled = {
            q.value for q in self.titles if isinstance(read := self.reads[q], Meaning) and read.kind == "title"
            and read.field == "nominal_voltage_v" and q.high is None
        }  # fmt: skip
        called = titled if len(titled) == 1 else self.all.nominal
        if len(called) != 1:
            return
        nominal = next(iter(called))
        for quantity in self.claimed:
            # "Charged 54.6 V, discharged 39 V", where the title says 48 V.
            read = self.reads[quantity]
            emptied = (
                quantity.own == {"discharge"} and quantity.high is None and quantity.dimension == "voltage"
            )
            ratio = quantity.value / nominal
            if (
                emptied
                and read in _MAYBE_NOMINAL
                and _EMPTY_OVER_NOMINAL[0] <= ratio <= _EMPTY_OVER_NOMINAL[1]
            ):
                self.all.nominal.discard(quantity.value)
                self._take(quantity, "cutoff_voltage_v", f"below {nominal:g} V")
        for quantity in self.claimed:
            read = self.reads[quantity]
            # "End of charge" is the full end, and a lie about it stays one.
            of_charge = "charge" in quantity.own and "discharge" not in quantity.own
            named = of_charge or "end" not in quantity.own or quantity.own & {"full", "empty", "low", "falls"}
            if not isinstance(read, Meaning) or quantity.high is not None or named:
                continue
            ratio = quantity.value / nominal
            below = _EMPTY_OVER_NOMINAL[0] <= ratio <= _EMPTY_OVER_NOMINAL[1]
            above = FULL_OVER_NOMINAL[0] <= ratio <= FULL_OVER_NOMINAL[1] and is_full(quantity.value)
            if read.field == "full_voltage_v" and below:
                self._take(quantity, "cutoff_voltage_v", f"below {nominal:g} V")
            elif read.field == "cutoff_voltage_v" and "protect" in quantity.own and ratio > 1 and not above:
                # Where the board ends charging is no voltage of an empty pack.
                self.reads[quantity] = Meaning("cutoff_voltage_v", "trip")
            elif read.field == "cutoff_voltage_v" and above:
                self._take(
                    quantity, "full_voltage_v", f"{nominal:g} V packs are full near {quantity.value:g} V"
                )

    def _single_cells(self) -> None:
        """Take the ampere-hours of cells that all stand in series for the pack's, where its energy says so."""
        if self.all.capacity:
            return
        for quantity in self.claimed:
            read = self.reads[quantity]
            if isinstance(read, Meaning) and read.field == "cell_capacity_ah" and quantity.high is None:
                found = [v for v in self.all.nominal for e in self.all.energy if _near(v * quantity.value, e)]
                if found:
                    reason = f"{found[0]:g} V x {quantity.value:g} Ah is the energy stated"
                    self._take(quantity, "capacity_ah", reason)

    def _other_names(self, volts: list[Quantity]) -> None:
        """Keep the first of the names of one pack ("48V (46.8V, 13S)")."""
        first = next((q for q in volts if q.own & {"nominal", "voltage"}), volts[0])
        for quantity in volts:
            if quantity.value != first.value:
                self.reads[quantity] = Meaning("nominal_voltage_v", "derived")
                self.all.nominal.discard(quantity.value)

    def _names_elsewhere(self) -> None:
        """Keep the volts called nominal, where others of the text are only another name for them."""
        nominal = [
            q for q in self.claimed
            if q.dimension == "voltage" and q.high is None and self.reads[q] in _MAYBE_NOMINAL[1:]
        ]  # fmt: skip
        called = {q.value for q in nominal if "nominal" in q.own}
        if len(called) != 1:
            return
        value = called.pop()
        for quantity in nominal:
            near = value / _ONE_NAME <= quantity.value <= value * _ONE_NAME and quantity.value != value
            if near and not quantity.own & {"nominal", "voltage"} and quantity not in self.titles:
                self.reads[quantity] = Meaning("nominal_voltage_v", "derived")
                self.all.nominal.discard(quantity.value)

    def _is_top(self, top: Quantity, rest: list[Quantity]) -> bool:
        return top.value != round(top.value) or len(rest) > 1 or top.value in (42.0, 84.0, 21.0)

    def _part(self, top: Quantity, rest: list[Quantity]) -> None:
        self.reads[top] = Meaning("full_voltage_v", "stated")
        self.reasons[top] = "the highest of the voltages of one pack, full for a number of cells"
        nominal = min(rest, key=lambda q: abs(q.value - top.value * 0.87))
        for quantity in rest:
            same = quantity.value == nominal.value
            kind = "title" if quantity in self.titles else "stated"
            self.reads[quantity] = Meaning("nominal_voltage_v", kind if same else "derived")  # type: ignore[arg-type]
        for facts in (self.all, self.lines.get(top.line, Facts())):
            facts.nominal -= {top.value, *(q.value for q in rest if q.value != nominal.value)}

    def _chargers_by_pack(self) -> None:
        """Take the pack's name out of a charger's line: "60V: 71.4V 3A", "54.6V charger for 48V"."""
        lines: dict[int, list[Quantity]] = {}
        for quantity in self.claimed:
            read = self.reads[quantity]
            if isinstance(read, Meaning) and read.field == "charge_voltage_v" and quantity.high is None:
                lines.setdefault(quantity.line, []).append(quantity)
        for volts in lines.values():
            charged = sorted({each.value for each in volts if is_full(each.value)})
            for quantity in volts:
                least, most = (ratio * quantity.value for ratio in FULL_OVER_NOMINAL)
                full = bisect_left(charged, least) < bisect_right(charged, most)
                if full and FOR_REFERENCE not in quantity.about and quantity.value in self.all.nominal:
                    self.reads[quantity] = Meaning("nominal_voltage_v", "stated")

    def _charge_voltage_of_pack(self) -> None:
        """Take the charge voltage for the full voltage of the pack where the charger's own is given too."""
        charging = [
            (quantity, "charger" in quantity.labels)
            for quantity in self.claimed
            if isinstance(read := self.reads[quantity], Meaning) and read.field == "charge_voltage_v"
        ]
        if any(charger for _, charger in charging):
            for quantity, charger in charging:
                if not charger and "voltage" in quantity.own:
                    self.reads[quantity] = Meaning("full_voltage_v", "stated")

    def _chargers(self) -> None:
        """Take a full voltage beside a few amperes, and nothing else, for a charger's output."""
        for run in self.runs.values():
            if [q.dimension for q in run] != ["voltage", "current"]:
                continue
            volts, amperes = run
            if volts in self.without_charger:
                continue
            output = volts.own & {"output", "charge"}
            if self.reads[volts] is not None and not output:
                continue
            if (
                not is_full(volts.value)
                or amperes.value > _LARGEST_CHARGER_A
                or amperes.own - {"charge", "output"}
            ):
                continue
            if volts.value == round(volts.value) and not output and not self._full_here(volts.value):
                continue
            reason = "a full voltage beside a few amperes: a charger's output"
            self._take(volts, "charge_voltage_v", reason)
            self._take(amperes, "charge_current_a", reason)

    def _full_here(self, volts: float) -> bool:
        found = _of_series(volts, self.all.series) | _of_nominal(volts, self.all.nominal)
        return {name for name, _ in found} == {"full_voltage_v"}

    def _choose(self, quantity: Quantity) -> None:
        if quantity.high is not None:
            return
        chooser = {
            "voltage": self._choose_volts, "capacity": self._choose_capacity, "current": self._choose_amperes,
        }.get(quantity.dimension)  # fmt: skip
        if chooser is not None:
            chooser(quantity)

    def _choose_volts(self, quantity: Quantity) -> None:
        volts = quantity.value
        for facts in (self.lines.get(quantity.line, Facts()), self.all):
            found = _of_series(volts, facts.series) or _of_nominal(volts, facts.nominal)
            # A lower voltage alone fits too much to be a cut-off.
            if not quantity.own & {"min", "limit"}:
                found = {each for each in found if each[0] != "cutoff_voltage_v"}
            names = {name for name, _ in found}
            if len(names) == 1:
                self._take(quantity, names.pop(), sorted(reason for _, reason in found)[0])
                return
        if quantity in self.titles:
            self._take(quantity, "nominal_voltage_v", "the title names the pack by it")
        elif not self.all.nominal and volts in _NAMES_V and self._only(quantity):
            self._take(quantity, "nominal_voltage_v", "the only voltage, and what packs are called by")
        elif volts in _NAMES_V and self._tells_of_capacity(quantity):
            self._take(quantity, "nominal_voltage_v", "what packs are called by, near the capacity")

    def _tells_of_capacity(self, quantity: Quantity) -> bool:
        """Return whether a capacity follows an open voltage, with no other voltage between ("has 36 V and 10 Ah")."""
        at, end = (bisect_left(self.starts, quantity.end + far) for far in (0, _NEAR_CAPACITY + 1))
        following = self.by_start[at:end]
        first = next((q for q in following if q.dimension in ("voltage", "capacity")), None)
        read = self.reads[first] if first is not None else None
        near = first is not None and first.line == quantity.line
        return near and isinstance(read, Meaning) and read.field == "capacity_ah" and not quantity.labels

    def _only(self, quantity: Quantity) -> bool:
        return all(
            other.value == quantity.value
            for other in self.claimed
            if other.dimension == quantity.dimension and self.reads[other] is None and other.value in _NAMES_V
        )

    # -- ampere-hours ----------------------------------------------------------------------------------------

    def _choose_capacity(self, quantity: Quantity) -> None:
        here = self.lines.get(quantity.line, Facts())
        if quantity.unit.name == BARE:
            if (chosen := self._cell_by_product(quantity.value, here)) is not None:
                self._take(quantity, *chosen)
            return
        for choose in (self._cell_by_product, self._pack_by_product, self._by_size, self._cell_beside_pack):
            chosen = choose(quantity.value, here)
            if chosen is not None:
                self._take(quantity, *chosen)
                return
        if quantity in self.titles:
            self._take(quantity, "capacity_ah", "the title names the pack by it")
        elif quantity.value in self.all.capacity:
            self._take(quantity, "capacity_ah", "as elsewhere in the listing")
        elif (bare := self._bare_beside(quantity)) is not None:
            self._take(quantity, "capacity_ah", f"cells in parallel of {bare.value * 1000:g} mAh")
            self._take(
                bare, "cell_capacity_ah", "a number of such cells in parallel come to the pack's capacity"
            )
        elif quantity.value > LARGEST_SMALL_CELL_AH and (
            not self.large_cells or self._only_capacity(quantity)
        ):
            self._take(quantity, "capacity_ah", "more than a cell of a usual size holds")

    def _only_capacity(self, quantity: Quantity) -> bool:
        return not self.all.capacity and all(
            other.value == quantity.value
            for other in self.claimed
            if other.dimension == "capacity" and other.unit.name != BARE and self.reads[other] is None
        )

    def _bare_beside(self, quantity: Quantity) -> Quantity | None:
        """Return a bare number of the line that a whole number of times is this capacity."""
        for other in self.bare.get(quantity.line, ()):
            if any(_near(count * other.value, quantity.value) for count in self.all.parallel):
                return other
        return None

    def _cell_by_product(self, value: float, here: Facts) -> tuple[str, str] | None:
        for facts in (here, self.all):
            for parallel in facts.parallel:
                if parallel > 1 and any(
                    _near(parallel * value, c) for c in facts.capacity | self.all.capacity
                ):
                    return "cell_capacity_ah", f"{parallel:g} x {value:g} Ah is the pack's capacity"
        return None

    def _pack_by_product(self, value: float, here: Facts) -> tuple[str, str] | None:
        for facts in (here, self.all):
            for cell in facts.cell_capacity or self.all.cell_capacity:
                if any(p > 1 and _near(p * cell, value) for p in facts.parallel):
                    return "capacity_ah", f"a number of cells of {cell:g} Ah in parallel"
            for volts in facts.nominal or self.all.nominal:
                if any(_near(volts * value, energy) for energy in facts.energy):
                    return "capacity_ah", f"{volts:g} V x {value:g} Ah is the energy stated"
        return None

    def _by_size(self, value: float, here: Facts) -> tuple[str, str] | None:
        sizes = here.largest_cell_ah or self.all.largest_cell_ah
        if sizes and value > max(sizes):
            return "capacity_ah", "no cell of the size named holds so much"
        return None

    def _cell_beside_pack(self, value: float, here: Facts) -> tuple[str, str] | None:
        of_cell = here.largest_cell_ah or here.parallel or here.cell_capacity
        larger = any(value < 0.75 * capacity for capacity in self.all.capacity)
        small = value <= LARGEST_SMALL_CELL_AH and value not in self.all.capacity
        if small and of_cell and (larger or here.largest_cell_ah):
            return "cell_capacity_ah", "beside the cells' size or count, and too small for the pack"
        return None

    # -- amperes ---------------------------------------------------------------------------------------------

    def _choose_amperes(self, quantity: Quantity) -> None:
        if quantity not in self.titles:
            return
        run = self.runs[quantity.run]
        alone = not any(
            other.dimension == "current" and other is not quantity and other in self.titles
            for other in self.claimed
        )
        if alone or any(q.dimension in ("voltage", "capacity") and q.value > HIGHEST_CELL_V for q in run):
            self._take(quantity, "continuous_current_a", "the title names the pack by it")


def mark_sums(quantities: list[Quantity]) -> None:
    """Mark what a seller works out: the right side of "2 x 6Ah = 12Ah"."""
    for before, quantity in pairwise(quantities):
        if quantity.equals and before.dimension == quantity.dimension and before.times is not None:
            quantity.about.add("sum")
