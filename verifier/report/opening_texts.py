"""The texts of a report's first lines, and the labels that they stand under."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeAlias

from verifier.words import (
    Language,
    digits,
)

STAGES = {
    "listed": "listing only, nothing seen",
    "noted": "listing, and what was noted of the pack itself",
    "arrived": "arrived, not opened",
    "opened": "opened",
    "tested": "tested",
}
ALARM, ANSWER = "alarm", "answer"
Line = tuple[str, str]
Maker: TypeAlias = Callable[[Language], str]
# Labels are told apart by their English words.
LABELS = (
    ALARM, "decision", "cannot be true", "use at most", "use it for", "charge with", "your load", "beware", "ask first",
    "cells", "judged for", "own limits", "job", "customer", "date", "by", "condition", "notes", "capacity", "charger",
    "claimed",
)  # fmt: skip
OPENING = {
    "alarm_box": "Alarm",
    "answer_box": "Answer",
    "new": "new",
    "used": "used",
    "leave_alone": "nothing, whatever holds below: do not charge, load or post it, take it on no bus or train, and let "
    "nobody charge it back to life; with its contacts taped it goes to somebody who repairs such packs, to a "
    "collection point for batteries or to who sold it",
    "repair_group": "if you repair such packs: first find what emptied group {groups} alone (a BMS wire that draws "
    "from it, damp, a cell shorted inside); none of its cells is ever charged again, and no other group before that",
    "until_alarm": "nothing until what the alarm says is done, whatever holds below",
    "once_charged_so": "charged as the alarm says: {use}",
    "not_seen_in_full": "nothing yet: what its {part} carry hangs on what was not seen: ask below",
    "nothing_limits": "nothing as it is: its {part} need a BMS or fuse of at most {sure_a} A",
    "too_weak": "nothing as it is: too weak: {part}",
    "too_little": "nothing yet: too little is known",
    "no_limit_stated": "nothing: no datasheet gives a limit at these temperatures",
    "nothing_seen": "nothing yet: only the seller says {claimed} A",
    "claim_not_sure": "nothing yet: what was seen is not enough to be sure of the {claimed} A claimed",
    "at_best": "nothing yet. If all that is open turns out well: {amps} A {air}, with our reserve ({limit})",
    "at_best_motor": "nothing yet. If all that is open turns out well: {amps} A {air}, with our reserve, a motor of "
    "{motor} W until nearly empty ({limit})",
    "use": "{amps} A continuous {air}, limited by the {limit}",
    "use_motor": "{amps} A continuous (a motor of {motor} W until nearly empty) {air}, limited by the {limit}",
    "less_current_fuse": "the {claims} claimed holds for some time, inside the limit of {limit}, and not for hours: "
    "its fuse of {rating} may blow, for it carries some {for_hours} for hours",
    "less_current": "the {claims} claimed holds, inside the limit of {limit}, but leaves less than our reserve",
    "less_power": "the {claims} claimed holds, but when nearly empty it leaves less than our reserve",
    "power_of_battery": "the {claims} claimed is what the battery gives: it drives no motor of so much",
    "decision_false": "do not buy on this advert: what it says cannot all be true. Photos of its label and of its "
    "charger's may tell which is right; where they disagree too, leave it",
    "decision_false_most": "do not buy on this advert: {refuted}; and what it says cannot all be true",
    "decision_refuted": "do not buy on this advert: {refuted}; asking does not make it true",
    "decision_alarm": "do not buy it",
    "decision_ask": "nothing wrong found in the advert: ask what stands below, and see label, case and voltage before "
    "you buy",
    "decision_charger": "do not buy before it is clear which charger is right: {why}",
    "decision_nothing": "nothing to decide on: ask for its figures before you buy",
    "worn_none": "none",
    "worn_out_verdict": "worn out",
    "worn_out": "nothing: worn out: it gave {measured}, {percent} % of the {new} of new cells, and below {least} % no "
    "current is granted, whatever else is measured. Rebuild it with new cells, or recycle it",
    "worn_out_unless": "nothing: worn out as measured: it gave {measured}, {percent} % of the {new} of new cells, and "
    "below {least} % no current is granted. Rebuild it with new cells, or recycle it, unless another full discharge in "
    "a room, down to {empty} V, gives {needed} Ah or more",
    "not_true": "nothing: what is said of it cannot all be true",
    "new_but_scraped": "said to be new; blank or scraped wrappers speak against it",
    "condition_not_stated": "new or used is not said: all figures are of new cells",
    "chemistry_open": "do not charge it: the chemistry of its cells is not known, nor how far they may be charged",
    "count_open": "do not charge it before its groups in series are counted",
    "chemistry_open_at_hand": "do not charge it, and do not plug in the {volts} charger at hand: the chemistry of its "
    "cells is not known",
    "count_open_at_hand": "do not charge it, and do not plug in the {volts} charger at hand, before its groups in "
    "series are counted",
    "charge_for_test": "{volts}, watched, for another full discharge and nothing else",
    "worn_at_hand": "nothing: it is worn out; do not plug in the {volts} charger at hand",
    "alarm_first_at_hand": "do not plug in the {volts} charger at hand before what the alarm says is done",
    "too_strong_at_hand": "do not plug in the {volts} charger at hand: it gives more current than the cells take; take "
    "one of the same voltage that gives less",
    "in_air_at_hand": "the {volts} charger at hand in no other air than the alarm says",
    "untrue_at_hand": "do not plug in the {volts} charger at hand before it is clear what the pack is",
    "gentle_word_at_hand": "the {volts} charger at hand leaves such a pack part empty, which takes {right}, and that "
    "only if what the seller says is true: do not plug it in before the label of the pack is seen to say so, and "
    "never alone",
    "word_at_hand": "the {volts} charger at hand fits only if what the seller says is true: do not plug it in before "
    "the label of the pack is seen to say so, and never alone",
    "unlike_at_hand": "do not plug in the {volts} charger at hand, it is of another pack: this one takes {right}",
    "unlike_word_at_hand": "do not plug in the {volts} charger at hand: a pack as the seller says takes {right}",
    "plug_nothing_in": "nothing: do not plug in the charger ({volts}), not even to see",
    "plug_none_in": "nothing: plug in no charger, not even to see",
    "volts_open_at_hand": "do not plug in the charger at hand: nothing says yet that it is right; read its voltage",
    "if_sound": "If it were sound; this table does not allow you to use it:",
    "least_decides": "the current claimed must hold in all of this air, so that the least of these decides",
    "claimed_amount": "{figure} of {amount}",
    "use_short": "at most {amps} A {air}",
    "use_short_motor": "at most {amps} A (a motor of {motor} W) {air}",
    "at_air": "at {air}",
    "from_air": "from {air}",
    "load_current_open": "{load}: the current it takes is open while the voltage is",
    "load_takes": "{load} takes {takes}: {verdict}",
    "load_within": "within what it can be trusted with",
    "load_too_much": "too much even at best",
    "load_open": "cannot tell yet whether it is too much",
    "load_waits": "not as it is",
    "load_without_reserve": "inside its limit of {limit}, but not with our reserve",
    "load_set": "yes, with the controller set to {advised} A",
    "load_set_motor": "yes, with the controller set to {advised} A ({motor} W when nearly empty)",
    "load_if_true": "fits if the {claimed} claimed is true",
    "load_if_true_no_reserve": "it leaves less than our reserve of the {claimed} claimed: that would need {needed} A "
    "or more",
    "load_above_claim": "when nearly empty it may take more than the {claimed} claimed",
    "load_above_use": "more than the {advised} A to use at most: only with the controller set to {advised} A",
    "load_may_exceed_use": "when nearly empty it may take more than the {advised} A to use at most: only with the "
    "controller set to {advised} A",
    "controller_above_use": "the controller draws {draws}, more than the {advised} A to use at most: set it to "
    "{advised} A",
    "load_worn_out": "not with these cells",
    "load_worn_unless": "not before that discharge shows that they hold enough",
    "controller_above_best": "the controller draws {draws}, more than the {advised} A to use even if all that is open "
    "turns out well: set it to less",
    "controller_open": "the controller draws {draws}: cannot tell yet whether the pack carries it",
    "load_above_best": "more than the {advised} A to use even if all that is open turns out well: only with the "
    "controller set to less",
    "load_may_exceed_best": "when nearly empty it may take more than the {advised} A to use even if all that is open "
    "turns out well",
    "may_settle": "{asked} (may settle {figures})",
    "with_others": "{asked} (helps with {figures})",
    "figures_and_more": "{figures} and {more} more",
    "cell_against": "{cell} is named, but something speaks against it: not used",
    "cell_named": "{cell}, named by {whom}; {evidence}",
    "by_wrapper": "the wrapper",
    "by_case": "the case",
    "by_seller": "the seller",
    "wrappers_scraped": "{cells}; their wrappers are blank or scraped",
    "no_cells": "unknown; your registry has no cells yet",
    "cell_withdrawn": "{cell}, named by {whom}, but {why}",
    "cells_fit": "unknown; {candidates} of {cells} registered cells could be inside",
    "cells_none_fit": "unknown; none of the {cells} registered cells could be inside",
    "cells_can": "unknown; {candidates} of {cells} registered cells could be inside, and {able} of them could do what "
    "is claimed",
    "cells_cannot": "unknown; {candidates} of {cells} registered cells could be inside, and none of them can do what "
    "is claimed",
    "cells_none_ever": "unknown; no cell ever made that could be inside can do what is claimed",
    "cells_not_used": "{fit}. Not used: {why}",
    "closest": "{fit}. Closest name in your registry: {name}. Not used: one letter can halve the current",
    "as_close": "{fit}. As close: {names}. Not used: one letter can halve the current",
    "in the case": "in the case",
    "in your settings": "in your settings",
    "air": "air of {air}. Of each limit {part} may be used; tables show all of it",
    "air_default": "air of {air} (our default; set yours with --temperature). Of each limit {part} may be used; tables "
    "show all of it",
}


def say(code: str, language: Language, **slots: str) -> str:
    """Return a text of the first lines, its slots filled."""
    return language.text("opening", code, OPENING).format_map(slots)


def under(label: str, makers: Iterable[Maker]) -> list[tuple[str, Maker]]:
    """Return texts as lines under one label."""
    return [("" if number else label, make) for number, make in enumerate(makers)]


def say_motor(code: str, motor_w: float | None, amps: float, language: Language, **slots: str) -> str:
    """Return what a current is good for, with the motor where one is known."""
    slots["amps"] = digits(amps, language=language)
    if motor_w is None:
        return say(code, language, **slots)
    return say(f"{code}_motor", language, motor=digits(motor_w, language=language), **slots)
