"""What is said after a danger was told of.

"Can I pour water on it" is about the fire just told of: who asks has no time for another subject's
answer, so that what was told is told again. "We ate it already" is small talk, but after mold.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.follow_ups import is_recent, recent
from fieldvoice.dialogue.waiting import is_question
from fieldvoice.handbook.card import words
from fieldvoice.handbook.emergency import emergency_in
from fieldvoice.schema.asks.season import Advice
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.handbook.card import Card

#: So many of the newest utterances are looked back on.
_LOOK_BACK = 4
#: A question about what goes on is no longer than this, in words.
_LONGEST = 9

#: Cards of what is not to be eaten, or may not be; and words of having eaten it.
_DOUBTFUL = frozenset(
    "ants-and-dirt bleach-and-vinegar bleach-strength boil-galvanized botulism broken-glass "
    "galvanized-bucket gone-bad held-before lead-limits lead-test mold mouse-in-bucket ropey-sap "
    "soldered sour-sap swallowed taste-chemical taste-fermented taste-metal taste-musty "
    "warm-the-glass".split()
)
_EATEN = frozenset("ate eaten drank drunk swallowed tasted".split())


def told_before(text: str, moment: TurnContext) -> Card | None:
    """Return the card of the emergency that ``text`` may ask about; None if it is none."""
    if len(text.split()) > _LONGEST or not is_question(text):
        return None
    for one in reversed(moment.book.utterances(_LOOK_BACK)):
        # A card that was only found, and not cried for, is no emergency.
        hurt = emergency_in(typed(one.text)) if is_recent(one, moment) else None
        if hurt is not None:
            return hurt
    return None


def eaten_after(text: str, moment: TurnContext) -> Advice | None:
    """Return what is told to who has eaten what was just warned of; None where that is not said."""
    if len(text.split()) > _LONGEST or _EATEN.isdisjoint(words(text)):
        return None
    told = {ask.topic for ask in recent(moment).asks if isinstance(ask, Advice)}
    return Advice(topic="sick-after-eating") if told & _DOUBTFUL else None
