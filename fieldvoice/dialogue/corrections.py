"""Taking back and putting right. Nothing is erased: a note taken back stays in the history."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING, Any

from fieldvoice.book.history import newest_first
from fieldvoice.dialogue.answers.said import about
from fieldvoice.dialogue.context import Turn, TurnContext
from fieldvoice.dialogue.fields import changed, number_into
from fieldvoice.dialogue.focus import FOCUS_LASTS, Focus, named_in
from fieldvoice.dialogue.policy import Confirmation
from fieldvoice.dialogue.readback import told
from fieldvoice.schema import Act, Command, meaning_from
from fieldvoice.schema.acts import Inspect, Transfer
from fieldvoice.schema.commands import WHICH_NOTE
from fieldvoice.segments import Sentence, Text, fact, parts

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldvoice.book import Entry, Utterance
    from fieldvoice.schema import Meaning

#: Outcomes that left nothing in the book; taking them back drops the words from the review.
NOTHING_WRITTEN = ("kept", "asked")

#: Notes looked at for what was said last: far more than one breath and a few before it hold.
LOOK_BACK = 200


def undo(moment: TurnContext, command: Command) -> Turn:
    """Take back the last thing said; said again, the one before, several steps back.

    Words just kept or a question just asked are dropped; a tree just named is forgotten; else the
    notes of the last utterance that still has any. A correction taken back brings the old note
    back. A command that says which note is about that one alone.
    """
    last = moment.last
    if command.fields:
        meant = islice(_meant(moment, command.fields), command.fields.get("last", 1))
        return _took_back(moment, command, list(meant))
    if last is not None and last.outcome in NOTHING_WRITTEN:
        dropped = (fact("Dropped"),)
        return Turn("done", dropped, (command,), resolves=last.id, focus=moment.focus)
    if last is not None and _only_named(last):
        return Turn("done", (fact("Forgotten"),), (command,), focus=Focus())
    entries = moment.book.newest_entries(LOOK_BACK)
    taken = [entry for entry in entries if entry.utterance_id == entries[-1].utterance_id]
    return _took_back(moment, command, taken)


def doubt_about_undo(moment: TurnContext, command: Command) -> Confirmation | None:
    """Return the question to ask before a note is taken back that nobody called a note.

    "Forget tree nine" may be the tree itself.
    """
    if command.do != "undo" or "of" not in command.fields or "last" in command.fields:
        return None
    meant = next(_meant(moment, command.fields), None)
    return Confirmation((told(meant.act),), does=parts("take that back")) if meant else None


def _took_back(moment: TurnContext, command: Command, taken: list[Entry]) -> Turn:
    if not taken:
        return Turn("done", (fact("Nothing to take back"),), (command,), focus=moment.focus)
    # "Scratch tree nine" wants the note gone, not the one that it was put right from.
    corrections = set() if "of" in command.fields else {entry.utterance_id for entry in taken}
    restored = _corrected_by(moment, corrections)
    said = _told("took back:", [entry.act for entry in taken]) + _told("again:", restored)
    return Turn(
        "done",
        said,
        (command,),
        notes=restored,
        voids=tuple(entry.id for entry in taken),
        focus=moment.focus.after(restored or tuple(e.act for e in taken), moment.now),
    )


def restore(moment: TurnContext, command: Command) -> Turn:
    """Put back what the last undo took back; not twice."""
    for utterance in reversed(moment.book.utterances(newest=LOOK_BACK)):
        done = {meaning.get("do") for meaning in utterance.meanings}
        if "restore" in done:
            break
        if "undo" not in done:
            continue
        gone = moment.book.entries_taken_back_by(utterance.id)
        if not gone:
            break  # it dropped words that were no note; an older undo was not meant
        notes = tuple(_at_its_time(entry) for entry in gone)
        live = moment.book.newest_entries(LOOK_BACK)
        again = tuple(e.id for e in live if e.utterance_id == utterance.id)
        focus = moment.focus.after(notes, moment.now)
        told = _told("back in the book:", notes)
        return Turn("done", told, (command,), notes=notes, voids=again, focus=focus)
    return Turn("done", (fact("Nothing to put back"),), (command,), focus=moment.focus)


def _told(before: str, acts: Sequence[Act]) -> tuple[Sentence, ...]:
    """Return notes read back after the words that tell what was done with them."""
    return (Sentence("fact", (Text(before),), ""), *map(told, acts)) if acts else ()


def _only_named(last: Utterance) -> bool:
    return bool(last.meanings) and all("mention" in meaning for meaning in last.meanings)


def _corrected_by(moment: TurnContext, utterance_ids: set[str]) -> tuple[Act, ...]:
    """Return the notes that corrections put away, at the times they had."""
    corrections = {
        one
        for one in utterance_ids
        if any(meaning.get("do") == "correct" for meaning in moment.book.utterance(one).meanings)
    }
    put_away = (moment.book.entries_taken_back_by(one) for one in sorted(corrections))
    return tuple(_at_its_time(entry) for entries in put_away for entry in entries)


def _at_its_time(entry: Entry, act: Act | None = None) -> Act:
    """Return the act (left out: the entry's own) with the time at which it happened."""
    dated: Act = (act or entry.act).replace(at=entry.at.isoformat())
    return dated


@dataclass(frozen=True, slots=True)
class PutRight:
    """Notes as they should have been, and the entries that they take the place of."""

    entries: tuple[Entry, ...]
    acts: tuple[Act, ...]


def to_correct(moment: TurnContext, command: Command) -> PutRight | Meaning | None:
    """Return what a correction is about, changed: notes with their entries, or a question or name.

    It is about the note that the command says, or else about the last thing said, passing over
    commands such as "say that again" and questions that name nothing ("which trees did I miss").
    When that was not understood, nothing is corrected: the note before it was not meant. Right
    after "scratch that" it is about what was taken back, which comes into the book as it should
    have been. What the note said cannot carry ("the one before was cloudy", of a tree tapped) is a
    note of its own about the same thing; it comes without an entry. With the tree of a note put
    right, the notes just before it that were made at the same tree move along.
    """
    right = {key: value for key, value in command.fields.items() if key not in WHICH_NOTE}
    metric = moment.settings.metric
    if command.fields.keys() & WHICH_NOTE:
        return _further_back(_meant(moment, command.fields), right, metric=metric)
    for utterance in reversed(moment.book.utterances(newest=6)):
        if _changed_nothing(utterance):
            continue
        if utterance.outcome in NOTHING_WRITTEN:
            return None
        gone = _just_taken_back(moment, utterance)
        of_it = gone or _written_by(moment, utterance)
        for entry in reversed(of_it):
            new = changed(entry.act, _named_for(entry.act, right, metric=metric))
            if isinstance(new, Act):
                anew = PutRight((), (_at_its_time(entry, new),))
                return anew if gone else _with_those_before(moment, entry, new)
        if of_it:
            return None
        said = _asked_or_named(utterance)
        if said is not None:
            again = _asked_again(moment, said, right)
            if again is not None or named_in(said):
                return again
    return None


def _written_by(moment: TurnContext, utterance: Utterance) -> list[Entry]:
    newest = moment.book.newest_entries(LOOK_BACK)
    return [entry for entry in newest if entry.utterance_id == utterance.id]


def _just_taken_back(moment: TurnContext, utterance: Utterance) -> list[Entry]:
    """Return what an utterance took back, where it did nothing else."""
    if [meaning.get("do") for meaning in utterance.meanings] != ["undo"]:
        return []
    if _written_by(moment, utterance):
        return []  # it brought an older note back: that is what is put right
    return list(moment.book.entries_taken_back_by(utterance.id))


def without(entries: tuple[Entry, ...], moment: TurnContext) -> TurnContext:
    """Return what is known without some notes: those that a correction takes the place of."""
    if not entries:
        return moment
    ids = [entry.id for entry in entries]
    season = moment.book.season(moment.settings.capacities_gal, moment.now, without=ids)
    return replace(moment, season=season.at(moment.now.year), left_out=frozenset(ids))


def _asked_or_named(utterance: Utterance) -> Meaning | None:
    """Return the last question in an utterance, or the last thing named alone."""
    for fields in reversed(utterance.meanings):
        if "ask" in fields or "mention" in fields:
            return meaning_from(fields)
    return None


def _asked_again(
    moment: TurnContext, said: Meaning, right: Mapping[str, Any]
) -> PutRight | Meaning | None:
    """Return a question or name put right; or, if it was not that, the note that it was about."""
    again = changed(said, right)
    about_it = {k: v for k, v in named_in(said).items() if k in ("tree", "vessel")}
    if again is not None or not about_it:
        return again
    metric = moment.settings.metric
    newest = islice(_meant(moment, {"of": about_it}), 1)
    return _further_back(newest, right, metric=metric)


def _with_those_before(moment: TurnContext, entry: Entry, new: Act) -> PutRight:
    """Return a note put right with those that were made at the same wrong tree.

    They are the notes right before it about that tree alone, as long as they say other things: a
    bucket emptied twice was two trees.
    """
    old, tree = getattr(entry.act, "tree", None), getattr(new, "tree", None)
    moved = [(entry, new)]
    if old is not None and tree is not None and old != tree:
        said = _said_in(entry.act)
        live = moment.book.newest_entries(LOOK_BACK)
        for before in reversed(live[: live.index(entry)]):
            again = said & _said_in(before.act)
            too_old = moved[-1][0].at - before.at > FOCUS_LASTS
            if again or too_old or named_in(before.act) != {"tree": old}:
                break
            said |= _said_in(before.act)
            moved.append((before, before.act.replace(tree=tree)))
    moved.reverse()
    return PutRight(
        tuple(one for one, _ in moved), tuple(_at_its_time(one, act) for one, act in moved)
    )


def _said_in(act: Act) -> set[str]:
    """Return what a note says, whatever it is about."""
    return {act.act, *act.json_fields()} - {"act", "at", "tree", "inspect"}


def _further_back(
    meant: Iterator[Entry], right: Mapping[str, Any], *, metric: bool
) -> PutRight | None:
    thing: dict[str, Any] | None = None
    for entry in meant:
        if thing is None:
            thing = {k: v for k, v in named_in(entry.act).items() if k != "site"}
        new = changed(entry.act, _named_for(entry.act, right, metric=metric))
        if isinstance(new, Act):
            return PutRight((entry,), (_at_its_time(entry, new),))
    if thing and right and right.keys() <= {"fill", "sap"}:
        return PutRight((), (Inspect.model_validate({**thing, **right}),))
    return None


def _changed_nothing(utterance: Utterance) -> bool:
    """Whether this is a correction in doubt or without an aim: it is about what came before it."""
    corrects = [meaning for meaning in utterance.meanings if meaning.get("do") == "correct"]
    return utterance.outcome in NOTHING_WRITTEN and bool(corrects)


def _meant(moment: TurnContext, which: Mapping[str, Any]) -> Iterator[Entry]:
    """Return the notes that ``which`` points to, the newest first; for ``of`` all it could be."""
    names = moment.season.names
    of = names.numbered(which.get("of", {}))
    if {"tree", "vessel"} & of.keys():
        told = newest_first(moment.book, tree=of.get("tree"), vessel=of.get("vessel"))
        day = which.get("on")
        if day is not None:
            zone = moment.now.tzinfo
            told = (one for one in told if f"{one.at.astimezone(zone):%Y-%m-%d}" == day)
        return (one for one in told if one.voided_by is None and about(one, of, names))
    newest = sorted(moment.book.newest_entries(LOOK_BACK), key=lambda entry: entry.at)[::-1]
    if of:
        return (entry for entry in newest if about(entry, of, names))
    if "last" in which:
        return iter(newest[: which["last"]])
    # Nobody counts a round begun or a name given among the notes to go back by.
    seen = [entry for entry in newest if entry.act.act not in ("round", "name")]
    back = which.get("back", 0) - _named_since(moment, seen)
    return iter(seen[back : back + 1])


def _named_since(moment: TurnContext, newest: list[Entry]) -> int:
    """Return 1 when a tree has come in hand since the last note, which is then "the one before"."""
    in_hand = moment.focus.tree
    if in_hand is None or not newest:
        return 0
    return 0 if about(newest[0], {"tree": in_hand}, moment.season.names) else 1


def _named_for(act: Act, fields: Mapping[str, Any], *, metric: bool) -> Mapping[str, Any]:
    """Return corrected fields with a bare number put where it belongs: "no, sixteen".

    It belongs to the one number in the note; with two of them it has to be asked. A vessel put
    right after sap was moved is where it went: that was said last.
    """
    if isinstance(act, Transfer) and "vessel" in fields and "into" not in fields:
        return {**{k: v for k, v in fields.items() if k != "vessel"}, "into": fields["vessel"]}
    if "number" not in fields:
        return fields
    numbers = numbers_in(act)
    if len(numbers) != 1:
        return {}
    return number_into(numbers[0], fields["number"], act, metric=metric)


def places_of_number(moment: TurnContext, command: Command) -> tuple[Command, ...]:
    """Return what a correction by a bare number could mean, when the last note has several.

    "No, three" after "tree nine two gallons" is tree 3 or three gallons.
    """
    last = moment.book.newest_entries(1)
    if "number" not in command.fields or not last or last[0].utterance_id != _newest_id(moment):
        return ()
    act, number = last[0].act, command.fields["number"]
    metric = moment.settings.metric
    filled = (number_into(name, number, act, metric=metric) for name in numbers_in(act))
    return tuple(
        Command(do="correct", fields=fields)
        for fields in filled
        if fields and changed(act, fields) is not None
    )


def _newest_id(moment: TurnContext) -> str | None:
    return moment.last.id if moment.last is not None else None


def numbers_in(act: Act) -> list[str]:
    """Return the names of the fields that are numbers, but for how full a thing is."""
    return [
        name
        for name, value in act.json_fields().items()
        if isinstance(value, int | float) and not isinstance(value, bool) and name != "fill"
    ]
