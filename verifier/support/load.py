"""The load a pack can feed: current times voltage times the efficiency of the drive."""

from __future__ import annotations

from verifier.bounds import Bounds
from verifier.finding import Step
from verifier.pack import Pack
from verifier.support import Support
from verifier.support.current import pack_current
from verifier.support.voltage import pack_empty_voltage, pack_nominal_voltage


def drive_efficiency(pack: Pack) -> tuple[Bounds, str]:
    """Return the efficiency from battery to shaft, and where it comes from. [-]."""
    stated = pack.case.use.efficiency
    if stated is not None:
        return stated, "use.efficiency"
    return pack.policy["drive_efficiency"], pack.policy.source("drive_efficiency")


def load_power(pack: Pack) -> Support:
    """Return the motor power that the pack supports continuously until it is nearly empty. [W]."""
    current = pack_current(pack).support
    voltage = pack_empty_voltage(pack)
    efficiency, source = drive_efficiency(pack)
    value = current.value * voltage.value * efficiency
    steps = (
        *current.steps,
        *voltage.steps,
        Step("eta", "battery to shaft", efficiency, "-", source),
        Step("P_load", "I_pack x U_low x eta", value, "W", "arithmetic"),
    )
    unknown = tuple(dict.fromkeys((*current.unknown, *voltage.unknown)))
    return Support(value, steps, unknown, current.cautions, current.evidence, current.limited_by)


def battery_power(pack: Pack) -> Bounds:
    """Return the power at the battery's leads, from nearly empty to nominal voltage. [W]."""
    current = pack_current(pack).support
    low, nominal = pack_empty_voltage(pack).value, pack_nominal_voltage(pack).value
    return current.value * Bounds(min(low.low, nominal.low), max(low.high, nominal.high))
