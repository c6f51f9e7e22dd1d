"""New or used, and the cycles so far, as a seller tells them of the pack on sale.

Source of each expectation: the words of the text itself, as a buyer reads them.
"""

from __future__ import annotations

import pytest

from registry.cells import InMemory
from verifier import judge_case
from verifier.listing import cases_from_listing, read_listing
from verifier.listing.drafts import use_of
from verifier.screening.listings import expand
from verifier.verdict import Verdict


def told(text: str) -> dict[str, object]:
    """Return what is told of the use of the first pack."""
    return use_of(read_listing(text).variants[0])


@pytest.mark.parametrize(
    ("text", "condition", "cycles"),
    [
        ("52v 20ah triangle battery - used 1 season\n\n14s5p, 70 cells", "used", None),
        ("48V 12Ah used ebike battery, 250 charge cycles", "used", 250),
        ("Akku 36V 10Ah, gebraucht\nca. 60 Ladezyklen", "used", 60),
        ("Akku 36V 10Ah für Pedelec, zwei Jahre benutzt", "used", None),
        ("Batterie vélo 48V 12Ah d'occasion\nenviron 120 cycles", "used", 120),
        ("Batería 48V 12Ah usada 2 temporadas, unos 90 ciclos de carga", "used", 90),
        ("Batteria 48V 12Ah per bici, usata due anni", "used", None),
        ("Accu 48V 12Ah voor de fiets, tweedehands", "used", None),
        ("Akumulator 48V 12Ah używany 2 sezony, około 150 cykli", "used", 150),
        ("Bateria 48V 12Ah em segunda mão, 70 ciclos", "used", 70),
        ("48V 12Ah バッテリー 中古\n充電回数 約80回", "used", 80),
        ("48V20Ah锂电池 二手 用了一年", "used", None),
        ("48V 20Ah e-bike battery\nbrand new A-grade 18650 cells", "new", None),
        ("Neuer Akku 48V 12Ah, unbenutzt", "new", None),
        ("Batterie neuve 36V 10Ah jamais utilisée", "new", None),
        ("Batería nueva 36V 10Ah a estrenar", "new", None),
        ("Batteria nuova 36V 10Ah mai usata", "new", None),
        ("Accu 36V 10Ah gloednieuw in doos", "new", None),
        ("Nowa bateria 36V 10Ah, nieużywana", "new", None),
        ("Bateria para bicicleta 48V 12Ah com carregador, nova em folha", "new", None),
        ("48V 12Ah バッテリー 新品未使用", "new", None),
        ("全新48V20Ah锂电池 电动车用", "new", None),
        ("Selling my pack, 13S4P\n48 V 12 Ah. About 250 cycles, still does 35 km.", None, 250),
    ],
)
def test_what_the_seller_tells_of_its_use(text: str, condition: str | None, cycles: float | None) -> None:
    """The report would say that new or used is not said, and ask for the cycles, though the listing says both."""
    found = told(text)
    assert found.get("condition") == condition
    assert found.get("cycles") == cycles


@pytest.mark.parametrize(
    "text",
    [
        "48V 12Ah pack\nnew cells, used case",
        "48V 12Ah pack, used 2 years\nnew BMS fitted",
        "48V 12Ah pack\ncan be used for ebikes and scooters",
        "48V pack 12Ah\nwith brand new charger",
        "48V 12Ah バッテリー\n・保護回路　25A（新品）",
        "48V 12Ah pack\nWe also buy used batteries",
        "48V 12Ah pack, like new",
        "48V 12Ah pack\nIs it brand new?",
        "48V 12Ah pack\nlooking for a used battery? This is not one",
        "Akku 48V 12Ah, wird nicht mehr gebraucht",
        "Akku 48V 12Ah, neuwertig",
        "Option A: 48V 10Ah, used battery. Option B: 36V 10Ah",
    ],
)
def test_what_is_said_of_other_things_or_in_two_ways_stays_open(text: str) -> None:
    """A worn pack would count as new by the word on its charger. Rule: missing stays missing."""
    assert "condition" not in told(text)


def test_a_life_is_no_use_so_far() -> None:
    """What the seller promises would count as what the pack has behind it."""
    assert "cycles" not in told("48V 12Ah pack, cycle life 1000 cycles")
    assert "cycles" not in told("Akumulator 48V 12Ah. Przy normalnym użytkowaniu wytrzyma minimum 600 cykli.")
    assert "cycles" not in told("电动车锂电池 48V 20Ah，充满一次可跑60公里")


def test_many_cycles_are_no_new_packs() -> None:
    """A pack of 250 cycles would be called new because its seller says so. Limit: new_cycles."""
    assert told("48V 12Ah pack, brand new. It has 250 cycles") == {"cycles": 250}


def test_a_case_holds_it_and_is_a_listing_still() -> None:
    """What is only told would count as seen, and the answer as that of an opened pack."""
    (file,) = cases_from_listing("48V 12Ah used ebike battery, 13S4P, 250 charge cycles", "listing")
    assert file.case.case.condition == "used"
    assert file.case.observed.cycles is not None
    assert file.case.observed.cycles.high == 250
    assert file.case.stage == "listed"
    assert file.case.model_copy(update={"case": type(file.case.case)()}).stage == "listed"


def test_it_lets_no_claim_pass() -> None:
    """A seller's "new" or "used" would buy a pass. Rule: a condition never makes a verdict pass."""
    text = "48V 12Ah ebike battery, 13S4P 18650 cells, BMS 20A"
    passed = (
        Verdict.HOLDS, Verdict.HOLDS_WITH_RESERVE, Verdict.HOLDS_WITHOUT_RESERVE, Verdict.HOLDS_ON_SELLERS_WORD,
        Verdict.CONSISTENT_ON_SELLERS_WORD,
    )  # fmt: skip
    plain, *others = (
        {
            each.figure
            for each in judge_case(file.case, InMemory(), steps=False).findings
            if each.verdict in passed
        }
        for said in ("", "\nbrand new", "\nlightly used, 250 charge cycles")
        for file in cases_from_listing(text + said, "listing")
    )
    assert all(each <= plain for each in others)


def test_a_table_of_listings_holds_the_same() -> None:
    """A row would be judged as a new pack, and a check of the same text as a used one."""
    columns = expand({"text": ["48V 12Ah used ebike battery, 13S4P, 250 charge cycles"]}).columns
    assert columns["case.condition"] == ["used"]
    assert columns["observed.cycles"] == [250]
