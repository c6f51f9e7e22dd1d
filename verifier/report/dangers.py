"""What is dangerous in a pack as it is built and used, told in the first lines of every report."""

from __future__ import annotations

from collections.abc import Collection

from verifier.alarms import LEAVE_ALONE
from verifier.case_report import Report
from verifier.finding import Remark
from verifier.report import in_use

# A charge voltage that no pack of the kind takes, or not every pack that it may be.
DOUBTS_OF_A_CHARGER = frozenset(
    {
        "overcharges",
        "full_above_limit",
        "may_overcharge",
        "overcharges_some",
        "overcharges_most",
        "charges_no_possible_pack",
    }
)
# What whoever has the pack must mind: no danger of what is offered, and not told beside the rows of a table.
OF_HANDLING = frozenset({"no_charging_below", "uncooled_too_hot", "uncooled_perhaps_too_hot"})
# Such remarks are told first, also where nothing is claimed that they could refute.
DANGERS = OF_HANDLING | DOUBTS_OF_A_CHARGER | frozenset(
    {
        "maybe_charged_above_full", "charger_too_strong", "charger_may_be_too_strong", "controller_too_strong",
        "controller_may_be_too_strong",
        "regeneration_too_strong", "regeneration_may_be_too_strong", "fuse_voltage_too_low",
        "fuse_breaking_may_be_low", "groups_apart", "groups_miscounted", "too_few_balance_leads", "wires_pinched",
        "leads_not_isolated", "charge_leads_do_not_carry", "bms_above_strip", "bms_above_links",
        "bms_above_cells", "bms_above_connector", "fuse_above_strip", "fuse_may_be_above_leads",
        "fuse_near_its_rating", "bms_may_be_above_leads",
    }
)  # fmt: skip
# What an alarm has said already, by the alarm.
SAID_BY: dict[str, Collection[str]] = {
    "wrong_charger": DOUBTS_OF_A_CHARGER,
    "charger_overcharges": DOUBTS_OF_A_CHARGER,
    "fuse_voltage_too_low": ("fuse_voltage_too_low",),
    "charger_above_cells": ("charger_too_strong",),
    "regeneration_above_cells": ("regeneration_too_strong",),
    "deeply_discharged": ("deeply_discharged",),
    "hot_in_minutes": ("uncooled_too_hot", "uncooled_perhaps_too_hot"),
    # Of such a pack nobody balances anything.
    "group_deeply_discharged": ("groups_apart", "groups_unbalanced", "groups_may_cost"),
    "over_charge_limit": ("over_full",),
    "group_drains": ("group_drains",),
    # The fuse to fit there is the one to fit for the leads.
    "no_fuse": ("no_fuse", "bms_may_be_above_leads"),
}
# Of what is built around the cells, and how they are used.
OF_USE = frozenset(
    {
        "bms_above_strip", "bms_above_links", "bms_above_cells", "bms_above_connector", "fuse_above_strip",
        "fuse_may_be_above_leads", "fuse_near_its_rating",
        "bms_may_be_above_leads", "controller_too_strong", "controller_may_be_too_strong",
        "regeneration_too_strong", "regeneration_may_be_too_strong",
        "fuse_breaking_may_be_low", "fuse_voltage_too_low", "uncooled_too_hot", "uncooled_perhaps_too_hot",
    }
)  # fmt: skip
OF_CONTROLLER = frozenset({"controller_too_strong", "controller_may_be_too_strong"})
# Where nothing is sure yet, they would speak of 0 A.
OF_WHAT_IS_SURE = frozenset({"charger_may_be_too_strong", "controller_may_be_too_strong"})
CHARGER_ALARMS = frozenset({"wrong_charger", "charger_overcharges"})


def said_by_alarms(report: Report) -> frozenset[str]:
    """Return the codes of the remarks that say what an alarm has said already."""
    return frozenset(code for each in report.alarms for code in SAID_BY.get(each.code, ()))


def dangers(report: Report) -> list[Remark]:
    """Return what is dangerous in the pack as it is built and to be used, whatever is claimed of it."""
    said = said_by_alarms(report)
    never = any(each.code in LEAVE_ALONE for each in report.alarms)
    worn = report.answer.worn_out is not None
    found = [
        each
        for finding in report.findings
        for each in finding.cautions
        # What an alarm has said is said; and what nobody can tell for want of facts is no danger yet.
        if each.code in DANGERS
        and each.code not in said
        # Nobody is told to mend or to use a pack that is to be left alone.
        and not (each.code in OF_USE and never)
        # "Not below 10 C" would allow it above.
        and not (each.code == "no_charging_below" and (never or worn or not in_use.charger_is_known(report)))
        and not (each.code in OF_WHAT_IS_SURE and each.numbers["sure_a"] <= 0)
    ]
    # Of a code that two facts give, the last: what was seen comes after what is claimed.
    last: dict[str, Remark] = {}
    for each in reversed(found):
        last.setdefault(each.code, each)
    return [*last.values()][::-1]


def to_be_left_alone(report: Report) -> bool:
    """Whether an alarm is of the cells themselves: such a pack is neither charged nor used, nor anything mended."""
    return any(each.code in LEAVE_ALONE for each in report.answer.alarms)
