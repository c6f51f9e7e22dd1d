"""Write the two invented logs beside this file: an open-circuit curve, a resistance, and a weak group."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).parent
# Chen 2020, DOI 10.1149/1945-7111/ab9050, charge from 0 to 100 % in tenths.
CURVE_V = (2.5000, 3.2959, 3.4852, 3.5814, 3.6670, 3.7509, 3.8406, 3.9479, 4.0421, 4.0967, 4.2000)


def rest_v(charge: float) -> float:
    """Return the open-circuit voltage of a cell at a charge from 0 to 1. [V]."""
    tenth = min(max(charge, 0.0), 1.0) * 10
    below = min(int(tenth), 9)
    return CURVE_V[below] + (tenth - below) * (CURVE_V[below + 1] - CURVE_V[below])


def loaner() -> str:
    """Return the loaner's log: ten groups in four, 7 A to the end, where the BMS opens for group 7."""
    capacities = [13.4, 13.5, 13.3, 13.4, 13.5, 13.4, 12.1, 13.3, 13.4, 13.5]
    lines = [
        "Brackwater bench logger,,,", "Pack,Quay Street loaner 7,,", "Load,electronic,,",
        "Time,Pack voltage (V),Current (A),Cell temp (°C),Air (°C),"
        + ",".join(f"Cell {n} (V)" for n in range(1, 11)),
    ]  # fmt: skip
    used, seconds, temperature = 0.0, 0, 22.0

    def row(amps: float, *, opened: bool = False) -> list[float]:
        groups = [rest_v(1 - used / capacity) - amps * 0.0105 for capacity in capacities]
        pack = 0.2 if opened else sum(groups) - amps * 0.015
        clock = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
        lines.append(
            f"{clock},{pack:.2f},{-amps:.2f},{temperature:.1f},22.0,"
            + ",".join(f"{each:.3f}" for each in groups)
        )
        return groups

    for _ in range(10):
        row(0.0)
        seconds += 20
    while min(row(7.0)) > 2.8:
        used += 7.0 * 20 / 3600
        temperature += 0.0016 * 20 - 0.00025 * 20 * (temperature - 22)
        seconds += 20
    for _ in range(10):
        seconds += 20
        row(0.0, opened=True)
    return "\n".join(lines) + "\n"


def cell_test() -> str:
    """Return a tester's log of one cell: charge, rest, the standard's two steps, discharge at 0.2 It."""
    lines = [
        "Programm;Zelle laden und entladen",
        "Zelle;Osk 21700-40H, Nr. 3",
        "",
        "Zeit;Spannung;Strom;Temperatur",
        "[s];[V];[mA];[°C]",
    ]
    capacity, resistance = 3.96, 0.024
    charge, seconds = 0.02, 0.0

    def row(amps: float) -> float:
        volts = rest_v(charge) + amps * resistance
        entries = (f"{seconds:.1f}", f"{volts:.4f}", f"{1000 * amps:.0f}", f"{21.5 + 0.4 * abs(amps):.1f}")
        lines.append(";".join(entries).replace(".", ","))
        return volts

    def hold(amps: float, lasting: float, every: float) -> None:
        nonlocal charge, seconds
        end = seconds + lasting
        while seconds < end - 1e-9:
            row(amps)
            charge += amps * every / 3600 / capacity
            seconds += every

    hold(0.0, 60, 10)
    while row(2.0) < 4.2:
        charge += 2.0 * 30 / 3600 / capacity
        seconds += 30
    amps = 2.0
    while amps > 0.08:
        amps = max((4.2 - rest_v(charge)) / resistance, 0.0)
        row(amps)
        charge += amps * 30 / 3600 / capacity
        seconds += 30
    hold(0.0, 1800, 60)
    hold(-0.8, 10, 0.5)
    hold(-4.0, 1, 0.1)
    hold(0.0, 300, 10)
    while row(-0.8) > 2.5:
        charge -= 0.8 * 30 / 3600 / capacity
        seconds += 30
    seconds += 1
    hold(0.0, 600, 60)
    return "\n".join(lines) + "\n"


def write(name: str, text: str) -> Sequence[str]:
    """Write a log; return its lines."""
    (HERE / name).write_text(text, encoding="utf-8")
    return text.splitlines()


if __name__ == "__main__":
    write("quay-street-loaner-7.csv", loaner())
    write("osk-21700-40h-cell-3.csv", cell_test())
