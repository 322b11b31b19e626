"""What a reply is made of: typed parts, put into words only when somebody reads or hears them.

A tree, an amount or a time stays a value until it is rendered (``fieldvoice.nlg``): the names that
were given come in there, and so do the book's units. Nothing reads words to find a value again.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date, datetime

Unit = Literal[
    "gal", "syrup gal", "in", "bit in", "ft", "°F", "% sugar", "Brix", "%", "cord", "sq ft", "inHg"
]


@dataclass(frozen=True, slots=True)
class Text:
    """Words of the program's own, without a value in them."""

    text: str


@dataclass(frozen=True, slots=True)
class TreeRef:
    """One tree or several, by number or by the name that is all they have."""

    trees: tuple[int | str, ...]


@dataclass(frozen=True, slots=True)
class VesselRef:
    """A vessel by its kind and number ("tank 2") or by its name."""

    name: str


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount in the book's own unit, whatever unit it is told in; ``places`` decimals at most.

    Without ``places`` it has as many as are usual for the unit.
    """

    value: float
    unit: Unit
    places: int | None = None


@dataclass(frozen=True, slots=True)
class Level:
    """How full something is, 0 to 1."""

    fill: float


@dataclass(frozen=True, slots=True)
class Share:
    """A part of a whole, 0 to 1: "a third", "half", "all"."""

    share: float


@dataclass(frozen=True, slots=True)
class Condition:
    """The condition of sap, as the machine interface names it."""

    sap: str


@dataclass(frozen=True, slots=True)
class Species:
    """A kind of tree, as the machine interface names it: "sugar" is the sugar maple."""

    species: str


@dataclass(frozen=True, slots=True)
class When:
    """A point in time, told from ``now``.

    ``past`` and ``coming`` give day and hour ("yesterday at 4:00 pm", "tomorrow 8:00 am"), ``ago``
    the time since, ``clock`` the hour alone and ``exact`` the same to the minute. ``said`` is a
    time that somebody said, by the day of the week ("Monday at 4:00 pm"). ``due`` is a last hour
    that is past, no finer than one thinks of it ("yesterday evening", "on Sunday").
    """

    at: datetime
    now: datetime
    form: Literal["past", "coming", "ago", "clock", "exact", "said", "due"]


@dataclass(frozen=True, slots=True)
class Day:
    """A day of the calendar: "Friday, March 5"."""

    day: date


@dataclass(frozen=True, slots=True)
class Span:
    """A length of time in seconds: how old something is ("5 hours"), or how long work takes."""

    seconds: float
    form: Literal["age", "work"] = "age"


@dataclass(frozen=True, slots=True)
class Count:
    """So many things; ``one`` names a single one, ``many`` several where an s is not enough.

    With both empty it is the number alone.
    """

    count: int
    one: str
    many: str | None = None


@dataclass(frozen=True, slots=True)
class Lot:
    """The code of a lot, as it stands on the label."""

    code: str


@dataclass(frozen=True, slots=True)
class RuleText:
    """A rule's own sentence; ``rule`` and ``text`` tell later that it was said.

    ``told`` is the sentence in parts, where it names things that may have been given a name.
    """

    rule: str
    text: str
    told: tuple[Segment, ...] = ()


@dataclass(frozen=True, slots=True)
class Example:
    """Words that can be said, put in quotes."""

    words: str


@dataclass(frozen=True, slots=True)
class Quote:
    """Somebody's own words, in the units in which they were said; in quotes, with ``marks``."""

    words: str
    marks: bool = True


Segment = (
    Text | TreeRef | VesselRef | Quantity | Level | Share | Condition | Species | When | Day
    | Span | Count | Lot | RuleText | Example | Quote
)  # fmt: skip
Parts = tuple[Segment, ...]


@dataclass(frozen=True, slots=True)
class Told:
    """A thing and what is told of it: "Tree 9: 2.5 gal, clear, into tank 1".

    Several with the same head are told in one sentence. Without a head the details stand alone.
    """

    head: Parts
    details: tuple[Parts, ...] = ()


Role = Literal["fact", "warning", "prompt", "hint"]


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of a reply and what it is there for; its first letter and stop come later.

    ``about`` is what it answers, told first where the words were taken freely.
    """

    role: Role
    parts: Parts | Told
    stop: str = "."
    about: Parts = ()


def segments_in(told: Iterable[Sentence]) -> Iterator[Segment]:
    """Yield every segment of sentences, one after the other."""
    for one in told:
        if isinstance(one.parts, Told):
            yield from chain(one.parts.head, *one.parts.details)
        else:
            yield from one.parts


def rules_told(told: Iterable[Sentence]) -> set[tuple[str, str]]:
    """Return the rules whose words stand in sentences, each with these words."""
    return {(one.rule, one.text) for one in segments_in(told) if isinstance(one, RuleText)}


Piece = str | Segment | Parts | None


def parts(*pieces: Piece) -> Parts:
    """Return what there is of ``pieces`` in a row; words come as they are."""
    found: list[Segment] = []
    for piece in pieces:
        if isinstance(piece, tuple):
            found += piece
        elif piece:
            found.append(Text(piece) if isinstance(piece, str) else piece)
    return tuple(found)


def details(*told: Piece) -> tuple[Parts, ...]:
    """Return the details that there are; a lone segment or word counts as one."""
    return tuple(parts(one) for one in told if one)


def listed(things: Iterable[Piece], word: str = "and", between: str = ",") -> Parts:
    """Return "a", "a and b" or "a, b and c"."""
    known = [parts(thing) for thing in things]
    links = ["", *[between] * (len(known) - 2), word][: len(known)]
    return parts(*(parts(link, one) for link, one in zip(links, known, strict=True)))


def fact(*pieces: Piece) -> Sentence:
    """Return a sentence of what is so."""
    return Sentence("fact", parts(*pieces))


def prompt(*pieces: Piece) -> Sentence:
    """Return a question that waits for its answer."""
    return Sentence("prompt", parts(*pieces), "?")


def whether(*does: Piece) -> Sentence:
    """Return the question whether to do what a yes would do."""
    return prompt(*does, ": yes or no")


def told_of(head: Piece, *said: Piece) -> Sentence:
    """Return a sentence of what is told of a thing; without ``head`` the details stand alone."""
    return Sentence("fact", Told(parts(head), details(*said)))
