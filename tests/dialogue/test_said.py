"""What was said of a thing: the newest of it, how much more there is, what was put right."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from fieldvoice.schema import meaning_from
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from tests.dialogue.conftest import Talk


def write(talk: Talk, count: int) -> None:
    """Write so many notes on tree 9, a minute apart, the last a minute ago."""
    for number in range(count, 0, -1):
        note = meaning_from({"act": "gather", "tree": 9, "volume_gal": float(number)})
        talk.book.take(at=talk.now - timedelta(minutes=number), source="typed",
                       heard=typed("words"), outcome="saved", meanings=[note], reply="",
                       notes=[note])  # fmt: skip


@pytest.mark.parametrize(
    ("count", "rest"),
    [(3, ""), (4, " And 1 note before."), (103, " And 100 notes before."),
     (104, " And more than 100 notes before."), (400, " And more than 100 notes before.")],
)  # fmt: skip
def test_few_are_told_and_many_are_not_counted(talk: Talk, count: int, rest: str) -> None:
    """Three of a thing, the newest first."""
    write(talk, count)
    told = "Tree 9: 1 gal, just now. 2 gal, 2 minutes ago. 3 gal, 3 minutes ago."
    assert talk.say("what did i say about tree nine").text == told + rest


def test_what_was_put_right_says_what_it_was(talk: Talk) -> None:
    talk.say("tree nine two gallons", "no three gallons", "tree ten is full")
    reply = talk.say("what did i say about tree nine")
    assert reply.text == "Tree 9: 3 gal, just now, changed from 2 gal."


def test_what_was_all_taken_back_is_told_so(talk: Talk) -> None:
    talk.say("tree nine two gallons", "undo")
    reply = talk.say("what did i say about tree nine")
    assert reply.text == "All taken back. Tree 9: 2 gal, just now, taken back."


def test_a_note_far_back_is_put_right_by_its_tree(talk: Talk) -> None:
    """What can be changed so is looked for behind all that cannot."""
    talk.say("tree nine is twelve inches")
    write(talk, 300)
    reply = talk.say("tree nine should be fourteen inches")
    assert "14 in" in reply.text
    measured = [entry.act.diameter_in for entry in talk.book.entries_of("measure")]
    assert measured == [14.0]
