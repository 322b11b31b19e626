"""Words that cannot be read, and what is said to them: none, a whole file, another script."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.nlu.binder import NUMBER_WORDS
from fieldvoice.nlu.interpreter import LONGEST
from fieldvoice.segments import Example, Sentence, fact

if TYPE_CHECKING:
    from collections.abc import Iterator

#: More words or letters than anybody says in one breath: a text pasted in (a design choice).
_PASTED_WORDS, _PASTED_LETTERS = 300, 3000

_KEPT = "; your words are kept"


def is_pasted(text: str) -> bool:
    """Whether this is a text that nobody said or typed in one breath."""
    return len(text) > _PASTED_LETTERS or len(text.split()) > _PASTED_WORDS


def told_of(text: str) -> Iterator[Sentence]:
    """Yield why nothing in ``text`` could be read, where that can be told."""
    letters = [letter for letter in text if letter.isalpha()]
    if not any(sign.isalnum() for sign in text):
        yield fact("There are no words in that")
    elif is_pasted(text) or len(text.split()) > LONGEST:
        yield fact("That is too long for one note" + _KEPT)
        yield fact("Say one thing at a time")
    elif not letters or NUMBER_WORDS.issuperset(text.lower().replace(",", " ").split()):
        only = "That is only a number" if len(text.split()) == 1 else "Those are only numbers"
        yield fact(only + _KEPT)
        yield fact("Say what they are of:", Example("tree nine, two gallons"))
    elif not any(letter.isascii() for letter in letters):
        yield fact("I only know English" + _KEPT)
