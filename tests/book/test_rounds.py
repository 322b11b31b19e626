"""Where a round begins and ends, and the order in which the trees are come to."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from fieldvoice.book.rounds import PAUSE, Round, Rounds, visited_in
from fieldvoice.schema import Act, meaning_from

START = datetime(2027, 3, 5, 9, tzinfo=UTC)
BEGIN, END = {"act": "round", "phase": "start"}, {"act": "round", "phase": "stop"}


def look(*trees: int) -> list[dict[str, Any]]:
    return [{"act": "inspect", "tree": tree, "fill": 0.5} for tree in trees]


def walking(*parts: list[dict[str, Any]] | dict[str, Any] | timedelta) -> Rounds:
    """Return what notes made a minute apart come to; a timedelta is a pause."""
    at, taken = START, Rounds()
    for part in parts:
        if isinstance(part, timedelta):
            at += part
            continue
        for fields in part if isinstance(part, list) else [part]:
            act = meaning_from(fields)
            assert isinstance(act, Act)
            taken.take(at, act, visited_in(act))
            at += timedelta(minutes=1)
    return taken


def rounds(*parts: list[dict[str, Any]] | dict[str, Any] | timedelta) -> tuple[Round, ...]:
    """Return the rounds in such notes."""
    return walking(*parts).rounds()


#: Notes, and the trees of each round in them.
ROUNDS = [
    pytest.param([look(3, 7, 5)], [(3, 7, 5)], id="one walk is one round"),
    pytest.param([look(3, 7, 3)], [(3, 7)], id="a tree seen twice counts once"),
    pytest.param([look(3), PAUSE, look(7)], [(3,), (7,)], id="after a long pause another begins"),
    pytest.param([look(3), BEGIN, look(7)], [(3,), (7,)], id="one said to begin begins"),
    pytest.param([BEGIN, look(3), PAUSE, look(7)], [(3, 7)], id="one said to begin may rest"),
    pytest.param([BEGIN, look(3), 2 * timedelta(hours=12), look(7)], [(3,), (7,)], id="not a day"),
    pytest.param([look(3, 7), END, look(3)], [(3, 7), (3,)], id="a tree again after the end"),
    pytest.param([look(3, 7), END, look(5)], [(3, 7, 5)], id="a tree forgotten still counts"),
    pytest.param([look(3, 7), END, PAUSE, look(5)], [(3, 7), (5,)], id="but not hours later"),
    pytest.param([END, look(3)], [(3,)], id="an end without a round is nothing"),
]  # fmt: skip


@pytest.mark.parametrize(("parts", "trees"), ROUNDS)
def test_where_a_round_begins_and_ends(parts: list[Any], trees: list[tuple[int, ...]]) -> None:
    assert [walked.trees for walked in rounds(*parts)] == trees


@pytest.mark.parametrize(
    ("parts", "later", "is_open"),
    [
        ([look(3)], PAUSE, True),
        ([look(3)], PAUSE + timedelta(minutes=2), False),
        ([BEGIN, look(3)], timedelta(hours=14), True),
        ([BEGIN, look(3)], timedelta(hours=15), False),
        ([look(3), END], timedelta(0), False),
    ],
)
def test_how_long_a_round_is_open(parts: list[Any], later: timedelta, is_open: bool) -> None:
    """Announced at nine it lasts to midnight; else to the pause after its last tree."""
    (walked,) = rounds(*parts)
    assert walked.is_open(START + later) is is_open


#: The trees of rounds one after the other, and the walk after them.
WALKS = [
    ([(3, 7, 5)], (3, 7, 5)),
    ([(3, 7, 5), (3, 5)], (3, 7, 5)),
    ([(3, 7, 5), (5, 3)], (5, 3, 7)),
    ([(1, 2, 3, 4, 5), (1, 3)], (1, 2, 3, 4, 5)),
    ([(1, 2, 3), (1, 50)], (1, 50, 2, 3)),
    ([(1, 2, 3), (1, 50, 2, 3)], (1, 50, 2, 3)),
    ([(1, 2, 3), (3, 2, 1)], (3, 2, 1)),
    ([(2, 3), (3,)], (2, 3)),
]


@pytest.mark.parametrize(("walked", "walk"), WALKS)
def test_the_order_of_the_walk(walked: list[tuple[int, ...]], walk: tuple[int, ...]) -> None:
    """That of the last round; a tree left out follows the tree that it followed before."""
    notes = [part for trees in walked for part in (BEGIN, look(*trees))]
    assert walking(*notes).walk() == walk
