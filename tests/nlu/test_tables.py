"""The tables of sayings, each line read by itself as if it had been typed.

What the grammar does not have is read by the wordings that come along, which are made of these
lines too: a shipped saying is a wording already learnt.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import datetime, timedelta, timezone
from functools import cache
from typing import TYPE_CHECKING
from zlib import crc32

import pytest

from fieldvoice.dialogue.policy import COST_TO_SAVE
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.times import dated
from fieldvoice.nlu.wordings import come_along
from fieldvoice.schema import ACTS, ASKS, COMMANDS, Act, EntityMention
from fieldvoice.transcript import typed
from tests.nlu import tables
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.schema import Meaning
    from tests.nlu.tables import Saying

UNDERSTANDER = Interpreter(GRAMMAR, wordings=come_along)

#: The tables' clock is five hours behind Greenwich.
EASTERN = timezone(timedelta(hours=-5))

#: Every act, ask and command has at least so many sayings.
FEWEST = 12


#: Of so many sayings one is read at every change, the others with the long tests.
ONE_IN = 3
LONG = pytest.mark.long


def _parts(sayings: list[Saying]) -> list[object]:
    """Return the sayings in parts: of each file a third, and the rest for the long tests."""
    parts: dict[tuple[str, bool], list[Saying]] = defaultdict(list)
    for saying in sayings:
        at_once = crc32(saying.words.encode()) % ONE_IN == 0
        parts[saying.where.partition(":")[0], at_once].append(saying)
    return [
        pytest.param(part, id=name if at_once else f"{name} all", marks=() if at_once else LONG)
        for (name, at_once), part in sorted(parts.items())
    ]


def _best(saying: Saying) -> Hypothesis | None:
    names = EntityNames(frozenset(saying.trees), frozenset(saying.vessels))
    heard = typed(saying.words)
    read = UNDERSTANDER.read(heard, names=names)
    if read and read[0].cost <= COST_TO_SAVE:
        return read[0]
    return next(iter((*UNDERSTANDER.by_wording(heard, names=names), *read)), None)


def _would_be_saved(reading: Hypothesis | None) -> bool:
    """Whether the reading holds a note, at a price at which it is saved unasked."""
    return (
        reading is not None
        and reading.cost <= COST_TO_SAVE
        and any(isinstance(meaning, Act) for meaning in reading.meanings)
    )


def _only_names(reading: Hypothesis | None) -> bool:
    return reading is not None and all(isinstance(one, EntityMention) for one in reading.meanings)


@pytest.mark.parametrize("sayings", _parts(tables.utterances()))
def test_a_saying_means_what_the_table_says(sayings: list[Saying]) -> None:
    wrong = {}
    for saying in sayings:
        got = [meaning.json_fields() for meaning in _dated(saying, _best(saying))]
        if not saying.accepts(got):
            wrong[saying.where, saying.words] = got
    assert wrong == {}


def _dated(saying: Saying, reading: Hypothesis | None) -> Sequence[Meaning]:
    meanings = reading.meanings if reading else ()
    if saying.clock is None:
        return meanings
    clock = datetime.fromisoformat(saying.clock).replace(tzinfo=EASTERN)
    return [dated(meaning, clock) for meaning in meanings]


@pytest.mark.parametrize("sayings", _parts(tables.ambiguous()))
def test_an_ambiguous_saying_is_read_in_one_of_its_ways(sayings: list[Saying]) -> None:
    """Where asking back is as good, a reading that would not be saved unasked will do."""
    wrong = {}
    for saying in sayings:
        reading = _best(saying)
        got = [meaning.json_fields() for meaning in reading.meanings] if reading else []
        may_be_asked = () in saying.readings
        dear = reading is None or reading.cost > COST_TO_SAVE or _only_names(reading)
        if not (saying.accepts(got) or (may_be_asked and dear)):
            wrong[saying.where, saying.words] = got
    assert wrong == {}


@pytest.mark.parametrize("sayings", _parts(tables.not_records()))
def test_what_is_no_record_is_not_read_as_one(sayings: list[Saying]) -> None:
    read = {(saying.where, saying.words): _best(saying) for saying in sayings}
    assert {said: reading for said, reading in read.items() if _would_be_saved(reading)} == {}


@pytest.mark.parametrize("name", [*ACTS, *ASKS, *COMMANDS])
def test_every_kind_of_meaning_has_its_sayings(name: str) -> None:
    """At least a dozen sayings for each act, question and command."""
    assert _sayings_of_kinds()[name] >= FEWEST


@cache
def _sayings_of_kinds() -> Counter[str]:
    return Counter(
        name
        for saying in tables.utterances()
        for name in {meaning.name for meaning in saying.readings[0]}
    )


def test_no_words_stand_twice() -> None:
    """Neither in one table nor in two, where they could contradict each other."""
    words = [saying.words for saying in (*tables.utterances(), *tables.ambiguous())]
    assert not [one for one, count in Counter(words).items() if count > 1]
