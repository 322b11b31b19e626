"""How British and other r-dropping speakers say words that the dictionary has in American.

The acoustic model and its dictionary are American. Two rules cover most of what differs in the
words of this trade: an r is silent unless a vowel follows ("quarter", "clear"), and a few words
have the broad a ("half", "last"). Source of the rules: J. C. Wells, *Accents of English* 1
(Cambridge, 1982), sections 3.1.8 (BATH) and 3.2.2 (R dropping).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

Phones = tuple[str, ...]

_VOWELS = frozenset("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())
# After these vowels the lost r leaves a neutral vowel behind: "clear", "hour", "fire".
_GLIDING = frozenset("IH IY EH UH AW AY".split())
#: Words with the broad a, of those that the grammar has or is likely to have.
_BROAD = frozenset(
    "half halfway last glass glasses after past pass passed ask asked answer branch branches "
    "can't fast bath basket".split()
)
#: Without its r "four" is too near to "five" in quick speech, and a number must not slip.
_KEPT = frozenset({"four"})


def with_accents(variants: Mapping[str, tuple[Phones, ...]]) -> dict[str, tuple[Phones, ...]]:
    """Return ``variants`` with the further pronunciations of each word, the given ones first."""
    return {word: _added(word, known) for word, known in variants.items()}


def _added(word: str, known: tuple[Phones, ...]) -> tuple[Phones, ...]:
    if word in _KEPT:
        return known
    others = (_without_r(_broad(word, phones)) for phones in known)
    return tuple(dict.fromkeys((*known, *others)))


def _broad(word: str, phones: Phones) -> Phones:
    return tuple("AA" if phone == "AE" else phone for phone in phones) if word in _BROAD else phones


def _without_r(phones: Phones) -> Phones:
    said: list[str] = []
    for at, phone in enumerate(phones):
        vowel_follows = at + 1 < len(phones) and phones[at + 1] in _VOWELS
        before = phones[at - 1] if at else ""
        if phone == "R" and before in _VOWELS and not vowel_follows:
            if before in _GLIDING:
                said.append("AH")
        elif phone == "ER" and at > 1 and not vowel_follows:
            said.append("AH")
        else:
            said.append(phone)
    return tuple(said)
