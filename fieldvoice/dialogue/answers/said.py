"""What was said of a tree or vessel, or last of all, with what was put right or taken back."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from fieldvoice.book.history import newest_first
from fieldvoice.dialogue.answers.answered import Answered, answer, answers
from fieldvoice.dialogue.answers.of_a_day import come_to, in_no_sum
from fieldvoice.dialogue.focus import named_in
from fieldvoice.dialogue.words_found import telling_words
from fieldvoice.nlu.times import date_of, days_of
from fieldvoice.schema.acts import Remark
from fieldvoice.schema.asks.season import Clock, Said
from fieldvoice.schema.vocabulary import SINCE, SPAN_BACK
from fieldvoice.segments import (
    Count,
    Day,
    Sentence,
    Text,
    Told,
    TreeRef,
    VesselRef,
    When,
    fact,
    parts,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date
    from typing import Any

    from fieldvoice.book import Entry
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import Names
    from fieldvoice.segments import Parts

#: The most notes told at once: more cannot be followed by ear (a design choice).
_MOST_TOLD = 5
_OF_A_THING = 3
#: More notes before than this are not counted: the ear makes nothing of a larger number (the same).
_COUNTED = 100


@answers(Clock)
def _clock(ask: Clock, moment: TurnContext) -> Answered:
    now = moment.now
    return answer(When(now, now, "exact"), ",", Day(now.date()))


@answers(Said)
def _said(ask: Said, moment: TurnContext) -> Answered:
    notes = (entry for entry in _newest_first(ask, moment) if _asked(entry, ask, moment))
    of_a_thing = _is_of_a_thing(ask)
    found = ask.words or ask.span
    wanted = ask.count or (_OF_A_THING if of_a_thing or ask.since or found else 1)
    wanted = min(wanted, _MOST_TOLD)
    live, gone = _looked_through(notes, wanted + _COUNTED + 1)
    if not live and gone is None:
        when = SPAN_BACK.told(ask.span) if ask.span else ()
        today = ask.since and date_of(ask.since, moment.now.date()) == moment.now.date()
        of_time = ask.since or (ask.span and not (ask.words or _is_of_a_thing(ask)))
        thing = "of today" if today else _thing(ask) if of_time else parts("about", _thing(ask))
        return answer("Nothing is in the book", thing, *when)
    if gone is not None:
        last = Sentence("fact", Told((), (*_note(gone, (), moment), parts("taken back"))))
        return Answered((fact("All taken back"), last))
    days = _days(ask, moment.now.date())
    acts = [entry.act for entry in live]
    if days is not None and wanted < len(live) <= _COUNTED:
        came_to = come_to(acts, days, moment)
        if came_to:
            more = in_no_sum(acts)
            rest = fact("And", Count(more, "other note")) if more else fact()
            return Answered((fact(came_to), rest))
    head = _thing(ask) if of_a_thing else ()
    sentences = [
        Told((), (*_note(one, head, moment), *_changed(one, ask, head, moment)))
        for one in live[:wanted]
    ]
    sentences[0] = Told(head, sentences[0].details)
    counted = of_a_thing or found or ask.since
    rest = _and_before(len(live) - wanted) if counted else fact()
    return Answered((*(Sentence("fact", one) for one in sentences), rest))


def _newest_first(ask: Said, moment: TurnContext) -> Iterable[Entry]:
    """Return the notes to look through: those about the thing, or of the time, or the newest.

    Those taken back are among them. They are read as far as somebody goes through them.
    """
    book, span = moment.book, _stamp(ask.span)
    if _is_of_a_thing(ask):
        return newest_first(book, tree=ask.tree, vessel=ask.vessel, stamped=span)
    if ask.words is not None:
        return newest_first(book, words=telling_words(ask.words), stamped=span)
    if ask.since is not None or ask.span is not None:
        first = days_of(ask.span)[0] if ask.span else date_of(ask.since or "", moment.now.date())
        return newest_first(book, since=first - timedelta(days=1), stamped=span)
    newest = book.newest_to_happen(_MOST_TOLD, include_void=True)
    return sorted(newest, key=lambda entry: entry.at)[::-1]


def _days(ask: Said, today: date) -> tuple[date, date] | None:
    """Return the days that all is asked of; None where it is of a thing, of words or of no time."""
    if _is_of_a_thing(ask) or ask.words is not None or ask.count is not None:
        return None
    if ask.span is not None:
        return days_of(ask.span)
    return None if ask.since is None else (date_of(ask.since, today), today)


def _stamp(span: str | None) -> str:
    """Return how the times of all notes of a span begin, as far as is told by year and month."""
    if span is None:
        return ""
    first, last = days_of(span)
    if first.year != last.year:
        return ""
    return f"{first:%Y-%m}" if first.month == last.month else f"{first:%Y}"


def _looked_through(notes: Iterable[Entry], most: int) -> tuple[list[Entry], Entry | None]:
    """Return the first ``most`` notes that hold; where none does, the first taken back."""
    live: list[Entry] = []
    gone: Entry | None = None
    for one in notes:
        if one.voided_by is None:
            live.append(one)
        elif gone is None:
            gone = one
        if len(live) == most:
            break
    return live, None if live else gone


def _and_before(more: int) -> Sentence:
    if more > _COUNTED:
        return fact("And more than", Count(_COUNTED, "note"), "before")
    return fact("And", Count(more, "note"), "before") if more > 0 else fact()


def _is_of_a_thing(ask: Said) -> bool:
    return ask.tree is not None or ask.vessel is not None


def _thing(ask: Said) -> Parts:
    if ask.tree is not None:
        return (TreeRef((ask.tree,)),)
    if ask.words is not None:
        return (Text(ask.words),)
    if ask.since is not None:
        return SINCE.told(ask.since)
    if ask.span is not None and ask.vessel is None:
        return ()
    return (VesselRef(ask.vessel),) if ask.vessel else (Text("that"),)


def about(entry: Entry, thing: Mapping[str, Any], names: Names) -> bool:
    """Whether a note names a tree (or, without one, a vessel), by number or by a given name."""
    named, meant = names.numbered(named_in(entry.act)), names.numbered(thing)
    if meant.get("tree") is not None:
        return meant["tree"] == named.get("tree") or meant["tree"] in named.get("trees", ())
    return meant.get("vessel") == named.get("vessel")


def _asked(entry: Entry, ask: Said, moment: TurnContext) -> bool:
    if ask.since is not None:
        since = date_of(ask.since, moment.now.date())
        if entry.at.astimezone(moment.now.tzinfo).date() < since:
            return False
    if ask.span is not None:
        first, last = days_of(ask.span)
        if not first <= entry.at.astimezone(moment.now.tzinfo).date() <= last:
            return False
    return not _is_of_a_thing(ask) or about(entry, ask.json_fields(), moment.season.names)


def _note(entry: Entry, head: Parts, moment: TurnContext) -> tuple[Parts, ...]:
    who = moment.book.utterance(entry.utterance_id).by if isinstance(entry.act, Remark) else None
    ago = When(entry.at, moment.now, "ago")
    return (*_told(entry, head), parts(ago, ", by" if who else None, who))


def _told(entry: Entry, head: Parts) -> tuple[Parts, ...]:
    """Return what a note says, without what it is about where that is ``head`` already."""
    told = entry.act.told()
    if told.head == head and told.details:
        return told.details
    first, *more = told.details or ((),)
    return (parts(told.head, ":" if told.head and first else None, first), *more)


def _changed(entry: Entry, ask: Said, head: Parts, moment: TurnContext) -> tuple[Parts, ...]:
    """Return "changed from 2 gal" for a note that put another in its place."""
    gone = moment.book.entries_taken_back_by(entry.utterance_id)
    before = [one for one in gone if _asked(one, ask, moment)]
    if not before:
        return ()
    first, *more = _told(before[-1], head)
    return (parts("changed from", first), *more)
