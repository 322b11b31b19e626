"""How a reading is named when it is put to the speaker: "tree 13, half full"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.readback import timed
from fieldvoice.handbook.loader import shipped
from fieldvoice.schema import Act, Ask, Command, EntityMention
from fieldvoice.schema.asks.season import Advice
from fieldvoice.schema.commands import WHICH_NOTE
from fieldvoice.schema.slot import slots_of
from fieldvoice.schema.vocabulary import NAMED
from fieldvoice.segments import listed, parts

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping
    from datetime import datetime
    from typing import Any

    from fieldvoice.dialogue.prompts import Prompt
    from fieldvoice.schema import Meaning
    from fieldvoice.segments import Parts, Segment


def label(meanings: tuple[Meaning, ...], now: datetime | None = None) -> Parts:
    """Return a reading in a few words; notes with their time, as it is told at ``now``."""
    first, *more = (_label_one(meaning, now) for meaning in meanings)
    return parts(first, *(parts(", and", other) for other in more))


def options_named(question: Prompt) -> tuple[Parts, Parts]:
    """Return how the two options of a choice are named: by the values alone, if these are asked."""
    if question.slot is None:
        one, other = question.options
        return labels_apart(one, other)
    values = (option[question.index].json_fields()[question.slot] for option in question.options)
    first, second = (parts(f"{value:g}") for value in values)
    return first, second


def subjects(asks: Iterable[Ask], told: Collection[Segment] = ()) -> Parts:
    """Return what questions are about, with what they name: "how full it is, tank 2".

    What they name and an answer has ``told`` is left out.
    """
    return listed(subject_of(ask, told) for ask in asks)


def subject_of(ask: Ask, told: Collection[Segment] = ()) -> Parts:
    """Return what one question is about; of a card of the handbook its title."""
    card = shipped().card(ask.topic or "") if isinstance(ask, Advice) else None
    if card is not None:
        return parts(f"{card.title[:1].lower()}{card.title[1:]}")
    return listed(ask.echo(told).details, ",")


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
    if isinstance(one, Advice) and isinstance(other, Advice):
        return subject_of(one), subject_of(other)
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


def _label_one(meaning: Meaning, now: datetime | None) -> Parts:
    if isinstance(meaning, Act):
        return listed(timed(meaning.question(), meaning, now).details, ",")
    if isinstance(meaning, Ask):
        return subjects((meaning,))
    if isinstance(meaning, Command):
        return _label_command(meaning)
    return _label_mention(meaning)


def _label_command(command: Command) -> Parts:
    if command.do != "correct" and command.fields:
        return parts(f"{command.spec.about} named")
    fields = ((key, value) for key, value in command.fields.items() if key not in WHICH_NOTE)
    values = listed((value_named({key: value}) or parts(str(value)) for key, value in fields), ",")
    return parts(command.spec.about, "to" if values else None, values)


def _label_mention(mention: EntityMention) -> Parts:
    named = mention.mention.items()
    return parts(*(value_named({name: value}) or str(value) for name, value in named))
