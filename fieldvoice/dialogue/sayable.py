"""What can be said: the examples of the declarations."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.schema import ACTS, ASKS, COMMANDS
from fieldvoice.segments import Example, Sentence, fact, listed, parts

if TYPE_CHECKING:
    from fieldvoice.dialogue.focus import Focus


def examples() -> dict[str, dict[str, str]]:
    """Return one example for each act, question and command, under the name of its kind."""
    return {
        "notes": {name: act.spec.examples[0] for name, act in ACTS.items()},
        "questions": {name: ask.spec.examples[0] for name, ask in ASKS.items()},
        "commands": {name: spec.example for name, spec in COMMANDS.items()},
    }


def for_the_moment(focus: Focus, at_the_pan: bool) -> tuple[Sentence, ...]:
    """Return what can be said with this in hand: notes, a question and commands.

    ``at_the_pan`` tells that the last notes were about the boil or the syrup. What is in hand need
    not be named, so it is left out of the notes.
    """
    known = {name: example for kind in examples().values() for name, example in kind.items()}
    if focus:
        known |= {name: act.spec.here for name, act in ACTS.items() if act.spec.here}
    tell, notes, question = _PLACES[_place(focus, at_the_pan)]
    said = {name: Example(_as_said(known[name])) for name in (*notes, question, "next", "undo")}
    return (
        fact(f"{tell}:", listed((said[name] for name in notes), ", or")),
        Sentence("fact", parts("ask:", said[question]), ""),
        fact("Go on:", said["next"]) if focus.tree is not None else fact(),
        fact("Take back:", said["undo"]),
    )


def _as_said(example: str) -> str:
    """Return an example as it stands inside a sentence."""
    return example[:1].lower() + example[1:].removesuffix(".")


#: How the list begins, and the notes and the question that are most said there.
_PLACES: dict[str, tuple[str, tuple[str, ...], str]] = {
    "tree": ("At a tree, tell me", ("inspect", "gather"), "tap_limit"),
    "vessel": ("At a tank, tell me", ("reading", "store", "sweetness"), "sap_age"),
    "pan": ("At the pan, tell me", ("draw", "pack"), "draw_off"),
    "nowhere": ("Tell me what you see", ("inspect", "store"), "boil_plan"),
}


def _place(focus: Focus, at_the_pan: bool) -> str:
    if focus.tree is not None:
        return "tree"
    if at_the_pan or focus.vessel == "pan":
        return "pan"
    return "vessel" if focus.vessel is not None else "nowhere"
