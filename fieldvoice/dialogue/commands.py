"""Commands carried out, and things named alone taken in hand."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers import answer_to
from fieldvoice.dialogue.context import Turn, TurnContext
from fieldvoice.dialogue.corrections import (
    NOTHING_WRITTEN,
    PutRight,
    places_of_number,
    restore,
    to_correct,
    undo,
    without,
)
from fieldvoice.dialogue.focus import Focus
from fieldvoice.dialogue.learning import forget_last
from fieldvoice.dialogue.naming import label, value_named
from fieldvoice.dialogue.plausibility import doubt_about
from fieldvoice.dialogue.prompts import Prompt
from fieldvoice.dialogue.round import (
    missed_trees,
    next_tree,
    open_round,
    round_of_today,
    told,
    trees_in_words,
)
from fieldvoice.dialogue.saving import save
from fieldvoice.dialogue.waiting import still_waits
from fieldvoice.schema import Ask, Command, EntityMention
from fieldvoice.schema.acts import Remark, Round
from fieldvoice.schema.asks.follow_ups import units_told
from fieldvoice.schema.asks.season import WhatCanISay
from fieldvoice.schema.vocabulary import NAMED
from fieldvoice.segments import Example, Sentence, Text, TreeRef, fact, parts, prompt

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.book import Utterance
    from fieldvoice.schema import Act, Meaning
    from fieldvoice.segments import Parts, Piece, Role


def carry_out(moment: TurnContext, meaning: Command | EntityMention) -> Turn:
    """Return the turn of a command, or of a tree or vessel named alone."""
    if isinstance(meaning, EntityMention):
        return _take_in_hand(moment, meaning)
    return _DO[meaning.do](moment, meaning)


def _take_in_hand(moment: TurnContext, mention: EntityMention) -> Turn:
    focus = moment.focus.after((mention,), moment.now)
    return Turn("done", (fact(label((mention,))),), (mention,), focus=focus)


def _correct(moment: TurnContext, command: Command) -> Turn:
    if "wrong" in command.fields:
        return _ask_which(moment, command)
    target = to_correct(moment, command)
    if target is None:
        places = _said_last(_likely_places(moment, command), moment)
        if len(places) > 1:
            return _which_number(moment, places[0], places[1])
        if places:
            return replace(_correct(moment, places[0]), meanings=(command,))
        if moment.book.newest_entries(1):
            told = fact("Nothing to change that in. Say the note again")
        else:
            whole = Example("tree eight, two gallons")
            told = fact("There is no note yet to change. Say it whole:", whole)
        return Turn("kept", (told,), (command,), focus=moment.focus)
    if isinstance(target, PutRight):
        is_dated = "on" in command.fields
        told_of = tuple(act if is_dated else act.replace(at=None) for act in target.acts)
        saved = save(without(target.entries, moment), told_of)
        voids = tuple(entry.id for entry in target.entries)
        return replace(saved, outcome="done", meanings=(command,), notes=target.acts, voids=voids)
    return _said_again(moment, command, target)


def _ask_which(moment: TurnContext, command: Command) -> Turn:
    """Ask for the right tree or tank, when only the wrong one was complained of."""
    slot = str(command.fields["wrong"])
    asks = (prompt(NAMED[slot].ask),)
    question = Prompt("slot", asks, ((Command(do="correct"),),), slot=slot)
    return Turn("asked", asks, (command,), question=question, focus=moment.focus)


def _likely_places(moment: TurnContext, command: Command) -> list[Command]:
    """Return where a bare number could belong in the last note, without what is unlikely there."""
    likely = []
    for place in places_of_number(moment, command):
        target = to_correct(moment, place)
        if not isinstance(target, PutRight):
            continue
        if not doubt_about(target.acts[-1], 0, without(target.entries, moment)):
            likely.append(place)
    return likely


def _said_last(places: list[Command], moment: TurnContext) -> list[Command]:
    """Return ``places`` without the tree where an amount was said after it.

    "No, three" after "tree nine, two gallons" puts right what was said last; after "two gallons
    from tree nine" it may be either.
    """
    said = moment.last.text.lower() if moment.last is not None else ""
    units = [found.start() for found in _UNIT.finditer(said)]
    trees = [found.start() for found in _TREE.finditer(said)]
    if not units or (trees and trees[-1] > units[-1]):
        return places
    return [one for one in places if "tree" not in one.fields] or places


_UNIT = re.compile(
    r"\b(?:gal(?:lon)?s?|q(?:uar)?ts?|p(?:in)?ts?|l(?:it(?:re|er)s?)?|in(?:ch(?:es)?)?|cm"
    r"|centimet(?:re|er)s?|degrees|percent|brix)\b|[%°]"
)
_TREE = re.compile(r"\b(?:tree|maple|number|bucket|pail)\b")


def _which_number(moment: TurnContext, one: Command, other: Command) -> Turn:
    """Ask which of two numbers in the last note was meant to be changed."""
    note = type(moment.book.newest_entries(1)[0].act)
    asks = (prompt(_value_told(one, note), ", or", _value_told(other, note)),)
    question = Prompt("choice", asks, ((one,), (other,)))
    return Turn("asked", asks, (one,), question=question, focus=moment.focus)


def _value_told(command: Command, note: type[Act]) -> Parts:
    field, value = next(iter(command.fields.items()))
    return value_named({field: value}, note) or parts(field.replace("_", " "), f"{value:g}")


def _said_again(moment: TurnContext, command: Command, meaning: Meaning) -> Turn:
    """Return the turn of a question asked again, or a tree named again, as it was meant."""
    focus = moment.focus.after((meaning,), moment.now)
    if isinstance(meaning, Ask):
        answered = answer_to(meaning, moment)
        return Turn(
            "answered", answered.told, (command, meaning), answered.findings, focus=focus
        )  # fmt: skip
    assert isinstance(meaning, EntityMention)
    return replace(_take_in_hand(moment, meaning), meanings=(command, meaning))


def _count_in(moment: TurnContext, command: Command) -> Turn:
    """Tell that answers are in other units from now on; ``Household`` carries it out."""
    told = fact("From now on I answer", *units_told(command.fields["units"]))
    metric = command.fields["units"] == "metric"
    return Turn("done", (told,), (command,), focus=moment.focus, metric=metric)


def _unasked(moment: TurnContext, command: Command) -> Turn:
    told: tuple[Piece, ...] = ("There is no question open",)
    if command.do == "deny" and moment.last is not None and moment.last.outcome == "saved":
        told = ("Say how it was:", Example("no, tree nine"), "; or", Example("scratch that"))
    if command.do == "deny" and _took_back(moment.last):
        told = ("Say", Example("put it back"), "to have it again")
    return _done(moment, command, *told)


def _took_back(last: Utterance | None) -> bool:
    return last is not None and any(one.get("do") == "undo" for one in last.meanings)


def _repeat(moment: TurnContext, command: Command) -> Turn:
    """Say the last reply once more, word for word; a question that it ended with is still open."""
    last = moment.last
    if last is None:
        return _done(moment, command, "Nothing has been said yet")
    role: Role = "fact" if last.pending is None else "prompt"
    said = Sentence(role, (Text(last.reply),))
    return Turn("done", (said,), (command,), focus=moment.focus)


def _next(moment: TurnContext, command: Command) -> Turn:
    tree = next_tree(moment.season, moment.focus.tree, moment.now)
    if tree is not None:
        focus = Focus(tree=tree, named_at=moment.now)
        return Turn("done", (fact(TreeRef((tree,))),), (command,), focus=focus)
    walking = open_round(moment.season, moment.now)
    if walking is not None and len(moment.season.rounds) > 1:
        done = _done(moment, command, "That was the last tree of the round")
        return replace(done, focus=Focus())
    return _done(moment, command, "Say the number of the tree you are at")


def _finish_round(moment: TurnContext, command: Command) -> Turn:
    walked = round_of_today(moment.season, moment.now)
    ended = (Round(phase="stop"),) if walked is not None and walked.is_open(moment.now) else ()
    if walked is None or not walked.trees:
        none = (fact("No trees were noted in this round"),)
        return Turn("done", none, (command,), notes=ended, focus=Focus())
    missed = missed_trees(moment.season, moment.now)
    left = fact("Missed:", trees_in_words(missed)) if missed else fact("None missed")
    said = (*told(walked), left, still_waits(moment, command.do))
    return Turn("done", said, (command,), notes=ended, focus=Focus())


def _quiet(moment: TurnContext, command: Command) -> Turn:
    return _done(moment, command, "Quiet")


def _voice(moment: TurnContext, command: Command) -> Turn:
    # Where there is a voice it is changed at the edge; here it is only acknowledged.
    return _done(moment, command, command.do)


def _listen(moment: TurnContext, command: Command) -> Turn:
    # As with the voice: the ear is changed at the edge, where there is one.
    word = command.fields.get("word")
    if word is not None:
        return _done(moment, command, f"Listening for {word}")
    to_all = command.fields.get("way") == "open"
    return _done(moment, command, "Listening to everything" if to_all else "Listening for the word")


def _wait(moment: TurnContext, command: Command) -> Turn:
    longer = command.do == "wait_longer"
    return _done(moment, command, "Waiting longer" if longer else "Waiting less")


def _done(moment: TurnContext, command: Command, *told: Piece) -> Turn:
    """Return a command done, with nothing to write and the same thing in hand."""
    return Turn("done", (fact(*told),), (command,), focus=moment.focus)


def _as_remark(moment: TurnContext, command: Command) -> Turn:
    """Keep the words that were not understood just now as they are."""
    last = moment.last
    if last is None or last.outcome != "kept" or not last.text:
        nothing = "There are no words to keep. Say: make a note, and the words"
        return _done(moment, command, nothing)
    saved = save(moment, (Remark(text=last.text),))
    return replace(saved, resolves=last.id, focus=moment.focus)


def _throw_away(moment: TurnContext, command: Command) -> Turn:
    """Drop words that were not understood; a note is only taken back by its own command."""
    last = moment.last
    if last is not None and last.outcome in NOTHING_WRITTEN:
        return undo(moment, command)
    return _done(moment, command, "Say", Example("scratch that"), "to take back the last note")


def _stop(moment: TurnContext, command: Command) -> Turn:
    return _done(moment, command, "Stop what? Say it whole")


def _help(moment: TurnContext, command: Command) -> Turn:
    answered = answer_to(WhatCanISay(), moment)
    first = fact(f"Hurt, or fire? Call {moment.settings.emergency_number}")
    return Turn("done", (first, *answered.told), (command,), focus=moment.focus)


_DO: dict[str, Callable[[TurnContext, Command], Turn]] = {
    "undo": undo, "correct": _correct, "confirm": _unasked, "deny": _unasked, "repeat": _repeat,
    "next": _next, "finish_round": _finish_round, "quiet": _quiet, "help": _help,
    "louder": _voice, "softer": _voice, "slower": _voice, "faster": _voice,
    "listen": _listen, "wait_longer": _wait, "wait_less": _wait,
    "restore": restore, "throw_away": _throw_away, "as_remark": _as_remark, "stop": _stop,
    "forget_wording": forget_last, "count_in": _count_in,
}  # fmt: skip
