"""Of whom a figure is told: the board or the pack, this article or another, the cells of a group or all of them.

All listings are invented. The wording is common practice in the trade, no source, unless a check says otherwise.
"""

import pytest

from verifier.listing.engine import read_listing


def claimed(text: str, name: str) -> list[object]:
    """Return what the only pack of a listing claims under a field."""
    (variant,) = read_listing(text).variants
    return [claim.value for claim in variant.claimed(name)]


@pytest.mark.parametrize(
    "text",
    [
        "Pack 36V 15Ah. The BMS delivers 20A continuous and for ten seconds also 40 A.",
        "Akku 36V 15Ah. Das BMS lässt dauerhaft 20 A zu, für zehn Sekunden auch 40 A.",
        "Batería 36V 10Ah. El BMS permite 20 A de forma continua y 40 A durante diez segundos.",
        "Bateria 36V 10Ah. O BMS permite 20 A contínuos e 40 A por dez segundos.",
        "Batteria 36V 10Ah. Il BMS lascia passare 20 A continui, per dieci secondi anche 40 A.",
        "锂电池36V10Ah。保护板允许持续20A，10秒内可达40A。",
    ],
)
def test_what_a_board_lets_pass_for_seconds_is_a_peak_of_the_pack(text: str) -> None:
    """Read as the board's rating, a peak of ten seconds would be taken for what the board bears all day."""
    assert claimed(text, "peak_current_a") == [40]
    assert 40 not in claimed(text, "bms_current_a")


@pytest.mark.parametrize(
    "text",
    [
        "Pack 48V 15Ah. Larger print: the BMS shuts the output at 39V.",
        "Batterie 48V 15Ah. La charge s'arrête à 54,6 V et la décharge à 39 V.",
        "Batería 48V 15Ah. El BMS corta la descarga a 39 V y la carga a 54,6 V.",
        "Accu 48V 15Ah. Het BMS onderbreekt de ontlading bij 39 V.",
    ],
)
def test_a_verb_of_cutting_off_names_the_cut_off_voltage(text: str) -> None:
    """A cut-off read as nominal voltage accuses a 48 V pack of being sold as 39 V."""
    assert claimed(text, "cutoff_voltage_v") == [39]
    assert claimed(text, "nominal_voltage_v") == [48]


@pytest.mark.parametrize(
    "text",
    [
        "Pack 36V 30Ah\nCharging with the supplied 10 A charger takes three hours. The pack accepts up to 20 A.",
        "Batterie 36V 30Ah\nChargeur 10 A fourni ; elle accepte jusqu'à 20 A.",
        "Bateria 36V 30Ah. Carregador de 10 A incluído; aceita até 20 A.",
    ],
)
def test_what_a_pack_accepts_behind_its_charger_is_of_charging(text: str) -> None:
    """Read as the pack's largest current, a charge limit would pass for what drives a motor."""
    assert claimed(text, "max_charge_current_a") == [20]
    assert claimed(text, "max_current_a") == []


def test_a_trip_told_by_a_verb_behind_it_is_no_peak() -> None:
    """A board that trips above 200 A is not granted 200 A."""
    (variant,) = read_listing("锂电池 60V20Ah，保护板100A，超过200A才断。").variants
    assert variant.claimed("bms_current_a")[0].value == 100
    assert not variant.claimed("peak_current_a")


@pytest.mark.parametrize(
    "text",
    [
        "Battery 52V 20Ah\nDo you have a bigger one? Yes, a 52V 28Ah, see my other listing.",
        "Batteria 52V 20Ah\nD: Avete anche la versione 52V 28Ah?\nR: Sì, è un altro annuncio.",
        "Akku 52V 20Ah\nGibt es den auch größer? Ja, 52V 28Ah, siehe meine andere Anzeige.",
    ],
)
def test_an_answer_that_points_to_another_article_offers_nothing_here(text: str) -> None:
    """The buyer of the small pack would be told that it holds what the large one does."""
    assert claimed(text, "capacity_ah") == [20]


@pytest.mark.parametrize(
    ("text", "series", "parallel"),
    [
        ("Pack 48V 15Ah. Thirteen groups in series, each of five cells.", 13, 5),
        ("Bateria 48V 15Ah. Treze grupos em série, cada um com cinco células.", 13, 5),
        ("Akumulator 48V 15Ah. Trzynaście grup szeregowo po pięć ogniw.", 13, 5),
        ("Akumulator 48V 35Ah, 13 rzędów po 10 ogniw.", 13, 10),
        ("Akku 36V 20Ah, davon zehn in Reihe, fünf davon jeweils parallel.", 10, 5),
    ],
)
def test_groups_in_words_are_series_and_parallel(text: str, series: int, parallel: int) -> None:
    """Five cells of a group read as all cells of the pack contradict its volts."""
    assert (claimed(text, "series"), claimed(text, "parallel")) == ([series], [parallel])
    assert claimed(text, "cell_count") == []


def test_two_packs_to_buy_are_no_cells_in_parallel() -> None:
    """Advice to buy a second pack says nothing of how this one is wound."""
    text = "72V 28Ah pack\nNeed 150 A? Get two in parallel if you want that."
    assert claimed(text, "parallel") == []


@pytest.mark.parametrize(
    ("text", "mass_kg"),
    [
        ("Bateria 36V 10Ah, pesa quatro quilos e meio.", 4.5),
        ("锂电池48V15Ah。重四公斤半。", 4.5),
        ("Pack 52V 25Ah. On the scale it's 11 lb. Comes with its 58.8V 4A charger.", 4.98951607),
        ("Pack 36V 10Ah, 10.4 kg, load capacity 120 kg.", 10.4),
        ("Batería 48V 15Ah. Peso del producto: 4,5 kg. Peso con embalaje: 5,3 kg.", 4.5),
    ],
)
def test_the_weight_is_the_packs(text: str, mass_kg: float) -> None:
    """A weight that is lost, or the rider's, leaves nothing to weigh the pack against.

    A pound is 0.45359237 kg (NIST SP 811).
    """
    assert claimed(text, "mass_kg") == [pytest.approx(mass_kg)]


def test_hours_with_a_charger_sold_apart_are_stated() -> None:
    """How long charging takes is what the seller says, though the charger is not in the box."""
    text = "Akku 36V 14Ah. Lader 42V 2A nicht dabei, Ladezeit damit etwa 7 Stunden."
    assert claimed(text, "charge_hours") == [7]
    assert claimed(text, "charge_current_a") == []


def test_amperes_that_go_without_saying_stand_behind_a_word_for_currents() -> None:
    """A continuous current and a peak without a unit were lost, and both are what the buyer pays for."""
    text = "48V 20Ah battery with BMS\nHow many amps can it do? cont 50 / peak 100."
    assert (claimed(text, "continuous_current_a"), claimed(text, "peak_current_a")) == ([50], [100])


def test_a_charger_and_a_board_in_a_title_share_no_amperes() -> None:
    """A board of 20 A read as the charger's would charge the pack to death on paper."""
    text = "Batterie 36V 15Ah avec chargeur et BMS 20A"
    assert claimed(text, "charge_current_a") == []


def test_labels_set_apart_to_fill_a_column_are_read() -> None:
    """Sellers in Chinese pad labels of two signs; without them the capacity is lost."""
    assert claimed("锂电池 48V\n容　　量：60Ah", "capacity_ah") == [60]
