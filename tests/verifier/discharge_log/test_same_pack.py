"""Whether a log can be of the pack that its case tells of: voltages against count and chemistry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
import yaml

from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.case.reading import parse_case
from verifier.discharge_log.against_claims import against_claims
from verifier.discharge_log.same_pack import refuse_other_pack, with_possible_counts
from verifier.errors import UnreadableInput
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.discharge_log.conftest import Maker, PlainCsv, Read


def case(chemistry: str | None = None, **fields: object) -> Case:
    cell = {"cell": {"chemistry": chemistry}} if chemistry is not None else {}
    return parse_case(yaml.safe_dump({"observed": {**fields, **cell}}), "case").case


@pytest.mark.parametrize("chemistry", ["NMC", "LCO", "LFP", None])
def test_a_full_pack_of_ten_is_no_part_charged_pack_of_thirteen(
    chemistry: str | None, maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """Another pack's capacity is proven: 42 to 28 V would be 3.2 to 2.2 V a cell of 13, and 13 such cells may be a
    pack that was nearly empty. Source: least voltages in `registry/chemistry.py`; iron phosphate is emptied at 3.2 V.
    """
    reading = read(plain_csv(maker().hold(0.0, 300).empty(4.0).rest(300).made()))
    with pytest.raises(UnreadableInput, match=r"cannot be 13 in series, which would be 3\.2") as caught:
        refuse_other_pack(reading, case(chemistry, series=13))
    words = str(caught.value)
    assert "\n" not in words
    assert "nothing is proven by it" in words
    # Ten cells of this curve are 42 V; as iron phosphate a full pack would be of 12 at 3.5 V.
    assert ("12 in series of LFP" if chemistry == "LFP" else "a full pack of 10 in series") in words


@pytest.mark.parametrize("chemistry", ["NMC", None])
@pytest.mark.parametrize("used_ah", [0.0, 3.0, 7.0])
def test_the_packs_own_log_is_not_refused_however_full_it_was(
    used_ah: float, chemistry: str | None, maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A pack that was half empty when the test began is taken for another."""
    made = maker(used_ah=used_ah).hold(0.0, 300).empty(4.0).rest(300).made()
    refuse_other_pack(read(plain_csv(made)), case(chemistry, series=10))


def test_cells_emptied_too_far_are_still_the_packs_own(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A test that went on to 2.3 V a cell is taken for one of another pack: 42 V fit no fewer than ten."""
    made = maker(ohm=0.05).hold(0.0, 300).empty(6.0, 2.3).rest(300).made()
    refuse_other_pack(read(plain_csv(made)), case("NMC", series=10))


def test_iron_phosphate_is_its_own(read: Read) -> None:
    """A pack of iron phosphate is refused for its flat curve. Sixteen cells from 3.35 V, 3.25 halfway, to 2.6 V."""
    lines = ["time_s,voltage_v,current_a"] + [f"{10 * n},53.6,0" for n in range(30)]
    for n in range(960):
        part = n / 1000
        lines.append(f"{300 + 10 * n},{16 * (3.28 - 0.08 * part - 0.6 * part**30):.3f},-5")
    lines += [f"{10300 + 10 * n},48.5,0" for n in range(30)]
    reading = read("\n".join(lines) + "\n")
    for chemistry in ("LFP", None):
        refuse_other_pack(reading, case(chemistry, series=16))
    with pytest.raises(UnreadableInput, match="cannot be 20 in series"):
        refuse_other_pack(reading, case("NMC", series=20))


@pytest.mark.parametrize(("series", "nominal_v"), [(15, 48), (16, 51.2), (14, 51.8), (20, 72)])
def test_a_full_pack_of_ten_is_none_of_more_whatever_the_chemistry_by_its_name(
    series: int, nominal_v: float, maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """42 V are 2.8 V a cell of 15: as iron phosphate at rest that is empty, and delivers no 9 Ah more."""
    reading = read(plain_csv(maker().hold(0.0, 300).empty(4.0).rest(300).made()))
    own = parse_case(
        yaml.safe_dump({"claim": {"nominal_voltage_v": nominal_v}, "observed": {"series": series}}), "case"
    ).case
    with pytest.raises(UnreadableInput, match=f"cannot be {series} in series"):
        refuse_other_pack(reading, own)


def test_what_the_voltages_fit_is_said_where_no_count_is_known(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A pack of ten is read in silence as one of another count or chemistry.

    42 to 28 V are ten cells of this curve, whose full voltage is 4.2 V, or titanate of 2.7 V; iron phosphate does not
    fall by a tenth halfway (curves of `verifier.discharge_log.expected`).
    """
    reading = read(plain_csv(maker().hold(0.0, 300).empty(4.0).rest(300).made()))
    said = with_possible_counts(reading, None).remarks[-1]
    assert "a full pack of 10 in series of nickel or cobalt, or" in said
    assert "LTO" in said
    assert "LFP" not in said
    assert with_possible_counts(reading, case(series=10)) == reading
    only = with_possible_counts(reading, case("NMC")).remarks[-1]
    assert only.endswith("this may be a full pack of 10 in series of nickel or cobalt")


def test_a_flat_curve_is_iron_phosphates(read: Read) -> None:
    """Sixteen cells of iron phosphate are offered as thirteen of nickel."""
    lines = ["time_s,voltage_v,current_a"] + [f"{10 * n},53.6,0" for n in range(30)]
    for n in range(960):
        part = n / 1000
        lines.append(f"{300 + 10 * n},{16 * (3.28 - 0.08 * part - 0.6 * part**30):.3f},-5")
    lines += [f"{10300 + 10 * n},48.5,0" for n in range(30)]
    said = with_possible_counts(read("\n".join(lines) + "\n"), None).remarks[-1]
    assert "16 in series of LFP" in said
    assert "nickel" not in said


@pytest.mark.parametrize("used_ah", [0.0, 2.0])
def test_a_deep_discharge_is_told_and_is_no_other_pack(
    used_ah: float, maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A pack drained too far is refused as another's, and charged unmeasured. 2.3 V a cell; NMC is empty at 2.5."""
    own = parse_case(yaml.safe_dump({"claim": {"configuration": "10S4P"}}), "case").case
    reading = read(
        plain_csv(maker(used_ah=used_ah, ohm=0.05).hold(0.0, 300).empty(6.0, 2.3).rest(300).made())
    )
    refuse_other_pack(reading, own)
    assert any(
        "deep discharge: drained to 2.3" in each for each in with_possible_counts(reading, own).warnings
    )


def test_one_group_drained_too_far_is_told(maker: type[Maker], read: Read) -> None:
    """The mean hides a group at 2.2 V. Least voltages in `registry/chemistry.py`: 2.5 V."""
    made = (
        maker(series=3, ohm=0.08, with_groups=True, weak={2: 9.0})
        .hold(0.0, 300)
        .empty(5.0, 2.2)
        .rest(300)
        .made()
    )
    text = made.write(
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}," + ",".join(f"{each:.3f}" for each in r.groups),
        "time_s,voltage_v,current_a,Cell 1 (V),Cell 2 (V),Cell 3 (V)",
    )
    said = with_possible_counts(read(text), case("NMC", series=3)).warnings
    assert any("deep discharge" in each and "in group 2" in each for each in said)


def test_a_pack_that_stops_at_its_cut_off_is_not_drained_too_far(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """Every test is a deep discharge. Least voltages in `registry/chemistry.py`: 2.5 V; here 2.8."""
    reading = read(plain_csv(maker().hold(0.0, 300).empty(4.0).rest(300).made()))
    assert with_possible_counts(reading, case("NMC", series=10)).warnings == ()


def test_a_log_that_fits_a_full_pack_of_another_count_says_so(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """Another pack's log proves the capacity. 50.4 V are a full pack of 12; as 13 it was about 60 % full."""
    reading = read(plain_csv(maker(series=12).hold(0.0, 300).empty(4.0).rest(300).made()))
    own = parse_case(
        yaml.safe_dump(
            {"claim": {"capacity_ah": 8}, "observed": {"series": 13, "cell": {"chemistry": "NMC"}}}
        ),
        "case",
    ).case
    refuse_other_pack(reading, own)
    said = with_possible_counts(reading, own).warnings
    assert any("also those of a full pack of 12 in series" in each for each in said)
    capacity = next(each for each in against_claims(reading, own, Limits()) if each.figure == "capacity")
    assert capacity.verdict == Verdict.NOT_SETTLED
    assert "that the log is of this pack" in capacity.does_not_prove[0]


def test_why_a_log_is_refused_is_said(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """Somebody is sent away with voltages that look right. 4.2 V is where nickel and cobalt cells are full."""
    reading = read(plain_csv(maker(series=14).hold(0.0, 300).empty(4.0).rest(300).made()))
    with pytest.raises(UnreadableInput, match=r"nickel or cobalt cells are full at 4\.2 V"):
        refuse_other_pack(reading, case("NMC", series=13))


def test_a_pack_that_gives_more_than_can_be_in_it_is_not_this_one(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """Another pack's log proves a claim: 13 of 10 Ah sold, out of a pack that stood at 60 %.

    By hand: Chen 2020 has 3.84 V a cell at 60 %, so that 13 Ah are of 20 and more in all.
    """
    made = maker(capacity_ah=21.7, used_ah=8.68).hold(0.0, 300).empty(4.0).rest(300).made()
    told = parse_case(
        yaml.safe_dump(
            {"claim": {"capacity_ah": 10}, "observed": {"series": 10, "cell": {"chemistry": "NMC"}}}
        ),
        "c",
    ).case
    reading = with_possible_counts(read(plain_csv(made)), told)
    assert any("another pack, another count or other cells" in each for each in reading.warnings)
    found = {each.figure: each for each in against_claims(reading, told, Limits())}
    assert found["capacity"].verdict is Verdict.NOT_SETTLED
    assert "that the log is of this pack" in found["capacity"].does_not_prove[0]
    # Half as much of the same pack is what may well be left in it.
    less = maker(capacity_ah=10.5, used_ah=4.2).hold(0.0, 300).empty(4.0).rest(300).made()
    assert not any(
        "another pack" in each for each in with_possible_counts(read(plain_csv(less)), told).warnings
    )


def test_a_curve_as_flat_as_iron_phosphates_is_of_no_nickel_cells(read: Read) -> None:
    """A log of 16 iron phosphate cells in series is taken for one of 14 of nickel, three quarters full.

    Plateau of iron phosphate as measured at C/20 (open BPX parameterisation set, CC-BY-SA-4.0).
    """
    curve = (2.0, 3.1763, 3.2278, 3.2578, 3.2676, 3.2714, 3.2826, 3.3067, 3.3110, 3.3138, 3.43)
    rows = [(5.0 * n, 16 * curve[-1], 0.0) for n in range(60)]
    for n in range(960):
        charge = 10 * (1 - n / 1000)
        below = min(int(charge), 9)
        volts = curve[below] + (charge - below) * (curve[below + 1] - curve[below])
        rows.append((300 + 5.0 * n, 16 * (volts - 0.02), -5.0))
    rows += [(5100 + 5.0 * n, 16 * 2.8, 0.0) for n in range(1, 60)]
    text = "time_s,voltage_v,current_a\n" + "\n".join(f"{s:.0f},{v:.3f},{a:.2f}" for s, v, a in rows)
    reading = with_possible_counts(read(text), case("NMC", series=14))
    assert any("flatter than nickel or cobalt cells do" in each for each in reading.warnings)
