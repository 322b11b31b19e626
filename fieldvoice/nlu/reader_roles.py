"""Which sorts of piece can fill which field, the likeliest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

_VOLUME = ("volume", "number")
_HEAT = ("temperature", "hot", "number")
_LENGTH = ("length", "number", "bit")

SORTS: Mapping[str, tuple[str, ...]] = {
    "tree": ("tree", "number"),
    "trees": ("trees",),
    "but": ("trees", "tree", "number"),
    "off": ("tree", "number"),
    "vessel": ("vessel",),
    "into": ("vessel",),
    "volume_gal": _VOLUME, "syrup_gal": _VOLUME, "capacity_gal": _VOLUME, "other_gal": _VOLUME,
    "fill": ("fill", "percent", "number"), "ice_share": ("fill", "number"),
    "sap": ("sap",), "smell": ("smell",),
    "brix": ("sugar", "number"), "reading_brix": ("sugar", "number"),
    "other_brix": ("sugar", "number"),
    "temp_f": _HEAT, "low_f": _HEAT, "high_f": _HEAT, "water_boils_f": _HEAT,
    "diameter_in": ("girth", "length", "number"),
    "girth": ("length", "number"),
    "depth_in": _LENGTH, "bit_in": ("bit", "length", "number"),
    "height_ft": ("height", "number"), "elevation_ft": ("height", "number"),
    "count": ("number",), "dieback": ("percent", "number"), "cords": ("cords", "number"),
    "area_sqft": ("area", "number"),
    "pressure_inhg": ("number",), "transmittance": ("number",), "days": ("number",),
    "hours": ("number",),
    "price": ("price", "number"), "number": ("number",),
    "size": ("size",), "colour": ("colour",), "species": ("species",), "side": ("side",),
    "material": ("material",), "item": ("item",), "site": ("place",),
    "at": ("when",), "day": ("when", "since"), "since": ("since", "when"), "until": ("when",),
    "until_h": ("clock", "when"), "due": ("ahead",), "span": ("span_back", "when", "since"),
}  # fmt: skip

_OF_TREES = frozenset({"tree", "trees", "which"})
_OF_VESSELS = frozenset({"vessel", "tree", "trees", "site", "item"})
#: Of these only trees are the subject: where one stands, what hangs there, where its sap went.
_OF_TREES_ALONE = {"gather": _OF_TREES | {"site", "all"}, "hang": _OF_TREES, "stand": _OF_TREES}


def subjects(kind: str) -> frozenset[str]:
    """Return the fields that say what a note is about; a vessel sap was put into is none."""
    return _OF_TREES_ALONE.get(kind, _OF_VESSELS)


#: States that mean the same whatever the act, by the acts that have them.
SHARED = frozenset({"sap", "smell", "which", "all", "fill", "same", "species", "material"})

#: Fields that may be words which no rule knows: a name, what somebody said, to whom it went.
FREE = frozenset(
    {"vessel", "into", "to", "text", "remark", "name", "agent", "item", "site", "reason", "place"}
)
