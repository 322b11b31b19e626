"""Questions that only go on with one about the trade: "and in the freezer", "how high then"."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from fieldvoice.dialogue.follow_ups import recent
from fieldvoice.dialogue.policy import Answer, Reject
from fieldvoice.dialogue.proposals import BANDS, with_second
from fieldvoice.dialogue.weighing import weigh
from fieldvoice.schema.asks.season import Advice, ContainerAdvice
from fieldvoice.schema.asks.trees import HoleAdvice, SpeciesAdvice

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.policy import Decision
    from fieldvoice.dialogue.reader import Reader
    from fieldvoice.transcript import Transcript

#: Words that join, and those that a question may begin with which needs another before it.
_JOINED = re.compile(r"(?:and|or|but|(?:and |or |but )?(?:what|how) about)\b\W*\w", re.IGNORECASE)
_BARE = re.compile(
    r"(?:how \w+|(?:in|on|with|without|for|at|after|before|if) \w+(?: \w+)?)(?: then)?\W*",
    re.IGNORECASE,
)
_MOST_WORDS = 5
#: What is asked of the trade, and not of the book.
_OF_TRADE = (Advice, ContainerAdvice, HoleAdvice, SpeciesAdvice)
#: What was asked before makes any card likelier that is near to it.
_BANDS = replace(BANDS, card=0.5)


def of_trade_before(
    decided: Decision, heard: Transcript, moment: TurnContext, reader: Reader
) -> Decision:
    """Return the other card that is meant when what was asked before is said with these words.

    What names a tree or vessel goes on with nothing; nor does what leads to the same card.
    """
    if not _goes_on(decided, heard.text):
        return decided
    told = recent(moment)
    is_of_trade = len(told.asks) == 1 and isinstance(told.asks[0], _OF_TRADE)
    if not is_of_trade or told.utterance is None or reader.named(heard.text, moment.names):
        return decided
    both = heard.saying(f"{told.utterance.text} {heard.text}")
    reading = reader.second(both, moment.names, cards_only=True)
    if reading is None or reading.meanings == told.asks:
        return decided
    unknown = Reject("goes on")
    found = with_second(unknown, reading, partial(weigh, moment=moment), _BANDS)
    return decided if found is unknown else found


def _goes_on(decided: Decision, text: str) -> bool:
    """Whether words are few, and such that a question before them may be meant too."""
    if len(text.split()) > _MOST_WORDS:
        return False
    if isinstance(decided, Answer) and not decided.echo and not _is_of_that(decided):
        return False
    is_open = isinstance(decided, Reject | Answer)
    return is_open and (_JOINED.match(text) or _BARE.fullmatch(text)) is not None


def _is_of_that(decided: Answer) -> bool:
    """Whether a question takes what it is of from what was told, and names nothing itself."""
    return all(set(one.json_fields()) == {"ask"} for one in decided.candidate.meanings)
