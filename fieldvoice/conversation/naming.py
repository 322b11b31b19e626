"""How a reading is named when it is put to the speaker: "tree 13, half full"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.meaning import Act, Ask, Command, Mention
from fieldvoice.meaning.commands import WHICH_NOTE
from fieldvoice.segments import (
    Condition,
    Level,
    Quantity,
    TreeRef,
    VesselRef,
    listed,
    parts,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from fieldvoice.meaning import Meaning
    from fieldvoice.segments import Parts, Piece

_COMMANDS = {
    "undo": "take back the last note", "correct": "change the last note", "confirm": "yes",
    "deny": "no", "repeat": "say it again", "next": "next tree", "finish_round": "round finished",
    "quiet": "be quiet", "help": "help",
    "restore": "put back the last note",
    "throw_away": "throw it away", "as_remark": "keep it as a remark", "stop": "stop the review",
    "louder": "louder", "softer": "softer", "slower": "slower", "faster": "faster",
    "listen": "another way of calling me", "wait_longer": "wait longer", "wait_less": "wait less",
}  # fmt: skip


#: The subjects of questions that their names do not tell; of passing advice the topic is enough.
_SUBJECTS = {
    "advice": "", "boil_plan": "what to boil", "can_wait": "whether it can wait",
    "least_batch": "the least to boil", "mix_check": "pouring together",
    "plan_rest": "the rest of the day",
    "recall": "where it went", "said": "what was said", "sap_advice": "what to do with sap",
    "sap_keeps": "how long sap keeps", "sap_total": "how much sap came in",
    "slow_trees": "which trees are slow", "best_trees": "which trees are best",
    "sweetest_trees": "which trees are sweetest", "missed_trees": "which trees were missed",
    "tree_count": "how many trees there are", "trees_seen": "which trees were seen so",
    "vessel_level": "how full it is", "what_can_i_say": "what can be said", "why": "why",
}  # fmt: skip


def label(meanings: tuple[Meaning, ...]) -> Parts:
    """Return a reading in a few words."""
    first, *more = map(_label_one, meanings)
    return parts(first, *(parts(", and", other) for other in more))


def labels_apart(one: tuple[Meaning, ...], other: tuple[Meaning, ...]) -> tuple[Parts, Parts]:
    """Return the shortest names that tell two readings apart: "tree 13" and "tree 30"."""
    if len(one) == len(other):
        unlike = [pair for pair in zip(one, other, strict=True) if pair[0] != pair[1]]
        if len(unlike) == 1:
            short = _only_one_thing_differs(*unlike[0])
            if short is not None:
                return short
            return label(unlike[0][:1]), label(unlike[0][1:])
    return label(one), label(other)


def _only_one_thing_differs(one: Meaning, other: Meaning) -> tuple[Parts, Parts] | None:
    """Return how just what differs is named, where that is all that differs."""
    fields, others = one.json_fields(), other.json_fields()
    same = {key for key in fields.keys() & others.keys() if fields[key] == others[key]}
    left, right = ({k: v for k, v in each.items() if k not in same} for each in (fields, others))
    if len(left) != 1 or len(right) != 1:
        return None
    named = value_named(left), value_named(right)
    if not (named[0] and named[1]) or named[0] == named[1]:
        return None
    return named


def value_named(field: Mapping[str, Any]) -> Parts:
    """Return one field as it is told; nothing where it alone says nothing to anybody."""
    ((name, value),) = field.items()
    told = _TOLD.get(name)
    return parts(told(value)) if told is not None else ()


_TOLD: Mapping[str, Callable[[Any], Piece]] = {
    "tree": lambda tree: TreeRef((tree,)),
    "trees": lambda trees: TreeRef(tuple(trees)),
    "vessel": VesselRef,
    "volume_gal": lambda gallons: Quantity(gallons, "gal"),
    "syrup_gal": lambda gallons: Quantity(gallons, "gal"),
    "fill": Level,
    "sap": Condition,
    "temp_f": lambda temp_f: Quantity(temp_f, "°F"),
    "low_f": lambda temp_f: Quantity(temp_f, "°F"),
    "high_f": lambda temp_f: Quantity(temp_f, "°F"),
    "diameter_in": lambda inches: Quantity(inches, "in"),
    "brix": lambda brix: Quantity(brix, "%"),
    "reading_brix": lambda brix: Quantity(brix, "Brix"),
    "transmittance": lambda share: Quantity(share, "%"),
    "side": lambda side: f"{side} side",
}


def _label_one(meaning: Meaning) -> Parts:
    if isinstance(meaning, Act):
        return listed(meaning.question().details, ",")
    if isinstance(meaning, Ask):
        return parts("a question about", listed(_about(meaning), ","))
    if isinstance(meaning, Command):
        return _label_command(meaning)
    return _label_mention(meaning)


def _about(ask: Ask) -> list[Piece]:
    """Return what a question is about: its subject in plain words, and what it names."""
    fields = {key: value for key, value in ask.json_fields().items() if key != "ask"}
    named = [value_named({key: one}) or str(one) for key, one in fields.items()]
    subject = _SUBJECTS.get(ask.ask, ask.ask.replace("_", " "))
    return [subject, *named] if subject else [*named]


def _label_command(command: Command) -> Parts:
    if command.do != "correct" and command.fields:
        return parts(f"{_COMMANDS[command.do]} named")
    values = [str(value) for key, value in command.fields.items() if key not in WHICH_NOTE]
    return parts(_COMMANDS[command.do], "to" if values else None, *values)


def _label_mention(mention: Mention) -> Parts:
    named = mention.mention.items()
    return parts(*(value_named({name: value}) or str(value) for name, value in named))
