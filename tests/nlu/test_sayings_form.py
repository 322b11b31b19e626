"""The sayings that teach the reader: well formed, with known kinds and fields, none twice."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from fieldvoice.schema import ACTS, ASKS, COMMANDS, meaning_from
from tests.nlu import tables

if TYPE_CHECKING:
    from collections.abc import Collection

    from tests.nlu.tables import Saying, WantedMeaning

SAYINGS = Path(__file__).parents[2] / "sayings"

#: A folder of this name holds words alone, which are no notes.
NO_MEANINGS = "none"

FILES = sorted(SAYINGS.rglob("*.txt"))

KINDS: dict[str, Collection[str]] = {"act": ACTS, "ask": ASKS, "do": COMMANDS}

#: Every act has at least so many sayings here: less would teach no reader to tell it from others.
FEWEST = 30


def _of(path: Path) -> list[Saying]:
    return tables.sayings(path, with_meanings=NO_MEANINGS not in path.parts)


def _meanings(saying: Saying) -> list[WantedMeaning]:
    return [meaning for reading in saying.readings for meaning in reading]


def _fault(meaning: WantedMeaning) -> str | None:
    """What keeps ``meaning`` from being a value of the models; None if nothing does."""
    if meaning.sort == "mention":
        return None
    if meaning.name not in KINDS[meaning.sort]:
        return f"no {meaning.sort} {meaning.name}"
    model = ACTS.get(meaning.name) if meaning.sort == "act" else None
    plain = meaning.example()
    try:
        for field in meaning.fields:
            if model is not None and field.name not in model.model_fields:
                return f"{meaning.name} has no {field.name}"
            for value in field.values:
                meaning_from(plain if value == tables.ANYTHING else {**plain, field.name: value})
    except ValueError as error:
        return str(error)
    return None


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(SAYINGS).as_posix())
def test_a_file_of_sayings_can_be_read(path: Path) -> None:
    """Lines under a heading, each with meanings whose kinds, fields and values the models take."""
    sayings = _of(path)
    assert sayings
    assert all(saying.heading for saying in sayings), "lines before the first heading"
    faults = {
        saying.where: fault
        for saying in sayings
        for meaning in _meanings(saying)
        if (fault := _fault(meaning))
    }
    assert not faults


def test_no_saying_stands_twice() -> None:
    """Not even in other capitals, nor among the sayings the exact reader is tested with."""
    words = Counter(saying.words.lower() for path in FILES for saying in _of(path))
    assert not [one for one, count in words.items() if count > 1]
    assert not words.keys() & {saying.words.lower() for saying in tables.utterances()}


def test_every_act_has_its_sayings() -> None:
    counted = Counter(
        name
        for path in FILES
        for saying in _of(path)
        for name in {meaning.name for meaning in _meanings(saying) if meaning.sort == "act"}
    )
    assert {act: counted[act] for act in ACTS if counted[act] < FEWEST} == {}
