"""How a reading is named when it is put to the speaker: "tree 13, half full"."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from fieldvoice.conversation import wording as w
from fieldvoice.conversation.readback import readback, time_told
from fieldvoice.conversation.topics import topic
from fieldvoice.meaning import Act, Ask, Command, Mention
from fieldvoice.meaning.commands import WHICH_NOTE

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from fieldvoice.meaning import Meaning

_COMMANDS = {
    "undo": "take back the last note", "correct": "change the last note", "confirm": "yes",
    "deny": "no", "repeat": "say it again", "next": "next tree", "finish_round": "round finished",
    "quiet": "be quiet", "help": "help",
    "restore": "put back the last note",
    "throw_away": "throw it away", "as_remark": "keep it as a remark", "stop": "stop the review",
    "louder": "louder", "softer": "softer", "slower": "slower", "faster": "faster",
    "listen": "another way of calling me", "wait_longer": "wait longer", "wait_less": "wait less",
}  # fmt: skip


def label(meanings: tuple[Meaning, ...], metric: bool = False, now: datetime | None = None) -> str:
    """Return a reading in a few words, without a full stop, capital letter first.

    Notes are named with their time, as it is told at ``now``.
    """
    told = ", and ".join(_label_one(meaning, metric, now) for meaning in meanings)
    return w.start(told)


def labels_apart(
    one: tuple[Meaning, ...], other: tuple[Meaning, ...], metric: bool = False
) -> tuple[str, str]:
    """Return the shortest names that tell two readings apart: "tree 13" and "tree 30"."""
    if len(one) == len(other):
        unlike = [pair for pair in zip(one, other, strict=True) if pair[0] != pair[1]]
        if len(unlike) == 1:
            short = _only_one_thing_differs(*unlike[0], metric)
            if short is not None:
                return short
            return label(unlike[0][:1], metric), label(unlike[0][1:], metric)
    return label(one, metric), label(other, metric)


def _only_one_thing_differs(one: Meaning, other: Meaning, metric: bool) -> tuple[str, str] | None:
    """Return how just what differs is named, where that is all that differs."""
    fields, others = one.json_fields(), other.json_fields()
    same = {key for key in fields.keys() & others.keys() if fields[key] == others[key]}
    left, right = ({k: v for k, v in each.items() if k not in same} for each in (fields, others))
    if len(left) != 1 or len(right) != 1:
        return None
    named = _value_named(left, metric), _value_named(right, metric)
    if named[0] is None or named[1] is None or named[0] == named[1]:
        return None
    return w.start(named[0]), named[1]


def _value_named(field: Mapping[str, Any], metric: bool) -> str | None:
    """Return one field as it is told; None where it alone says nothing to anybody."""
    ((name, value),) = field.items()
    told = _TOLD.get(name)
    return told(value, metric) if told is not None else None


_TOLD: Mapping[str, Callable[[Any, bool], str]] = {
    "tree": lambda tree, _: w.tree_name(tree),
    "trees": lambda trees, _: w.tree_names(trees),
    "vessel": lambda vessel, _: str(vessel),
    "volume_gal": w.volume,
    "syrup_gal": w.volume,
    "fill": lambda fill, _: w.fill_words(fill),
    "sap": lambda sap, _: w.sap_words(sap),
    "temp_f": w.temperature,
    "low_f": w.temperature,
    "high_f": w.temperature,
    "diameter_in": w.length,
    "brix": lambda brix, _: f"{w.figure(brix)} %",
    "reading_brix": lambda brix, _: f"{w.figure(brix)} Brix",
    "transmittance": lambda share, _: f"{w.figure(share)} %",
    "side": lambda side, _: f"{side} side",
    "at": lambda at, _: f"{datetime.fromisoformat(at):%-I:%M %p}".lower(),
}


def _label_one(meaning: Meaning, metric: bool, now: datetime | None) -> str:
    if isinstance(meaning, Act):
        moved = _label_amount(meaning, metric, now)
        if moved is not None:
            return moved
        told = readback(meaning, metric, now).rstrip(".").replace(": ", ", ")
        return told[:1].lower() + told[1:]
    if isinstance(meaning, Ask):
        return topic(meaning, metric)
    if isinstance(meaning, Command):
        return _label_command(meaning)
    return _label_mention(meaning)


def _label_amount(act: Act, metric: bool, now: datetime | None) -> str | None:
    """Return an amount at a vessel so that what was done with it is plain; None for other notes.

    Read back, one amount poured in, gathered and found there differ in a word or in none.
    """
    fields = act.json_fields()
    if fields.keys() - {"act", "at"} != {"vessel", "volume_gal"} or act.act not in _AMOUNTS:
        return None
    amount = w.volume(fields["volume_gal"], metric)
    told = _AMOUNTS[act.act].format(amount=amount, vessel=fields["vessel"])
    return told if now is None or act.at is None else f"{told} {time_told(act.at, now)}"


_AMOUNTS = {
    "store": "{amount} poured into {vessel}",
    "gather": "{amount} gathered into {vessel}",
    "reading": "{vessel} holds {amount}",
}


def _label_command(command: Command) -> str:
    if command.do != "correct" and command.fields:
        return f"{_COMMANDS[command.do]} named"
    values = [str(value) for key, value in command.fields.items() if key not in WHICH_NOTE]
    return " ".join([_COMMANDS[command.do], *(["to", *values] if values else [])])


def _label_mention(mention: Mention) -> str:
    named = mention.mention
    if "tree" in named:
        return w.tree_name(named["tree"])
    if "trees" in named:
        return w.tree_names(named["trees"])
    return " ".join(str(value) for value in named.values())
