"""What the book finds odd in a reading: it weighs, and never asks by itself."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.dialogue import plausibility
from fieldvoice.schema import meaning_from

if TYPE_CHECKING:
    from tests.dialogue.conftest import Talk


def price(talk: Talk, **fields: Any) -> float:
    """Return the price of a note, at this moment of the talk."""
    moment = talk.conversation._moment("live")
    return plausibility.strangeness((meaning_from(fields),), moment)


#: What was said before, a note, and the price that the book puts on it.
ODD = [
    ([], {"act": "inspect", "tree": 9, "fill": 0.5}, 0.0),
    (["tree nine is full"], {"act": "inspect", "tree": 9, "fill": 0.5}, plausibility.FELL),
    (["tree nine is half full"], {"act": "inspect", "tree": 9, "fill": 1.0}, 0.0),
    (["tree nine two gallons"], {"act": "inspect", "tree": 9, "fill": 0.5}, 0.0),
    (["pulled the spile on tree nine"], {"act": "gather", "tree": 9, "volume_gal": 1.0},
     plausibility.OUT_OF_TIME),
    (["tree nine two taps"], {"act": "inspect", "tree": 8, "fill": 0.5}, plausibility.UNKNOWN_TREE),
    (["tree nine two taps"], {"act": "inspect", "tree": 9, "fill": 0.5}, 0.0),
    ([], {"act": "gather", "tree": 9, "volume_gal": 40.0}, plausibility.UNLIKELY),
]  # fmt: skip


@pytest.mark.parametrize(("before", "note", "wanted"), ODD)
def test_what_the_book_finds_odd(
    talk: Talk, before: list[str], note: dict[str, Any], wanted: float
) -> None:
    """A bucket does not empty itself; nobody gathers where the spile is pulled."""
    for line in before:
        talk.say(line)
    assert price(talk, **note) == pytest.approx(wanted)


def test_nobody_taps_in_july(talk: Talk) -> None:
    """The sap runs between the first thaw and the buds (common practice); packing goes on."""
    talk.wait(days=130)
    assert talk.now.month == 7
    assert price(talk, act="tap", tree=9) == plausibility.OUT_OF_TIME
    assert price(talk, act="pack", count=2, size="pint") == 0.0


def test_what_is_odd_is_saved_all_the_same_when_it_was_clear(talk: Talk) -> None:
    """The price decides between readings; it changes nothing that was clearly said."""
    talk.say("tree nine is full")
    talk.now += timedelta(minutes=1)
    assert talk.say("tree nine is half full", source="live").outcome == "saved"


@pytest.mark.parametrize(
    ("before", "said", "outcome"),
    [
        ((), "poured eighty gallons into barrel one", "asked"),
        ((), "barrel one has eighty gallons in it", "asked"),
        ((), "poured eight gallons into barrel one", "saved"),
        ((), "poured eighty gallons into tank one", "saved"),
        (("barrel one can hold ninety gallons",), "poured eighty gallons into barrel one", "saved"),
    ],
)
def test_a_barrel_of_which_nothing_is_told_is_a_usual_one(
    talk: Talk, before: tuple[str, ...], said: str, outcome: str
) -> None:
    """ "Eight gallons into barrel one" is heard as eighty."""
    assert talk.say(*before, said).outcome == outcome
