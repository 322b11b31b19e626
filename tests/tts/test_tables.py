"""Dictionaries kept as text: the same answers as Python's own, in less memory."""

from __future__ import annotations

import json
import tracemalloc
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.tts.tables import table, tables

PLAIN = st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text()
KEYS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
MEMBERS = st.dictionaries(KEYS, PLAIN | st.lists(PLAIN) | st.dictionaries(KEYS, PLAIN))


@given(MEMBERS, st.booleans(), st.sampled_from([None, 1]))
def test_a_table_answers_as_the_object_does(
    members: dict[str, Any], ascii_: bool, indent: int | None
) -> None:
    found = table(_json(members, ensure_ascii=ascii_, indent=indent))
    assert len(found) == len(members)
    assert {key: found.get(key) for key in members} == members


@pytest.mark.parametrize("key", ["", "ta", "tapp", "tapping", "Tap", "tap\0", "z"])
def test_another_key_is_not_there(key: str) -> None:
    found = table(b'{"tap": 1, "tapped": 2, "taps": 3}')
    assert found.get(key) is None
    assert found.get(key, 5) == 5
    assert found.get("tap", 5) == 1


def test_tables_within_an_object() -> None:
    members = {"tags": ["NN", "VB"], "weights": {"w=tap": {"NN": 1.5}}, "none": {}, "count": 2}
    found = tables(_json(members))
    assert found.keys() == members.keys()
    assert (found["tags"], found["count"]) == (["NN", "VB"], 2)
    assert found["weights"].get("w=tap") == {"NN": 1.5}
    assert len(found["none"]) == 0


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"[]",
        b'{"a"',
        b'{"a": 1',
        b'{"a": }',
        b'{"a": {"b": {"c": 1}}}',
        b"{1: 2}",
        b'{"a\\u0000b": 1}',
    ],
)
def test_what_is_no_table_is_refused(text: bytes) -> None:
    with pytest.raises(ValueError, match="no table"):
        table(text)


def test_it_takes_a_fraction_of_the_memory_of_a_dictionary() -> None:
    text = _json({f"word {n}": f"sound {n}" for n in range(20_000)})
    sizes = []
    for read in (json.loads, table):
        tracemalloc.start()
        kept = read(text)
        sizes.append(tracemalloc.get_traced_memory()[0])
        tracemalloc.stop()
        del kept
    assert sizes[1] < 0.3 * sizes[0]


def _json(members: dict[str, Any], **options: Any) -> bytes:
    return json.dumps(members, **options).encode()
