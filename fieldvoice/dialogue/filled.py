"""A vessel filled from another without an amount: "filled the stock pot from the barrel"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.schema.acts import Transfer
from fieldvoice.schema.names import plain_name

if TYPE_CHECKING:
    from fieldvoice.book import Season

_FILLED = re.compile(
    r"(?:(?:and|then|so|now)\W+)*(?:i |we )?(?:just )?(?:filled|topped(?: up| off)?|refilled)"
    r"(?: up)? (?P<into>.+?)(?: up| off)? (?:from|out of|with (?:the )?sap (?:from|out of|in)) "
    r"(?P<of>.+?)(?: again| too)?[\s.!]*",
    re.IGNORECASE,
)


def filled_from(text: str, season: Season) -> Transfer | None:
    """Return the sap moved where a vessel was filled: the room in it, or all that there was.

    None where the book does not know both vessels, how much room there is, and that there was sap.
    """
    found = _FILLED.fullmatch(text)
    if found is None:
        return None
    into, of = (
        season.vessels.get(season.names.vessel(plain_name(found[one]))) for one in ("into", "of")
    )
    if into is None or of is None or into.capacity_gal is None or not of.volume_gal:
        return None
    room_gal = into.capacity_gal - (into.volume_gal or 0.0)
    moved_gal = round(min(room_gal, of.volume_gal), 2)
    return Transfer(vessel=of.name, into=into.name, volume_gal=moved_gal) if moved_gal > 0 else None
