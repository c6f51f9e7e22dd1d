"""The load a pack can feed: current times voltage times the efficiency of the drive."""

from __future__ import annotations

from verifier.bounds import Bounds
from verifier.finding import Step
from verifier.pack import Pack
from verifier.support import Support, once_a_pack
from verifier.support.current import pack_current
from verifier.support.sag import pack_power
from verifier.support.voltage import pack_empty_voltage


def drive_efficiency(pack: Pack) -> tuple[Bounds, str]:
    """Return the efficiency from battery to shaft, and where it comes from. [-]."""
    stated = pack.case.use.efficiency
    if stated is not None:
        return stated, "use.efficiency"
    return pack.limits["drive_efficiency"], pack.limits.source("drive_efficiency")


def current_when_nearly_empty(pack: Pack, load_w: Bounds) -> Bounds | None:
    """Return the battery current that a load takes when it takes most, None while no voltage is known. [A].

    Parameters
    ----------
    pack : Pack
        Gives voltage and efficiency.
    load_w : Bounds
        At the motor. [W]
    """
    voltage = pack_empty_voltage(pack).value
    if voltage.low <= 0 or not voltage.known:
        return None
    efficiency, _ = drive_efficiency(pack)
    return load_w / (voltage * efficiency)


@once_a_pack
def load_power(pack: Pack) -> Support:
    """Return the motor power that the pack supports continuously until it is nearly empty. [W]."""
    power, voltage = pack_power(pack), pack_empty_voltage(pack)
    battery = power.support
    efficiency, source = drive_efficiency(pack)
    value = power.nearly_empty_w * efficiency
    steps = (
        *battery.steps[:-1],
        *voltage.steps[-1:],
        Step("eta", "battery to shaft", efficiency, "-", source),
        Step("P_load", "P_empty x eta", value, "W", "arithmetic"),
    )
    unknown = tuple(dict.fromkeys((*battery.unknown, *voltage.unknown)))
    current = pack_current(pack).support
    return Support(value, steps, unknown, battery.cautions, current.evidence, current.limited_by)


def battery_power(pack: Pack) -> Bounds:
    """Return the power at the battery's leads under load, from nearly empty to nominal voltage. [W]."""
    return pack_power(pack).support.value
