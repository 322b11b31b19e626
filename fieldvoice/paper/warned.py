"""What the rules warned about in a season, and what came of it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.book.fold import by_number
from fieldvoice.book.rounds import trees_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import datetime

    from fieldvoice.book import Entry, Years
    from fieldvoice.schema import Act, TreeId

#: What a warning is about: a tree, a vessel, or the work at the pan.
Thing = tuple[str, "TreeId"]
_PAN: Thing = ("work", "pan")
#: Levels that are warnings, the louder first.
LEVELS = ("stop", "care")


@dataclass(frozen=True, slots=True)
class Outcome:
    """One warning: when, at what words, and what came of it.

    ``taken_back`` tells that the note was put right or taken back; else ``then`` is the next note
    about the same thing, and None while there is none.
    """

    at: datetime
    heard: str
    note: Act | None
    taken_back: bool
    then: tuple[datetime, Act] | None


@dataclass(frozen=True, slots=True)
class Warned:
    """One rule's word in a season, with each time that it was said."""

    level: str
    text: str
    why: str
    source: str
    times: tuple[Outcome, ...]


def warnings_of(years: Years, year: int) -> list[Warned]:
    """Return the warnings that notes of a season led to, the loudest and most frequent first."""
    entries = years.entries(year)
    by_utterance: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        by_utterance[entry.utterance_id].append(entry)
    later = _by_thing(years, entries)
    told: dict[tuple[str, str], Mapping[str, str]] = {}
    times: dict[tuple[str, str], list[Outcome]] = defaultdict(list)
    for said in years.warned(year):
        notes = by_utterance.get(said.id, [])
        if said.outcome != "saved" or not notes:
            continue
        outcome = _outcome(said.text, notes, years, later)
        for finding in said.findings:
            if finding["level"] in LEVELS:
                key = finding["rule"], finding["text"]
                told.setdefault(key, finding)
                times[key].append(outcome)
    found = [
        Warned(one["level"], one["text"], one["why"], one["source"], tuple(times[key]))
        for key, one in told.items()
    ]
    return sorted(found, key=lambda one: (LEVELS.index(one.level), -len(one.times)))


def _by_thing(
    years: Years, entries: Iterable[Entry]
) -> dict[Thing, list[tuple[datetime, str, Act]]]:
    """Return the live notes about each thing, by the time they happened."""
    found: dict[Thing, list[tuple[datetime, str, Act]]] = defaultdict(list)
    for entry in sorted(entries, key=lambda one: one.at):
        if entry.voided_by is None:
            act = by_number(entry.act, years.names)
            for thing in _things(act):
                found[thing].append((entry.at, entry.utterance_id, act))
    return found


def _things(act: Act) -> list[Thing]:
    found: list[Thing] = [("tree", tree) for tree in trees_in(act)]
    vessel: str | None = getattr(act, "vessel", None)
    if vessel is not None:
        found.append(("vessel", vessel))
    return found or ([_PAN] if act.spec.at_the_pan else [])


def _outcome(
    heard: str,
    notes: Sequence[Entry],
    years: Years,
    later: Mapping[Thing, list[tuple[datetime, str, Act]]],
) -> Outcome:
    first = notes[0]
    if all(note.voided_by is not None for note in notes):
        return Outcome(first.at, heard, first.act, True, None)
    act = by_number(first.act, years.names)
    coming = (
        (at, one)
        for thing in _things(act)
        for at, utterance, one in later.get(thing, ())
        if at > first.at and utterance != first.utterance_id
    )
    return Outcome(first.at, heard, act, False, min(coming, key=lambda one: one[0], default=None))
