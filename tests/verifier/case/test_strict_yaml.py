"""Reading YAML and JSON into plain data: what is written is what is read, and nothing surprising."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.errors import PlacedError
from registry.input_bounds import CASE
from verifier.case.strict_yaml import parse


def read(text: str) -> Any:
    return parse(text, "bench.yaml").data


def refused(text: str) -> str:
    with pytest.raises(PlacedError) as caught:
        parse(text, "bench.yaml")
    message = str(caught.value)
    assert message.startswith("bench.yaml")
    assert "\n" not in message
    return message


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("18650", 18650),
        ("-5", -5),
        ("0", 0),
        ("0.10", 0.1),
        (".5", 0.5),
        ("1e3", 1000.0),
        ("2.", 2.0),
        ("true", True),
        ("No", False),
        ("yes", True),
        ("~", None),
        ("null", None),
        ("", None),
        ("0500", "0500"),
        ("-007", "-007"),
        ("0x1F", "0x1F"),
        ("0o17", "0o17"),
        ("1_000", "1_000"),
        ("1:30", "1:30"),
        ("12:30:45", "12:30:45"),
        ("2025-03-01", "2025-03-01"),
        (".nan", ".nan"),
        (".inf", ".inf"),
        ("14,5", "14,5"),
        ("10S", "10S"),
        ("25mA", "25mA"),
        ("on", "on"),
        ("='x'", "='x'"),
        ('"14"', "14"),
        ("'yes'", "yes"),
        ('"null"', "null"),
        ("1" * 50, "1" * 50),
    ],
)
def test_scalars_are_read_as_yaml_1_2_or_stay_text(written: str, value: Any) -> None:
    """A code such as 0500 would turn into octal 320, 1:30 into 90. YAML 1.2 core schema, section 10.3.2."""
    found = read(f"key: {written}\n")["key"]
    assert found == value
    assert isinstance(found, type(value))


def test_how_a_number_was_written_is_kept() -> None:
    """A marking such as 1.50 or 1e5 would be looked up as 1.5 or 100000.0."""
    found = read("a: 1.50\nb: 1e5\nc: 18650\n")
    assert [found[name].as_written for name in "abc"] == ["1.50", "1e5", "18650"]


@pytest.mark.parametrize(
    "text",
    ["a: &x 1\nb: *x\n", "a: &x {b: 1}\nc:\n  <<: *x\n", "a: &x [1]\nb: [*x, *x]\n"],
)
def test_aliases_are_refused(text: str) -> None:
    """A few lines could grow into gigabytes, and one change would change fields far away."""
    assert "alias" in refused(text)


@pytest.mark.parametrize(
    "text",
    [
        "a: !!str 14\n",
        "a: !python/object:os.system {}\n",
        "a: &x 1\n",
        "!!map {a: 1}\n",
        "&x a: 1\n",
        "!!str a: 1\n",
    ],
)
def test_tags_and_anchors_are_refused(text: str) -> None:
    """A tag would be ignored without a word, so that '!!str 14' is read as the number it says it is not."""
    refused(text)


@pytest.mark.parametrize(
    "text",
    [
        "a: 1\na: 2\n",
        "x:\n  a: 1\n  'a': 2\n",
        '{"a": 1, "a": 2}',
        '{"x": {"a": 1, "b": 2, "a": 1}}',
    ],
)
def test_a_key_that_stands_twice_is_refused(text: str) -> None:
    """One of two capacities would be dropped in silence."""
    assert "'a' stands twice" in refused(text)


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n"])
def test_an_empty_document_says_so(text: str) -> None:
    """An empty file would pass as a case in which nothing is claimed."""
    assert "empty" in refused(text)


@pytest.mark.parametrize(
    "text",
    [
        "a: \0",
        '{"a": "\0"}',
        "a: \ud800",
        "a: [1, 2",
        "a: 'b",
        "a: b: c",
        "\t- a",
        "a\n---\nb",
        '{"a": 1,}',
        '{"a": NaN}',
        '{"a": -Infinity}',
        '{"a": 1} x',
        '{"a": ' + "1" * 5000 + "}",
        "? [a]\n: b",
        "{" * 3000,
        '{"a":' * 5000,
    ],
)
def test_what_cannot_be_read_is_told_in_one_line(text: str) -> None:
    """A damaged file would end in a traceback, or be read as something it does not say."""
    refused(text)


@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "a:\n "])
def test_a_document_of_endless_depth_ends_no_process(opening: str) -> None:
    """A hostile case file would crash a marketplace's run over many listings (run apart: it may be fatal)."""
    program = (
        "from verifier.case.strict_yaml import parse\n"
        "from registry.errors import PlacedError\n"
        f"text = 'x: ' + {opening!r} * (900000 // len({opening!r}))\n"
        "try:\n    parse(text, 'x')\n    print('read')\nexcept PlacedError:\n    print('refused')\n"
    )
    found = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60)
    assert found.stdout == "refused\n", found.stderr[-300:]


def test_a_document_too_large_is_refused() -> None:
    """A whole marketplace dump given by mistake would be read for minutes."""
    assert "larger" in refused("a: " + "x" * CASE.most)
    assert "too large" in refused("a: [" + "1," * 30_000 + "]")
    assert "too" in refused("a: " + "[" * 30 + "]" * 30)


def test_every_field_knows_its_line() -> None:
    """An error would point at the wrong line of the file."""
    document = parse("# a\ncase:\n  title: x\nclaim:\n\n  capacity_ah:\n    - 1\n    - 2\n", "bench.yaml")
    assert document.line(("case",)) == 2
    assert document.line(("case", "title")) == 3
    assert document.line(("claim", "capacity_ah")) == 6
    assert document.line(("claim", "capacity_ah", 1)) == 8
    assert document.line(("claim", "nothing_there")) == 4


JSON_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**12), 10**12)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)


@given(
    st.dictionaries(st.text(st.characters(exclude_categories=["Cs"]), max_size=8), JSON_VALUES, min_size=1)
)
def test_json_is_read_as_the_standard_library_reads_it(data: dict[str, Any]) -> None:
    """A report's inputs would change when they are read back. Reference: json of the standard library."""
    text = json.dumps(data)
    assert read(text) == json.loads(text)


@given(st.text(max_size=60) | st.text("{}[]:,-\"'#&*!|>%@`\n\t ab01", max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    """A typing slip would end in a traceback."""
    told = ""
    try:
        parse(text, "bench.yaml")
    except PlacedError as error:
        told = str(error)
    assert "\n" not in told
