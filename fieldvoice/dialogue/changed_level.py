"""By how much a tank rose or fell: "tank one is down three inches" is no level to be read.

So much more or less may be meant, or what is there now, so that the level is put to the speaker.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.schema.acts import Reading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.schema import Meaning

_MUCH = (
    r"(?:about |another )?(?:\d[\d./]*|an?|half an?|one|two|three|four|five|six|seven|eight|nine"
    r"|ten|eleven|twelve)(?: and an? (?:half|quarter))? ?"
    r"(?:inch(?:es)?|in\b|cm\b|centimet(?:er|re)s?|gal\w*|quarts?|qts?\b|lit(?:er|re)s?|l\b)"
)
_CHANGED = re.compile(
    rf"\b(?:down|up|dropped|fell|rose|lost|gained)(?: by)? {_MUCH}"
    rf"|{_MUCH} (?:down|up|lower|higher|short|less)\b",
    re.IGNORECASE,
)


def may_be_change(text: str, meanings: Sequence[Meaning]) -> bool:
    """Whether a level that was read may be how much it has changed."""
    return any(isinstance(one, Reading) for one in meanings) and bool(_CHANGED.search(text))
