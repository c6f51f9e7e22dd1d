"""What a mark or certificate that a seller names is, as codes; no legal advice.

None of them ever enters a verdict: they prove safety tests or duties, never amperes or ampere-hours. What
each shows and does not show stands under its code in `verifier.words.certificates`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from verifier.case.model import Case, Claim

# Above this a battery is fully regulated dangerous goods and its watt-hours stand on its case. [Wh]
SMALL_BATTERY_WH = 100.0

# Matched against the mark in capitals without blanks, dots, dashes and brackets; the first that fits counts.
_MARKS = tuple(
    (re.compile(pattern), code)
    for pattern, code in (
        (r"UN383|383TEST|TESTSUMMARY", "un_38_3"),
        (r"20231542|EUBATTERYREGULATION|BATTERYREGULATION|ARTICLE10|ART10", "eu_2023_1542"),
        (r"50604", "en_50604"),
        (r"15194", "en_15194"),
        (r"2271", "ul_2271"),
        (r"2849", "ul_2849"),
        (r"62133", "iec_62133"),
        (r"^CE(MARK|MARKED|MARKING|CERTIFIED|CERTIFICATE|APPROVED)?$", "ce"),
        (r"ROHS", "rohs"),
        (r"MSDS|SDS|SAFETYDATASHEET", "safety_data_sheet"),
    )
)
_IP = re.compile(r"IP([0-6X])([0-9X])K?")


@dataclass(frozen=True, slots=True)
class Certificate:
    """A mark or certificate as the seller writes it, what it is, and the numbers that its sentence needs."""

    mark: str
    code: str
    numbers: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))


def certificates(case: Case, *, damaged: bool = False) -> tuple[Certificate, ...]:
    """Return every mark that the seller names, the ingress code, and whether transport is dangerous goods.

    What is ``damaged`` or defective travels by rules of its own.
    """
    claim = case.claim
    found = [certificate(mark) for mark in claim.certificates]
    if claim.ingress is not None:
        found.append(ingress(claim.ingress))
    energy_wh = _claimed_energy_wh(claim)
    if energy_wh > SMALL_BATTERY_WH:
        code = "damaged_goods" if damaged else "dangerous_goods"
        found.append(Certificate("", code, MappingProxyType({"energy_wh": energy_wh})))
    return tuple(each for at, each in enumerate(found) if each not in found[:at])


def certificate(mark: str) -> Certificate:
    """Return which mark this is; an ingress code among the marks is read as one."""
    squeezed = _squeezed(mark)
    if _IP.fullmatch(squeezed):
        return ingress(mark)
    code = next((code for pattern, code in _MARKS if pattern.search(squeezed)), "unknown_mark")
    return Certificate(mark, code)


def ingress(code: str) -> Certificate:
    """Return the two digits of an ingress code (IEC 60529); X for what was not tested."""
    match = _IP.fullmatch(_squeezed(code))
    if match is None:
        return Certificate(code, "no_ingress_code")
    solids, water = match.groups()
    return Certificate(code, "ingress", MappingProxyType({"solids": solids, "water": water}))


def _claimed_energy_wh(claim: Claim) -> float:
    """Return the least energy that the seller states, plainly or by its product; 0 for none. [Wh]."""
    if claim.energy_wh is not None:
        return claim.energy_wh.low
    if claim.capacity_ah is None or claim.nominal_voltage_v is None:
        return 0.0
    return claim.capacity_ah.low * claim.nominal_voltage_v.low


def _squeezed(mark: str) -> str:
    return re.sub(r"[^0-9A-Z]", "", mark.upper())
