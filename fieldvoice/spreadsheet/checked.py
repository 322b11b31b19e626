"""Checks a note of a spreadsheet by the rules that spoken notes are checked by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.plausibility import out_of_season, unlikely_value
from fieldvoice.errors import RangeError
from fieldvoice.rules.weather import day_class
from fieldvoice.schema import Act, meaning_from
from fieldvoice.schema.acts import Weather
from fieldvoice.spreadsheet.rows import DoubtError

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.spreadsheet.rows import Dated


def checked(dated: Dated, moment: TurnContext, *, day_told: bool = True) -> Act:
    """Return the note as an act; ``day_told`` says that its day is not a guess.

    Raises:
        DoubtError: a rule would ask back about it; the text says why.
    """
    fields = dict(dated.fields)
    fields.pop("clock", None)
    if fields["act"] == "weather":
        fields["day"] = dated.day.isoformat()
    try:
        act = meaning_from(fields)
    except ValueError as fault:
        raise DoubtError(f"no note ({str(fault).splitlines()[-1].strip()})") from None
    assert isinstance(act, Act)
    if isinstance(act, Weather) and act.low_f is not None and act.high_f is not None:
        try:
            day_class(act.low_f, act.high_f)
        except RangeError as fault:
            raise DoubtError(str(fault).rstrip(".")) from None
    odd = unlikely_value(act, moment)
    if odd is not None:
        raise DoubtError(odd.why.rstrip("."))
    if day_told and out_of_season(act, dated.day.month):
        raise DoubtError(f"no sap runs in {dated.day:%B}")
    return act
