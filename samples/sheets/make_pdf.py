"""Makes the invented PDF sheet of this folder: ``python make_pdf.py FILE``; needs reportlab."""

import sys

from reportlab.lib import colors
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table

SPECIFICATION = [
    ["No.", "Item", "Specification", "Notes"],
    ["1", "Nominal capacity", "3000 mAh", "0.2C, 2.5 V cut-off"],
    ["2", "Minimum capacity", "2950 mAh", "1C = 2950 mA"],
    ["3", "Nominal voltage", "3.6 V", ""],
    ["4", "Charge voltage", "4.20 ± 0.05 V", ""],
    ["5", "Discharge cut-off voltage", "2.5 V", ""],
    ["6", "Standard charge current", "1.475 A (0.5C)", ""],
    ["7", "Max. charge current", "2.95 A (1C)", "10 ~ 45 °C"],
    [
        "8",
        "Max. continuous\ndischarge current",
        "-20 ~ 5 °C: 0.5C\n5 ~ 45 °C: 4C\n45 ~ 60 °C: 1C",
        "cell surface",
    ],
    ["9", "Max. pulse discharge current", "20 A (10 s)", "25 °C"],
    ["10", "Internal resistance", "less than 25 mohm", "AC 1 kHz"],
    ["11", "Weight", "47.5 g max.", ""],
    ["12", "Diameter", "18.5 mm max.", ""],
    ["13", "Height", "65.2 mm max.", ""],
    ["14", "Operating temperature", "Charge 0 ~ 45 °C\nDischarge -20 ~ 60 °C", ""],
]
TESTS = [
    ["Test", "Method", "Result"],
    ["Over-charge", "3C (8.85 A) to 4.6 V", "no fire"],
    ["Short circuit", "80 mohm at 55 °C", "no fire"],
]


def main(name: str) -> None:
    """Write the sheet."""
    styles = getSampleStyleSheet()
    grid = [("GRID", (0, 0), (-1, -1), 0.5, colors.black), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
    SimpleDocTemplate(name, pagesize=A4, invariant=1).build([
        Paragraph("LYR 18650-30V cell, product specification", styles["Heading2"]),
        Paragraph("Wholly invented, for trying the program out. No such cell exists.", styles["BodyText"]),
        Spacer(1, 12), Table(SPECIFICATION, style=grid), Spacer(1, 18),
        Paragraph("5. Safety tests", styles["Heading2"]), Table(TESTS, style=grid),
    ])  # fmt: skip


if __name__ == "__main__":
    main(sys.argv[1])
