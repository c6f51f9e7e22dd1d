"""What a mark or certificate that a seller names is, as codes; no legal advice.

None of them ever enters a verdict: they prove safety tests or duties, never amperes or ampere-hours. What each
shows and does not show stands under its code in `verifier.report.certificate_words`.
"""

from __future__ import annotations

import re

from verifier.facts import CaseFacts
from verifier.finding import Remark, remark
from verifier.pack.mass import claimed_energy

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


def certificates(facts: CaseFacts) -> tuple[Remark, ...]:
    """Return a remark for every mark that the seller names, for its ingress code, and on transport."""
    claim = facts.case.claim
    found = [certificate(mark) for mark in claim.certificates]
    if claim.ingress is not None:
        found.append(ingress(claim.ingress))
    energy = claimed_energy(facts)
    if energy.known and energy.low > SMALL_BATTERY_WH:
        found.append(remark("dangerous_goods", "claim.energy_wh", energy_wh=energy.low))
    return tuple(each for at, each in enumerate(found) if each not in found[:at])


def certificate(mark: str) -> Remark:
    """Return which mark this is; an ingress code among the marks is read as one."""
    squeezed = _squeezed(mark)
    if _IP.fullmatch(squeezed):
        return ingress(mark)
    code = next((code for pattern, code in _MARKS if pattern.search(squeezed)), "unknown_mark")
    return remark(code, "claim.certificates", mark=mark)


def ingress(code: str) -> Remark:
    """Return the two digits of an ingress code (IEC 60529); X for what was not tested."""
    match = _IP.fullmatch(_squeezed(code))
    if match is None:
        return remark("no_ingress_code", "claim.ingress", mark=code)
    solids, water = match.groups()
    return remark("ingress", "claim.ingress", mark=code, solids=solids, water=water)


def _squeezed(mark: str) -> str:
    return re.sub(r"[^0-9A-Z]", "", mark.upper())
