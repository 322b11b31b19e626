"""What the rules warned about in a season, and what came of it."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from fieldvoice.book.fold import by_number
from fieldvoice.book.rounds import trees_in
from fieldvoice.rules.registry import RULES_BY_FAMILY
from fieldvoice.schema.acts import Weather

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import datetime

    from fieldvoice.book import Entry, Utterance, Years
    from fieldvoice.schema import Act, TreeId

#: What a warning is about: a tree, a vessel, or the work at the pan.
Thing = tuple[str, "TreeId"]
_PAN: Thing = ("work", "pan")
#: Weather is about the day's work: what is gathered, poured and boiled.
_DAY: Thing = ("work", "day")
_OF_THE_DAY = frozenset({"gather", "store", "boil"})
#: What is noted later than this did not come of a warning (a design choice).
COMES_WITHIN = timedelta(days=14)
#: Cautions come with every fire that is lit, whatever was noted: they are no warnings.
_CAUTIONS = frozenset(rule.id for rule in RULES_BY_FAMILY["Cautions"])
#: Levels that are warnings, the louder first.
LEVELS = ("stop", "care")


@dataclass(frozen=True, slots=True)
class Outcome:
    """One warning: when, in what words, at what note, and what came of it.

    ``taken_back`` tells that the note was put right or taken back; else ``then`` is the next note
    about the same thing, and None while there is none.
    """

    at: datetime
    text: str
    note: Act
    taken_back: bool
    then: tuple[datetime, Act] | None


@dataclass(frozen=True, slots=True)
class Warned:
    """One rule's warnings in a season; ``why`` and ``source`` are those of the first."""

    level: str
    why: str
    source: str
    times: tuple[Outcome, ...]

    @property
    def texts(self) -> list[str]:
        """The words in which it was said, the most frequent first."""
        return [text for text, _ in Counter(time.text for time in self.times).most_common()]


def warnings_of(years: Years, year: int) -> list[Warned]:
    """Return the warnings that notes of a season led to, the loudest and most frequent first."""
    said = [one for one in years.warned(year) if one.outcome == "saved" and _warnings_in(one)]
    entries = years.entries(year) if said else []
    by_utterance: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        by_utterance[entry.utterance_id].append(entry)
    later = _by_thing(years, entries)
    told: dict[tuple[str, str], Mapping[str, str]] = {}
    times: dict[tuple[str, str], list[Outcome]] = defaultdict(list)
    for one in said:
        notes = by_utterance.get(one.id)
        for finding in _warnings_in(one) if notes else ():
            key = finding["level"], finding["rule"]
            told.setdefault(key, finding)
            times[key].append(_outcome(finding["text"], notes or [], years, later))
    found = [
        Warned(one["level"], one["why"], one["source"], tuple(times[key]))
        for key, one in told.items()
    ]
    return sorted(found, key=lambda one: (LEVELS.index(one.level), -len(one.times)))


def _warnings_in(said: Utterance) -> list[Mapping[str, str]]:
    return [
        finding
        for finding in said.findings
        if finding["level"] in LEVELS and finding["rule"] not in _CAUTIONS
    ]


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
    if act.act in _OF_THE_DAY:
        found.append(_DAY)
    return found or ([_PAN] if act.spec.at_the_pan else [])


def _about(act: Act) -> list[Thing]:
    """Return what a warning at a note is about: the day only where there is nothing nearer."""
    if isinstance(act, Weather):
        return [_DAY]
    things = _things(act)
    return [thing for thing in things if thing != _DAY] or things


def _outcome(
    text: str,
    notes: Sequence[Entry],
    years: Years,
    later: Mapping[Thing, list[tuple[datetime, str, Act]]],
) -> Outcome:
    first = notes[0]
    if all(note.voided_by is not None for note in notes):
        return Outcome(first.at, text, first.act, True, None)
    act = by_number(first.act, years.names)
    coming = (
        (at, one)
        for thing in _about(act)
        for at, utterance, one in later.get(thing, ())
        if first.at < at <= first.at + COMES_WITHIN and utterance != first.utterance_id
    )
    return Outcome(first.at, text, act, False, min(coming, key=lambda one: one[0], default=None))
