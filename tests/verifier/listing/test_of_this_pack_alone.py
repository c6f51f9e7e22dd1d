"""What is told of other packs, of other times and of the way there, beside what the seller claims of this pack.

The wordings are common practice in the trade, no source; all packs are invented.
"""

from __future__ import annotations

import pytest

from tests.verifier.listing.claimed import claimed
from verifier.listing import read_listing


@pytest.mark.parametrize(
    "text",
    [
        "バッテリーを手放します。\n\n①主に使った方\n72V 28Ah、20直、11kg\n\n②予備の方\n72V 18Ah、20直、7.5kg",
        "出两组电池：\n①主力用的\n72V28Ah，20串，11公斤\n②备用的\n60V18Ah，16串，7.5公斤",
        "①72V28Ah 20串 11kg\n②60V18Ah 16串 7.5kg",
        "Vendo due batterie.\n\n1) quella nera\n72V 28Ah, 20S, 11 kg\n\n2) quella grigia\n60V 18Ah, 16S, 7,5 kg",
    ],
)
def test_numbered_blocks_are_packs_of_their_own(text: str) -> None:
    """Two packs are read as one with contradictions, and an honest seller is accused."""
    variants = read_listing(text).variants
    assert [[claim.value for claim in each.claims["capacity_ah"]] for each in variants] == [[28], [18]]
    assert [[claim.value for claim in each.claims["mass_kg"]] for each in variants] == [[11], [7.5]]


@pytest.mark.parametrize(
    "text",
    [
        "Pacco attuale: 36V 9Ah, ormai debole\nPacco rigenerato: 36 V, 10S5P, in totale 15 Ah",
        "Huidige accu: 36V 9Ah\nNa revisie: 36V 15Ah, 10S5P",
        "Uw accu nu: 36V 9Ah, nog goed voor 20 km.\nUw accu straks: 36V 15Ah, 10S5P.",
        "Stan obecny: 36V 9Ah\nPo regeneracji: 36V 15Ah, 10S5P",
        "現状：36V 9Ah、10直3並\n\n組み替え後の仕様\n　容量　15Ah\n　構成　10直5並",
        "Una 36V 9Ah diventa una 36V 15Ah con celle nuove, 10S5P.",
        "Composta da noi: 36V 15Ah, 10S5P. In meno di un'ora togliamo la vecchia batteria da 9 Ah.",
    ],
)
def test_what_a_pack_was_before_is_no_claim(text: str) -> None:
    """The worn pack's ampere-hours are judged, or called a contradiction of the rebuilt one's."""
    assert claimed(text, "capacity_ah") == [15]


@pytest.mark.parametrize(
    "words",
    [
        "Komt in de plaats van twee gelaccu's van 12V 50Ah, die samen 36 kg wegen.",
        "Prende il posto di due batterie al gel 12V 50Ah.",
        "Entra no lugar das duas baterias de gel de 12V 50Ah.",
        "Następca dwóch baterii 12V 50Ah.",
        "Vervangt de fabrieksaccu van 50 Ah.",
        "Sostituisce il pacco di serie da 50 Ah.",
        "Sucessora da bateria de fábrica de 50 Ah.",
        "古い12V50Ahの鉛バッテリーの代わりに使えます。",
        "代替原来的12V50Ah铅酸。",
    ],
)
def test_what_a_pack_replaces_is_no_claim(words: str) -> None:
    """The lead batteries' volts and ampere-hours are judged as the lithium pack's."""
    text = f"24V 60Ah LiFePO4\n\n{words}"
    assert claimed(text, "nominal_voltage_v") == [24]
    assert claimed(text, "capacity_ah") == [60]
    assert claimed(text, "mass_kg") == []


def test_volts_of_a_title_on_lead_for_lithium_are_the_new_pack_s() -> None:
    """A title that says what is exchanged for what loses the pack's volts."""
    assert claimed("72V四轮代步车铅酸换铁锂 整包", "nominal_voltage_v") == [72]


def test_who_asks_in_a_thread_claims_nothing() -> None:
    """The asker's own pack is read as the one on sale."""
    text = (
        "Temat: pakiet 60V do hulajnogi\n\nstolarz_z_gor napisał:\n16s6p, czyli 24 Ah przy 60 V.\n\n"
        "ola_ev napisała:\nIle na tym przejadę? Teraz na serii 60V 18Ah robię 45 km.\n\n"
        "stolarz_z_gor napisał:\nPrzy spokojnej jeździe 60 km."
    )
    assert claimed(text, "capacity_ah") == [24]
    assert claimed(text, "range_km") == [60]


@pytest.mark.parametrize(
    "words",
    [
        "BMS da 150 A, io l'ho sempre tenuto a 120 A.",
        "BMS 150A, zelf begrens ik op 120A.",
        "BMS van 150 A, ik heb het zelf op 120 A gezet.",
        "BMS de 150A, eu deixei limitado em 120A no app.",
        "BMS 150 A. Sam ustawiłem go na 120 A.",
        "BMSは150Aで、自分で120Aに設定していました。",
        "保护板150A，我设的120A。",
    ],
)
def test_what_the_seller_has_set_is_no_figure_of_the_board(words: str) -> None:
    """The seller's own limit is called a contradiction of the board's figure."""
    assert 120 not in claimed(f"72V 35Ah\n\n{words}", "bms_current_a")
    assert 150 in claimed(f"72V 35Ah\n\n{words}", "bms_current_a")


def test_packs_for_sale_are_no_cells() -> None:
    """Six packs on sale are counted as six cells, and 13S6P is called wrong."""
    text = "Te koop:\n- 6 stuks 48V 18Ah uit de bakfietsen, 13S6P met 18650 cellen, 4,8 kg."
    assert claimed(text, "cell_count") == []
    assert claimed(text, "series") == [13]


@pytest.mark.parametrize(
    "words",
    [
        "Opladen doet u met de lader van 4 A in 6 uur. Sneller mag ook, tot 10 A.",
        "Si carica con 4 A in 6 ore. Più veloce si può, fino a 10 A.",
        "Ładuje się prądem 4 A. Szybciej też można, do 10 A.",
        "Carrega com 4 A em 6 horas. Mais rápido também dá, até 10 A.",
        "用4A充电，6小时充满。想快可以，最大10A。",
    ],
)
def test_charging_goes_on_behind_a_full_stop(words: str) -> None:
    """The most that a pack may be charged with is judged as the most it gives."""
    text = f"Pack 48V 20Ah\n\n{words}"
    assert claimed(text, "max_charge_current_a") == [10]
    assert claimed(text, "max_current_a") == []


@pytest.mark.parametrize(
    "words",
    [
        "I nostri clienti percorrono tra gli 80 e i 110 km.",
        "L'autonomia va dagli 80 ai 110 km.",
        "Je komt er tussen de 80 en de 110 km ver mee.",
        "A autonomia vai dos 80 aos 110 km.",
        "Przejedziesz między 80 a 110 km.",
    ],
)
def test_articles_within_a_range_keep_its_low_end(words: str) -> None:
    """Of "between the 80 and the 110 km" only the high end is judged."""
    assert claimed(f"52V 28Ah\n\n{words}", "range_km") == [(80, 110)]


def test_a_denial_stops_at_a_semicolon() -> None:
    """The charger that comes with the pack is lost to the old one that may not be used."""
    text = "24V 27Ah\n\nIl vecchio caricabatterie non si può più usare; nel prezzo ne è compreso uno da 29,4V 4A."
    assert claimed(text, "charge_current_a") == [4]


def test_a_model_that_ends_in_a_unit_s_letter_is_no_current() -> None:
    """A model code is judged as the current that the pack gives; a board's code is not lost."""
    assert claimed("Akku XS-60A 60V 26Ah\n\nDauerstrom 30A", "continuous_current_a") == [30]
    assert claimed("XS-60A 60V26Ah\n\n额定放电电流：30A", "continuous_current_a") == [30]
    assert claimed("Pack 60V 26Ah, BMS-60A", "bms_current_a") == [60]


@pytest.mark.parametrize(
    ("words", "price"),
    [("R$ 350 à vista", 350), ("R$ 2.350 à vista ou 6x", 2350), ("R$ 2.350,00 à vista", 2350)],
)
def test_the_letter_behind_a_price_is_no_unit(words: str, price: float) -> None:
    """A price in cash is cut off at its thousands, or lost."""
    assert claimed(f"Bateria 52V 20Ah\n\n{words}", "price") == [price]


def test_a_round_cell_s_size_is_no_price() -> None:
    """The size of the cells is taken for yen."""
    assert claimed("バッテリー 59.2V 32Ah\n使用セル：18650円筒形 3.2Ah", "cell_size") == ["18650"]


@pytest.mark.parametrize(
    "words",
    [
        "La versione più grande arriva a 26 Ah, vedi l'altro annuncio.",
        "De grotere versie heeft 26 Ah, zie mijn andere advertentie.",
        "We hebben er ook een van 26 Ah, die staat apart te koop.",
        "A versão maior tem 26 Ah, veja o outro anúncio.",
        "Większa wersja ma 26 Ah, zobacz inne ogłoszenie.",
        "もっと大きい26Ah版は別の出品をご覧ください。",
        "大号的26Ah请看另外的链接。",
    ],
)
def test_another_article_is_not_this_one(words: str) -> None:
    """The ampere-hours of the larger pack next door are called a contradiction of this one's."""
    assert claimed(f"48V 20Ah\n\n{words}", "capacity_ah") == [20]


@pytest.mark.parametrize(
    "words",
    [
        "Tensione di fine carica 54,6 V, tensione di fine scarica 39 V.",
        "Laadeindspanning 54,6 V, ontlaadeindspanning 39 V.",
        "Tensão de fim de carga: 54,6 V. Tensão de fim de descarga: 39 V.",
        "Napięcie końca ładowania 54,6 V, napięcie końca rozładowania 39 V.",
        "充電終止電圧54.6V、放電終止電圧39V",
        "充電上限電圧54.6V、放電下限電圧39V",
        "充电截止电压54.6V，放电截止电压39V",
        "充电限制电压54.6V，放电下限电压39V",
        "Il BMS ferma la scarica a 39 V e la carica a 54,6 V.",
        "保护板39V停止放电，54.6V停止充电。",
    ],
)
def test_the_end_of_charge_is_no_cut_off(words: str) -> None:
    """The voltage at which charging ends is judged as where the board cuts the load, at 4.2 V a cell."""
    text = f"48V 20Ah\n\n{words}"
    assert claimed(text, "full_voltage_v") == [54.6]
    assert claimed(text, "cutoff_voltage_v") == [39]


@pytest.mark.parametrize(
    "words",
    [
        "Non va mai scaricata sotto i 39 V.",
        "Ontlaad hem nooit verder dan 39 V.",
        "Ela nunca se descarrega abaixo dos 39 V.",
        "Nie wolno rozładowywać poniżej 39 V.",
        "39V以下まで放電しないでください。",
        "不要放到39V以下。",
    ],
)
def test_never_below_is_a_cut_off(words: str) -> None:
    """A denial takes away the lowest voltage that it tells."""
    assert claimed(f"48V 20Ah\n\n{words}", "cutoff_voltage_v") == [39]


@pytest.mark.parametrize(
    "words",
    [
        "Consuma 10 Wh per chilometro.",
        "Verbruik ongeveer 10 Wh per kilometer.",
        "Gasta 10 Wh por quilómetro.",
        "Zużycie 10 Wh na kilometr.",
        "1kmあたり10Whを使います。",
        "每公里耗电10Wh。",
    ],
)
def test_what_it_uses_on_its_way_is_no_energy(words: str) -> None:
    """Ten watt-hours are called a contradiction of volts times ampere-hours."""
    assert claimed(f"48V 20Ah\n\n{words}", "energy_wh") == []


@pytest.mark.parametrize(
    "words",
    [
        "Gli si possono chiedere 40 A senza interruzioni.",
        "Onafgebroken mag u er 40 A uit trekken.",
        "Ela ainda trabalha o dia inteiro a 40A.",
        "Przy 40 A może pracować cały dzień.",
        "40Aなら一日中使えます。",
        "40A可以整天跑。",
        "40A不限时间输出。",
    ],
)
def test_without_interruption_is_continuous(words: str) -> None:
    """What a pack gives all day long is not judged."""
    assert claimed(f"52V 28Ah\n\n{words}", "continuous_current_a") == [40]


@pytest.mark.parametrize(
    "words",
    [
        "Wie elke dag 30 km heen en 30 km terug rijdt, heeft genoeg.",
        "Ci vado al lavoro, 30 km all'andata e 30 al ritorno.",
        "Jeżdżę 30 km dziennie do pracy.",
        "Faço 30 km por dia até ao trabalho.",
        "毎日片道30kmの通勤に使っています。",
        "每天上下班来回30公里。",
        "Dowóz gratis do 30 km od Krakowa.",
        "30km以内なら配達します。",
    ],
)
def test_a_way_to_work_or_a_delivery_is_no_range(words: str) -> None:
    """How far somebody lives from work is judged as how far the pack goes."""
    assert claimed(f"48V 20Ah\n\n{words}", "range_km") == []


def test_few_cycles_beside_a_measurement_are_those_so_far() -> None:
    """What a used pack has behind it is judged as the life it promises."""
    text = "36V 17Ah\n\nDe fietsenmaker heeft hem doorgemeten, 15,2 Ah over en 210 laadcycli."
    assert claimed(text, "cycles") == []
    assert claimed(text, "capacity_ah") == [17]


def test_what_the_board_lets_through_is_said_once() -> None:
    """A board of 60 A that gives 50 A continuous is called a contradiction."""
    text = "60V 25Ah\n\nBMSが60Aなので連続50Aまで大丈夫です。"
    assert claimed(text, "bms_current_a") == [60]
    assert claimed(text, "continuous_current_a") == [50]


def test_a_charger_with_a_price_of_its_own_does_not_come_with_the_pack() -> None:
    """The charger that costs more is judged as the one that comes with the pack."""
    text = (
        "Accu 48V 20Ah\n\nMet lader van 54,6V 2A. Wie haast heeft neemt er een snellader van 5 A (€ 65) bij."
    )
    assert claimed(text, "charge_current_a") == [2]
