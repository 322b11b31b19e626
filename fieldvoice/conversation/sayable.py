"""What can be said: the examples of the declarations."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.meaning import ACTS, ASKS, COMMANDS

if TYPE_CHECKING:
    from fieldvoice.conversation.focus import Focus


def examples() -> dict[str, dict[str, str]]:
    """Return one example for each act, question and command, under the name of its kind."""
    return {
        "notes": {name: act.spec.examples[0] for name, act in ACTS.items()},
        "questions": {name: ask.spec.examples[0] for name, ask in ASKS.items()},
        "commands": {name: spec.example for name, spec in COMMANDS.items()},
    }


def for_the_moment(focus: Focus, at_the_pan: bool) -> str:
    """Return what can be said with this in hand: two notes, a question and a command.

    ``at_the_pan`` tells that the last notes were about the boil or the syrup. What is in hand need
    not be named, so it is left out of the notes.
    """
    known = {name: example for kind in examples().values() for name, example in kind.items()}
    if focus:
        known |= {name: act.spec.here for name, act in ACTS.items() if act.spec.here}
    head, names = _PLACES[_place(focus, at_the_pan)]
    return " ".join([head, *(known[name] for name in names)])


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
