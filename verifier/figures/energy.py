"""Energy: capacity times nominal voltage, as transport rules define the watt-hour rating."""

from __future__ import annotations

from verifier.figures.common import at_least
from verifier.finding import Finding, Step
from verifier.pack import Pack
from verifier.support import Support, worst_evidence
from verifier.support.capacity import pack_capacity
from verifier.support.voltage import pack_nominal_voltage


def judge(pack: Pack) -> Finding:
    """Judge the energy: rated capacity x nominal voltage (49 CFR 171.8, watt-hour rating). [Wh]."""
    capacity, voltage = pack_capacity(pack), pack_nominal_voltage(pack)
    value = capacity.value * voltage.value
    steps = (
        *capacity.steps,
        *voltage.steps,
        Step("E_pack", "Q_pack x U_pack", value, "Wh", "49 CFR 171.8, watt-hour rating"),
    )
    support = Support(
        value,
        steps,
        tuple(dict.fromkeys((*capacity.unknown, *voltage.unknown))),
        (*capacity.cautions, *voltage.cautions),
        worst_evidence(capacity.evidence, voltage.evidence),
        capacity.limited_by,
    )
    return at_least(pack, "energy", "Wh", pack.claim.energy_wh, support, None)
