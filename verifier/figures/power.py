"""Power: what the battery delivers continuously, at the voltage that is left under load."""

from __future__ import annotations

from verifier.figures.common import at_least, by_default_temperature
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support.sag import pack_power


def judge(pack: Pack) -> Finding:
    """Judge the power at the battery: current x voltage under load, nearly empty to nominal. [W]."""
    support = pack_power(pack).support
    finding = at_least(pack, "power", "W", pack.claim.power_w, support, pack.limits.number("reserve"))
    return by_default_temperature(pack, finding)
