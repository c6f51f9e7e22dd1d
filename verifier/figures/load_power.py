"""Load power: what motor the pack can feed, at the voltage that is left when it is nearly empty."""

from __future__ import annotations

from verifier.bounds import Bounds
from verifier.figures.common import at_least, by_default_temperature
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support import Support
from verifier.support.load import current_when_nearly_empty, load_power


def judge(pack: Pack) -> Finding:
    """Judge the motor power that the seller says the pack suits. [W at the motor]."""
    load = load_power(pack)
    claim = pack.claim.load_power_w
    cautions = list(load.cautions)
    if claim is not None and not pack.many:
        cautions.append(_needed(pack, claim))
    support = Support(load.value, load.steps, load.unknown, tuple(cautions), load.evidence, load.limited_by)
    finding = at_least(pack, "load_power", "W", claim, support, pack.limits.number("reserve"))
    return by_default_temperature(pack, finding)


def _needed(pack: Pack, claim: Bounds) -> str:
    need = current_when_nearly_empty(pack, claim)
    if need is None:
        return f"{claim.high:g} W at the motor: the current it takes is open while the voltage is unknown"
    return f"{claim.high:g} W at the motor takes {need.low:.3g} to {need.high:.3g} A when nearly empty"
