"""A worked example spoken aloud: a synthetic voice, the bundled recogniser, the ledger's answer."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation, Settings
from fieldvoice.nlu import Interpreter
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Samples
    from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser

NINE = datetime(2027, 3, 5, 9, tzinfo=timezone(timedelta(hours=-5)))

#: Trade facts, EVP-01: 30 gal of 2 % on 6 ft² at a gallon a square foot an hour are 0.69 gal of
#: syrup in 4.9 h at the boil.
SPOKEN = [
    ("poured thirty gallons into tank one", "30 gal"),
    ("tank one tests two percent", "2 % sugar"),
    ("how much syrup will tank one make", "0.69 gal"),
    ("how long to boil tank one", "5 hours"),
    ("what should i boil today", "Tank 1 can wait: light the fire by tomorrow"),
    ("when must i start", "at the latest"),
]


@pytest.mark.long
def test_yield_and_hours_by_voice(
    recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples]
) -> None:
    """Each sentence is heard, taken and answered with the number worked beside it."""
    with Book.in_memory_copy() as book:
        talk = Conversation(book, Interpreter(GRAMMAR), Settings(pan_ft2=6), clock=lambda: NINE)
        for words, told in SPOKEN:
            reply = talk.hear(recogniser.recognise(say(words)), source="live")
            assert reply.heard.text == words
            assert told in reply.text, reply.text
