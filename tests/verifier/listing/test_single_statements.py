"""What a single statement says: pairs of currents, cells in words, cut-offs, ranges, power, weights, units.

The wordings are common practice in the trade, no source; all packs are invented.
"""

from __future__ import annotations

import pytest

from tests.verifier.listing.claimed import claimed
from verifier.listing import read_listing


@pytest.mark.parametrize(
    "words",
    [
        "Battery: Continuous / peak: 22 A / 47 A",
        "Battery: Peak / continuous current: 47 / 22 A",
        "Battery, 22 A / 47 A (continuous / peak)",
        "Akku\nStrom (Dauer/Spitze): 22/47 A",
        "Batterie\nCourant continu / crête : 22 / 47 A",
        "Batería\nCorriente continua/pico: 22/47 A",
        "Batteria\nCorrente continua/picco 22/47 A",
        "Accu\nStroom continu/piek: 22/47 A",
        "Bateria\nPrąd ciągły/szczytowy: 22/47 A",
        "Bateria\nCorrente contínua/pico: 22/47 A",
        "电池\n持续/峰值 22/47A",
        "バッテリー\n連続／瞬間：22A／47A",
        "バッテリー\n連続22A／瞬間47A　BMSは60A",
        "Battery\nHandles 22 A on a continuous basis and up to 47 A peak.",
        "Batterie\nSupporte 22 A de façon continue et jusqu'à 47 A en pointe.",
        "Batería\nSoporta 22 A de manera continua y hasta 47 A en picos.",
        "Batteria\nRegge 22 A in modo continuo e fino a 47 A di picco.",
        "Bateria\nWytrzymuje 22 A ciągle i do 47 A w szczycie.",
        "Bateria\nAguenta 22 A de forma contínua e até 47 A de pico.",
        "Battery\n22 A continuous, uphill up to 47 A.",
        "Akku\n22 A dauernd, am Berg bis 47 A.",
        "Batterie\n22 A en continu, jusqu'à 47 A en côte.",
        "Batería\n22 A continuos, hasta 47 A en subidas.",
        "Batteria\n22 A continui, in salita fino a 47 A.",
        "Accu\n22 A continu, bergop tot 47 A.",
        "Bateria\n22 A ciągle, pod górę do 47 A.",
        "Bateria\n22 A contínuos, nas subidas até 47 A.",
        "电池\n平路持续22A，爬坡可到47A",
        "バッテリー\n連続22Aまで、登坂時には47Aまで流せます。",
    ],
)
def test_continuous_and_peak_keep_their_figures(words: str) -> None:
    """A peak is judged as what the pack gives without end, or the continuous current is lost."""
    assert claimed(words, "continuous_current_a") == [22]
    assert claimed(words, "peak_current_a") == [47]


def test_a_pair_in_a_column_keeps_its_figures() -> None:
    """Of two currents in a cell the first is taken for a peak, or the second for continuous."""
    text = (
        "Packs\n\n| Model | Volts | Cont./max. current | Weight |\n|---|---|---|---|\n"
        "| Fen 36 | 36 V | 15 A/40 A | 2.1 kg |\n| Fen 48 | 48 V | 25 A/60 A | 2.9 kg |\n"
    )
    variants = read_listing(text).variants
    assert [v.claims["continuous_current_a"][0].value for v in variants] == [15, 25]
    assert [v.claims["max_current_a"][0].value for v in variants] == [40, 60]


def test_a_larger_current_behind_a_continuous_one_is_not_continuous_too() -> None:
    """A current of which it is not said for how long is judged as continuous, because one before is."""
    text = "バッテリー 44V\n連続22Aまで、強風の日は47A"
    assert claimed(text, "continuous_current_a") == [22]
    assert [each.text for each in read_listing(text).not_understood] == ["47A"]


def test_a_larger_plain_current_beside_a_continuous_one_is_not_continuous() -> None:
    """The largest current of a pack is judged as one without end, though another is called continuous."""
    text = "Accu 44V 17Ah\nStroom 47 A, duurstroom 22 A."
    assert claimed(text, "continuous_current_a") == [22]
    assert [each.text for each in read_listing(text).not_understood] == ["47 A"]


def test_what_is_said_behind_a_comma_goes_back() -> None:
    """A current that is given for setting off alone is judged as one without end, or as any."""
    text = "Battery 44V 17Ah\nIt delivers 22 A continuous and, if need be, 47 A, when you pull away."
    assert (claimed(text, "continuous_current_a"), claimed(text, "peak_current_a")) == ([22], [47])


def test_seconds_stand_behind_a_wide_gap_too() -> None:
    """A current that is allowed for ten seconds is judged without its seconds."""
    text = "Pack 44V 17Ah\nMaximum current (10 s)      90 A"
    assert (claimed(text, "peak_current_a"), claimed(text, "peak_seconds")) == ([90], [10])


@pytest.mark.parametrize(
    "words",
    [
        "16 prismatic cells in series",
        "16 prismatische Zellen in Reihe",
        "16 éléments prismatiques en série",
        "16 elementos prismáticos en serie",
        "16 celle prismatiche in serie",
        "16 prismatische cellen in serie",
        "16 ogniw pryzmatycznych szeregowo",
        "16 células prismáticas em série",
        "16只方形电芯串联",
        "角型セルを16個直列",
        "Cells in series: 16",
        "Zellen in Reihe: 16",
        "Cellules en série : 16",
        "Celdas en serie: 16",
        "Celle in serie: 16",
        "Cellen in serie: 16",
        "Ogniw szeregowo: 16",
        "Células em série: 16",
        "串联数：16",
        "直列数：16",
    ],
)
def test_cells_in_series_are_a_count_in_series(words: str) -> None:
    """What is connected in series is judged as the number of all cells."""
    names = ("Battery", "Akku", "Batterie", "Batería", "Batteria", "Accu", "Bateria", "电池", "バッテリー")
    assert any(
        (claimed(f"{name} 51V 90Ah\n{words}", "series"), claimed(f"{name} 51V 90Ah\n{words}", "cell_count"))
        == ([16], [])
        for name in names
    )


def test_a_word_on_the_next_line_counts_nothing() -> None:
    """The number at the end of a line counts the cells that the next line begins with."""
    text = "Battery 48V 20Ah\nCells in series | 13\nCells in parallel | 6"
    assert (claimed(text, "series"), claimed(text, "parallel")) == ([13], [6])


@pytest.mark.parametrize(
    "words",
    [
        "13 groups of 6 cells",
        "13 Gruppen zu je 6 Zellen",
        "13 groupes de 6 cellules",
        "13 grupos de 6 celdas",
        "13 gruppi da 6 celle",
        "13 groepen van 6 cellen",
        "13 grup po 6 ogniw",
        "13 grupos de 6 células",
        "13组，每组6颗电芯",
        "6本×13組",
    ],
)
def test_the_cells_of_a_group_are_not_all(words: str) -> None:
    """A pack of 78 cells is judged as one of six."""
    assert claimed(f"Battery 48V 24Ah\n{words} (13S6P)", "cell_count") == []


@pytest.mark.parametrize(
    ("text", "ampere_hours"),
    [
        ("电池 48V 20Ah\n用的是2900毫安的芯", 2.9),
        ("电池 48V 20Ah，2900mAh的芯", 2.9),
        ("电池 48V 20Ah\n单芯5000毫安", 5),
        ("バッテリー 48V 15Ah\n1本あたり5,000mAhの高容量品です", 5),
        ("Batteria 48V 14Ah\n18650 da 3500", 3.5),
        ("Batería 48V 14Ah\nceldas de 3500", 3.5),
        ("Bateria 48V 14Ah\ncélulas de 3500", 3.5),
        ("Accu 48V 14Ah\n18650 van 3500", 3.5),
        ("Battery 48V 14Ah\n18650s of 3500", 3.5),
    ],
)
def test_ampere_hours_of_a_cell_in_the_trades_words(text: str, ampere_hours: float) -> None:
    """A cell's capacity is judged as the pack's, as a current, or not at all."""
    assert claimed(text, "cell_capacity_ah") == [ampere_hours]
    assert len(claimed(text, "capacity_ah")) == 1
    assert len(read_listing(text).variants) == 1


@pytest.mark.parametrize("text", ["二手60伏32安锂电池", "出一块72伏50安电瓶"])
def test_the_short_form_behind_volts_is_of_capacity(text: str) -> None:
    """A pack called 60伏32安 is judged as one that gives 32 A, and has no capacity."""
    assert claimed(text, "capacity_ah") in ([32], [50])
    assert claimed(text, "continuous_current_a") == []


def test_amperes_of_a_charger_stay_amperes() -> None:
    """The amperes of a charger become the capacity of the pack."""
    text = "电池 60伏32安\n充电器67.2伏5安"
    assert (claimed(text, "capacity_ah"), claimed(text, "charge_current_a")) == ([32], [5])


@pytest.mark.parametrize(
    "text",
    [
        "Battery 48V 16Ah with thick nickel strips and a BMS of 40A",
        "Akku 48V 16Ah mit dicken Nickelstreifen und einem BMS mit 40A",
        "Batterie 48V 16Ah avec grosses bandes de nickel et un BMS de 40A",
        "Batería 48V 16Ah con tiras de níquel gruesas y un BMS de 40A",
        "Batteria 48V 16Ah con strisce di nichel spesse e un BMS da 40A",
        "Accu 48V 16Ah met dikke nikkelstrips en een BMS van 40A",
        "Bateria 48V 16Ah z grubą taśmą niklową i BMS 40A",
        "Bateria 48V 16Ah com fitas de níquel grossas e um BMS de 40A",
    ],
)
def test_a_bms_named_behind_the_strips_keeps_its_figure(text: str) -> None:
    """The rating of the BMS is lost in silence, as one of the nickel strip."""
    assert claimed(text, "bms_current_a") == [40]


@pytest.mark.parametrize(
    "words",
    [
        "Akku 60V 20Ah\nDas BMS schaltet ab, wenn die Spannung auf 50 V fällt.",
        "Bateria 60V 20Ah\nBMS odcina, gdy napięcie spadnie do 50 V.",
        "Battery 60V 20Ah\nWhen the voltage drops to 50 V, the BMS cuts off.",
        "Accu 60V 20Ah\nZakt de spanning tot 50 V, dan schakelt de BMS uit.",
    ],
)
def test_volts_at_which_something_cuts_off_are_the_cut_off(words: str) -> None:
    """The voltage of an empty pack is judged as its nominal one."""
    assert (claimed(words, "cutoff_voltage_v"), claimed(words, "nominal_voltage_v")) == ([50], [60])


@pytest.mark.parametrize(
    "text",
    [
        "Batería para bici de carga, 48V 20Ah, 30A continuos",
        "Bateria para bicicleta de carga, 48V 20Ah, 30A contínuos",
        "Batterie pour vélo de charge, 48V 20Ah, 30A continu",
        "Akku 48V 20Ah aus unserem Laden, 30A dauerhaft",
    ],
)
def test_a_cargo_bike_charges_nothing(text: str) -> None:
    """The pack of a cargo bike, or of a shop, is judged as a charger."""
    assert (claimed(text, "nominal_voltage_v"), claimed(text, "continuous_current_a")) == ([48], [30])
    assert claimed(text, "charge_voltage_v") == []


@pytest.mark.parametrize(
    "text",
    [
        "Battery 48V 15Ah\ngood for 700 recharges",
        "Akku 48V 15Ah\n700 Ladungen",
        "Batterie 48V 15Ah\n700 recharges",
        "Batería 48V 15Ah\naguanta 700 recargas",
        "Batteria 48V 15Ah\n700 ricariche",
        "Accu 48V 15Ah\nminimaal 700 laadbeurten",
        "Bateria 48V 15Ah\n700 ładowań",
        "Bateria 48V 15Ah\n700 recargas",
        "バッテリー 48V 15Ah\n充放電回数 約700回",
        "Battery 48V 15Ah\nCycles: 700 to 80 %",
        "Batterie 48V 15Ah\nNombre de cycles      700 à 80 % de profondeur",
        "Akku 48V 15Ah\nLebensdauer: mehr als 700 Mal",
        "Battery 48V 15Ah\n700 cycles instead of 300",
    ],
)
def test_cycles_in_other_words(text: str) -> None:
    """A promised life is lost, because it is told as charges or with what is then left."""
    assert claimed(text, "cycles") == [700]


@pytest.mark.parametrize(
    "text",
    [
        "Battery 48V 15Ah. Reckon on 60 km.",
        "Battery 48V 15Ah\nRolls some 60 km",
        "Akku 48V 15Ah, macht locker 60 km",
        "Akku 48V 15Ah\nRechnen Sie mit 60 km.",
        "Batterie 48V 15Ah\nComptez 60 km.",
        "Vendo batería 48V 15Ah. Hace 60 km de sobra",
        "Batteria 48V 15Ah, fa 60 km tranquilli",
        "Accu 48V 15Ah\nReken op zo'n 60 km",
        "Bateria 48V 15Ah, robi spokojnie 60 km",
        "Bateria 48V 15Ah. Conte com 60 km",
        "电池 48V 15Ah\n一次充电可骑行60公里",
        "バッテリー 48V 15Ah\n平地30km/h走行で約60km",
    ],
)
def test_ranges_in_everyday_words(text: str) -> None:
    """How far the seller says one gets is not judged."""
    assert claimed(text, "range_km") == [60]


@pytest.mark.parametrize(
    "text",
    [
        "Battery 48V 15Ah\nthe pack happily pulls 1200 W",
        "der Akku 48V 15Ah\nschafft locker 1200 W",
        "Batterie 48V 15Ah\nla batterie tient 1200 W sans souci",
        "Batería 48V 15Ah\nla batería aguanta 1200 W sin problemas",
        "Batteria 48V 15Ah\nla batteria regge 1200 W senza problemi",
        "Accu 48V 15Ah\nde accu trekt makkelijk 1200 W",
        "Bateria 48V 15Ah\npakiet spokojnie uciągnie 1200 W",
        "Bateria 48V 15Ah\na bateria aguenta 1200 W sem problemas",
    ],
)
def test_power_in_everyday_words(text: str) -> None:
    """The power that the seller promises in everyday words is not judged."""
    assert claimed(text, "power_w") == [1200]


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("バッテリー 48V 15Ah\n充電時間：5時間30分", 5.5),
        ("Bateria 48V 15Ah\nEnche em 5h30.", 5.5),
        ("Battery 48V 15Ah\nFills up in 5h30", 5.5),
        ("电池 48V 15Ah\n充满需5小时半", 5.5),
        ("Bateria 60V 20Ah\nDołączony zasilacz 67,2 V 4 A ładuje baterię w ok. 6 godzin", 6),
    ],
)
def test_hours_with_minutes_and_in_other_words(text: str, hours: float) -> None:
    """The minutes of a charge time are lost, or the whole time is."""
    assert claimed(text, "charge_hours") == [hours]


@pytest.mark.parametrize("words", ["peso kg 3,2", "Gewicht: kg 3,2", "weight kg 3.2", "peso: Kg. 3,2"])
def test_a_unit_may_stand_before_its_number(words: str) -> None:
    """A weight whose unit stands first is lost in silence."""
    assert claimed(f"Batteria Akku 48V 15Ah, {words}", "mass_kg") == [3.2]


@pytest.mark.parametrize(
    "words",
    [
        "Battery 48V 15Ah\nWeight 4.1 kg (4.6 kg with the bag)",
        "Akku 48V 15Ah\nGewicht 4,1 kg, mit Tasche 4,6 kg",
        "Batteria 48V 15Ah\npeso senza borsa 4,1 kg / con borsa 4,6 kg",
        "Accu 48V 15Ah\nkale accu 4,1 kg / in de tas 4,6 kg",
        "Batterie 48V 15Ah\nPoids 4,1 kg (4,6 kg avec la housse)",
    ],
)
def test_of_two_weights_the_bare_packs_is_judged(words: str) -> None:
    """Two weights that are both true are told as a contradiction, and neither is judged."""
    assert claimed(words, "mass_kg") == [4.1]
    assert [c.value for c in read_listing(words).variants[0].claims["mass_kg"] if c.kind == "derived"] == [
        4.6
    ]


def test_a_weight_before_the_charger_is_the_packs() -> None:
    """The weight of a pack is lost, because the charger is named behind it without a comma."""
    text = "Battery 48v 15ah\nweight 4.1kg charger 54.6v 3a included"
    assert (claimed(text, "mass_kg"), claimed(text, "charge_current_a")) == ([4.1], [3])


def test_a_charger_named_behind_with_keeps_its_own_amperes() -> None:
    """The amperes of the charger are judged as the most that the pack may be charged with."""
    text = (
        "Batteria 48V 20Ah\nSi carica al massimo con 10 A, e da vuoto servono 3 ore con il caricatore da 6 A"
    )
    assert (claimed(text, "max_charge_current_a"), claimed(text, "charge_current_a")) == ([10], [6])


def test_a_size_of_packs_is_no_cut_off() -> None:
    """A pack in three sizes is judged as one that is cut off at 36 V."""
    text = "Batteria\nTaglia S – 36V 7Ah"
    assert (claimed(text, "cutoff_voltage_v"), claimed(text, "nominal_voltage_v")) == ([], [36])


def test_words_of_a_machine() -> None:
    """What a machine translated word by word is lost, or read as another figure."""
    text = "Akku 48V 15Ah\nAufladung Spannung: 54,6V\nSchutz Brett: 25A\nAufladung Zeit: 5-6 Stunden"
    assert claimed(text, "nominal_voltage_v") == [48]
    assert (claimed(text, "bms_current_a"), claimed(text, "charge_hours")) == ([25], [(5, 6)])


@pytest.mark.parametrize(
    ("words", "field", "value"),
    [
        ("20A BMS with over-charge, over-discharge and short circuit protection", "bms_current_a", 20),
        ("BMS da 20A e interruttore", "bms_current_a", 20),
        ("BMS 20A ficha XT60", "bms_current_a", 20),
        ("fills in four and a half hours of charging", "charge_hours", 4.5),
        ("Der Akku ist nach achteinhalb Stunden Ladezeit voll.", "charge_hours", 8.5),
        ("Tiempo de carga: 6 h y 15 min", "charge_hours", 6.25),
        ("充电时间五个半小时", "charge_hours", 5.5),
        ("13 prismatic cells, 3.6 V 15 Ah, in series", "series", 13),
        ("Cycles: 800 to 1000", "cycles", (800, 1000)),
        ("Ciclos de vida: más de 2000.", "cycles", 2000),
        ("The BMS of 45 A switches off at 39 V", "cutoff_voltage_v", 39),
        ("航続距離：時速30km走行で約70km", "range_km", 70),
    ],
)
def test_a_figure_amid_other_words(words: str, field: str, value: object) -> None:
    """A figure that is printed is lost, or read as something else, for the words that stand around it."""
    assert claimed(f"48V pack\n{words}\n", field) == [value]


@pytest.mark.parametrize(
    "words",
    [
        "Accu 52 volt, 20 Ah\nDe laadeindspanning is 42 V.",
        "Bateria de lítio 52 V 20 Ah\nTensão de fim de carga: 42 V.",
        "52V Akku 20Ah\nLadeschlussspannung 42 V",
    ],
)
def test_an_end_of_charge_below_the_title_stays_what_it_is_called(words: str) -> None:
    """A full voltage of another pack would be taken for a cut-off voltage, and the lie be lost to the title."""
    assert claimed(words, "full_voltage_v") == [42]
    assert claimed(words, "cutoff_voltage_v") == []
