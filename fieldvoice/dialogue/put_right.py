"""A note put right: by its thing, its day and what it said, or by telling it anew.

"Three, not two, on nine yesterday": which of the numbers is the tree and which is wrong is found in
the book: one of them is a tree or a vessel with a note of that day, and one is what that note says.
"No, the high was 40": who says no, and then a whole note of a thing that was just noted, puts that
note right.
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from math import isclose
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue.answers.said import about
from fieldvoice.dialogue.corrections import LOOK_BACK, PutRight, numbers_in, to_correct
from fieldvoice.dialogue.fields import number_into
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.times import days_of, span_of
from fieldvoice.schema import Act, Command

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from fieldvoice.book import Entry
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.nlu.chunker import Span
    from fieldvoice.schema import Meaning

#: What is told after one of these is wrong; what is told last after the others is right.
_NOT = re.compile(r"\b(?:not|instead of|rather than)\b", re.IGNORECASE)
_MADE = re.compile(
    r"^(?:no,? )?(?:please )?(?:change|correct|fix|make)\b.*\bto\b"
    r"|\bshould(?:'ve| have)? (?:be|been|say|read)\b|\bsupposed to be\b"
    r"|\b(?:is|was|were) wrong\b.*\b(?:is|was|were|it's)\b",
    re.IGNORECASE,
)
#: What is counted; a number beside none of these is an amount.
_COUNTED = re.compile(
    r"\b(?:taps?|spiles?|holes?|jars?|bottles?|(?:half )?(?:pint|quart)s?)\b", re.IGNORECASE
)
#: Who says no to what was noted, before a note told anew.
_DENIED = re.compile(
    r"(?:(?:no|nope|sorry|wait|oops|whoops|actually|correction|wrong|hang on|hold on|my mistake"
    r"|i meant|i mean|that(?:'s| is| was) wrong|they were|it was|that was)\b[\s,.:]*)+",
    re.IGNORECASE,
)
_NOT_THAT = re.compile(r"[\s,]+(?:and )?not (?:the |a |an )?[\w.]+(?: [\w.]+){0,3}[\s.!]*$", re.I)
#: A note told so long ago is no longer what is put right by telling another.
_STILL_MEANT = timedelta(hours=12)
#: What a note that names nothing may be put right by: the same of the last breath alone.
_LATELY = timedelta(minutes=30)


def put_right(
    text: str, moment: TurnContext, pieces: Callable[[], Sequence[Span]]
) -> Command | None:
    """Return the correction that ``text`` makes of one note of today or a day before; or None.

    ``pieces`` returns what has a value in it.
    """
    denied = _NOT.search(text)
    if moment.tells_more or not (denied or _MADE.search(text)):
        return None
    at = len(words_of(text[: denied.start()], breaks=True)) if denied else None
    found: dict[str, Command] = {}
    for command in _corrections(words_of(text, breaks=True), pieces(), at, moment):
        if "count" not in command.fields or _COUNTED.search(text):
            found.setdefault(str(command.fields), command)
    return next(iter(found.values())) if len(found) == 1 else None


def _corrections(
    words: Sequence[str], pieces: Sequence[Span], denied: int | None, moment: TurnContext
) -> Iterator[Command]:
    """Yield each correction that the words may make; after ``denied`` stands what is wrong."""
    named = [one for one in pieces if one.sort in ("tree", "vessel")]
    volumes = [one for one in pieces if one.sort == "volume"]
    bare = [
        one for one in pieces
        if one.sort == "number" and not any(_is_within(one, other) for other in (*named, *volumes))
    ]  # fmt: skip
    day = _day_named(pieces, moment)
    of_day = [one for one in moment.book.entries_since(day) if day_of(one, moment) == day]
    amounts = sorted((*volumes, *bare), key=_start)
    for thing in named or _may_be_trees(amounts, words, denied):
        of = {"tree" if thing.sort == "number" else thing.sort: thing.value}
        said = [one for one in amounts if one != thing]
        wrong = next((one for one in said if denied is not None and one.start >= denied), None)
        rest = [one for one in said if one != wrong]
        if not rest or (denied is not None and (wrong is None or len(rest) > 1)):
            continue
        for entry in reversed(of_day):
            if not about(entry, of, moment.season.names):
                continue
            for fields in _righted(entry, wrong, rest[-1], moment):
                on = {} if day == moment.now.date() else {"on": day.isoformat()}
                command = Command(do="correct", fields={**fields, "of": of, **on})
                target = to_correct(moment, command)
                if isinstance(target, PutRight) and target.entries == (entry,):
                    yield command


def _may_be_trees(amounts: Sequence[Span], words: Sequence[str], denied: int | None) -> list[Span]:
    """Return the bare numbers that may be a tree: those pointed at, or none beside a "not"."""
    bare = [one for one in amounts if one.sort == "number"]
    pointed = [one for one in bare if words[one.start - 1 : one.start] in _POINTING]
    if pointed or denied is None:
        return pointed or bare[:1]
    before = [one for one in amounts if one.start < denied][-1:]
    after = [one for one in amounts if one.start > denied][:1]
    return [one for one in bare if one not in (*before, *after)]


_POINTING = [("on",), ("at",), ("from",), ("for",), ("number",)]


def _righted(
    entry: Entry, wrong: Span | None, right: Span, moment: TurnContext
) -> Iterator[dict[str, Any]]:
    """Yield each number of a note that is ``wrong`` as it was said, with what is right."""
    for name in numbers_in(entry.act):
        told = getattr(entry.act, name)
        value = _stored(name, right, entry, moment)
        is_wrong = wrong is None or _is(_stored(name, wrong, entry, moment), told)
        if name != "tree" and is_wrong and value is not None and not _is(value, told):
            yield {name: value}


def _is(value: float | None, told: float) -> bool:
    return value is not None and isclose(value, told)


def _start(piece: Span) -> int:
    return piece.start


def _stored(name: str, said: Span, entry: Entry, moment: TurnContext) -> float | None:
    """Return an amount said as the field of a note would store it; None where it cannot."""
    if said.sort == "volume":
        return float(said.value) if name in ("volume_gal", "syrup_gal") else None
    return number_into(name, said.value, entry.act, metric=moment.settings.metric).get(name)


def _is_within(part: Span, whole: Span) -> bool:
    return whole.start <= part.start and part.end <= whole.end


def _day_named(pieces: Sequence[Span], moment: TurnContext) -> date:
    """Return the one day that is named, or today."""
    today = moment.now.date()
    spans = (days_of(span_of(one.value, today)) for one in pieces if one.sort == "span_back")
    return next((first for first, last in spans if first == last), today)


def day_of(entry: Entry, moment: TurnContext) -> date:
    """Return the day of a note, where the speaker is."""
    return entry.at.astimezone(moment.now.tzinfo).date()


def told_anew(text: str) -> str | None:
    """Return the note that words tell in the place of another; None where they deny nothing."""
    denied = _DENIED.match(text)
    rest = text[denied.end() :] if denied else text
    bare = _NOT_THAT.sub("", rest)
    return bare if bare and (denied or bare != rest) else None


def in_place_of(meanings: Sequence[Meaning], moment: TurnContext) -> Command | None:
    """Return the correction that a note makes of the last one like it; None where there is none."""
    if len(meanings) != 1 or not isinstance(meanings[0], Act):
        return None
    act = meanings[0]
    said = {key: one for key, one in act.json_fields().items() if key not in ("act", "at")}
    about = {key: said[key] for key in act.spec.subject if key in said}
    right = {key: one for key, one in said.items() if key not in about}
    newest = moment.book.newest_entries(LOOK_BACK)
    for entry in reversed(newest):
        if moment.now - entry.at > (_STILL_MEANT if about else _LATELY):
            return None
        told = entry.act.json_fields()
        is_like = entry.act.act == act.act and all(told.get(key) == about[key] for key in about)
        if not is_like or not right.keys() & told.keys():
            continue
        if all(told.get(key) == right[key] for key in right):
            return None
        of_it = {"of": about} if about.keys() & {"tree", "vessel"} else {}
        for fields in (right, {**right, **of_it}):
            command = Command(do="correct", fields=fields)
            target = to_correct(moment, command)
            if isinstance(target, PutRight) and target.entries == (entry,):
                return command
        return None
    return None
