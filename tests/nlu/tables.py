"""Reads the tables of things people say: what they mean, and what must not become a note.

Files beside this one, each with ``# heading`` lines and one saying a line:

``utterances/*.txt``  ``words => meaning ; meaning``, one agreed reading; a file for each subject.
``ambiguous.txt``     ``words => reading | reading``, any of which will do; a lone ``-`` is the
                      reading "not understood, or asked back".
``not_records.txt``   ``words``, none of which may become an act.

A meaning is a kind and its fields:

    inspect tree=12 fill=0.9 sap=cloudy     an act
    ?tap_limit tree=12                      a question
    !undo          !correct tree=16         a command
    ~ tree=12      ~ number=12              something named, nothing said of it

Values are numbers, ``true`` or ``false``, plain words, or ``"words with spaces"``. ``trees=3,7,9``
and ``but=8`` are lists. ``item=pan/"finishing pan"`` accepts either; ``colour=*`` accepts
anything. A field in brackets, ``[count=1]``, may be absent. A field that is
not written must be absent.

Three kinds of line set things for the lines below them, until the next heading:

    @ 2027-03-05T09:10                      the clock, for "yesterday" and "this week"
    trees "old king", twins                 names the user gave to trees
    vessels "milk tank"                     and to vessels
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

HERE = Path(__file__).parent

#: The sayings with one agreed reading, a file for each subject.
UTTERANCES = sorted((HERE / "utterances").glob("*.txt"))

ANYTHING = "*"
NOT_UNDERSTOOD = "-"

_ONE_VALUE = r'(?:"[^"]*"|[^\s"/\]]+)'
_FIELD = re.compile(rf"(\[?)(\w+)=({_ONE_VALUE}(?:/{_ONE_VALUE})*)(\]?)(?:\s+|$)")
_KIND = re.compile(r"([?!~]?)\s*(\w*)(?=\s|$)\s*")
_SIGNS = {"": "act", "?": "ask", "!": "do", "~": "mention"}
_CLOCK = re.compile(r"@\s+(\S+)$")
_NAMES = re.compile(r'(trees|vessels)\s+((?:"[^"]*"|\S+)(?:\s*,\s*(?:"[^"]*"|\S+))*)$')


class TableError(ValueError):
    """A line that does not follow the format; the text gives file, line number and reason."""


@dataclass(frozen=True)
class Wanted:
    """One field of a meaning: the values that are right, and whether it may be absent."""

    name: str
    values: tuple[Any, ...]
    optional: bool = False

    def accepts(self, value: object) -> bool:
        """Whether ``value`` (None for absent) is one of the right ones."""
        if value is None:
            return self.optional
        return any(right == ANYTHING or same_value(right, value) for right in self.values)


@dataclass(frozen=True)
class WantedMeaning:
    """An act, ask, do or mention (``sort``) with its name and fields."""

    sort: str
    name: str
    fields: tuple[Wanted, ...]

    def accepts(self, fields: Mapping[str, Any]) -> bool:
        """Whether ``fields``, as ``json_fields()`` gives them, are this meaning and no more."""
        given = dict(fields.get("mention", {})) if self.sort == "mention" else dict(fields)
        if self.sort == "mention":
            if "mention" not in fields:
                return False
        elif given.pop(self.sort, None) != self.name:
            return False
        known = {field.name for field in self.fields}
        return given.keys() <= known and all(f.accepts(given.get(f.name)) for f in self.fields)

    def example(self) -> dict[str, Any]:
        """Return the meaning's plainest JSON fields: every field that has a definite value."""
        plain = {f.name: f.values[0] for f in self.fields if f.values[0] != ANYTHING}
        plain = {name: list(v) if isinstance(v, tuple) else v for name, v in plain.items()}
        return {"mention": plain} if self.sort == "mention" else {self.sort: self.name, **plain}


@dataclass(frozen=True)
class Saying:
    """One line of a table. ``readings`` is empty in not_records.txt."""

    words: str
    readings: tuple[tuple[WantedMeaning, ...], ...]
    heading: str
    where: str
    clock: str | None = None
    trees: tuple[str, ...] = ()
    vessels: tuple[str, ...] = ()

    def accepts(self, meanings: Sequence[Mapping[str, Any]]) -> bool:
        """Whether ``meanings`` (JSON fields, in the order said) are one of the readings."""
        return any(
            len(reading) == len(meanings)
            and all(want.accepts(got) for want, got in zip(reading, meanings, strict=True))
            for reading in self.readings
        )


def same_value(right: object, value: object) -> bool:
    """Whether two values are equal, numbers to the second decimal and lists item by item."""
    if isinstance(right, bool) or isinstance(value, bool):
        return right is value
    if isinstance(right, int | float) and isinstance(value, int | float):
        return abs(right - value) <= 0.0051
    if isinstance(right, tuple) and isinstance(value, list | tuple):
        return len(right) == len(value) and all(map(same_value, right, value))
    return right == value


def utterances() -> list[Saying]:
    """Return the sayings with one agreed reading."""
    return [saying for path in UTTERANCES for saying in sayings(path)]


def ambiguous() -> list[Saying]:
    """Return the sayings that may be read in more than one way."""
    return sayings(HERE / "ambiguous.txt")


def not_records() -> list[Saying]:
    """Return the sayings that must leave no act in the book."""
    return sayings(HERE / "not_records.txt", with_meanings=False)


def meaning(text: str) -> WantedMeaning:
    """Return the meaning written in ``text``.

    Raises:
        TableError: if it does not follow the format.
    """
    kind = _KIND.match(text.strip())
    if kind is None or bool(kind[2]) == (kind[1] == "~"):
        raise TableError(f"no kind of meaning in {text!r}")
    rest = text.strip()[kind.end() :]
    return WantedMeaning(_SIGNS[kind[1]], kind[2], tuple(_fields(rest)))


def sayings(path: Path, with_meanings: bool = True) -> list[Saying]:
    """Return the sayings of one file, in order.

    Raises:
        TableError: for a line that does not follow the format.
    """
    found: list[Saying] = []
    heading = ""
    setting: dict[str, Any] = {}
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        text, where = line.strip(), f"{path.name}:{number}"
        if not text:
            continue
        if text.startswith("# "):
            heading, setting = text[2:], {}
        elif clock := _CLOCK.match(text):
            setting["clock"] = clock[1]
        elif with_meanings and (names := _NAMES.match(text)) and "=>" not in text:
            setting[names[1]] = tuple(n.strip().strip('"') for n in names[2].split(","))
        else:
            words, readings = _split(text, where) if with_meanings else (text, ())
            found.append(Saying(words, readings, heading, where, **setting))
    return found


def _split(text: str, where: str) -> tuple[str, tuple[tuple[WantedMeaning, ...], ...]]:
    words, arrow, meanings = text.partition("=>")
    if not arrow or not words.strip() or not meanings.strip():
        raise TableError(f"{where}: wanted 'words => meaning', found {text!r}")
    try:
        return words.strip(), tuple(_reading(part) for part in meanings.split("|"))
    except TableError as error:
        raise TableError(f"{where}: {error}") from None


def _reading(text: str) -> tuple[WantedMeaning, ...]:
    if text.strip() == NOT_UNDERSTOOD:
        return ()
    return tuple(meaning(part) for part in text.split(";"))


def _fields(text: str) -> Iterator[Wanted]:
    place = 0
    while place < len(text):
        field = _FIELD.match(text, place)
        if field is None or bool(field[1]) != bool(field[4]):
            raise TableError(f"cannot read {text[place:]!r}")
        values = tuple(_value(field[2], one) for one in re.findall(_ONE_VALUE, field[3]))
        yield Wanted(field[2], values, optional=bool(field[1]))
        place = field.end()


def _value(name: str, text: str) -> Any:
    if text.startswith('"'):
        return text.strip('"')
    if name in ("trees", "but"):
        return tuple(_value("tree", one) for one in text.split(","))
    if text in ("true", "false"):
        return text == "true"
    for number in (int, float):
        try:
            return number(text)
        except ValueError:
            continue
    return text
