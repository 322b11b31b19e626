"""Where the syrup is made: its legal density, and how far above water syrup of it boils."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources

if TYPE_CHECKING:
    from collections.abc import Mapping

DEFAULT_JURISDICTION = "us"


@dataclass(frozen=True, slots=True)
class Jurisdiction:
    """A place's syrup density in Brix, and ``rise_f``: °F above water's boil at its minimum."""

    name: str
    minimum_brix: float
    maximum_brix: float
    rise_f: float
    source: str


#: Places by name. Syrup of 66.0 Brix boils 7.1 °F above water, of 66.9 Brix 7.5 °F.
JURISDICTIONS: Mapping[str, Jurisdiction] = {
    place.name: place
    for place in (
        Jurisdiction("us", 66.0, 68.9, 7.1, sources.US_GRADES),
        Jurisdiction("canada", 66.0, 68.9, 7.1, sources.CANADA_GRADES),
        Jurisdiction("new york", 66.0, 68.9, 7.1, sources.NEW_YORK_RULE),
        Jurisdiction("maine", 66.0, 68.9, 7.1, sources.MAINE_RULE),
        Jurisdiction("vermont", 66.9, 68.9, 7.5, sources.VERMONT_RULE),
        Jurisdiction("new hampshire", 66.9, 68.9, 7.5, sources.NEW_HAMPSHIRE_RULE),
    )
}


def jurisdiction(name: str) -> Jurisdiction:
    """Return the place called ``name``.

    Raises:
        RangeError: when it is not one of ``JURISDICTIONS``.
    """
    if name not in JURISDICTIONS:
        raise RangeError(f"No density law for {name}; there are {', '.join(JURISDICTIONS)}.")
    return JURISDICTIONS[name]
