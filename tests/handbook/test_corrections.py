"""What can hurt, and what was told wrongly once: each is answered by the right card.

Everyday wordings lead to a card whose spoken text itself has the words that matter, the danger
before the advice. The sources are those that the cards name.
"""

from __future__ import annotations

import re

import pytest

from fieldvoice.handbook import with_numbers
from fieldvoice.handbook.loader import shipped

BOOK = shipped()
CARDS = {card.id: card for card in BOOK.cards}

#: Askings, the level that the card must have, and what is said, in this order.
TOLD = [
    # Lead, and what is boiled in.
    ("can i use a soldered pan", "stop", ["lead", "don't", "test"]),
    ("can i use an old soldered bucket", "stop", ["lead", "don't", "test"]),
    ("is an old soldered evaporator safe", "stop", ["lead", "don't", "test"]),
    ("can i use an old stainless pan", "care", ["solder", "lead"]),
    ("can i boil in a galvanized pan", "stop", ["Never", "zinc", "lead"]),
    ("can i use galvanized buckets", "care", ["lead", "never"]),
    ("can i boil in an aluminum pot", "care", ["stainless"]),
    ("can i boil in a copper kettle", "stop", ["Don't", "copper"]),
    ("can i boil in an iron pot", "stop", ["No plain iron"]),
    ("how do i test for lead", "care", ["Sand", "No color isn't proof", "lab"]),
    # Emergencies.
    ("i burned my hand what do i do", "emergency", ["running water", "twenty", "No ice", "911"]),
    ("what do i do for a burn", "emergency", ["running water", "twenty"]),
    ("somebody got burned", "emergency", ["water", "twenty"]),
    ("i spilled syrup on my arm", "emergency", ["water", "twenty"]),
    ("my toddler got scalded", "emergency", ["911", "water"]),
    ("the pan is on fire", "emergency", ["Stand back", "No water", "911"]),
    ("the pan caught fire what do i do", "emergency", ["Stand back", "No water"]),
    ("the tank is on fire", "emergency", ["out", "911"]),
    ("the stack is on fire", "emergency", ["out", "911", "No water"]),
    ("fire", "emergency", ["out", "911"]),
    ("help", "emergency", ["911"]),
    ("i feel dizzy by the pan", "emergency", ["fresh air", "911"]),
    ("i have a headache and feel dizzy", "emergency", ["fresh air", "911"]),
    ("the alarm went off", "emergency", ["fresh air", "911"]),
    ("i cut my hand", "emergency", ["Press hard", "911"]),
    ("he fell off the ladder", "emergency", ["Don't move", "warm", "911"]),
    ("i breathed in bleach fumes", "emergency", ["fresh air", "911", "1-800-222-1222"]),
    ("can i mix bleach and vinegar", "stop", ["Never", "poison gas"]),
    # The pan.
    ("the pan is running dry what do i do", "stop", ["Stand back", "Fire down", "nothing cold"]),
    ("the pan is running low", "care", ["wet", "Slow the fire", "flood"]),
    ("the pan is boiling over", "care", ["Stand back", "defoamer", "two inches"]),
    ("can i save burnt syrup", "care", ["Throw", "seams", "plain water"]),
    ("how do i get niter off the pan", "care", ["bleach", "vinegar"]),
    ("can i boil in the garage", "stop", ["Never", "vented sugarhouse", "CO alarm"]),
    ("can i boil on the kitchen stove", "care", ["last gallon", "outdoors"]),
    # Sap.
    ("the sap is ropey", "stop", ["Dump", "foams over"]),
    ("my sap is sour", "stop", ["Dump"]),
    ("the sap is cloudy", "care", ["by itself"]),
    ("what is buddy sap", "care", ["apart"]),
    ("can i drink sap", "care", ["Boil it first", "rolling minute", "Never"]),
    # Syrup and its gear.
    ("there is mold on my syrup what do i do", "stop", ["Throw it out", "other jars"]),
    ("how do i clean the filter", "note", ["Hot water only", "no soap", "no bleach"]),
    ("can i use bleach on the filter", "note", ["Hot water only", "no bleach"]),
    ("how much bleach in a gallon of water", "care", ["vinegar", "Half a cup"]),
    ("how do i read the hydrometer", None, ["cup", "surface", "temperature"]),
    # Work, before it is done.
    ("i am going gathering", "care", ["ice", "tell someone", "half pails"]),
    ("tapping today what should i watch", "care", ["Two hands", "eyes", "never from a ladder"]),
    ("about to draw off", "care", ["Gloves", "children back", "sticks and burns"]),
    ("light the fire", "care", ["Never gasoline"]),
    ("can i leave the pan", "stop", ["Don't leave"]),
    ("how do i split wood", "care", ["Eyes covered", "nobody near"]),
    ("how do i cut down a tree", "stop", ["trained", "course"]),
    # Trees.
    ("can i tap a birch", "note", ["after maple", "over 100"]),
    ("can i tap a sycamore", "note", ["sycamore", "can be tapped"]),
    ("can i tap a walnut", "note", ["Walnut", "can be tapped"]),
    ("can i tap an oak", "stop", ["No"]),
    ("can i tap a pine", "stop", ["No"]),
    ("can i tap an ash tree", "stop", ["No"]),
    ("how do i tell a maple in winter", "note", ["opposite", "brown buds", "red round buds"]),
    ("can i tap trees along the road", "care", ["Ask who owns"]),
    ("how much sap do i get from one tap", "note", ["ten gallons", "quart"]),
    # What else people ask.
    ("how do i make maple cream", None, ["22 to 24"]),
    ("what temperature for maple candy", None, ["32 to 34"]),
    ("how do i tell the grade without a meter", None, ["daylight", "darker"]),
    ("do i need a license to sell syrup", None, ["food agency"]),
    ("is reverse osmosis worth it", None, ["half the water"]),
]


@pytest.mark.parametrize(("asking", "level", "told"), TOLD, ids=[asking for asking, *_ in TOLD])
def test_the_right_card_says_what_matters_in_the_right_order(finder, asking, level, told):
    card = finder.find(asking)[0].card
    assert level in (None, card.level), card.id
    said = with_numbers(card.say).lower()
    places = [said.find(words.lower()) for words in told]
    assert -1 not in places, (card.id, card.say)
    assert places == sorted(places), (card.id, card.say)


@pytest.mark.parametrize(
    ("card", "never"),
    [
        ("mold", "skim"), ("pan-dry", "add sap"), ("pan-low", "slowly"), ("hot-syrup", "219"),
        ("vented-boil", "outdoors only"), ("clean-filter", "brush"),
    ],
)  # fmt: skip
def test_what_was_wrong_is_not_said(card, never):
    assert never not in CARDS[card].say.lower()


def test_a_stop_or_an_emergency_begins_with_what_to_do_or_not_to_do():
    """Not with a reason or a number that the listener has to wait through."""
    late = re.compile(r"^(because|since|if you|according|usually|about \d)", re.IGNORECASE)
    for card in BOOK.cards:
        if card.level in ("stop", "emergency"):
            assert not late.search(card.say), (card.id, card.say)


@pytest.mark.parametrize(
    ("card", "numbers"),
    [
        ("pan-low", ["0.62", "37 minutes", "75"]),
        ("lead-limits", ["250", "500"]),
        ("lead-test", ["56 of 104"]),
        ("burn-first-aid", ["20 minutes", "10 to 30"]),
        ("vented-boil", ["20 ft"]),
        ("stove-indoors", ["42 gal"]),
        ("old-holes", ["24 in", "12", "6"]),
        ("throw-ice", ["2.5", "6 %"]),
        ("boil-time", ["6.5 h", "4.9 h", "2.6 h"]),
        ("drink-sap", ["800"]),
        ("sick-tree", ["35 %", "65 %"]),
    ],
)
def test_the_reason_tells_its_numbers(card, numbers):
    for number in numbers:
        assert number in CARDS[card].why
