"""Changing the fields of a meaning: a slot filled, a tree corrected, a number given its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue.book_units import in_stored_unit
from fieldvoice.errors import RangeError
from fieldvoice.rules.packing import container_gal
from fieldvoice.schema import Act, Ask, Command, EntityMention, Meaning
from fieldvoice.schema.acts import Pack, StockOut
from fieldvoice.schema.names import VesselName
from fieldvoice.schema.slot import slots_of
from fieldvoice.schema.vocabulary import NAMED, VOLUME

if TYPE_CHECKING:
    from collections.abc import Mapping

#: What a meaning is about. Naming one of these takes the place of the others.
REFERENCES = ("tree", "trees", "vessel", "site", "all", "which", "but")

#: Which kinds of value a mention may bring under another name.
_LENGTHS = ("diameter_in", "depth_in", "height_ft")


def field_names(meaning: Meaning) -> frozenset[str]:
    """Return the fields that a meaning of this kind may carry."""
    if isinstance(meaning, Act | Ask):
        return frozenset(slots_of(type(meaning)))
    if isinstance(meaning, EntityMention):
        return frozenset({"tree", "trees", "vessel"})
    return frozenset()


def changed(meaning: Meaning, fields: Mapping[str, Any]) -> Meaning | None:
    """Return ``meaning`` with ``fields`` in place of its own; None when it cannot carry them.

    A new reference replaces the old one ("trees 10 to 12" by "tree 16"), but the vessel of a
    gathering is where the sap went, not what was gathered, so that it stays.
    """
    if isinstance(meaning, Command):
        return _corrected_otherwise(meaning, fields)
    fields = _as_named_here(meaning, fields)
    own = field_names(meaning)
    if not fields or not fields.keys() <= own:
        return None
    if isinstance(meaning, EntityMention):
        return EntityMention(mention=dict(fields))
    cleared = dict.fromkeys(_replaced(meaning, fields))
    try:
        new: Meaning = meaning.replace(**{**cleared, **fields})
    except ValueError:
        return None
    return new


def _corrected_otherwise(command: Command, fields: Mapping[str, Any]) -> Command | None:
    """Return a correction with another value: "make it two hundred gallons": "no, two"."""
    if command.do != "correct" or not fields:
        return None
    own = {key: value for key, value in command.fields.items() if key != "wrong"}
    return Command(do="correct", fields={**own, **fields})


def _replaced(meaning: Meaning, fields: Mapping[str, Any]) -> set[str]:
    """Return the references that the new ones take the place of."""
    if not fields.keys() & set(REFERENCES):
        return set()
    kept = set(meaning.spec.keeps) if isinstance(meaning, Act) else set()
    if fields.keys() & set(REFERENCES) <= kept:
        return set()
    return (set(REFERENCES) & field_names(meaning)) - kept


def _as_named_here(meaning: Meaning, fields: Mapping[str, Any]) -> dict[str, Any]:
    """Return ``fields`` under the names that this kind of meaning uses."""
    own = field_names(meaning)
    named = dict(fields)
    if "length_in" in named:
        target = next((name for name in _LENGTHS if name in own), None)
        if target is not None:
            length_in = named.pop("length_in")
            named[target] = length_in / 12 if target == "height_ft" else length_in
    if "volume_gal" in named and "volume_gal" not in own and "syrup_gal" in own:
        named["syrup_gal"] = named.pop("volume_gal")
    if "volume_gal" in named and isinstance(meaning, Pack | StockOut):
        _as_count(named, meaning)
    if "brix" in named and "brix" not in own and "reading_brix" in own:
        named["reading_brix"] = named.pop("brix")
    return named


def _as_count(named: dict[str, Any], pack: Pack | StockOut) -> None:
    """Turn "six pints", said of pints packed, into a count of six."""
    try:
        count = named["volume_gal"] / container_gal(pack.size or "")
    except RangeError:
        return
    if float(count).is_integer():
        named["count"] = int(count)
        del named["volume_gal"]


def number_into(
    slot: str, number: float, meaning: Meaning, *, metric: bool = False
) -> dict[str, Any]:
    """Return the field that a bare number fills when ``slot`` was asked for.

    In a ``metric`` book it is one of Celsius, litres or centimetres.
    """
    counts = float(number).is_integer() and number >= 1
    if slot == "vessel":
        kind = VesselName.of(getattr(meaning, "vessel", None) or "tank").kind
        return {"vessel": str(VesselName(kind, int(number)))} if counts else {}
    if {**NAMED, **slots_of(type(meaning))}.get(slot, VOLUME).whole:
        return {slot: int(number)} if counts else {}
    return {slot: in_stored_unit(slot, number, metric=metric)}


def carries(said: Act, asked: Meaning) -> bool:
    """Whether ``said`` says all that ``asked`` does, and perhaps more."""
    if not isinstance(asked, Act) or said.act != asked.act:
        return False
    fields = said.json_fields()
    return all(fields.get(key) == value for key, value in asked.json_fields().items())
