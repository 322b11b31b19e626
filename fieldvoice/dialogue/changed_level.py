"""Amounts that may not be what was read: what a tank rose or fell by, what was left behind.

"Tank one is down three inches" is no level to be read: so much less may be meant, or what is there
now. "All but eight gallons went into the barrel" tells what did not, and what wood is left was not
burned. All are put to the speaker.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.dialogue.numbers_said import AMOUNT
from fieldvoice.schema.acts import Fuel, Reading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.schema import Meaning

_MUCH = (
    rf"(?:about |another )?{AMOUNT} ?"
    r"(?:inch(?:es)?|in\b|cm\b|centimet(?:er|re)s?|gal\w*|quarts?|qts?\b|lit(?:er|re)s?|l\b)"
)
_CHANGED = re.compile(
    rf"\b(?:down|up|dropped|fell|rose|lost|gained)(?: by)? {_MUCH}"
    rf"|{_MUCH} (?:down|up|lower|higher|short|less|left to (?:fill|go)|of (?:room|space)"
    r"|(?:from|off|below|to) the (?:top|brim|rim))\b",
    re.IGNORECASE,
)
#: "All but eight gallons", "everything except two quarts".
_LEFT = re.compile(
    rf"\b(?:all|everything|the lot|the whole \w+)(?: of \w+(?: \w+)?)? (?:but|except) {_MUCH}",
    re.IGNORECASE,
)

#: Wood that is there still, and so not burned: "down to half a cord".
_STILL = re.compile(r"\b(?:left|down to|remain(?:s|ing)?|still (?:have|got)|to go)\b", re.I)


def may_be_change(text: str, meanings: Sequence[Meaning]) -> bool:
    """Whether an amount that was read may be how much a level changed, or what was left behind."""
    if _LEFT.search(text):
        return True
    if any(isinstance(one, Fuel) for one in meanings) and _STILL.search(text):
        return True
    return any(isinstance(one, Reading) for one in meanings) and bool(_CHANGED.search(text))
