"""Words that make a number mean something else than it seems; each trap on its own.

The wordings are common practice in the trade, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import cases_from_listing, read_listing


def kinds(text: str, field: str, variant: int = 0) -> list[tuple[Any, str]]:
    claims = read_listing(text).variants[variant].claims.get(field, [])
    return [(claim.value, claim.kind) for claim in claims]


@pytest.mark.parametrize(
    ("text", "field", "found"),
    [
        ("Battery 36V\nCurrent: 40A (10s)", "peak_current_a", [(40, "peak")]),
        ("Battery 36V\nCurrent: 40A (10s)", "continuous_current_a", []),
        ("Battery 36V (10S)", "series", [(10, "title")]),
        ("Peak: 30A 10S", "series", []),
        ("Peak: 30A 10S", "peak_seconds", [(10, "stated")]),
        ("with 30A BMS", "bms_current_a", [(30, "title")]),
        ("with 30A BMS", "continuous_current_a", []),
        ("BMS: 30A continuous / 60A peak", "bms_current_a", [(30, "continuous"), (60, "peak")]),
        ("BMS: 30A continuous / 60A peak", "peak_current_a", []),
        ("Overcurrent 45±5A", "bms_current_a", [(45, "trip")]),
        ("Overcurrent 45±5A", "continuous_current_a", []),
        ("for 250W-1000W motor", "power_w", []),
        ("supports 1500W", "load_power_w", [(1500, "compatibility")]),
        ("1000W battery", "power_w", []),
        ("Cells: 35A each", "continuous_current_a", [(35, "per_cell")]),
        ("Replaces a lead acid battery 48V 12Ah", "capacity_ah", [(12, "other_product")]),
        ("Charger input 110-240V", "nominal_voltage_v", [((110, 240), "other_product")]),
        ("Battery 36V\nnot 48V", "nominal_voltage_v", [(36, "title"), (48, "negated")]),
        ("54.6V 2A charger not included", "charge_current_a", [(2, "negated")]),
        ("2 x 6Ah = 12Ah", "capacity_ah", [(6, "title"), (12, "derived")]),
        ("Allegedly 17Ah", "capacity_ah", [(17, "derived")]),
        ("Battery\nMaximum discharge current: 30A", "max_current_a", [(30, "stated")]),
        ("Battery\nMaximum discharge current: 30A", "continuous_current_a", []),
        ("Charge ≤5A", "max_charge_current_a", [(5, "title")]),
        ("Peak discharge: 40A / 50A", "continuous_current_a", []),
        ("Fuse 30A", "continuous_current_a", []),
        ("Max load 120kg", "mass_kg", []),
        ("Gross weight: 5kg", "mass_kg", []),
        ("Size 410*90*110mm", "mass_kg", []),
        ("lithium battery", "chemistry", []),
        ("三元锂 电池", "chemistry", [("NMC", "title")]),
        ("磷酸铁锂", "chemistry", [("LFP", "title")]),
        ("13串4并", "series", [(13, "title")]),
        ("13S4P", "parallel", [(4, "title")]),
        ("18650 cells", "cell_count", []),
        ("52 pcs 18650", "cell_count", [(52, "title")]),
        ("2 pcs", "cell_count", []),
        ("Charger CE", "certificates", [("CE", "other_product")]),
        ("UL cells", "certificates", [("UL", "per_cell")]),
        ("Cells: LYR 18650-35P", "cell_marking", [("LYR 18650-35P", "stated")]),
        ("Cells: grade A, new", "cell_marking", []),
    ],
)  # fmt: skip
def test_trap(text: str, field: str, found: list[tuple[Any, str]]) -> None:
    """A number that the words around it qualify is taken for a claim of the pack."""
    assert kinds(text, field) == found


# The voltage at the end of charge is that of the charged pack (terms of IEC 60050-482, from memory).
@pytest.mark.parametrize(
    "text",
    [
        "Akku 36V 10Ah\n  Ladeschlussspannung:     42 V\n  Entladeschlussspannung:  28 V",
        "Akku 36V 10Ah\nLadeendspannung 42 V, Entladeendspannung 28 V",
        "Battery 36V 10Ah\nEnd of charge voltage:    42 V\nEnd of discharge voltage:    28 V",
        "Batterie 36V 10Ah\nTension de fin de charge :    42 V\nTension de fin de décharge :    28 V",
        "Batería 36V 10Ah\nTensión de fin de carga:    42 V\nTensión de fin de descarga:    28 V",
        "Batteria 36V 10Ah\nTensione di fine carica:    42 V\nTensione di fine scarica:    28 V",
        "Accu 36V 10Ah\nLaadeindspanning:    42 V\nOntlaadeindspanning:    28 V",
        "Bateria 36V 10Ah\nNapięcie końca ładowania: 42 V\nNapięcie końca rozładowania: 28 V",
        "Bateria 36V 10Ah\nTensão de fim de carga:    42 V\nTensão de fim de descarga:    28 V",
        "锂电池 36V 10Ah\n充电截止电压：   42V\n放电截止电压：   28V",
        "バッテリー 36V 10Ah\n充電終止電圧：   42V\n放電終止電圧：   28V",
    ],
)
def test_the_end_of_charge_is_no_cut_off(text: str) -> None:
    """The charged pack's voltage is taken for the one at which it must be empty, and told as a false cut-off."""
    assert kinds(text, "full_voltage_v") == [(42, "stated")]
    assert kinds(text, "cutoff_voltage_v") == [(28, "stated")]


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("Capacity: 17500Ah", "capacity_ah"), ("Discharge current: 25mA", "continuous_current_a"),
        ("Weight: 4200kg", "mass_kg"), ("Power: 840 KWh", "energy_wh"),
    ],
)  # fmt: skip
def test_slips_are_kept_and_told_and_not_judged(text: str, field: str) -> None:
    """A slip is repaired behind the user's back, or judged as if it were meant."""
    reading = read_listing(text)
    claim = reading.variants[0].claims[field][0]
    assert text.endswith(claim.text)
    assert claim.doubt
    assert "meant" in claim.doubt
    assert [field] in [remark.about for remark in reading.remarks]
    assert field not in cases_from_listing(text, "listing")[0].data.get("claim", {})


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("48V 20Ah\n13S4P, 2600mAh cells", "4 x 2.6 Ah is 10.4 Ah"),
        ("48V 20Ah\nEnergy: 1440Wh", "48 V x 20 Ah is 960 Wh"),
        ("13S\nCharger: 42V 2A", "13 in series are full at 54.6 V"),
        ("48V 20Ah\nWeight: 2kg", "Wh/kg"),
        ("13S4P, 50 cells", "52 cells"),
        ("36V 10Ah\nContinuous current: 15A\nfor 1000W motor", "27.8 A"),
        ("48V 20Ah\nCharger: 54.6V 2A\nCharging time: 4 hours", "8 Ah"),
    ],
)
def test_sums_that_do_not_come_out_are_told(text: str, words: str) -> None:
    """Figures of one listing that cannot all be true pass without a word."""
    assert any(words in remark.text for remark in read_listing(text).remarks)


def test_sums_that_come_out_are_not_told() -> None:
    """Every listing carries remarks, so that nobody reads them."""
    text = "48V 10.4Ah\n13S4P, 52 cells, 2600mAh cells\nEnergy: 499Wh\nCharger: 54.6V 2A\nWeight: 3kg"
    assert read_listing(text).remarks == []


@pytest.mark.parametrize(
    "text", ["Option A: 48V 13Ah\nOption B: 48V 60Ah\n", "Pack 1: 48V 13Ah\n\nPack 2: 48V 60Ah"]
)
def test_a_listing_may_begin_with_its_first_pack(text: str) -> None:
    """Taken for a title, the first pack on offer would not be judged at all."""
    reading = read_listing(text)
    capacities = [[claim.value for claim in each.claims["capacity_ah"]] for each in reading.variants]
    assert (reading.title, capacities) == ("", [[13], [60]])


def test_a_title_and_a_text_that_differ_are_judged_at_both_values() -> None:
    """Half of what a listing says would be dropped in silence. Rule: stated twice, differently, both are judged."""
    text = "48V 30Ah battery\nCapacity: 20Ah"
    claim = cases_from_listing(text, "listing")[0].data["claim"]
    assert claim["capacity_ah"] == [20, 30]
    assert claim["stated_differently"] == ["capacity_ah"]
    assert any("title" in remark.text for remark in read_listing(text).remarks)


def test_a_titles_amperes_that_are_the_bmss_are_no_claim() -> None:
    """The BMS's figure in a title is judged as the pack's continuous current."""
    text = "48V 20Ah 40A battery\nBMS: 40A"
    assert kinds(text, "continuous_current_a") == []
    assert kinds(text, "bms_current_a") == [(40, "title"), (40, "stated")]


# Whose word it is: a question is the buyer's, its answer the seller's. The wordings are common practice.
@pytest.mark.parametrize(
    ("text", "field", "claimed"),
    [
        ("Akku 36V 10Ah\nHat der Akku 48V? Nein, 36V", "nominal_voltage_v", {36}),
        ("Battery 36V\nQ: Is it 14Ah?\nA: Yes", "capacity_ah", {14}),
        ("Battery 36V\nQ: Is it 14Ah?\nA: No, 12Ah", "capacity_ah", {12}),
        ("ana: is it 60V?\nShop: no, 52V, 14S\nana: how many Ah? mine had 10Ah\nShop: 18Ah", "nominal_voltage_v", {52}),
        ("ana: is it 60V?\nShop: no, 52V, 14S\nana: how many Ah? mine had 10Ah\nShop: 18Ah", "capacity_ah", {18}),
        ("ana: hi, 48V?\nShop: yes\nana: charger?\nShop: comes with 54.6V 2A", "charge_current_a", {2}),
        ("Used battery 36V, label says 14Ah. Measured last week: 11.2Ah", "capacity_ah", {14}),
        ("Battery 48V 20Ah\nA customer wrote: \"mine gives 50 amps all day long\"", "continuous_current_a", set()),
        ("Battery 48V 20Ah\nYou may also like\nBattery 60V 35Ah", "capacity_ah", {20}),
        ("Battery 48V 20Ah\nCustomers also bought: Battery 60V 35Ah", "nominal_voltage_v", {48}),
        ("Battery 48V 20Ah\nReviews\nGreat, gave me 25Ah!", "capacity_ah", {20}),
        ("Battery 48V 20Ah\nThe previous battery had 12Ah", "capacity_ah", {20}),
        ("Batterie 72V 40Ah\nLe chargeur 84 V n'est pas adapté à cette batterie", "charge_voltage_v", set()),
    ],
)  # fmt: skip
def test_only_the_sellers_word_of_now_is_a_claim(text: str, field: str, claimed: set[float]) -> None:
    """A buyer's question, a review or a neighbour's figure is judged as if the seller had claimed it."""
    reading = read_listing(text)
    assert len(reading.variants) == 1
    assert {claim.value for claim in reading.variants[0].claimed(field)} == claimed


# No default meaning: arithmetic chooses the label (cells in series x 4.2 V are full, IEC 61960-3 terms).
@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Battery pack 13S4P\n54.6V", {"full_voltage_v": 54.6}),
        ("Battery pack 13S4P\n46.8V", {"nominal_voltage_v": 46.8}),
        ("Battery 48V 20Ah\n54.6V", {"full_voltage_v": 54.6}),
        ("Battery pack 10S4P, 36V 11.6Ah\n2900mAh", {"cell_capacity_ah": 2.9}),
        ("Build with 18650\nnew\n14Ah", {"capacity_ah": 14}),
    ],
)
def test_arithmetic_chooses_a_label_and_says_so(text: str, found: dict[str, float]) -> None:
    """A figure without a label is taken for what it is not, or chosen without a word."""
    claims = read_listing(text).variants[0].claims
    inferred = {name: claim.value for name, each in claims.items() for claim in each if claim.inferred}
    assert {name: inferred.get(name) for name in found} == found


@pytest.mark.parametrize("text", ["Battery pack\nsomething 33V\n48V 20Ah", "Battery 48V 20Ah\ncomfort 35A"])
def test_what_nothing_settles_is_told(text: str) -> None:
    """A figure is dropped without a word, or given a meaning that nobody printed."""
    reading = read_listing(text)
    told = [each.text for each in reading.not_understood]
    assert told in (["33V"], ["35A"])
    start = reading.not_understood[0].start
    assert text[start : reading.not_understood[0].end] == told[0]
    assert all(claim.text != told[0] for each in reading.variants[0].claims.values() for claim in each)


# Common practice, no source: what a seller measured, and where the vehicle's controller stops, bind nobody.
@pytest.mark.parametrize(
    ("text", "field", "found"),
    [
        ("Akku 48V 20Ah. Gemessen habe ich danach 18 Ah bis 41 V.", "capacity_ah", [(20, "stated"), (18, "derived")]),
        ("Akku 48V 20Ah. Gemessen habe ich danach 18 Ah bis 41 V.", "cutoff_voltage_v", []),
        ("锂电池 48V 20Ah，上周用仪器测还有18安时", "capacity_ah", [(20, "title"), (18, "derived")]),
        ("Battery 48V 20Ah. My controller low voltage cut-off is 41 V.", "cutoff_voltage_v", [(41, "other_product")]),
        ("Batterie 48V 20Ah. Mon contrôleur coupe à 41 V.", "cutoff_voltage_v", [(41, "other_product")]),
        ("Akku 48V 20Ah. Mein Controller schaltet bei 41 V ab.", "cutoff_voltage_v", [(41, "other_product")]),
        ("锂电池 48V 20Ah。控制器41V断电", "cutoff_voltage_v", [(41, "other_product")]),
        ("Battery 48V 20Ah. BMS cut-off 36 V.", "cutoff_voltage_v", [(36, "stated")]),
    ],
)  # fmt: skip
def test_what_was_measured_or_is_the_controllers_is_no_claim(
    text: str, field: str, found: list[tuple[Any, str]]
) -> None:
    """The pack is judged by a cut-off or a capacity that its seller never promised."""
    assert kinds(text, field) == found


# Common practice, no source: where a BMS switches off is above what it carries all the time.
@pytest.mark.parametrize(
    ("text", "trip"),
    [
        ("Akku 48V 15Ah. Das BMS macht 25 A dauerhaft, abgeschaltet wird bei 55 A.", 55),
        ("Battery 48V 15Ah. The BMS does 25 A continuous, it cuts out at 55 A.", 55),
        ("Accu 48V 15Ah. BMS 25 A continu, uitgeschakeld wordt bij 55 A.", 55),
        ("Bateria 48V 15Ah. BMS 25 A ciągłe, wyłącza przy 55 A.", 55),
        ("Batteria 48V 15Ah. BMS 25 A continui, si spegne a 55 A.", 55),
    ],
)
def test_where_a_bms_switches_off_is_a_trip(text: str, trip: float) -> None:
    """The current at which the BMS ends the ride is taken for what it carries all day."""
    assert kinds(text, "bms_current_a") == [(25, "continuous"), (trip, "trip")]


def test_what_a_pack_gives_as_a_rule_is_not_its_bmss() -> None:
    """The current a pack gives as a rule is judged as the rating of its BMS (common practice, no source)."""
    text = "锂电池 36V 10Ah\n保护板25A的，平时12A左右放没问题"
    assert kinds(text, "bms_current_a") == [(25, "stated")]
    assert kinds(text, "continuous_current_a") == [(12, "continuous")]


# Common practice, no source: a second weight in a bracket is that of the parcel or of a part.
@pytest.mark.parametrize(
    "text",
    [
        "バッテリー 36V 10Ah\n重量：約2.1kg（梱包時 約2.8kg）",
        "锂电池 36V 10Ah\n重2.1公斤，发货重量约2.8公斤",
        "Akku 36V 10Ah\nGewicht 2,1 kg, verpackt 2,8 kg",
        "Battery 36V 10Ah\nWeight 2.1 kg (packed 2.8 kg)",
        "Battery 36V 10Ah\nWeight 2.1 kg (holder 0.4 kg)",
        "Batterie 36V 10Ah\nPoids 2,1 kg, emballée 2,8 kg",
        "Batería 36V 10Ah\nPeso 2,1 kg, embalada 2,8 kg",
        "Batteria 36V 10Ah\nPeso 2,1 kg, imballata 2,8 kg",
        "Accu 36V 10Ah\nGewicht 2,1 kg, verpakt 2,8 kg",
        "Bateria 36V 10Ah\nMasa 2,1 kg, zapakowana 2,8 kg",
        "Bateria 36V 10Ah\nPeso 2,1 kg, com embalagem 2,8 kg",
    ],
)
def test_the_weight_of_the_parcel_is_not_the_packs(text: str) -> None:
    """A pack is taken for heavier than it is, and too few cells for its claim go unseen."""
    claimed = {claim.value for claim in read_listing(text).variants[0].claimed("mass_kg")}
    assert claimed == {2.1}


# Common practice, no source: what else a shop or a seller has is another product, wherever it is named.
@pytest.mark.parametrize(
    "text",
    [
        "Akku 48V 20Ah\nSchutzart IP65. Andere Modelle: 36V 12Ah im Laden.",
        "Akku 48V 20Ah\nSchutzart IP65. Auch lieferbar: 36V 12Ah",
        "Battery 48V 20Ah\nPlug XT60. She also has a 36V 12Ah pack.",
        "Battery 48V 20Ah\nPlug XT60. Also available in 36V 12Ah.",
        "Battery 48V 20Ah\nSimple to fit\nAlso popular\nPocket pack 36V 12Ah\n",
        "Batterie 48V 20Ah\nIndice IP65. Existe aussi en 36V 12Ah.",
        "Batería 48V 20Ah\nProtección IP65. También disponible en 36V 12Ah.",
        "Batteria 48V 20Ah\nProtezione IP65. Prodotti simili: batteria 36V 12Ah.",
        "Accu 48V 20Ah\nKlasse IP65. Ook leverbaar in 36V 12Ah.",
        "Bateria 48V 20Ah\nNapięcie: 48V\nKlasa IP65. Zobacz też: bateria 36V 12Ah.",
        "Bateria 48V 20Ah\nProteção IP65. Também disponível em 36V 12Ah.",
        "锂电池 48V 20Ah\n另外还有一块36V 12Ah的。",
        "Akku 48V 20Ah\nOriginal waren 36V 12Ah drin, neu bestückt vor einem Jahr.",
    ],
)
def test_what_else_is_sold_is_no_claim(text: str) -> None:
    """The neighbour's volts and ampere-hours are judged as this pack's."""
    reading = read_listing(text)
    assert len(reading.variants) == 1
    assert {claim.value for claim in reading.variants[0].claimed("nominal_voltage_v")} == {48}
    assert {claim.value for claim in reading.variants[0].claimed("capacity_ah")} == {20}
    assert [claim.kind for claim in reading.variants[0].claims["capacity_ah"]][1:] != ["stated"]


def test_a_title_that_praises_other_offers_still_names_the_pack() -> None:
    """A shop's words before the figures of its title take the pack itself out of the reading (common practice)."""
    text = "Zestaw do roweru, polecane produkty: bateria 48V 20Ah"
    assert {claim.value for claim in read_listing(text).variants[0].claimed("capacity_ah")} == {20}


@pytest.mark.parametrize(
    "text",
    [
        "Battery 36V 10Ah\nCharger 42V 2A. 5A is too much.",
        "Akku 36V 10Ah\nLadegerät 42V 2A. 5A ist zu viel.",
        "Batterie 36V 10Ah\nChargeur 42V 2A. 5A, c'est trop.",
        "Batteria 36V 10Ah\nCaricabatterie 42V 2A. 5A è troppo.",
        "Accu 36V 10Ah\nLader 42V 2A. 5A is te veel.",
    ],
)
def test_too_much_is_no_claim(text: str) -> None:
    """A current that the seller warns of is judged as what the seller promises (common practice, no source)."""
    variant = read_listing(text).variants[0]
    assert {claim.value for claim in variant.claimed("charge_current_a")} == {2}
    assert not variant.claimed("continuous_current_a")


# Common practice, no source: packs wired together come to more than the one on offer.
@pytest.mark.parametrize(
    "text",
    [
        "Battery 48V 50Ah\nUp to 5 batteries in parallel (250Ah)",
        "Battery 48V 50Ah\nUp to 4 packs in series (192V) or 15 packs in parallel, 750 Ah",
        "Battery 48V 50Ah\nCan be connected in parallel to 100Ah",
        "Akku 48V 50Ah\nBis zu 5 Akkus parallel (250Ah)",
        "Batterie 48V 50Ah\nJusqu'à 5 batteries en parallèle (250Ah)",
        "Batería 48V 50Ah\nHasta 5 baterías en paralelo (250Ah)",
        "Batteria 48V 50Ah\nFino a 5 batterie in parallelo (250Ah)",
        "Accu 48V 50Ah\nTot 5 accu's parallel (250Ah)",
        "Bateria 48V 50Ah\nNapięcie: 48V\nDo 5 baterii równolegle (250Ah)",
        "Bateria 48V 50Ah\nAté 5 baterias em paralelo (250Ah)",
        "锂电池 48V 50Ah\n最多5组并联（250Ah）",
        "バッテリー 48V 50Ah\n最大5台並列（250Ah）",
    ],
)
def test_what_several_packs_come_to_is_no_claim_of_one(text: str) -> None:
    """One pack is judged by the ampere-hours or volts of several."""
    variant = read_listing(text).variants[0]
    assert {claim.value for claim in variant.claimed("capacity_ah")} == {50}
    assert {claim.value for claim in variant.claimed("nominal_voltage_v")} == {48}
    assert not variant.claimed("parallel")


def test_cells_in_parallel_are_the_packs_own() -> None:
    """The pack's own capacity is left out, since its cells stand in parallel (common practice, no source)."""
    text = "Battery 48V\n13 cells in series, 4 in parallel, 14Ah, cell 3500mAh"
    assert {claim.value for claim in read_listing(text).variants[0].claimed("capacity_ah")} == {14}


@pytest.mark.parametrize(
    "text",
    [
        "Battery 36V 16Ah 576Wh rear rack with charger\nPlug: XT60",
        "Akku 36V 16Ah 576Wh Gepäckträger mit Ladegerät\nStecker XT60",
        "Batteria 36V 16Ah 576Wh portapacchi con caricatore\nSpina XT60",
    ],
)
def test_a_charger_named_behind_the_pack_leaves_it_its_volts(text: str) -> None:
    """The pack's own volts are judged as its charger's, and the pack has none (common practice, no source)."""
    assert kinds(text, "nominal_voltage_v") == [(36, "title")]
    assert kinds(text, "charge_voltage_v") == []


def test_charging_in_french_is_no_charger() -> None:
    """What the pack may be charged with is taken for its charger's output ("charger" is a verb in French)."""
    text = "Batterie 48V 10Ah\nChargeur 54,6V 2A fourni ; possible de charger jusqu'à 5 A."
    variant = read_listing(text).variants[0]
    assert {claim.value for claim in variant.claimed("charge_current_a")} == {2}
    assert {claim.value for claim in variant.claimed("max_charge_current_a")} == {5}


@pytest.mark.parametrize(
    "text", ["48V 20Ah LiFePO4 16S\nCharger: 56V 5A", "46V 20Ah LTO 20S\nCharger: 54V 5A"]
)
def test_a_gentle_charger_is_no_sum_that_does_not_come_out(text: str) -> None:
    """A seller who spares the cells would be told that he contradicts himself. 3.50 and 2.70 V a cell: practice."""
    assert not any("in series are full" in remark.text for remark in read_listing(text).remarks)
