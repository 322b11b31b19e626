"""Notes found by their words: the words that tell, without the small ones and their endings."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

#: Words that are in every other note, or only put the question.
_SMALL = frozenset(
    "a an the and or of in on at to for from with by is are was were it its that this my our your "
    "about any anything something some there did do we i you he she they said note notes".split()
)
_ENDINGS = ("ings", "ing", "es", "ed", "s")


def telling_words(text: str) -> frozenset[str]:
    """Return the words of a text by their stems: "washing the filters" is "wash" and "filter"."""
    words = re.findall(r"[\w']+", text.casefold())
    return frozenset(_stem(word) for word in words if word not in _SMALL)


def _stem(word: str) -> str:
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word.removesuffix(ending)
    return word


#: What a question is put with, and what every other remark is about: alone they find none.
_OFTEN = frozenset(
    _stem(word)
    for word in "what when where who whom whose which how why much many often ever again last "
    "first next new old had has have been was will would should can must may need needs want get "
    "got give gave go went come came make made take took put say tell told know think remember "
    "forget write wrote noted thing things way one ones two all every more most less least right "
    "wrong good bad okay still yet now then today yesterday tomorrow tonight morning evening night "
    "could week day days month year season time long far not no yes please problem matter tree "
    "tank tanks sap syrup bucket buckets boil fire jar jars pan water wood gallon gallons".split()
)
_LEAST_LETTERS = 3


def remarked(text: str, remarks: Iterable[str]) -> str | None:
    """Return the words that a question shares with the first of ``remarks`` that it may mean.

    They are words that remarks seldom have; None where it shares none.
    """
    asked = {word for word in telling_words(text) - _OFTEN if len(word) >= _LEAST_LETTERS}
    for remark in remarks:
        shared = asked & telling_words(remark)
        if shared and len(shared) * 2 >= len(asked):
            return " ".join(sorted(shared))
    return None
