"""How a reading is named when it is put to the speaker: "tree 13, half full"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.meaning import Act, Ask, Command, Mention
from fieldvoice.meaning.commands import WHICH_NOTE
from fieldvoice.meaning.slot import Slot, slots_of
from fieldvoice.meaning.vocabulary import NAMED
from fieldvoice.nlg import wording as w
from fieldvoice.nlg.written import Style, phrase, told_text

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from fieldvoice.meaning import Meaning


def label(meanings: tuple[Meaning, ...], metric: bool = False) -> str:
    """Return a reading in a few words, without a full stop, capital letter first."""
    told = ", and ".join(_label_one(meaning, metric) for meaning in meanings)
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
    named = (
        _value_named(left, slots_of(type(one)), metric),
        _value_named(right, slots_of(type(other)), metric),
    )
    if named[0] is None or named[1] is None or named[0] == named[1]:
        return None
    return w.start(named[0]), named[1]


def _value_named(field: Mapping[str, Any], slots: Mapping[str, Slot], metric: bool) -> str | None:
    """Return one field as it is told; None where it alone says nothing to anybody."""
    ((name, value),) = field.items()
    slot = {**NAMED, **slots}.get(name)
    return phrase(slot.told(value), Style(metric)) or None if slot is not None else None


def _label_one(meaning: Meaning, metric: bool) -> str:
    if isinstance(meaning, Act):
        return told_text(meaning.question(), Style(metric))
    if isinstance(meaning, Ask):
        return f"a question about {told_text(meaning.echo(), Style(metric))}"
    if isinstance(meaning, Command):
        return _label_command(meaning)
    return _label_mention(meaning)


def _label_command(command: Command) -> str:
    if command.do != "correct" and command.fields:
        return f"{command.spec.about} named"
    values = [str(value) for key, value in command.fields.items() if key not in WHICH_NOTE]
    return " ".join([command.spec.about, *(["to", *values] if values else [])])


def _label_mention(mention: Mention) -> str:
    named = mention.mention
    if "tree" in named:
        return w.tree_name(named["tree"])
    if "trees" in named:
        return w.tree_names(named["trees"])
    return " ".join(str(value) for value in named.values())
