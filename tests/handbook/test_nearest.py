"""Finding cards by what is asked: own askings, askings by other mouths, and words of nothing."""

from __future__ import annotations

import time
from collections import Counter

import pytest

from fieldvoice.handbook.card import words
from fieldvoice.handbook.loader import shipped
from fieldvoice.handbook.nearest import FLOOR, MARGIN
from tests.handbook.other_mouths import held_out

BOOK = shipped()
HELD_OUT = [*held_out()]


@pytest.mark.long
def test_each_card_is_found_first_by_its_own_askings(finder):
    for card in BOOK.cards:
        for asking in card.asked:
            assert finder.find(asking)[0].card is card
            assert finder.find(asking)[0].score == 1


def test_held_out_askings_are_of_cards_that_are_there_and_stand_in_none():
    ids = {card.id for card in BOOK.cards}
    known = {" ".join(words(asking)) for card in BOOK.cards for asking in card.asked}
    for one in HELD_OUT:
        assert ids.issuperset(one.cards), one
        assert " ".join(words(one.words)) not in known, one
    counted = Counter(one.card for one in HELD_OUT)
    assert {card: counted[card] for card in ids if counted[card] < 4} == {}


def test_other_mouths_are_understood_as_often_as_is_claimed(finder):
    """Floors a little under what was measured; better cards and finders raise them."""
    first = three = 0
    for asking in HELD_OUT:
        found = [one.card.id for one in finder.find(asking.words)[:3]]
        first += not set(found[:1]).isdisjoint(asking.cards)
        three += not set(found).isdisjoint(asking.cards)
    assert first / len(HELD_OUT) >= FIRST
    assert three / len(HELD_OUT) >= THREE


#: Measured: 0.728 and 0.874 on 1,693 askings of 355 cards.
FIRST, THREE = 0.70, 0.86


def test_an_emergency_by_other_mouths_is_among_the_first_three(finder):
    level = {card.id: card.level for card in BOOK.cards}
    cries = [one for one in HELD_OUT if level[one.card] == "emergency"]
    found = [
        any(one.card.level == "emergency" for one in finder.find(cry.words)[:3]) for cry in cries
    ]
    assert len(cries) >= 40
    assert sum(found) / len(found) >= 0.95


def test_a_word_typed_in_a_hurry_still_counts(finder):
    assert finder.find("can i boil in a galvinized pan")[0].card.id == "boil-galvanized"


@pytest.mark.parametrize("text", ["", "?!", "zzqx"])
def test_nothing_in_common_finds_nothing(finder, text):
    assert finder.find(text) == ()
    assert finder.named(text) == ()


def test_far_away_words_name_no_card(finder):
    assert finder.named("quarterly stock exchange dividends") == ()


def test_cards_too_near_to_tell_apart_are_both_named(finder):
    found = finder.find("foam")
    named = finder.named("foam")
    assert found[0].score >= FLOOR
    assert named == tuple(one for one in found if one.score >= found[0].score - MARGIN)


def test_finding_takes_under_twenty_milliseconds(finder):
    times = []
    for asking in HELD_OUT[:40]:
        began = time.process_time()
        finder.find(asking.words)
        times.append(time.process_time() - began)
    assert sorted(times)[len(times) // 2] < 0.02
