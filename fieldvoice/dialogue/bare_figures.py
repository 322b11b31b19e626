"""A figure told of a tree without a unit: sugar by itself, perhaps gallons after gallons.

"Tree nine, two point two" is what a refractometer shows. On a round on which sap was just
gathered it may as well be what the next bucket gave, so that both are put to the speaker.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.nlu.binder import NUMBER_WORDS
from fieldvoice.schema.acts.sap import Gather
from fieldvoice.schema.acts.trees import Sweetness

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.book import Utterance
    from fieldvoice.schema import Meaning

#: What may stand beside the figures.
_BESIDE = frozenset({"tree", "number", "point", "and", "a", "zero", "oh"})


def sap_or_sugar(
    meanings: Sequence[Meaning], words: Sequence[str], last: Utterance | None
) -> tuple[Gather, Sweetness] | None:
    """Return the sap and the sugar that a bare figure may be, after a gathering; else None."""
    if len(meanings) != 1 or not isinstance(meanings[0], Gather | Sweetness) or last is None:
        return None
    told = meanings[0]
    if isinstance(told, Gather) and told.json_fields().keys() != {"act", "tree", "volume_gal"}:
        return None
    figure = told.volume_gal if isinstance(told, Gather) else told.brix
    after_gallons = any(one.get("act") == "gather" and "volume_gal" in one for one in last.meanings)
    if told.tree is None or not after_gallons or last.outcome not in ("saved", "asked"):
        return None
    if any(word not in NUMBER_WORDS and word not in _BESIDE for word in words):
        return None
    return (
        Gather(act="gather", tree=told.tree, volume_gal=figure),
        Sweetness(act="sweetness", tree=told.tree, brix=figure),
    )


#: Words of the unit that answer which of the two it was.
_UNITS: dict[type[Meaning], frozenset[str]] = {
    Gather: frozenset({"gallon", "gallons", "sap"}),
    Sweetness: frozenset({"sugar", "percent", "brix"}),
}
_SMALL = frozenset({"it", "was", "is", "'s", "that", "the", "in", "i", "meant", "mean", "of"})


def by_unit(
    options: Sequence[tuple[Meaning, ...]], words: Sequence[str]
) -> tuple[Meaning, ...] | None:
    """Return the reading that is meant by its unit alone: "gallons", "it was sugar"."""
    kinds = [type(one) for option in options for one in option]
    if len(kinds) != len(_UNITS) or set(kinds) != _UNITS.keys():
        return None
    said = {word for word in words if word not in _SMALL}
    meant = [option for option in options if said and said <= _UNITS[type(option[0])]]
    return meant[0] if len(meant) == 1 else None
