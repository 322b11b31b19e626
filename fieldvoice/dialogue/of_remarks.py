"""A remark found by the words of a question that nobody knows: "which lid is cracked"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.dialogue.policy import Answer, Reject
from fieldvoice.dialogue.to_remind import awaited
from fieldvoice.dialogue.waiting import is_question
from fieldvoice.dialogue.weighing import weigh
from fieldvoice.dialogue.words_found import stem, telling_words
from fieldvoice.schema.acts import Remark
from fieldvoice.schema.asks.past import Reminders
from fieldvoice.schema.asks.season import Advice, Said

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.policy import Decision
    from fieldvoice.transcript import Transcript

#: Who says this asks for what was noted.
_NOTED = re.compile(r"\b(?:not(?:e|ed|es|ing)|wr(?:ite|ote|itten))\b", re.IGNORECASE)
#: Who opens so wants to know what to do.
_ADVICE = re.compile(
    r"(?:do i|do we|should|shall|can|could|may|how (?:do|loud|can))\b", re.IGNORECASE
)

#: What a question is put with, and what every other remark is about: alone they find none.
_OFTEN = frozenset(
    stem(word)
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


def of_a_remark(moment: TurnContext, heard: Transcript, decided: Decision) -> Decision:
    """Return the remark or reminder whose words a question has that nobody knows.

    A card gives way to a remark where the question is of a note.
    """
    asked = decided.candidate.meanings if isinstance(decided, Answer) else ()
    is_card = len(asked) == 1 and isinstance(asked[0], Advice)
    is_unknown = isinstance(decided, Reject) or (is_card and _NOTED.search(heard.text) is not None)
    if not (heard.is_plain and is_unknown and is_question(heard.text)):
        return decided
    if _ADVICE.match(heard.text):
        return decided
    if remarked(heard.text, (one.text for one in awaited(moment.season, moment.now))):
        return Answer(weigh((Reminders(),), moment), echo=True)
    newest = reversed(moment.book.entries_of("remark"))
    texts = (one.act.text or "" for one in newest if isinstance(one.act, Remark))
    words = remarked(heard.text, texts)
    return decided if words is None else Answer(weigh((Said(words=words),), moment), echo=True)
