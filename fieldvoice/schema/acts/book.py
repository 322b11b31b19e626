"""Notes of every other kind: the weather, the gear, the round, names, and free words."""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal

from pydantic import model_validator

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.act import Act, own_words, quantity, words
from fieldvoice.schema.names import is_name
from fieldvoice.schema.slot import ActSpec, Slot
from fieldvoice.segments import Day, Text, Told, details


class Weather(Act):
    """A day's low and high."""

    act: Literal["weather"] = "weather"
    low_f: Annotated[v.Temp, v.TEMP.but(rule="notes.low_said", likely="low_f")] = None
    high_f: Annotated[v.Temp, v.TEMP.but(rule="notes.high_said", likely="high_f")] = None
    day: Annotated[str | None, Slot("notes.weather_day")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.weather",
        examples=("Low of twenty four and high of forty five.",),
        joins=True,
        checks=True,
    )

    def told(self) -> Told:
        """Return "Friday, March 5: low 26 °F, high 44 °F"."""
        day = (Day(date.fromisoformat(self.day)),) if self.day else ()
        low, high = quantity(self.low_f, "°F", "low"), quantity(self.high_f, "°F", "high")
        return Told(day, details(low, high))


class Equipment(Act):
    """A container or tool looked over before the season."""

    act: Literal["equipment"] = "equipment"
    item: Annotated[v.Gear, v.GEAR.but(rule="notes.gear_said")] = None
    material: v.Material = None
    food_grade: Annotated[bool | None, Slot("notes.gear_state")] = None
    rust: Annotated[bool | None, Slot("notes.gear_state")] = None
    solder: Annotated[bool | None, Slot("notes.gear_state")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.equipment",
        examples=("The old bucket has soldered seams.",),
        subject=("item",),
        folds=False,
        checks=True,
    )

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
    text: Annotated[str | None, Slot("notes.free_words", ask="What should I note?")] = None
    tree: Annotated[v.Tree, v.TREE.but(rule="things.tree")] = None
    vessel: v.KnownVessel = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.remark",
        examples=("Make a note, the gate needs a hinge.",),
        needs=(("text",),),
        effects=True,
    )

    def told(self) -> Told:
        """Return "noted for tree 4: split by ice"."""
        about, text = self.subject(), (self.text or "").lower()
        named = text.startswith(("tree", (self.vessel or "tree").split()[0]))
        head = (Text("noted for"), *about) if about and not named else words("noted")
        return Told(head, details(own_words(self.text)))


class Round(Act):
    """The walk from tree to tree begun or ended."""

    act: Literal["round"] = "round"
    phase: Annotated[Literal["start", "stop"] | None, Slot("talk.round_begun")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="talk.round",
        examples=("Starting a round.",),
        announces="gather",
        folds=False,
    )

    def work(self) -> str:
        """Return the work that begins with it, where it begins."""
        return self.spec.announces if self.phase == "start" else ""

    def told(self) -> Told:
        """Return "round started" or "round done"."""
        return Told(words({"start": "round started", "stop": "round done"}.get(self.phase or "")))


class Name(Act):
    """A name given to a tree or vessel; a ``new`` tree is known by its name alone."""

    act: Literal["name"] = "name"
    name: Annotated[str | None, Slot("talk.given_name")] = None
    new: Annotated[Literal[True] | None, Slot()] = None
    tree: Annotated[v.Tree, v.TREE.but(rule="things.tree")] = None
    vessel: v.KnownVessel = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="talk.name",
        examples=("Call tree nine the big yard tree.",),
        subject=("tree", "vessel"),
        makes_known=True,
        folds=False,
    )

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
