"""Numbers that sound like small words: "for pints" is four of them, "tree to" the second.

No sound tells them apart, so that where the words beside one ask for a number it is put there, and
whether that can be said is for the grammar to find.
"""

from __future__ import annotations

#: What small words may be taken for, and those words.
_NUMBERS = {"for": "four", "to": "two", "too": "two", "ate": "eight", "won": "one"}
HEARD_FOR_NUMBERS = frozenset(_NUMBERS)

#: A number stands before these, ...
_COUNTED = frozenset(
    "gallons quarts pints liters litres inches feet degrees percent taps holes spiles spouts "
    "buckets pails jars bottles jugs trees cords drops".split()
)
#: ... and after these.
_NUMBERED = frozenset({"tree", "tank", "tote", "barrel", "number"})
#: Before these it is the small word after all: "from tree to tree", "the tank to the brim".
_GOES_ON = _NUMBERED | frozenset("the a an my our this that it be get see go do make have".split())


def with_figures(text: str) -> str:
    """Return what was heard with the number in place of the word that sounds like it.

    >>> with_figures("packed for pints")
    'packed four pints'
    """
    words = text.split()
    told = list(words)
    for at, word in enumerate(words):
        counts = at + 1 < len(words) and words[at + 1] in _COUNTED
        names = (
            at > 0 and words[at - 1] in _NUMBERED and not _GOES_ON.intersection(words[at + 1 :][:1])
        )
        if counts or names:
            told[at] = _NUMBERS.get(word, word)
    return " ".join(told)
