"""The names that a household gives to its trees and vessels: "the big yard tree" is tree 9."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from fieldvoice.schema.base import TreeId


def plain_name(said: str) -> str:
    """Return a name as names are compared: small letters, single spaces, no leading article.

    "The Big Yard  Tree" and "big yard tree" are the same name.
    """
    words = said.casefold().split()
    return " ".join(words[1:] if words[:1] in (["the"], ["a"], ["an"]) else words)


#: Words that make an amount or a state of what could else be a name: "call it two gallons".
_NO_NAME = frozenset(
    "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety "
    "hundred thousand half quarter full empty dry clear cloudy hazy gallon gallons quart quarts "
    "pint pints liter liters inch inches feet degrees percent brix".split()
)


def is_name(said: str) -> bool:
    """Whether words can be a name: neither an amount nor a state, which would be heard in notes.

    "The big one" is no number.
    """
    words = plain_name(said).split()
    words = words[:-1] if words[1:] and words[-1] == "one" else words
    return bool(words) and not any(word in _NO_NAME or word.isdigit() for word in words)


@dataclass(frozen=True, slots=True)
class VesselName:
    """A vessel's name taken apart: "tank 2" is a tank; "gathering tank" has no number."""

    kind: str
    number: int | None = None

    @classmethod
    def of(cls, name: str) -> VesselName:
        """Return the kind and the number in ``name``."""
        kind, _, number = name.rpartition(" ")
        return cls(kind, int(number)) if kind and number.isdecimal() else cls(name)

    def __str__(self) -> str:
        return self.kind if self.number is None else f"{self.kind} {self.number}"


#: The fields in which a tree or vessel may stand by its name.
NAMING = ("tree", "trees", "vessel", "into")


@dataclass(frozen=True, slots=True)
class Names:
    """What is called how. Keys are plain names; a thing may have several, the newest last.

    ``trees`` leads to a tree's number (or the name that is all it has), ``vessels`` to "tank 2".
    """

    trees: Mapping[str, TreeId] = field(default_factory=dict)
    vessels: Mapping[str, str] = field(default_factory=dict)

    def tree(self, said: TreeId) -> TreeId:
        """Return the tree that a number or a name stands for; an unknown name stands for itself."""
        if isinstance(said, int):
            return said
        plain = plain_name(said)
        return self.trees.get(plain, plain)

    def vessel(self, said: str) -> str:
        """Return the vessel that a name stands for; an unknown one stands for itself."""
        return self.vessels.get(plain_name(said), said)

    def numbered(self, fields: Mapping[str, Any]) -> dict[str, Any]:
        """Return a meaning's fields with what the names in them stand for."""
        known = dict(fields)
        if fields.get("tree") is not None:
            known["tree"] = self.tree(fields["tree"])
        if fields.get("trees"):
            known["trees"] = [self.tree(tree) for tree in fields["trees"]]
        for key in ("vessel", "into"):
            if fields.get(key) is not None:
                known[key] = self.vessel(fields[key])
        return known

    def of_tree(self, tree: TreeId) -> str | None:
        """Return the newest name given to a tree known by its number; None without one."""
        return _newest(self.trees, tree)

    def of_vessel(self, vessel: str) -> str | None:
        """Return the newest name given to a vessel; None without one."""
        return _newest(self.vessels, vessel)


def _newest(names: Mapping[str, TreeId] | Mapping[str, str], thing: TreeId) -> str | None:
    given = [name for name, named in names.items() if named == thing and name != thing]
    return given[-1] if given else None
