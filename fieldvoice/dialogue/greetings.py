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
    "exit", "i'm done", "that's all", "night", "night night",
)  # fmt: skip

_REPLIES = {
    **dict.fromkeys(_GREETINGS, "Hello."),
    **dict.fromkeys(_THANKS, "You're welcome."),
    **dict.fromkeys(_FAREWELLS, "Goodbye."),
}


#: Who or what is thanked or greeted: said beside a greeting, and nothing by itself.
_BESIDE = ("dear", "everyone", "everybody", "so much", "again", "for now", "then", "and", "all")
_LONGEST_FIRST = sorted((*_REPLIES, *_BESIDE), key=len, reverse=True)


def is_farewell(text: str) -> bool:
    """Whether this ends the talk: "quit", "bye"."""
    return _plain(text) in _FAREWELLS


def greeted(text: str) -> str | None:
    """Return what is said back to a greeting; None for words that are none.

    Of several in a row the last is answered: "thanks, bye".
    """
    rest, reply = _plain(text), None
    while rest:
        said = next((one for one in _LONGEST_FIRST if f"{rest} ".startswith(f"{one} ")), None)
        if said is None:
            return None
        reply = _REPLIES.get(said, reply)
        rest = rest[len(said) :].strip()
    return reply


def _plain(text: str) -> str:
    return " ".join(re.findall(r"[a-z']+|[^\sa-z',.!?]+", text.lower()))
