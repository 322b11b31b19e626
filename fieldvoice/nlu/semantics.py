"""From the marks passed on a way through the grammar to checked meanings."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from fieldvoice.grammar.jsgf import CLITIC
from fieldvoice.grammar.tags import ADD, CLOSE, DECIMAL, MULTIPLY, OPEN, SET
from fieldvoice.nlu.times import due_said, is_a_date, joined_times, span_said, time_said
from fieldvoice.schema import meaning_from
from fieldvoice.schema.acts import Inspect
from fieldvoice.schema.names import VesselName

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.grammar.tags import Mark
    from fieldvoice.schema import Meaning

#: Whole numbers only; "tree two and a half" is no tree.
_WHOLE = frozenset(
    {
        "tree",
        "count",
        "from",
        "upto",
        "item",
        "row",
        "gear_number",
        "days_ago",
        "but",
        "month_day",
        "days_ahead",
        "minutes_ahead",
        "seconds_ahead",
    }
)

#: Decimals kept of each measure: enough for what the instrument can tell.
_PLACES = {"diameter_in": 2, "length_in": 2, "temp_f": 1, "low_f": 1, "high_f": 1, "height_ft": 2}
_OTHER_PLACES = 4

#: Of a bucket it has to be said that it is to be boiled in, of these not.
_FOR_BOILING = ("pan", "finishing pan", "pot", "kettle", "evaporator")

#: The longest run of trees one breath may name.
_LONGEST_RANGE = 200


class NoFrameError(ValueError):
    """The marks contradict each other, such as a range that runs backwards."""


@dataclass(slots=True)
class _Frame:
    """What has been set and counted inside one pair of marks."""

    key: str
    fields: dict[str, Any] = field(default_factory=dict)
    number: Fraction | None = None
    decimals: int = 0
    words: list[str] = field(default_factory=list)

    def add(self, value: Fraction) -> None:
        self.number = (self.number or Fraction(0)) + value

    def multiply(self, value: Fraction) -> None:
        self.number = (Fraction(1) if self.number is None else self.number) * value

    def decimal(self, digit: int) -> None:
        self.decimals += 1
        self.add(Fraction(digit, 10**self.decimals))


def compose(steps: Iterable[Mark | str]) -> tuple[Meaning, ...]:
    """Return the meanings of a sequence of marks and (for free text) words.

    Raises:
        ValueError: when the fields make no valid meaning.
    """
    frame = _gone_through(steps, "")
    return _once(_meaning(fields) for fields in frame.fields.get("meaning", []))


def value_of(key: str, steps: Iterable[Mark | str]) -> Any:
    """Return the one value that marks set or count, such as the gallons of a volume.

    Raises:
        NoMeaningError: they contradict each other.
    """
    frame = _gone_through(steps, key)
    if len(frame.fields) == 1:
        return next(iter(frame.fields.values()))
    return _value(frame)


def _gone_through(steps: Iterable[Mark | str], key: str) -> _Frame:
    frames = [_Frame(key)]
    for step in steps:
        if isinstance(step, str):
            frames[-1].words.append(step)
            continue
        kind, name, value = step
        if kind == OPEN:
            frames.append(_Frame(name))
        elif kind == CLOSE:
            closed = frames.pop()
            _put(frames[-1], name, _value(closed))
        else:
            _apply(frames[-1], kind, name, value)
    return frames[0]


def _once(meanings: Iterable[Meaning]) -> tuple[Meaning, ...]:
    """Return what was said, once: a level or a condition said twice of one bucket is one note."""
    kept: list[Meaning] = []
    for meaning in meanings:
        again = isinstance(meaning, Inspect) and kept and isinstance(kept[-1], Inspect)
        fields = meaning.json_fields()
        if meaning in kept or (again and fields.items() <= kept[-1].json_fields().items()):
            continue
        kept.append(meaning)
    return tuple(kept)


def _apply(frame: _Frame, kind: str, key: str, value: Any) -> None:
    match kind:
        case _ if kind == SET:
            _set(frame, key, value)
        case _ if kind == ADD:
            frame.add(value)
        case _ if kind == MULTIPLY:
            frame.multiply(value)
        case _ if kind == DECIMAL:
            frame.decimal(value)


def _put(frame: _Frame, key: str, value: Any) -> None:
    if key.endswith("+"):
        frame.fields.setdefault(key[:-1], []).append(value)
    elif key == "since_days":
        frame.fields["since"] = f"{value} days ago"
    elif key == "row":
        frame.fields["site"] = f"row {value}"
    else:
        _set(frame, key, value)


def _with_its_number(fields: dict[str, Any]) -> dict[str, Any]:
    """Make one of a piece of gear and its number, in whichever order they were said."""
    number = fields.pop("gear_number", None)
    return fields if number is None else {**fields, "item": f"{fields['item']} {number}"}


def _set(frame: _Frame, key: str, value: Any) -> None:
    """Set a field; two values for one ("north and east sides") are one too many."""
    if key == "at" and key in frame.fields:
        frame.fields[key] = joined_times(frame.fields[key], value)
    elif frame.fields.setdefault(key, value) != value:
        raise NoFrameError(f"{key} is both {frame.fields[key]} and {value}")


def _value(frame: _Frame) -> Any:
    key = frame.key.rstrip("+")
    if key == "at" or (key == "since" and "month_day" in frame.fields):
        return time_said(_days_there(frame.fields))
    match key:
        case "meaning":
            return _with_its_number(frame.fields)
        case "vessel" | "into":
            return _vessel(frame)
        case "trees":
            return _trees(frame.fields)
        case "text" | "name" | "words":
            return _text(frame.words)
        case "tree" | "item" if "name" in frame.fields:
            return frame.fields["name"]
        case "due":
            return due_said(_days_there(frame.fields))
        case "span":
            return span_said(_days_there(frame.fields))
        case _ if frame.number is not None:
            return _number(key, frame.number)
        case _:
            return frame.fields or _text(frame.words)


def _days_there(fields: dict[str, Any]) -> dict[str, Any]:
    """Return the parts of a time, whose day the calendar must have."""
    if "month_day" in fields and not is_a_date(fields["month"], fields["month_day"]):
        raise NoFrameError(f"no {fields['month']} {fields['month_day']}")
    return fields


def _text(words: list[str]) -> str:
    return " ".join(words).replace(f" {CLITIC}", CLITIC)


def _vessel(frame: _Frame) -> str:
    kind = " ".join(str(frame.fields[key]) for key in ("kind", "of") if key in frame.fields)
    number = None if frame.number is None else int(_number("tree", frame.number))
    return str(VesselName(kind, number))


def _trees(fields: dict[str, Any]) -> list[int]:
    if "item" in fields:
        return list(fields["item"])
    low, high = fields["from"], fields["upto"]
    if not low < high <= low + _LONGEST_RANGE:
        raise NoFrameError(f"no trees from {low} to {high}")
    left_out = set(fields.get("but", ()))
    if not left_out <= set(range(low, high + 1)):
        raise NoFrameError(f"not all of {left_out} are between {low} and {high}")
    return [tree for tree in range(low, high + 1) if tree not in left_out]


def _number(key: str, value: Fraction) -> int | float:
    if value.denominator == 1:
        return int(value)
    if key in _WHOLE:
        raise NoFrameError(f"{key} must be a whole number")
    return round(float(value), _PLACES.get(key, _OTHER_PLACES))


def _without(trees: list[Any], left_out: list[Any]) -> list[Any]:
    """Return several trees without those named after them ("trees five to nine full but six")."""
    if not set(left_out) < set(trees):
        raise NoFrameError(f"not all of {left_out} are among {trees}")
    return [tree for tree in trees if tree not in left_out]


def _meaning(fields: dict[str, Any]) -> Meaning:
    if "trees" in fields and "but" in fields:
        fields["trees"] = _without(fields["trees"], fields.pop("but"))
    if fields.pop("mention", False):
        return meaning_from({"mention": fields})
    fields.pop("instead_of", None)
    if fields.get("item") in _FOR_BOILING:
        fields.pop("heated", None)
    return meaning_from(fields)
