"""Whose figures they are: the original's or the buyer's, of the part taken out, or of a second pack on sale.

The wordings are common practice in the trade, no source; all packs are invented.
"""

from __future__ import annotations

from functools import partial
from typing import Any

import pytest

from tests.verifier.listing.claimed import CLAIMED
from tests.verifier.listing.claimed import claimed as claims_of_kinds
from verifier.listing import read_listing

claimed = partial(claims_of_kinds, kinds=(*CLAIMED, "compatibility"))


@pytest.mark.parametrize(
    "text",
    [
        "Akku im Vergleich\n\n"
        "                   OEM            KR-77 (unser Angebot)\n"
        "Spannung           36 V           36 V\n"
        "Kapazität          8,7 Ah         14 Ah\n"
        "Dauerstrom         12 A           22 A\n"
        "Zellen             18650          21700\n",
        "Our rebuild against the one from the works\n\n"
        "| | Stock | Refit KR-77 |\n|---|---|---|\n"
        "| Voltage | 36 V | 36 V |\n| Capacity | 8.7 Ah | 14 Ah |\n"
        "| Continuous current | 12 A | 22 A |\n| Cells | 18650 | 21700 |\n",
        "Batterijen\n\n"
        "| Accu | Spanning | Capaciteit | Continue stroom | Cellen |\n|---|---|---|---|---|\n"
        "| Af fabriek | 36 V | 8,7 Ah | 12 A | 18650 |\n| KR-77 | 36 V | 14 Ah | 22 A | 21700 |\n",
        "La batterie et celle du constructeur\n\n"
        "                   KR-77          D'origine\n"
        "Tension            36 V           36 V\n"
        "Capacité           14 Ah          8,7 Ah\n"
        "Courant continu    22 A           12 A\n"
        "Cellules           21700          18650\n",
    ],
)
def test_the_column_of_the_original_is_no_pack_on_sale(text: str) -> None:
    """The figures of the pack that is replaced are judged as the seller's; a size code counts cells."""
    assert len(read_listing(text).variants) == 1
    assert claimed(text, "capacity_ah") == [14]
    assert claimed(text, "continuous_current_a") == [22]
    assert claimed(text, "cell_size") == ["21700"]
    assert claimed(text, "cell_count") == []


def test_two_packs_of_one_maker_stay_two() -> None:
    """A table whose every column is called original loses all its packs."""
    text = (
        "Batteries\n\n| | Original S | Original L |\n|---|---|---|\n"
        "| Voltage | 36 V | 36 V |\n| Capacity | 10 Ah | 14 Ah |\n| Weight | 2.1 kg | 2.9 kg |\n"
    )
    assert [claimed(text, "capacity_ah", n) for n in range(2)] == [[10], [14]]


@pytest.mark.parametrize(
    "size",
    [
        "Größe: 310mm x 90mm x 70mm (Tasche)",
        "Abmessungen: 310 mm × 90 mm × 70 mm",
        "Maße: 31cm x 9cm x 7cm",
        "Size: L310mm * W90mm * H70mm",
        "Size: 12in x 4in x 3in",
    ],
)
def test_dimensions_with_a_unit_at_each(size: str) -> None:
    """Length, width and height open a pack of their own, and the title's figures go to neither."""
    text = f"Akku 36V 10Ah\nSpannung: 36V\nKapazität: 10Ah\nZellen: 18650, 40 Stück\n{size}\nGewicht: 2,4 kg"
    listing = read_listing(text)
    assert len(listing.variants) == 1
    assert claimed(text, "mass_kg") == [2.4]
    assert claimed(text, "cell_count") == [40]


@pytest.mark.parametrize("size", ["Size: 410mm x 200mm x 100mm (sleeve)", "Size: see the drawing (sleeve)"])
def test_a_size_is_no_heading_of_a_pack(size: str) -> None:
    """The last letter of "Size:" names a pack, which opens one of its own with the figures of the title."""
    text = (
        "72V 30Ah battery with 80A BMS\nItem details\nVoltage: 72V\nCapacity: 30Ah\n"
        f"{size}\nWeight: 11 kg\nIn the box: 1* battery, 1* 84V 5A charger, 1* sleeve"
    )
    assert len(read_listing(text).variants) == 1
    assert claimed(text, "charge_voltage_v") == [84]


_CHATS = [
    "[Mo, 3. März 09:12] Jost: Hallo, ich brauche mindestens 45A für meinen 2000W Controller\n"
    "[Mo, 3. März 09:30] Akkubude: 52V 24Ah, 14S8P, BMS 30A Dauer\n"
    "[Mo, 3. März 09:31] Jost: Ist ein Ladegerät dabei? Meins hat 42V\n"
    "[Mo, 3. März 09:40] Akkubude: nein, der braucht 58,8V\n",
    "03/03/2025, 09:12 - Jost: hi, I need at least 45A for my 2000W controller\n"
    "03/03/2025, 09:30 - Packshed: 52V 24Ah, 14S8P, 30A continuous BMS\n"
    "03/03/2025, 09:31 - Jost: charger with it? mine is 42V\n"
    "03/03/2025, 09:40 - Packshed: no, this takes 58.8V\n",
    "Jost, 09:12: bonjour, il me faut au moins 45A pour mon contrôleur 2000W\n"
    "Accus Val, 09:30: 52V 24Ah, 14S8P, BMS 30A continu\n"
    "Jost, 09:31: le chargeur est fourni ? le mien fait 42V\n"
    "Accus Val, 09:40: non, il faut 58,8V\n",
]


@pytest.mark.parametrize("text", _CHATS)
def test_what_a_buyer_says_is_no_claim(text: str) -> None:
    """What a buyer needs becomes the seller's claim, and a cable is laid out for a current nobody promised."""
    for field in ("continuous_current_a", "peak_current_a", "max_current_a"):
        assert 45 not in claimed(text, field)
    assert claimed(text, "load_power_w") == []
    assert 42 not in claimed(text, "nominal_voltage_v") + claimed(text, "charge_voltage_v")
    assert claimed(text, "capacity_ah") == [24]


@pytest.mark.parametrize(
    ("one", "other"), [("Customer", "Packshed"), ("Jost", "Seller"), ("Buyer", "Seller")]
)
def test_who_is_called_a_buyer_is_one(one: str, other: str) -> None:
    """The buyer, who states what is needed and asks nothing, is taken for the seller, who asks back."""
    text = (
        f"[10:02] {one}: I need at least 45A\n[10:04] {other}: for which motor?\n"
        f"[10:05] {one}: 2000W\n[10:09] {other}: ok? this one is 52V 24Ah, 30A continuous\n"
    )
    assert claimed(text, "continuous_current_a") == [30]
    assert claimed(text, "load_power_w") == []


@pytest.mark.parametrize(
    "text",
    [
        "Ana: ¿sigue disponible la batería de 48V? Necesito 45A\nTaller: sí, 48V 20Ah, 13S6P\n"
        "Ana: ¿peso?\nTaller: 5 kg\n",
        "Ana: Ist der Akku noch da? Ich brauche 45A\nRolf: ja, 48V 20Ah, 13S6P\nAna: Gewicht?\nRolf: 5 kg\n",
    ],
)
def test_a_yes_answers_only_what_was_asked(text: str) -> None:
    """The seller says yes, it is still there, and a current that the buyer needs becomes a promise."""
    listing = read_listing(text)
    for field in ("continuous_current_a", "peak_current_a", "max_current_a", "bms_current_a"):
        assert claimed(text, field) == []
    assert "45A" not in {each.text for each in listing.not_understood}


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("Akku 48V 15Ah, 720Wh, für 40-60 km je nach Gelände", [(40, 60)]),
        ("48V 15Ah battery, good for 40 to 60 km", [(40, 60)]),
        ("Batterie 48V 15Ah, de quoi faire 40-60 km selon le terrain", [(40, 60)]),
        ("48V 15Ah Akku, Abholung im Umkreis von 40-60 km", []),
        ("48V 15Ah battery, free delivery within 40-60 km", []),
        ("48V 15Ah battery, I bring it 40-60 km if you pay the petrol", []),
    ],
)
def test_a_distance_beside_the_figures_of_a_pack(line: str, found: list[Any]) -> None:
    """A range that stands among a pack's figures without its word is never judged."""
    assert claimed("Battery\n" + line, "range_km") == found


@pytest.mark.parametrize(
    "line",
    [
        "Vida útil en ciclos: más de 700", "Cycle life: at least 700", "Cycle life: min. 700", "Cykle: ponad 700",
        "Zyklen: mindestens 700", "Nombre de cycles : plus de 700", "Ciclos: até 700", "Cycli: ruim 700",
        "Zyklen: bis zu 700", "循环寿命：不少于700",
    ],
)  # fmt: skip
def test_cycles_behind_at_least(line: str) -> None:
    """A number of cycles that is said to be at least or at most so much is not read."""
    assert claimed(f"Battery 48V 15Ah\n{line}\nGrade A", "cycles") == [700]


@pytest.mark.parametrize(
    "text",
    [
        "Zellentausch 36V 17Ah\nDie alte Schutzplatine (18 A) wird durch eine neue mit 30 A Dauerstrom ersetzt.",
        "Re-cell 36V 17Ah\nThe 18 A BMS is replaced with one of 30 A continuous.",
        "Reconditionnement 36V 17Ah\nLe BMS 18 A est remplacé par un BMS neuf de 30 A continus.",
        "Cambio de celdas 36V 17Ah\nEl BMS de 18 A se sustituye por uno nuevo de 30 A continuos.",
        "Rigenerazione 36V 17Ah\nIl BMS da 18 A viene sostituito con uno nuovo da 30 A continui.",
        "Accu revisie 36V 17Ah\nDe BMS van 18 A wordt vervangen door een nieuwe van 30 A continu.",
        "Regeneracja 36V 17Ah\nBMS 18 A zostaje wymieniony na nowy 30 A ciągłe.",
        "Recondicionamento 36V 17Ah\nO BMS de 18 A é substituído por um novo de 30 A contínuos.",
        "Zellentausch 36V 17Ah\nDas BMS wird gegen eines mit 30 A Dauerstrom getauscht.",
        "Re-cell 36V 17Ah\nThe BMS is replaced by a new one, good for 30 A continuous.",
        "换电芯 36V 17Ah\n18A的保护板更换为持续30A的。",
    ],
)
def test_a_part_that_is_exchanged(text: str) -> None:
    """The part taken out counts as fitted, and the new board's current as one that the pack can give."""
    assert claimed(text, "bms_current_a") == [30]
    assert claimed(text, "continuous_current_a") == []
    assert claimed(text, "capacity_ah") == [17]


@pytest.mark.parametrize(
    "text",
    [
        "E-Bike Akkus abzugeben\n36v 10ah 10s4p, 20a bms, neu. 110\n"
        "Habe auch noch 48v 17ah fürs Lastenrad, 13s, 40a bms, 4,1kg. 220\nNur Abholung",
        "vends batteries trottinette\n36v 10ah 10s4p, bms 20a, neuve. 110\n"
        "J'ai aussi une 48v 17ah pour la grande, 13s, bms 40a, 4,1kg. 220\n",
    ],
)
def test_a_second_pack_on_sale(text: str) -> None:
    """A second pack that is sold beside the first is passed over, and with it what is false about it."""
    assert [claimed(text, "capacity_ah", n) for n in range(2)] == [[10], [17]]
    assert claimed(text, "mass_kg", 1) == [4.1]
    assert claimed(text, "series", 1) == [13]


def test_a_second_article_in_passing() -> None:
    """Another article that is named in passing is judged as this pack's."""
    text = "36v 10ah 10s4p, 20a bms, neu. 110\nHabe auch noch 48v 17ah da, bei Interesse fragen"
    assert claimed(text, "capacity_ah") == [10]


@pytest.mark.parametrize(
    "text",
    [
        "Rike: hi, is the 48v one still there? I need 55A for a 2500w motor\n"
        "CellCorner: yes. 48v 18ah, 13s6p, 28A bms",
        "Rike: hi, I need at least 55A for my controller and 2500w\nAkkuecke: 48V 18Ah, 13S6P, BMS 28A\nRike: ok",
        "marco_61: hola, mi controlador pide 55A y mi cargador es de 42V\n"
        "Baterías Oeste: buenas, la batería es de 48V 18Ah, BMS de 28A",
        "Jan (koper): ik heb een motor van 2500W die 55A trekt\nAccuhoek: dan past onze 48V 18Ah met BMS 28A",
        "Nowak: Dzień dobry, potrzebuję 55A, mam ładowarkę 42V 3A\nAkuKąt: Bateria 48V 18Ah, BMS 28A",
        "小李：我要48V 30Ah的，电流要55A\n角落电池：现货只有48V 18Ah，保护板28A",
        "> Hi, I have a 72V 2500W bike that pulls 55A. Would it work?\nHello, ours is 48V 18Ah with a 28A BMS.",
        "- I need a 60V battery with 55A.\n- Ours is 48V 18Ah, 28A BMS.",
        "Me: is it 14s? looking for 42V charge voltage and 55A\nHim: its 13s6p, 48V 18Ah. 28A bms\nMe: thanks",
    ],
)
def test_what_the_one_who_asks_in_a_short_chat_says(text: str) -> None:
    """In two or three turns nobody's name comes again, and what the buyer needs becomes the seller's promise."""
    for field in ("continuous_current_a", "peak_current_a", "max_current_a"):
        assert claimed(text, field) == []
    assert claimed(text, "load_power_w") == claimed(text, "charge_voltage_v") == []
    assert set(claimed(text, "nominal_voltage_v")) == {48}
    assert claimed(text, "capacity_ah") == [18]
    assert claimed(text, "bms_current_a") == [28]


@pytest.mark.parametrize(
    "text",
    [
        "48V 18Ah pack for sale\nCondition: I used it one summer\nContact: hi there, call me\nBMS 28A.",
        "Akku 48V 18Ah\nHinweis: Suchen Sie mehr Leistung? Fragen Sie uns.\nVersand: DHL\nBMS 28A",
        "Summary: I built this myself, 48V 18Ah, 13S6P.\nReason: I need a bigger one.\nDetails: 28A BMS, 5.2 kg",
        "Why this pack: you want 40 km? You get them.\nWhat you get: 48V 18Ah, 28A BMS, 54.6V 3A charger",
        "Looking for long range? Our 48V 18Ah battery has a 28A BMS.",
        "I need to sell this 48V 18Ah, 28A BMS, 6kg",
        "Verkaufe 48V 18Ah Akku, brauche ihn nicht mehr, BMS 28A, 5kg",
    ],
)
def test_a_seller_who_asks_or_tells_of_oneself(text: str) -> None:
    """A seller's own words are taken for a buyer's, and what is false about the pack is never judged."""
    assert claimed(text, "capacity_ah") == [18]
    assert claimed(text, "bms_current_a") == [28]


@pytest.mark.parametrize(
    "text",
    [
        "We swap your tired 9 Ah for 15 Ah. 36 V pack.",
        "Wir tauschen euren alten 9-Ah-Akku gegen 15 Ah. 36 V.",
        "Cambiamos tu batería de 36V 9Ah por una de 36V 15Ah.",
        "Zamieniamy Twoją baterię 36V 9Ah na 36V 15Ah.",
        "Trocamos a sua bateria de 36V 9Ah por uma de 36V 15Ah.",
        "您的36V 9Ah电池换成36V 15Ah",
        "Send us your worn 36V 9Ah pack and get it back with 15Ah.",
        "Upgrade your e-bike battery from 9 Ah to 15 Ah. 36 V.",
        "On passe votre batterie de 9 Ah à 15 Ah, 36V",
        "Aus Ihrem 36V 9Ah Akku machen wir 36V 15Ah.",
        "36V 9Ah -> 36V 15Ah re-cell service",
        "Capacity 36V 9Ah → 15Ah",
        "Rebuilt pack 36V. It had 9Ah, now it has 15Ah.",
        "Der Akku hatte 9 Ah, jetzt hat er 15 Ah. 36 V.",
    ],
)
def test_what_the_buyer_hands_in_is_no_claim(text: str) -> None:
    """The old pack's capacity stands beside the new one's, or both are lost, and neither is judged."""
    listing = read_listing(text)
    assert len(listing.variants) == 1
    assert claimed(text, "capacity_ah") == [15]
    assert claimed(text, "nominal_voltage_v") == [36]


@pytest.mark.parametrize(
    "text",
    [
        "Nous remplaçons vos cellules de 2,2 Ah par des 3,3 Ah. Batterie 36V, 10S4P, 13,2 Ah.",
        "Sostituiamo le vostre celle da 2,2 Ah con celle da 3,3 Ah: batteria 36V 13,2Ah",
        "We vervangen uw oude cellen (2,2 Ah) door nieuwe van 3,3 Ah. Accu 36V 13,2Ah.",
    ],
)
def test_cells_that_are_exchanged(text: str) -> None:
    """The cells taken out are judged as those inside."""
    assert claimed(text, "cell_capacity_ah") == [3.3]
    assert claimed(text, "capacity_ah") == [13.2]


def test_amperes_of_an_unnamed_part() -> None:
    """The rating of a board that the reader does not know by name becomes a current that the pack gives."""
    text = "We take out the 15 A board and put in a 30 A one. 36V 14Ah."
    assert claimed(text, "continuous_current_a") == []
    assert claimed(text, "capacity_ah") == [14]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Options: 36V 10Ah 150€, 36V 15Ah 200€. Upgrade to the 15Ah for 50€ more.", {10, 15}),
        ("Your new 48V 15Ah battery comes with a 54.6V 3A charger.", {15}),
        ("Your battery pack: 48V 15Ah, 13S5P. Charger 54.6V 3A.", {15}),
        ("48V 15Ah. Swap the connector for an XT60.", {15}),
    ],
)
def test_what_is_no_exchange(text: str, found: set[float]) -> None:
    """A pack on sale is taken for the buyer's own, and what is false about it is never judged."""
    listing = read_listing(text)
    assert {c for n in range(len(listing.variants)) for c in claimed(text, "capacity_ah", n)} == found


@pytest.mark.parametrize(
    "text",
    [
        "顾客：我那块60V20Ah的能以旧换新吗？\n店家：可以，换72V30Ah，20串，保护板60A，配84V5A充电器。",
        "老李：在吗，我电机2500W，控制器45A\n电池店：72V30Ah，20串，保护板60A，配84V5A充电器",
        "我原来的60V20Ah能换吗？可以，这款72V30Ah，20串，保护板60A，配84V5A充电器",
    ],
)
def test_a_chat_without_a_blank_behind_the_colon(text: str) -> None:
    """What a Chinese buyer hands in opens a pack of its own."""
    assert len(read_listing(text).variants) == 1
    assert claimed(text, "nominal_voltage_v") == [72]
    assert claimed(text, "capacity_ah") == [30]
    assert claimed(text, "bms_current_a") == [60]


def test_a_specification_without_a_blank_behind_the_colon() -> None:
    """A Chinese list of figures is taken for a chat, and half of it for a buyer's."""
    text = "规格：48V20Ah\n颜色：黑色\n保护板：30A\n备注：亲，我家保修两年\n是否含充电器：是的，54.6V3A"
    assert claimed(text, "capacity_ah") == [20]
    assert claimed(text, "bms_current_a") == [30]
    assert claimed(text, "charge_voltage_v") == [54.6]


@pytest.mark.parametrize("name", ["Kendel", "Brende", "Splendo"])
def test_a_name_that_holds_a_part_of_a_word(name: str) -> None:
    """The voltage of a scooter whose name holds "ende" becomes the voltage at which the pack is empty."""
    text = f"Ersatzakku für E-Roller {name} 60V\nKapazität 20 Ah\nEntladeschlussspannung 42 V"
    assert claimed(text, "nominal_voltage_v") == [60]
    assert claimed(text, "cutoff_voltage_v") == [42]


def test_portuguese_without_accents() -> None:
    """A Portuguese ad typed without accents counts as Catalan, and nothing but its volts is read."""
    text = "bateria 36v 10ah nova bms 15a peso 2kg carregador vendido a parte 42v 2a"
    assert claimed(text, "capacity_ah") == [10]
    assert claimed(text, "bms_current_a") == [15]
    assert claimed(text, "charge_voltage_v") == []


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("FAQ\nIs it 22Ah? It is 18.5Ah.\nWhat voltage? 48 V", [18.5]),
        ("Battery 48V 18.5Ah\nIs it enough for 60A? No. It gives 25A continuous.", [18.5]),
        ("Don't buy 22Ah packs that weigh 2.5kg! Ours is 48V 18.5Ah and weighs 5.1kg.", [18.5]),
        (
            "FAQ\nHow much does it hold?\n18.5 Ah.\nDoes it fit 60 V?\nNo. For that we have a 60V 22Ah pack.",
            [18.5],
        ),
    ],
)
def test_what_a_question_names_and_a_warning(text: str, found: list[Any]) -> None:
    """What a question or a warning names, or another pack in an answer, is judged as this pack's."""
    assert claimed(text, "capacity_ah") == found
    assert 2.5 not in claimed(text, "mass_kg")


@pytest.mark.parametrize(
    "text",
    [
        "Nina asked whether it can do 45A; no, it can't. 48V 15Ah, 13S5P.",
        "Ein Kunde wollte wissen, ob 45A gehen. Nein. 48V 15Ah, 13S5P.",
        "有人问能不能放45A，不能。48V 15Ah，13串5并",
        "Your question: Will it give 45A to my bike?\nOur answer: it is a 48V 15Ah pack, 13S5P.",
        "Bo: is the 15ah real? and 45A?\nSeller: yes, 48v 15ah, 13s5p, bms 28A",
    ],
)
def test_an_indirect_question(text: str) -> None:
    """What somebody asked for, told by the seller, becomes the seller's promise."""
    for field in ("continuous_current_a", "peak_current_a", "max_current_a"):
        assert claimed(text, field) == []
    assert set(claimed(text, "capacity_ah")) == {15}
    assert claimed(text, "series") == [13]


def test_the_weight_of_all_that_is_sold() -> None:
    """The weight of a kit with its motor is judged as the pack's."""
    text = "Kit 750W: hub motor 750W, battery 48V 13Ah (BMS 25A). Total weight 14 kg. Battery 3.7 kg."
    assert claimed(text, "mass_kg") == [3.7]
    assert claimed("Battery 48V 13Ah. Total weight 3.7 kg.", "mass_kg") == [3.7]


def test_other_goods_in_a_list_with_prices() -> None:
    """Loose cells that are sold beside two packs count as the cells inside of both."""
    text = (
        "Räume mein Lager:\n1) 36V 10Ah Rahmenakku, 10S4P – 90€\n2) 48V 12Ah Akku, 13S4P – 130€\n"
        "3) lose Zellen 18650 2600mAh, 30 Stück – 40€\n"
    )
    listing = read_listing(text)
    assert len(listing.variants) == 2
    for number in range(2):
        assert claimed(text, "cell_count", number) == claimed(text, "cell_capacity_ah", number) == []


@pytest.mark.parametrize(
    "text",
    [
        "I sell it because the new bike has its own 52V 21Ah. This one is 36V 12Ah, from 2022, BMS 15A.",
        "Ich habe jetzt eines mit 52V 21Ah. Dieser hier: 36V 12Ah, BMS 15A.",
        "The usual packs of this form hold 21Ah. Ours holds 12Ah at 36V, 15A BMS.",
        "Les batteries 21Ah de ce format sont lourdes. La nôtre fait 36V 12Ah, BMS 15A.",
    ],
)
def test_what_the_pack_is_set_against(text: str) -> None:
    """A pack that this one is only compared with is judged as this one."""
    assert claimed(text, "capacity_ah") == [12]
    assert claimed(text, "nominal_voltage_v") == [36]
    assert claimed(text, "bms_current_a") == [15]


def test_this_one_beside_its_own_figures() -> None:
    """A pack's own figures are lost where a "mine" follows them."""
    text = "Selling my 36V 12Ah battery, BMS 15A. Mine weighs 2.4 kg. This one was on a folding bike."
    assert claimed(text, "capacity_ah") == [12]
    assert claimed(text, "mass_kg") == [2.4]


def test_a_second_charger_that_costs_more() -> None:
    """A charger that costs extra counts as the one in the box."""
    text = "Ladegerät 42V 2A (das schnelle mit 5A kostet extra). Akku 36V 13Ah."
    assert claimed(text, "charge_current_a") == [2]


def test_amperes_in_theory() -> None:
    """What the cells add up to in theory is judged as a current promised."""
    text = "Cells rated 10A each, 4P so 40A in theory; I would not go over 25A. 36V 12Ah"
    assert claimed(text, "continuous_current_a") == []
