"""Greetings and thanks: answered in a word, and no more than that."""

from __future__ import annotations

import re

#: What is said first and last, and what is said back: a whole utterance is one, or it is none.
_GREETINGS = (
    "hi", "hello", "hey", "hi there", "hello there", "hey there", "howdy", "good morning",
    "morning", "good afternoon", "good evening", "good day",
)  # fmt: skip
_THANKS = ("thanks", "thank you", "thanks a lot", "thank you very much", "many thanks", "cheers")
_FAREWELLS = (
    "bye", "goodbye", "good bye", "good night", "see you", "see you later", "so long", "quit",
    "exit", "i'm done", "that's all",
)  # fmt: skip

_REPLIES = {
    **dict.fromkeys(_GREETINGS, "Hello."),
    **dict.fromkeys(_THANKS, "You're welcome."),
    **dict.fromkeys(_FAREWELLS, "Goodbye."),
}


def is_farewell(text: str) -> bool:
    """Whether this ends the talk: "quit", "bye"."""
    return _plain(text) in _FAREWELLS


def greeted(text: str) -> str | None:
    """Return what is said back to a greeting; None for words that are none."""
    return _REPLIES.get(_plain(text))


def _plain(text: str) -> str:
    return " ".join(re.findall(r"[a-z']+|[^\sa-z',.!?]+", text.lower()))
