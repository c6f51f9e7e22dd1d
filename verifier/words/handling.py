"""What to do with a pack that must not be charged: where to leave it, how it travels, where it goes.

Rules differ from place to place and change, so that local ones are named first. What has no source here is common
practice; what stands in transport rules is from memory, not checked, and says where to look.
"""

from __future__ import annotations

from collections.abc import Iterable

_LOCAL_FIRST = (
    "Local rules, the fire brigade's advice and the carrier's terms go before what stands here: common practice, and "
    "transport rules from memory, not checked."
)
_LEAVE_ALONE = (
    "Leave it alone: no charging, no load, no opening. Keep it outdoors or in a place of its own, dry, out of the sun, "
    "on stone or sand, away from doors, stairs, other packs and whatever burns."
)
_WATCH = (
    "Look from a distance for warmth, smell, hissing or swelling. If it smokes or burns: leave, keep others away, call "
    "the fire brigade. The smoke is poisonous."
)
_HALF_DEAD = (
    "Do not wake it up with a higher voltage or past its BMS: copper that dissolved in an empty cell can short it "
    "in a later charge."
)
_OVER_FULL = "Nor drain it with a load at hand: an overcharged cell can catch fire hours later."
_GROUPS_FIRST = (
    "A right charger does not undo it: nobody charges it again before every group was measured, hours apart, by "
    "somebody who repairs such packs; a group above its charge limit, or one that falls, is never charged again."
)
_SHORT_INSIDE = (
    "A group that drains by itself may have a short inside a cell, or a BMS that draws from it: let somebody find out "
    "who repairs such packs."
)
_TRAVELS = (
    "Do not post it, and take it on no plane, bus or train. Damaged or defective lithium batteries travel by special "
    "provision 376 of ADR only, in packings by P908, or P911 where they may react dangerously; ask a carrier who is "
    "licensed for that."
)
_GOES_TO = (
    "Take it yourself to the seller's or maker's shop or to a collection point that takes batteries of light vehicles, "
    "tell them what is wrong with it, and tape its contacts. It never goes into household waste."
)

# By alarm: what is to be done with such a pack besides what holds for all of them. Other alarms are of what is built
# around the cells, and are mended there.
_OF_ALARM = {
    "deeply_discharged": _HALF_DEAD,
    "group_deeply_discharged": _HALF_DEAD,
    "over_charge_limit": _OVER_FULL,
    "group_drains": _SHORT_INSIDE,
    "charged_above_full": f"{_OVER_FULL} {_GROUPS_FIRST}",
    "may_be_overcharged": f"{_OVER_FULL} {_GROUPS_FIRST}",
    "swollen": "",
    "damaged": "",
}


def handling(codes: Iterable[str]) -> tuple[str, ...]:
    """Return what to do with a pack with these alarms, in sentences; nothing where it may be charged."""
    special = [_OF_ALARM[code] for code in dict.fromkeys(codes) if code in _OF_ALARM]
    if not special:
        return ()
    told = [_LOCAL_FIRST, _LEAVE_ALONE, *special, _WATCH, _TRAVELS, _GOES_TO]
    return tuple(dict.fromkeys(text for text in told if text))
