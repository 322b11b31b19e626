"""A clock that is wrong: asked about once, nothing lost, no other year hidden."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book.exchange import export
from fieldvoice.schema import meaning_from
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from pathlib import Path

    from tests.dialogue.conftest import Talk

YEAR = timedelta(days=365)


@pytest.fixture
def begun(talk: Talk) -> Talk:
    """A talk with a note, whose clock is then four years ahead."""
    talk.say("put thirteen gallons in tank one")
    talk.now += 4 * YEAR
    return talk


def test_it_is_asked_once_and_a_yes_saves(begun: Talk) -> None:
    asked = begun.say("tree five half full")
    assert asked.outcome == "asked"
    assert asked.text.startswith("Your clock says March 4, 2031, and the last notes are of March")
    assert begun.say("yes").outcome == "saved"
    assert begun.say("tree six half full").outcome == "saved"
    assert len(begun.notes) == 3


def test_the_clock_put_right_asks_nothing_and_hides_nothing(begun: Talk) -> None:
    """A note stamped with a later year counts where it was written, and begins no season."""
    begun.say("tree five half full", "yes")
    begun.now -= 4 * YEAR
    assert begun.say("how much is in tank one").text == "Tank 1: 13 gal."
    assert begun.say("tree seven half full").outcome == "saved"
    assert begun.say("how much is in tank one").text == "Tank 1: 13 gal."


def test_a_no_keeps_for_the_review_and_asks_no_more(begun: Talk) -> None:
    begun.say("tree five half full")
    assert "Set the clock" in begun.say("no").text
    assert begun.say("tree six half full").outcome == "kept"
    assert len(begun.notes) == 1
    begun.now -= 4 * YEAR - timedelta(hours=1)
    kept = begun.book.kept()
    assert [one.text for one in kept] == ["tree five half full", "tree six half full"]
    for one in kept:
        assert begun.conversation.review(one, one.text).outcome == "saved"
    assert [entry.at.year for entry in begun.book.entries()] == [2027] * 3
    assert begun.book.kept() == []


def test_a_clock_that_begins_anew(talk: Talk) -> None:
    talk.say("put thirteen gallons in tank one")
    talk.now -= 7 * YEAR
    assert talk.say("tree five half full").text.startswith("Your clock says March 6, 2020")
    assert talk.say("how much is in tank one").text.startswith("Tank 1: 13 gal.")


@pytest.mark.parametrize("later", [timedelta(days=330), timedelta(days=390), timedelta(hours=-20)])
def test_next_season_and_another_time_zone_are_no_fault(talk: Talk, later: timedelta) -> None:
    talk.say("put thirteen gallons in tank one")
    talk.now += later
    assert talk.say("tree five half full").outcome == "saved"


def test_the_last_year_there_is(talk: Talk) -> None:
    talk.say("put thirteen gallons in tank one")
    talk.now = talk.now.replace(year=9999, month=12, day=31, hour=23)
    assert talk.say("tree five half full", "yes").outcome == "saved"
    assert talk.say("how much is in tank one").outcome == "answered"


#: What reckons with the day before or after, the last days, or hours to come.
_RECKONED = (
    "how is the season going", "what should i boil today", "when must i start", "emptied one",
    "remind me to wash the filters tomorrow", "remind me in three days to order lids",
    "check the pan in ten minutes", "how close are the buds", "what did i write today",
    "low of twenty high of forty two", "can i hold it over till saturday", "boiling tank one",
    "will it run tomorrow", "when was i last at tree five", "poured two gallons into tank one",
)  # fmt: skip
_ENDS = ("0001-01-01T00:00:10+14:00", "9999-12-31T23:59:50-12:00")


@pytest.mark.long
@pytest.mark.parametrize("end", _ENDS)
def test_at_the_ends_of_the_calendar(talk: Talk, end: str) -> None:
    """There is no day before, or none after; everything is answered all the same."""
    talk.now = datetime.fromisoformat(end)
    talk.say("tree five two gallons", "put thirteen gallons in tank one")
    for words in _RECKONED:
        assert talk.say(words).text
    assert talk.say("how much is in tank one").text.startswith("Tank 1: ")


@pytest.mark.parametrize("end", _ENDS)
def test_notes_stamped_so_hide_nothing(talk: Talk, end: str, tmp_path: Path) -> None:
    """They came by a table or a tag; they count where they were written."""
    talk.say("put thirteen gallons in tank one")
    for fields in ({"act": "gather", "tree": 3, "volume_gal": 2.0}, {"act": "round"}):
        note = meaning_from(fields)
        talk.book.take(at=datetime.fromisoformat(end), source="memo", heard=typed("x"),
                       outcome="saved", meanings=[note], reply="", notes=[note])  # fmt: skip
    assert talk.say("how much is in tank one").text.startswith("Tank 1: 13 gal")
    assert talk.say("what did i say about tree three").text.startswith("Tree 3: 2 gal")
    assert talk.say("tree five half full", "how is the season going").outcome == "answered"
    with talk.book.years(now=talk.now) as years:
        assert 2027 in years.seasons
    export(talk.book, tmp_path)
    assert end in (tmp_path / "notes.jsonl").read_text()
