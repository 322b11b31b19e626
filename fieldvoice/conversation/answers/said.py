"""What was said of a tree or vessel, or last of all, with what was put right or taken back."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from fieldvoice.conversation.answers.answered import Answered
from fieldvoice.conversation.focus import named_in
from fieldvoice.conversation.readback import readback
from fieldvoice.nlg import wording as w
from fieldvoice.understanding.dates import date_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from fieldvoice.book import Entry
    from fieldvoice.conversation.turn import Moment
    from fieldvoice.meaning import Ask, Names

#: The most notes told at once: more cannot be followed by ear (a design choice).
_MOST_TOLD = 5
_OF_A_THING = 3


def _said(ask: Ask, moment: Moment) -> Answered:
    notes = [entry for entry in _candidates(ask, moment) if _asked(entry, ask, moment)]
    if not notes:
        return Answered(f"Nothing is in the book about {_thing(ask)}.")
    live = sorted((one for one in notes if one.voided_by is None), key=lambda one: one.at)[::-1]
    if not live:
        return Answered(f"All taken back. {_note(notes[-1], ask, moment)}, taken back.")
    wanted = ask.count or (_OF_A_THING if _is_of_a_thing(ask) or ask.since else 1)
    told = live[: min(wanted, _MOST_TOLD)]
    sentences = [f"{_note(one, ask, moment)}{_changed(one, notes, ask, moment)}." for one in told]
    if _is_of_a_thing(ask):
        sentences[0] = sentences[0][:1].lower() + sentences[0][1:]
    head = f"{w.start(_thing(ask))}: " if _is_of_a_thing(ask) else ""
    more = len(live) - len(told)
    rest = f" And {w.counted(more, 'note')} before." if _is_of_a_thing(ask) and more else ""
    return Answered(head + " ".join(sentences) + rest)


def _candidates(ask: Ask, moment: Moment) -> list[Entry]:
    """Return the notes to look through: those about the thing, or of the time, or the newest."""
    if _is_of_a_thing(ask):
        return moment.book.entries_naming(tree=ask.tree, vessel=ask.vessel, include_void=True)
    if ask.since is not None:
        since = date_of(ask.since, moment.now.date()) - timedelta(days=1)
        return moment.book.entries_since(since, include_void=True)
    return moment.book.entries(include_void=True)


def _is_of_a_thing(ask: Ask) -> bool:
    return ask.tree is not None or ask.vessel is not None


def _thing(ask: Ask) -> str:
    if ask.tree is not None:
        return w.tree_name(ask.tree)
    return ask.vessel or "that"


def about(entry: Entry, thing: Mapping[str, Any], names: Names) -> bool:
    """Whether a note names a tree (or, without one, a vessel), by number or by a given name."""
    named, meant = names.numbered(named_in(entry.act)), names.numbered(thing)
    if meant.get("tree") is not None:
        return meant["tree"] == named.get("tree") or meant["tree"] in named.get("trees", ())
    return meant.get("vessel") == named.get("vessel")


def _asked(entry: Entry, ask: Ask, moment: Moment) -> bool:
    if ask.since is not None:
        since = date_of(ask.since, moment.now.date())
        if entry.at.astimezone(moment.now.tzinfo).date() < since:
            return False
    return not _is_of_a_thing(ask) or about(entry, ask.json_fields(), moment.season.names)


def _note(entry: Entry, ask: Ask, moment: Moment) -> str:
    return f"{_told(entry, ask, moment)}, {w.ago(entry.at, moment.now)}"


def _told(entry: Entry, ask: Ask, moment: Moment) -> str:
    whole = readback(entry.act, moment.settings.metric).rstrip(".")
    head, colon, rest = whole.partition(": ")
    return w.start(rest) if colon and _is_of_a_thing(ask) and head.lower() == _thing(ask) else whole


def _changed(entry: Entry, notes: list[Entry], ask: Ask, moment: Moment) -> str:
    """Return ", changed from 2 gal" for a note that put another in its place."""
    before = [one for one in notes if one.voided_by == entry.utterance_id]
    if not before:
        return ""
    was = _told(before[-1], ask, moment)
    return f", changed from {was[:1].lower()}{was[1:]}"


ANSWERS: dict[str, Callable[[Ask, Moment], Answered]] = {"said": _said}
