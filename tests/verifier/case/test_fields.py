"""The catalogue of fields: of one mind with the model of a case."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args, get_origin

import pytest
from pydantic import BaseModel

from registry.printed import read_quantity
from verifier.case.case_field import EFFORTS
from verifier.case.explained import explained, field_data, fields_named
from verifier.case.fields import case_fields, meant
from verifier.case.model import Case, group_in
from verifier.case.quantity import Quantity
from verifier.errors import VerifierError
from verifier.questions import TOPICS
from verifier.schemas import load_schema


def fields_of(model: type[BaseModel], path: str = "") -> Iterator[tuple[str, Any]]:
    for name, info in model.model_fields.items():
        yield f"{path}{name}", info.annotation
        group = group_in(model, name)
        if group is not None:
            yield from fields_of(group, f"{path}{name}.")


FIELDS = dict(fields_of(Case))


def quantity_in(annotation: Any) -> Quantity | None:
    """Return what marks a field as a quantity, a list of quantities aside."""
    if get_origin(annotation) is tuple:
        return quantity_in(get_args(annotation)[0])
    for part in getattr(annotation, "__metadata__", ()):
        if isinstance(part, Quantity):
            return part
    found = (quantity_in(part) for part in get_args(annotation) if part is not annotation)
    return next((each for each in found if each is not None), None)


def test_every_field_stands_in_the_catalogue_and_no_other() -> None:
    """A field has no description in an editor, or 'explain' tells of one that a case file refuses."""
    assert list(case_fields()) == sorted(case_fields(), key=list(FIELDS).index)
    assert set(case_fields()) == set(FIELDS)


@pytest.mark.parametrize("name", sorted(set(FIELDS) - {"limits"}))
def test_the_unit_is_that_of_the_model(name: str) -> None:
    """'explain' tells a unit in which the field is not read."""
    quantity, unit = quantity_in(FIELDS[name]), case_fields()[name].unit
    if quantity is None:
        assert unit == ""
    elif quantity.unit is None:
        assert unit == ("count" if quantity.whole else "number")
    else:
        assert unit == quantity.unit


SUFFIXES = {
    "_mm2": "mm2", "_km_h": "km/h", "_mm": "mm", "_ah": "Ah", "_wh": "Wh", "_kg": "kg", "_km": "km",
    "_v": "V", "_a": "A", "_w": "W", "_g": "g", "_m": "m", "_c": "C", "awg": "AWG", "hours": "h",
    "seconds": "s",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(case_fields()))
def test_the_unit_is_the_suffix_of_the_name(name: str) -> None:
    """A number is read in another unit than its field's name says. Rule: units are suffixes."""
    unit = next((unit for suffix, unit in SUFFIXES.items() if name.endswith(suffix)), None)
    assert unit is None or case_fields()[name].unit == unit


@pytest.mark.parametrize("name", sorted(case_fields()))
def test_every_entry_makes_sense(name: str) -> None:
    """'explain' shows an effort, a question or a trial value that does not exist."""
    field = case_fields()[name]
    assert field.words
    assert field.meaning
    assert field.effort in ("", *EFFORTS)
    assert field.topic in ("", *TOPICS)
    quantity = quantity_in(FIELDS[name])
    if field.usual is not None:
        assert quantity is not None
        assert quantity.low <= field.usual[1] <= quantity.high
        assert field.usual[0] < field.usual[1]
    for trial in field.trial:
        if quantity is not None:
            assert quantity.read(trial).exact
        else:
            assert isinstance(trial, str)
    if field.unit and field.unit not in ("count", "number"):
        assert read_quantity(5, field.unit) == (5, 5)


def test_no_other_name_means_two_fields_of_one_group() -> None:
    """The advice depends on the order of a file."""
    named = [(field.group, word) for field in case_fields().values() for word in field.also]
    assert len(named) == len(set(named))


def test_every_field_of_the_schema_is_described() -> None:
    """An editor completes a field without saying what it is."""
    schema = load_schema("case")
    for definition in [schema, *schema["$defs"].values()]:
        for name, entry in definition.get("properties", {}).items():
            assert entry.get("description"), name


def test_advice_prefers_the_group_at_hand() -> None:
    """'current' under bms is sent to the seller's claims. Rule: the group being written comes first."""
    assert meant("current", "observed.bms") == "did you mean 'continuous_a'?"
    assert meant("current", "claim") == "did you mean 'continuous_current_a'?"
    assert meant("nonsense", "claim") is None


def test_a_field_is_found_by_its_last_part() -> None:
    """A user has to know the whole path to look a field up."""
    assert [each.name for each in fields_named("groups_v")] == ["observed.groups_v"]
    assert [each.name for each in fields_named("capacity_ah")] == [
        "claim.capacity_ah",
        "observed.capacity_ah",
        "observed.cell.capacity_ah",
    ]
    with pytest.raises(VerifierError, match=r"observed\.bms"):
        fields_named("board")


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("claim.capacity_ah", "14Ah"),
        ("observed.leads.conductor", "copper_clad_aluminium"),
        ("observed.fuse.fitted", "true or false"),
        ("claim.series", "whole number"),
        ("case.photos", "a list"),
        ("case.notes", "words"),
    ],
)
def test_an_explanation_says_how_to_write_a_field(name: str, told: str) -> None:
    """A user has to try what a field takes."""
    assert told in field_data(explained(case_fields()[name]))["write"]


@pytest.mark.parametrize(
    "name", ["observed.groups_v", "observed.groups_before_v", "observed.take_off.positions"]
)
def test_a_list_is_explained_as_a_list(name: str) -> None:
    """Somebody would write two voltages of thirteen, and they would be read as a range."""
    told = explained(case_fields()[name])
    assert told.write.startswith("a list")
    assert "[low, high]" not in told.write
