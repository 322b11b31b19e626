"""Notes found by their words: the words that tell, without the small ones and their endings."""

from __future__ import annotations

import re

#: Words that are in every other note, or only put the question.
_SMALL = frozenset(
    "a an the and or of in on at to for from with by is are was were it its that this my our your "
    "about any anything something some there did do we i you he she they said note notes".split()
)
_ENDINGS = ("ings", "ing", "es", "ed", "s")


def telling_words(text: str) -> frozenset[str]:
    """Return the words of a text by their stems: "washing the filters" is "wash" and "filter"."""
    words = re.findall(r"[\w']+", text.casefold())
    return frozenset(stem(word) for word in words if word not in _SMALL)


def stem(word: str) -> str:
    """Return a word without its ending."""
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word.removesuffix(ending)
    return word
