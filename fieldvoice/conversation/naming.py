"""How a reading is named when it is put to the speaker: "tree 13, half full"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.meaning import Act, Ask, Command, Mention
from fieldvoice.meaning.commands import WHICH_NOTE
from fieldvoice.meaning.slot import slots_of
from fieldvoice.meaning.vocabulary import NAMED
from fieldvoice.segments import listed, parts

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from fieldvoice.meaning import Meaning
    from fieldvoice.segments import Parts


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
    named = value_named(left, type(one)), value_named(right, type(other))
    if not (named[0] and named[1]) or named[0] == named[1]:
        return None
    return named


def value_named(field: Mapping[str, Any], kind: type[Meaning] | None = None) -> Parts:
    """Return one field as it is told; nothing where it alone says nothing to anybody."""
    ((name, value),) = field.items()
    slot = {**NAMED, **(slots_of(kind) if kind is not None else {})}.get(name)
    return slot.told(value) if slot is not None else ()


def _label_one(meaning: Meaning) -> Parts:
    if isinstance(meaning, Act):
        return listed(meaning.question().details, ",")
    if isinstance(meaning, Ask):
        return parts("a question about", listed(meaning.echo().details, ","))
    if isinstance(meaning, Command):
        return _label_command(meaning)
    return _label_mention(meaning)


def _label_command(command: Command) -> Parts:
    if command.do != "correct" and command.fields:
        return parts(f"{command.spec.about} named")
    values = [str(value) for key, value in command.fields.items() if key not in WHICH_NOTE]
    return parts(command.spec.about, "to" if values else None, *values)


def _label_mention(mention: Mention) -> Parts:
    named = mention.mention.items()
    return parts(*(value_named({name: value}) or str(value) for name, value in named))
