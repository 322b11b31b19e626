"""How hot the pan is, told in passing while it boils: "its at 215", "217 now"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.schema.asks.boiling import DrawCheck

if TYPE_CHECKING:
    from fieldvoice.book import Season

_TOLD = re.compile(
    r"(?:(?:ok(?:ay)?|so|and|now|well)\W+)*"
    r"(?:(?:it'?s|its|it is|it(?: just)? (?:reads|shows|hit|says)|we'?re|we are|were|i'?m"
    r"|(?:the )?(?:pan|pot|thermometer|syrup|sap)(?:'s| is| says| reads| shows)?)\s+)?"
    r"(?:(?:now|only|just|already|up|down|about|around|still|almost|nearly)\s+)*(?:at |to )?"
    r"(?P<degrees>\d{2,3}(?:\.\d+)?)(?: ?(?:degrees|deg|°)(?: ?[fc])?)?"
    r"(?: (?:now|already|so far|right now|and climbing|and rising))?[\s.!,?]*"
    r"(?:how (?:far|long|much longer)(?: is it)? to go)?[\s.!?]*",
    re.IGNORECASE,
)
_TO_GO = re.compile(
    r"(?:so )?how (?:far|much|much longer|many degrees)(?: is (?:it|there)| do we have)?(?: still)?"
    r"(?: left)? to go[\s?]*",
    re.IGNORECASE,
)
#: Where a pan on the fire stands between boiling and burning, in °F and in °C.
_FAHRENHEIT, _CELSIUS = (195.0, 240.0), (92.0, 115.0)


def told_of_the_pan(
    text: str, season: Season, before_f: float | None, *, metric: bool
) -> DrawCheck | None:
    """Return the question how far the pan is that a temperature told during a boil asks.

    ``before_f`` is the temperature told just before, in °F. None where nothing boils, more is
    said, or no pan would be so hot.
    """
    boils = bool(season.boilings) and season.boilings[-1].ended_at is None
    if boils and _TO_GO.fullmatch(text):
        return DrawCheck(temp_f=before_f)
    found = _TOLD.fullmatch(text) if boils else None
    if found is None:
        return None
    degrees = float(found["degrees"])
    if metric and _CELSIUS[0] <= degrees <= _CELSIUS[1]:
        return DrawCheck(temp_f=degrees * 1.8 + 32)
    is_hot = _FAHRENHEIT[0] <= degrees <= _FAHRENHEIT[1]
    return DrawCheck(temp_f=degrees) if is_hot else None
