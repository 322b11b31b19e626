"""What can be said: the examples of the declarations, of all, of a subject, of the moment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.schema import ACTS, ASKS, COMMANDS
from fieldvoice.segments import Example, Sentence, fact, listed, parts

if TYPE_CHECKING:
    from fieldvoice.dialogue.focus import Focus
    from fieldvoice.schema import Act, Ask
    from fieldvoice.schema.asks.season import HelpSubject


def examples() -> dict[str, dict[str, str]]:
    """Return one example for each act, question and command, under the name of its kind."""
    return {
        "notes": {name: act.spec.examples[0] for name, act in ACTS.items()},
        "questions": {name: ask.spec.examples[0] for name, ask in ASKS.items()},
        "commands": {name: spec.example for name, spec in COMMANDS.items()},
    }


#: Which modules of the declarations make up a subject.
_MODULES: dict[HelpSubject, tuple[str, ...]] = {
    "trees": ("trees", "places"), "sap": ("sap",), "boiling": ("boiling",),
    "syrup": ("pantry", "syrup"), "reminders": ("reminders", "past"), "season": ("season", "book"),
}  # fmt: skip


def of_subject(subject: HelpSubject) -> dict[str, dict[str, str]]:
    """Return one example for each note and question of a subject, as ``examples`` does."""
    kinds: dict[str, type[Act | Ask]] = {**ACTS, **ASKS}
    return {
        kind: {name: said for name, said in known.items() if _is_of(kinds[name], subject)}
        for kind, known in examples().items()
        if kind != "commands"
    }


def _is_of(kind: type[Act | Ask], subject: HelpSubject) -> bool:
    return kind.__module__.rpartition(".")[2] in _MODULES[subject]


def about(subject: HelpSubject) -> tuple[Sentence, ...]:
    """Return a note and two questions of a subject."""
    known = of_subject(subject)
    note = Example(_as_said(next(iter(known["notes"].values()))))
    asked = [one for one in known["questions"].values() if one.endswith("?")]
    questions = [Example(_as_said(one)) for one in asked[:2]]
    return (
        fact("Tell me:", note),
        Sentence("fact", parts("ask:", listed(questions, ", or")), ""),
    )


def for_the_moment(focus: Focus, at_the_pan: bool) -> tuple[Sentence, ...]:
    """Return what can be said with this in hand: a note, a question and commands.

    ``at_the_pan`` tells that the last notes were about the boil or the syrup. What is in hand need
    not be named, so it is left out of the notes.
    """
    known = {name: example for kind in examples().values() for name, example in kind.items()}
    if focus:
        known |= {name: act.spec.here for name, act in ACTS.items() if act.spec.here}
    tell, note, question = _PLACES[_place(focus, at_the_pan)]
    said = {name: Example(_as_said(known[name])) for name in (note, question, "next", "undo")}
    return (
        fact(f"{tell}:", said[note]),
        Sentence("fact", parts("ask:", said[question]), ""),
        fact("Go on:", said["next"])
        if focus.tree is not None
        else fact("Take back:", said["undo"]),
    )


def _as_said(example: str) -> str:
    """Return an example as it stands inside a sentence."""
    return example[:1].lower() + example[1:].removesuffix(".")


#: How the list begins, and the note and the question that are most said there.
_PLACES: dict[str, tuple[str, str, str]] = {
    "tree": ("At a tree, tell me", "inspect", "tap_limit"),
    "vessel": ("At a tank, tell me", "reading", "sap_age"),
    "pan": ("At the pan, tell me", "draw", "draw_off"),
    "nowhere": ("Tell me what you see", "inspect", "boil_plan"),
}


def _place(focus: Focus, at_the_pan: bool) -> str:
    if focus.tree is not None:
        return "tree"
    if at_the_pan or focus.vessel == "pan":
        return "pan"
    return "vessel" if focus.vessel is not None else "nowhere"
