"""One card of the handbook: what is said when somebody asks about the trade."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal, get_args

from fieldvoice.rules.finding import COMMON_PRACTICE, Finding

CardLevel = Literal["note", "care", "stop", "emergency"]

LEVELS: tuple[CardLevel, ...] = get_args(CardLevel)

#: The longest spoken answer, in words: what can be kept in mind with both hands full.
MOST_WORDS = 25

_WORD = re.compile(r"[a-z0-9]+(?:'[a-z]+)?")
_NUMBER = re.compile(r"\{(\w*)\}")


@dataclass(frozen=True, slots=True)
class Numbers:
    """The telephone numbers that cards tell, as they are said; those of the USA at first.

    911 is also Canada's; its poison line is 1-844-764-7669 (from memory).
    """

    emergency: str = "911"
    poison: str = "1-800-222-1222"


#: The numbers where no household has set others.
USUAL_NUMBERS = Numbers()


@dataclass(frozen=True, slots=True)
class Card:
    """What is told about one thing, why, by whom, and the ways in which people ask for it.

    ``say`` is spoken, the danger first; ``sources`` are written out. Both ``say`` and ``why`` may
    hold ``{emergency}`` and ``{poison}`` in place of a telephone number: see ``with_numbers``.
    ``rule`` names the rule or question that works out a number when the asking gives one.
    """

    id: str
    subject: str
    title: str
    level: CardLevel
    say: str
    why: str
    sources: tuple[str, ...]
    asked: tuple[str, ...]
    rule: str | None = None


def finding_of(card: Card, numbers: Numbers) -> Finding:
    """Return what a card tells as a rule's word: an emergency is a stop."""
    is_practice = card.sources[0] == COMMON_PRACTICE
    return Finding(
        rule=f"card-{card.id}",
        level="stop" if card.level == "emergency" else card.level,
        text=with_numbers(card.say, numbers),
        why=with_numbers(card.why, numbers),
        source="; ".join(card.sources),
        certainty="common practice" if is_practice else "published",
    )


def with_numbers(text: str, numbers: Numbers = USUAL_NUMBERS) -> str:
    """Return what a card tells with the telephone numbers put in."""
    return _NUMBER.sub(lambda found: str(getattr(numbers, found[1])), text)


def unknown_number(text: str) -> str | None:
    """Return what stands in braces and is no telephone number, or a brace left alone."""
    for name in _NUMBER.findall(text):
        if name not in Numbers.__slots__:
            return f"{{{name}}}"
    rest = _NUMBER.sub("", text)
    return next((brace for brace in "{}" if brace in rest), None)


#: Words in which two askings may differ and yet ask the same, by what each is taken for.
_ALIKE = {
    "a": "", "an": "", "the": "", "my": "", "our": "", "this": "", "we": "i", "us": "me",
    "could": "can", "may": "can", "what's": "what is", "there's": "there is", "it's": "it is",
    "must": "should",
}  # fmt: skip


def key_of(asking: str) -> str:
    """Return what two askings have in common that differ in an article or in who asks."""
    return " ".join(filter(None, (_ALIKE.get(word, word) for word in words(asking))))


def words(text: str) -> list[str]:
    """Return the words of a text in small letters, without signs."""
    return _WORD.findall(text.lower().replace("’", "'"))
