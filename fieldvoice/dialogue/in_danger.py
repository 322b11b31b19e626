"""Questions that follow on an emergency: "can I pour water on it" is about the fire just told of.

Whoever asks them has no time for another subject's answer, so that what was told is told again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.follow_ups import is_recent
from fieldvoice.dialogue.waiting import is_question
from fieldvoice.handbook.emergency import emergency_in
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.handbook.card import Card

#: So many of the newest utterances are looked back on.
_LOOK_BACK = 4
#: A question about what goes on is no longer than this, in words.
_LONGEST = 9


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
