"""The cards that are shipped: without fault, asked in many ways, and tied to what there is."""

from __future__ import annotations

import re
from pathlib import Path

from fieldvoice.handbook import Numbers, with_numbers
from fieldvoice.handbook.loader import shipped
from fieldvoice.rules import RULES
from fieldvoice.schema.asks import ASKS

BOOK = shipped()
GRAMMARS = Path(__file__).parents[2] / "grammars"


def test_no_card_has_a_fault():
    assert [str(fault) for fault in BOOK.faults] == []


def test_there_is_a_card_for_each_thing_that_people_ask():
    assert len(BOOK.cards) >= 220
    assert {card.id: len(card.asked) for card in BOOK.cards if len(card.asked) < 20} == {}


def test_nothing_is_ever_called_safe():
    safe = re.compile(r"\bsafe(ly)?\b", re.IGNORECASE)
    assert {card.id: card.say for card in BOOK.cards if safe.search(card.say)} == {}


def test_a_rule_that_a_card_names_is_there():
    named = {card.rule for card in BOOK.cards if card.rule}
    assert named - {*RULES, *ASKS} == set()


def test_each_topic_of_the_grammar_is_a_card():
    told = " ".join(file.read_text("utf-8") for file in GRAMMARS.glob("*.jsgf"))
    named = set(re.findall(r"\{topic=([^}]+)\}", told))
    assert named <= {card.id for card in BOOK.cards}


def test_no_card_tells_a_telephone_number_that_nobody_could_set():
    numbers = Numbers(emergency="112", poison="the clinic")
    told = {card.id: with_numbers(f"{card.say} {card.why}", numbers) for card in BOOK.cards}
    assert {name: text for name, text in told.items() if "911" in text or "222-1222" in text} == {}


def test_an_emergency_tells_whom_to_call():
    urgent = [card for card in BOOK.cards if card.level == "emergency"]
    assert len(urgent) >= 19
    assert [card.id for card in urgent if "{emergency}" not in card.say] == []
