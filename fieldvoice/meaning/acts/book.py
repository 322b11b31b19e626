"""Notes of every other kind: the weather, the gear, the round, names, and free words."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import model_validator

from fieldvoice.meaning.act import Act, quantity, words
from fieldvoice.meaning.base import TreeId
from fieldvoice.meaning.names import is_name
from fieldvoice.segments import Day, Text, Told, details


class Weather(Act):
    """A day's low and high."""

    act: Literal["weather"] = "weather"
    low_f: float | None = None
    high_f: float | None = None
    day: str | None = None

    def told(self) -> Told:
        """Return "Friday, March 5: low 26 °F, high 44 °F"."""
        day = (Day(date.fromisoformat(self.day)),) if self.day else ()
        low, high = quantity(self.low_f, "°F", "low"), quantity(self.high_f, "°F", "high")
        return Told(day, details(low, high))


class Equipment(Act):
    """A container or tool looked over before the season."""

    act: Literal["equipment"] = "equipment"
    item: str | None = None
    material: str | None = None
    food_grade: bool | None = None
    rust: bool | None = None
    solder: bool | None = None

    def told(self) -> Told:
        """Return "bucket: galvanized, rust, no lead solder, not food grade"."""
        facts = ((self.rust, "rust"), (self.solder, "lead solder"))
        known = [words(name, "" if has else "no") for has, name in facts if has is not None]
        if self.food_grade is not None:
            known.append(words("food grade", "" if self.food_grade else "not"))
        return Told(words(self.item), details(words(self.material), *known))


class Remark(Act):
    """Free words worth keeping."""

    act: Literal["remark"] = "remark"
    text: str | None = None
    tree: TreeId | None = None
    vessel: str | None = None

    def told(self) -> Told:
        """Return "noted for tree 4: split by ice"."""
        about = self.subject()
        head = (Text("noted for"), *about) if about else words("noted")
        return Told(head, details(words(self.text)))


class Round(Act):
    """The walk from tree to tree begun or ended."""

    act: Literal["round"] = "round"
    phase: Literal["start", "stop"] | None = None

    def told(self) -> Told:
        """Return "round started" or "round done"."""
        return Told(words("round done" if self.phase == "stop" else "round started"))


class Name(Act):
    """A name given to a tree or vessel; a ``new`` tree is known by its name alone."""

    act: Literal["name"] = "name"
    name: str | None = None
    new: Literal[True] | None = None
    tree: TreeId | None = None
    vessel: str | None = None

    def told(self) -> Told:
        """Return "tree 9: now big yard tree" or "new tree: crooked maple"."""
        if self.new:
            return Told(words("new tree"), details(words(self.name)))
        return Told(self.subject(), details(words(self.name, "now")))

    @model_validator(mode="after")
    def _is_a_name(self) -> Name:
        if self.name is not None and not is_name(self.name):
            raise ValueError(f"{self.name!r} is no name")
        return self
