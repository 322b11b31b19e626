"""Reads the folder of cards and checks each of them; a faulty card is named and left out.

The form of a file is told in ``handbook/README.md``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.errors import HandbookError
from fieldvoice.handbook.card import LEVELS, MOST_WORDS, Card, key_of, unknown_number, words
from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

#: How a source begins that nobody looked up.
FROM_MEMORY = "from memory: "

#: What else lies in the folder and is no file of cards.
NO_CARDS = "README.md"

_NEEDED = ("title", "level", "say", "why", "source")
_MAY_BE = ("rule",)
_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_FIELD = re.compile(r"([a-z]+):(?:\s+(.*))?$")


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong in which line of which file."""

    file: str
    line: int
    reason: str

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}: {self.reason}"


@dataclass(frozen=True)
class Handbook:
    """The cards that may be used, by file and in their order there, and the faults of the rest."""

    cards: tuple[Card, ...]
    faults: tuple[Fault, ...]

    def card(self, name: str) -> Card | None:
        """Return the card of that name."""
        return self._by_name.get(name)

    @cached_property
    def urgent(self) -> frozenset[str]:
        """The names of the cards that are told in an emergency."""
        return frozenset(card.id for card in self.cards if card.level == "emergency")

    @cached_property
    def _by_name(self) -> dict[str, Card]:
        return {card.id: card for card in self.cards}

    def asked(self, text: str) -> Card | None:
        """Return the card that is asked for in just these words, but for an article or "we"."""
        return self._by_asking.get(key_of(text))

    @cached_property
    def _by_asking(self) -> dict[str, Card]:
        askings = [(key_of(asking), card) for card in self.cards for asking in card.asked]
        owners: dict[str, set[str]] = {}
        for key, card in askings:
            owners.setdefault(key, set()).add(card.id)
        return {key: card for key, card in askings if len(owners[key]) == 1}

    @property
    def subjects(self) -> dict[str, list[Card]]:
        """Return the cards by subject."""
        found: dict[str, list[Card]] = {}
        for card in self.cards:
            found.setdefault(card.subject, []).append(card)
        return found


class _FaultyCardError(Exception):
    """The card that is being read cannot be used: a line of its file, and why."""

    def __init__(self, line: int, reason: str) -> None:
        super().__init__(reason)
        self.line = line


@dataclass(slots=True)
class _Written:
    """A card as it is written: the line of its heading, its fields and askings with their lines."""

    id: str
    line: int
    fields: dict[str, tuple[int, str]] = field(default_factory=dict)
    asked: list[tuple[int, str]] = field(default_factory=list)
    fault: _FaultyCardError | None = None


def handbook_folder() -> Path:
    """Return the folder of the cards: inside an installed package, or beside it in a clone."""
    package = Path(__file__).parent.parent
    installed = package / "_handbook"
    return installed if installed.is_dir() else package.parent / "handbook"


@cache
def shipped() -> Handbook:
    """Return the handbook that comes with fieldvoice; its files are read once.

    Raises:
        HandbookError: it is not there.
    """
    return load(handbook_folder())


@cache
def shipped_urgent() -> tuple[Card, ...]:
    """Return the emergency cards that come with fieldvoice: any words are looked through for them.

    Raises:
        HandbookError: the handbook is not there.
    """
    cards = load(handbook_folder(), "level: emergency").cards
    return tuple(card for card in cards if card.level == "emergency")


def load(folder: Path, having: str = "") -> Handbook:
    """Read all cards of a folder; a faulty card is left out and named in ``faults``.

    Files without ``having`` in them are passed over.

    Raises:
        HandbookError: when the folder is not there or holds no card file.
    """
    files = sorted(file for file in folder.glob("*.md") if file.name != NO_CARDS)
    if not files:
        raise HandbookError(f"There is no handbook in {folder}.")
    reader = _Reader()
    for file in files:
        if having in (text := file.read_text(encoding="utf-8")):
            reader.read(file.name, text)
    return Handbook(tuple(reader.cards), tuple(reader.faults))


class _Reader:
    """Collects cards and faults, and remembers what may be there only once."""

    def __init__(self) -> None:
        self.cards: list[Card] = []
        self.faults: list[Fault] = []
        self._ids: dict[str, str] = {}
        self._asked: dict[str, str] = {}

    def read(self, file: str, text: str) -> None:
        subject, written = _sections(text.splitlines())
        if subject is None:
            self.faults.append(Fault(file, 1, "the first line must be the subject, '# Subject'"))
            return
        for one in written:
            try:
                self._take(file, subject, one)
            except _FaultyCardError as fault:
                self.faults.append(Fault(file, fault.line, f"{one.id}: {fault}"))

    def _take(self, file: str, subject: str, one: _Written) -> None:
        if one.id in self._ids:
            raise _FaultyCardError(one.line, f"this card is in {self._ids[one.id]} already")
        card = _checked(subject, one)
        asked = _each_once(one)
        for said, line in asked.items():
            if said in self._asked:
                raise _FaultyCardError(line, f"{said!r} is asked of {self._asked[said]} already")
        self._ids[one.id] = file
        self._asked.update(dict.fromkeys(asked, one.id))
        self.cards.append(card)


def _sections(lines: Sequence[str]) -> tuple[str | None, list[_Written]]:
    """Return the subject and the cards as written; None when the file does not begin with one."""
    if not lines or not lines[0].startswith("# "):
        return None, []
    written: list[_Written] = []
    last = ""
    for number, line in enumerate(lines[1:], start=2):
        if line.startswith("## "):
            written.append(_Written(line[3:].strip(), number))
            last = ""
        elif line.strip() and written and written[-1].fault is None:
            last = _take_line(written[-1], number, line.rstrip(), last)
    return lines[0][2:].strip(), written


def _take_line(one: _Written, number: int, line: str, last: str) -> str:
    """Put one line where it belongs; return the field that an indented line would go on with."""
    if line.startswith("- ") and last == "asked":
        one.asked.append((number, line[2:].strip()))
        return last
    if line.startswith(" ") and last in one.fields:
        begun, text = one.fields[last]
        one.fields[last] = begun, f"{text} {line.strip()}"
        return last
    found = _FIELD.match(line)
    if found is None:
        one.fault = _FaultyCardError(number, f"{line!r} is neither a field nor an asking")
        return last
    name, text = found[1], (found[2] or "").strip()
    if name not in (*_NEEDED, *_MAY_BE, "asked"):
        one.fault = _FaultyCardError(number, f"there is no field {name!r}")
    elif name in one.fields:
        one.fault = _FaultyCardError(number, f"{name!r} is written twice")
    one.fields[name] = number, text
    return name


def _checked(subject: str, one: _Written) -> Card:
    if one.fault is not None:
        raise one.fault
    if not _ID.fullmatch(one.id):
        raise _FaultyCardError(one.line, "a card is named in small letters and hyphens")
    told = {name: text for name, (_, text) in one.fields.items()}
    for name in _NEEDED:
        if not told.get(name):
            raise _FaultyCardError(one.line, f"{name!r} is missing")
    if not one.asked:
        raise _FaultyCardError(one.line, "nobody asks it: 'asked:' and lines with '- ' are missing")
    level = next((known for known in LEVELS if known == told["level"]), None)
    if level is None:
        line = one.fields["level"][0]
        raise _FaultyCardError(line, f"the level must be one of {', '.join(LEVELS)}")
    if len(told["say"].split()) > MOST_WORDS:
        count, line = len(told["say"].split()), one.fields["say"][0]
        raise _FaultyCardError(line, f"what is said has {count} words, at most {MOST_WORDS}")
    for name in ("say", "why"):
        if wrong := unknown_number(told[name]):
            raise _FaultyCardError(one.fields[name][0], f"no telephone number is called {wrong}")
    return Card(
        one.id, subject, told["title"], level, told["say"], told["why"],
        tuple(_sources(told["source"], one.fields["source"][0])),
        tuple(text for _, text in one.asked), told.get("rule") or None,
    )  # fmt: skip


def _sources(said: str, line: int) -> Iterator[str]:
    """Yield the sources that a card names, written out; what was in memory stays as it is."""
    for name in (part.strip() for part in said.split(";")):
        if name == COMMON_PRACTICE or (name.startswith(FROM_MEMORY) and len(name) > 20):
            yield name
        elif name.isupper() and isinstance(source := getattr(sources, name, None), str):
            yield source
        else:
            raise _FaultyCardError(line, f"no source is called {name!r}")


def _each_once(one: _Written) -> dict[str, int]:
    """Return the askings in plain words with their lines."""
    asked: dict[str, int] = {}
    for line, text in one.asked:
        said = " ".join(words(text))
        if not said:
            raise _FaultyCardError(line, "an empty asking")
        if said in asked:
            raise _FaultyCardError(line, f"{said!r} is asked twice")
        asked[said] = line
    return asked
