"""Charge voltage: is it that of so many cells in series, and is the charger for this pack?"""

from __future__ import annotations

from verifier.bounds import Bounds
from verifier.figures.common import with_sellers_word
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support.charging import ChargeVoltage, charge_voltage, judge_voltage
from verifier.verdict import Verdict, margin_percent, settle


def judge(pack: Pack) -> Finding:
    """Judge the charge voltage, else the full voltage, against series x charge limit. [V].

    The charger that was seen is compared too: a wrong one is dangerous, whatever the seller claims.
    """
    claim, field = pack.claim.charge_voltage_v, "claim.charge_voltage_v"
    if claim is None:
        claim, field = pack.claim.full_voltage_v, "claim.full_voltage_v"
    support = charge_voltage(pack)
    unknown = list(support.unknown)
    cautions = [*support.cautions, *_cautions(pack)]
    if claim is None:
        verdict, between = Verdict.NOT_CLAIMED, None
    elif pack.series is None or pack.series.source.startswith((field, "claim.full_voltage_v")):
        # The count was worked out from a voltage of the same claim: it cannot confirm itself.
        verdict, between = settle([True, False])
        unknown.insert(0, "observed.series")
    else:
        verdict, between = settle(judge_voltage(pack, claim, pack.series.value).outcomes)
    if verdict is Verdict.NOT_SETTLED and pack.series is not None and not pack.series.value.exact:
        unknown.insert(0, "observed.series")
    return with_sellers_word(
        pack,
        Finding(
            "charge_voltage", "V", claim, support.value, verdict, between,
            margin_percent(claim, support.value), support.limited_by, support.evidence,
            steps=support.steps, unknown=tuple(dict.fromkeys(unknown)), cautions=tuple(cautions),
        ),
    )  # fmt: skip


def _cautions(pack: Pack) -> list[str]:
    """Return what is wrong with each voltage that is stated or printed on the charger."""
    if pack.many or pack.series is None:
        return []
    told = []
    for name, volts in (
        ("charge voltage claimed", pack.claim.charge_voltage_v),
        ("full voltage claimed", pack.claim.full_voltage_v),
        ("charger as seen", pack.observed.charger.voltage_v),
    ):
        compared = _compared(pack, volts)
        if compared is not None and compared.caution:
            told.append(f"{name}: {compared.caution}")
    return told


def _compared(pack: Pack, volts: Bounds | None) -> ChargeVoltage | None:
    if volts is None or pack.series is None:
        return None
    return judge_voltage(pack, volts, pack.series.value)
