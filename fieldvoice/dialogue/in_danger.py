"""Questions that follow on an emergency: "can I pour water on it" is about the fire just told of.

Whoever asks them has no time for another subject's answer, so that what was told is told again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.follow_ups import is_recent
from fieldvoice.handbook.emergency import emergency_in
from fieldvoice.handbook.loader import shipped
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.handbook.card import Card

#: So many of the newest utterances are looked back on.
_LOOK_BACK = 4
#: A question about what goes on is no longer than this, in words, and begins so.
_LONGEST = 9
_ASKING = frozenset(
    "can could should shall do does did may must is are will would what how where when which who "
    "whom and but or need".split()
)


def told_before(text: str, moment: TurnContext) -> Card | None:
    """Return the card of the emergency that ``text`` may ask about; None if it is none."""
    words = text.split()
    if not words or len(words) > _LONGEST or words[0] not in _ASKING:
        return None
    urgent = shipped().urgent
    for one in reversed(moment.book.utterances(_LOOK_BACK)):
        # A card that was only found, and not cried for, is no emergency.
        hurt = emergency_in(typed(one.text)) if is_recent(one, moment) else None
        if hurt is not None and hurt.id in urgent:
            return hurt
    return None
