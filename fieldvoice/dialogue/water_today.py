"""Where water boils today by the best that is known: measured, the pressure, the elevation."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from fieldvoice.rules.finishing import DrawOff, draw_off
from fieldvoice.rules.water import pressure_at_inhg, water_boils_f
from fieldvoice.schema.acts import Water

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext

#: The air's pressure, and with it water's boil, may be another after so long (a choice).
_HOLDS_FOR = timedelta(hours=12)


def measured_today(moment: TurnContext) -> Water | None:
    """Return what tells of water's boil or of the pressure: said in this breath, or still held."""
    for act in moment.noted:
        if isinstance(act, Water):
            return act
    if moment.season.water is None:
        return None
    at, noted = moment.season.water
    return noted if timedelta() <= moment.now - at <= _HOLDS_FOR else None


def draw_off_today(moment: TurnContext) -> DrawOff:
    """Return where to draw, by today's water, today's pressure or the elevation; else sea level.

    Raises:
        RangeError: the water or the pressure noted is none there can be.
    """
    place = moment.settings.jurisdiction
    noted = measured_today(moment)
    if noted is not None and noted.water_boils_f is not None:
        return draw_off(water_boils=noted.water_boils_f, jurisdiction_name=place)
    if noted is not None and noted.pressure_inhg is not None:
        return draw_off(pressure_inhg=noted.pressure_inhg, jurisdiction_name=place)
    elevation_ft = moment.settings.elevation_ft or 0.0
    return draw_off(elevation_ft=elevation_ft, jurisdiction_name=place)


def water_boils_today_f(moment: TurnContext) -> float | None:
    """Return where water boils today; None where nothing tells.

    Raises:
        RangeError: the pressure or the elevation is none there can be.
    """
    noted = measured_today(moment)
    if noted is not None and noted.water_boils_f is not None:
        return noted.water_boils_f
    if noted is not None and noted.pressure_inhg is not None:
        return water_boils_f(noted.pressure_inhg)
    if moment.settings.elevation_ft is None:
        return None
    return water_boils_f(pressure_at_inhg(moment.settings.elevation_ft))
