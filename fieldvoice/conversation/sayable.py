"""What can be said, taken from the remarks that stand before the grammars' rules."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

from fieldvoice.grammar import load_grammar
from fieldvoice.meaning import ACTS, ASKS, COMMANDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fieldvoice.conversation.focus import Focus
    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.jsgf import Rule


def examples(grammar: Grammar | None = None) -> dict[str, dict[str, str]]:
    """Return one example for each act, question and command, under the name of its kind.

    Raises:
        GrammarError: the grammar's files break its rules.
    """
    rules = (grammar or _own_grammar()).rules
    return {
        "notes": _about(rules, ACTS),
        "questions": _about(rules, ASKS),
        "commands": _about(rules, COMMANDS),
    }


@cache
def _own_grammar() -> Grammar:
    """Return the grammar that comes with fieldvoice; its files are read once."""
    return load_grammar()


def for_the_moment(focus: Focus, at_the_pan: bool) -> str:
    """Return what can be said with this in hand: two notes, a question and a command.

    ``at_the_pan`` tells that the last notes were about the boil or the syrup. What is in hand need
    not be named, so it is left out of the notes.
    """
    known = {name: example for kind in examples().values() for name, example in kind.items()}
    place = _place(focus, at_the_pan)
    head, names = _PLACES[place]
    told = [
        without_its_place(known[name]) if name in ACTS and focus else known[name] for name in names
    ]
    return " ".join([head, *told])


#: How an example names its tree or vessel; without it the example is about the one in hand.
_NAMED = re.compile(
    r"^(tree|tank) \w+,? (is )?|,? (from|into|in|on|at) (tree|tank) \w+", re.IGNORECASE
)


def without_its_place(example: str) -> str:
    """Return an example of a note without its tree or vessel: "Bucket nearly full, sap cloudy."."""
    short = _NAMED.sub("", example)
    return short[:1].upper() + short[1:]


#: What is most said where, and how the list begins.
_PLACES: dict[str, tuple[str, tuple[str, ...]]] = {
    "tree": ("At a tree:", ("inspect", "gather", "tap_limit", "next", "undo")),
    "vessel": ("At a tank:", ("reading", "store", "sweetness", "sap_age", "undo")),
    "pan": ("At the pan:", ("draw", "pack", "draw_off", "undo")),
    "nowhere": ("A note:", ("inspect", "store", "boil_plan", "undo")),
}


def _place(focus: Focus, at_the_pan: bool) -> str:
    if focus.tree is not None:
        return "tree"
    if at_the_pan or focus.vessel == "pan":
        return "pan"
    return "vessel" if focus.vessel is not None else "nowhere"


def _about(rules: Mapping[str, Rule], names: Iterable[str]) -> dict[str, str]:
    """Return the example of each rule named, whichever file it stands in.

    Words for things are no sayings, though one may be called like an act.
    """
    told = {
        rule.partition(".")[2]: written.about
        for rule, written in rules.items()
        if not rule.startswith("things.")
    }
    return {name: _example(about) for name in names if (about := told.get(name))}


def _example(about: str) -> str:
    """Return the example in a rule's remark: what follows its colon, or all of it."""
    told = about.partition(": ")[2] or about
    return told[:1].upper() + told[1:]
