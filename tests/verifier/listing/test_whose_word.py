"""What is no promise of the pack on sale: use so far, a warranty's end, what it does not fit, what others write.

The wordings are common practice in the trade, no source; all packs are invented.
"""

from __future__ import annotations

from functools import partial

import pytest

from tests.verifier.listing.claimed import CLAIMED
from tests.verifier.listing.claimed import claimed as claims_of_kinds
from verifier.listing import read_listing

claimed = partial(claims_of_kinds, kinds=(*CLAIMED, "compatibility"))


@pytest.mark.parametrize(
    "text",
    [
        "Pack 44V 17Ah\nIt has 140 cycles.",
        "Pack 44V 17Ah, two years old, about 220 cycles.",
        "Akku 44V 17Ah\nHat jetzt 140 Zyklen.",
        "Akku 44V 17Ah, hat gerade mal 34 Zyklen drauf",
        "Batterie 44V 17Ah\nEn deux saisons d'utilisation, 190 cycles.",
        "Batería 44V 17Ah\nEn este tiempo han hecho entre 150 y 190 ciclos.",
        "Batteria 44V 17Ah\nLa batteria ha fatto circa 180 cicli.",
        "Accu 44V 17Ah\nHeeft pas 130 cycli.",
        "Bateria 44V 17Ah\nPo dwóch sezonach około 160 cykli.",
        "Bateria 44V 17Ah\nTem 140 ciclos.",
        "电池 44V 17Ah\n用了两年，充放电大概180次。",
        "バッテリー 44V 17Ah\n1年半使用、充放電は180回ほどです。",
    ],
)
def test_use_so_far_is_no_cycle_life(text: str) -> None:
    """How often a used pack was charged is judged as the life that its seller promises."""
    assert claimed(text, "cycles") == []
    assert claimed(text, "capacity_ah") == [17]


@pytest.mark.parametrize(
    "text",
    [
        "电池 60V 30Ah，用了八个月跑了7000公里",
        "Selling: 60V 30Ah pack\nRidden about 5000 km in nine months.",
        "Akku 60V 30Ah, Reichweite 60 km, mein Arbeitsweg 12 km",
    ],
)
def test_how_far_it_has_gone_is_no_range(text: str) -> None:
    """The way ridden so far, or to work, is judged as what one charge is good for."""
    assert set(claimed(text, "range_km")) <= {60}


@pytest.mark.parametrize(
    "text",
    [
        "Pack 44V 17Ah\nGuarantee: 18 months or 350 cycles, whichever is sooner.",
        "Akku 44V 17Ah\nGarantie 18 Monate oder 350 Zyklen.",
        "Batterie 44V 17Ah\nGarantie : 2 ans ou 350 cycles.",
        "Batería 44V 17Ah\nGarantía de 2 años o 350 ciclos.",
        "Batteria 44V 17Ah\nGaranzia 2 anni o 350 cicli.",
        "Accu 44V 17Ah\nGarantie 2 jaar of 350 cycli.",
        "Bateria 44V 17Ah\nGwarancja 18 miesięcy lub 350 cykli.",
        "Bateria 44V 17Ah\nGarantia de 2 anos ou 350 ciclos.",
        "电池 44V 17Ah\n质保两年或350次循环，以先到为准。",
        "バッテリー 44V 17Ah\n保証は1年または350サイクルのいずれか早い方です。",
    ],
)
def test_the_end_of_a_warranty_is_no_cycle_life(text: str) -> None:
    """The cycles after which a warranty ends are judged as the life promised."""
    assert claimed(text, "cycles") == []


@pytest.mark.parametrize(
    "words", ["Guaranteed 600 cycles.", "12 months warranty and 600 cycles", "600 cycles, 2 years guarantee"]
)
def test_cycles_guaranteed_are_a_promise(words: str) -> None:
    """A life that the seller guarantees is dropped, because the word warranty stands near."""
    assert claimed(f"Pack 44V 17Ah\n{words}", "cycles") == [600]


@pytest.mark.parametrize(
    "text",
    [
        "Pack 44V 17Ah\nDoes not fit the Vela 3, which takes one of 36V 10Ah.",
        "Akku 44V 17Ah\nPasst nicht ins Vela 3, das einen mit 36V 10Ah hat.",
        "Batterie 44V 17Ah\nNe convient pas au Vela 3, qui en a une de 36V 10Ah.",
        "Batería 44V 17Ah\nNo vale para la Vela 3, que lleva una de 36V 10Ah.",
        "Batteria 44V 17Ah\nNon è compatibile con la Vela 3, che ne monta una da 36V 10Ah.",
        "Accu 44V 17Ah\nPast niet op de Vela 3, die er een van 36V 10Ah heeft.",
        "Bateria 44V 17Ah\nNie pasuje do Vela 3, która ma 36V 10Ah.",
        "Bateria 44V 17Ah\nNão serve para a Vela 3, que usa uma de 36V 10Ah.",
        "Pack 44V 17Ah\nChoose our 36V 10Ah instead if your controller draws less.",
        "Akku 44V 17Ah\nWenn Ihr Regler weniger braucht, nehmen Sie besser unseren 36V 10Ah.",
        "Batterie 44V 17Ah\nPrenez plutôt notre 36V 10Ah si votre contrôleur demande moins.",
        "Batería 44V 17Ah\nSi su controlador pide menos, elija mejor la de 36V 10Ah.",
        "Batteria 44V 17Ah\nSe vi serve di meno, prendete piuttosto quella da 36V 10Ah.",
        "Accu 44V 17Ah\nVraagt uw regelaar minder, kies dan liever de 36V 10Ah.",
        "Bateria 44V 17Ah\nJeśli sterownik bierze mniej, wybierz raczej 36V 10Ah.",
        "Bateria 44V 17Ah\nSe o controlador puxa menos, escolha antes a de 36V 10Ah.",
        "电池 44V 17Ah\n电流需要更小的话，建议拍36V 10Ah那款。",
        "バッテリー 44V 17Ah\n電流が小さい方は36V 10Ahの方をお選びください。",
        "Pack 44V 17Ah\nThe Vela 3 leaves the factory with a 36V 10Ah pack.",
        "Bateria 44V 17Ah\nA bateria do vizinho é de 36V 10Ah.",
        "Akku 44V 17Ah\nMein Nachbar hat einen mit 36V 10Ah.",
        "Accu 44V 17Ah\nKies voor langere ritten de 36V 10Ah.",
    ],
)
def test_what_it_does_not_fit_or_what_else_to_choose_is_no_claim(text: str) -> None:
    """The figures of another vehicle's pack, or of another article, are judged as this one's."""
    assert claimed(text, "nominal_voltage_v") == [44]
    assert claimed(text, "capacity_ah") == [17]


@pytest.mark.parametrize(
    "text",
    [
        "Pack 44V 17Ah with 2A charger. I have none of 4A.",
        "Akku 44V 17Ah, Ladegerät 2A. Eins mit 4A habe ich nicht.",
        "Batteria 44V 17Ah, caricatore 2A, da 4A non ne ho.",
        "Batería 44V 17Ah, cargador 2A, de 4A no tengo.",
        "Batterie 44V 17Ah, chargeur 2A, de 4A je n'en ai pas.",
        "Bateria 44V 17Ah, ładowarka 2A, takiej 4A nie mam.",
        "Bateria 44V 17Ah, carregador 2A, de 4A não tenho.",
        "Accu 44V 17Ah, lader 2A, van 4A heb ik niet.",
    ],
)
def test_what_the_seller_has_not_is_no_claim(text: str) -> None:
    """A charger that the seller says not to have is judged as the one that comes with the pack."""
    assert claimed(text, "charge_current_a") == [2]


@pytest.mark.parametrize(
    "text",
    [
        "Pack 44V 17Ah\nResting voltage 47.3V.",
        "Akku 44V 17Ah\nRuhespannung 47,3V",
        "Batterie 44V 17Ah\nTension au repos 47,3V",
        "Batería 44V 17Ah\nVoltaje en reposo: 47,3V",
        "Batteria 44V 17Ah\nTensione a riposo: 47,3 V",
        "Accu 44V 17Ah\nRustspanning 47,3V",
        "Bateria 44V 17Ah\nNapięcie spoczynkowe 47,3V",
        "Bateria 44V 17Ah\nTensão em repouso 47,3V",
        "电池 44V 17Ah\n静置电压47.3V",
        "バッテリー 44V 17Ah\n無負荷時の電圧 47.3V",
    ],
)
def test_a_voltage_at_rest_is_measured(text: str) -> None:
    """What a meter shows today becomes a second nominal voltage, and a contradiction."""
    assert claimed(text, "nominal_voltage_v") == [44]


def test_who_opens_a_thread_sells_and_others_do_not() -> None:
    """A reader's own pack, told of in a reply, is judged as the one on sale."""
    text = (
        "[WTS] 44V pack, never fitted\nFrom: mossback » 14/03 21:40\n"
        "Hi all, selling a 44V 17Ah. BMS 40A. 30A continuous.\n\n"
        "From: quarryman » 14/03 22:05\nnice, mine 48V 20Ah weighs 5 kg\n\nFrom: mossback » 15/03 07:12\nPeak is 50A."
    )
    assert set(claimed(text, "nominal_voltage_v")) == {44}
    assert claimed(text, "capacity_ah") == [17]
    assert claimed(text, "mass_kg") == []
    assert claimed(text, "peak_current_a") == [50]


@pytest.mark.parametrize("between", ["\n", "\t"])
def test_names_that_stand_alone_speak(between: str) -> None:
    """Questions in a talk whose speakers stand on lines, or in cells, of their own count as the seller's word."""
    said = [
        ("Ludger", "Wie schwer? Mein Motor hat 1500W."),
        ("Verkäufer", "5,2 kg"),
        ("Ludger", "Mein alter mit 48V wog 6 kg"),
        ("Verkäufer", "Der hier nicht."),
    ]
    text = "Akku 44V 17Ah\n" + "\n".join(f"{name}{between}{words}" for name, words in said)
    assert claimed(text, "mass_kg") == [5.2]
    assert claimed(text, "load_power_w") == []
    assert claimed(text, "nominal_voltage_v") == [44]


def test_no_is_in_the_where_portuguese_is_spoken() -> None:
    """Every figure behind "no manual" or "no quadro" is lost as denied."""
    assert claimed("Bateria 44V 17Ah\nPeso indicado no manual 3,2 kg", "mass_kg") == [3.2]


def test_a_customer_is_quoted_between_any_signs() -> None:
    """A customer's ride is judged as the range that the seller promises."""
    assert claimed("Batterie 44V 17Ah\nAvis : « J'ai fait 72 km avec, je pèse 84 kg »", "range_km") == []
    assert claimed("バッテリー 44V 17Ah\n「前のは7Ahだったので全然違う！」（30代女性）", "capacity_ah") == [
        17
    ]


@pytest.mark.parametrize("answer", ["No, but we sell one of 54.6V 5A.", "Yes, one of 54.6V 5A."])
def test_a_no_to_the_question_for_a_charger_supplies_none(answer: str) -> None:
    """The buyer is told that a charger comes with the pack, where the seller says no. Common practice, no source."""
    text = f"48V 15Ah battery\n\nQ: Is there a charger with it?\nA: {answer}\n"
    kinds = {claim.kind for claim in read_listing(text).variants[0].claims["charge_voltage_v"]}
    assert kinds == ({"negated"} if answer.startswith("No") else {"stated"})
