"""How the grammar's words sound: the recogniser's dictionary and the trade's own words.

Both files have the form of the CMU Pronouncing Dictionary: a word and its phones (ARPAbet without
stress) on a line, further pronunciations of the same word as ``word(2)``, ``word(3)``, …
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.errors import GrammarError, MissingPronunciationError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping
    from pathlib import Path

Phones = tuple[str, ...]

#: The file of trade words beside the grammars.
TRADE_WORDS = "pronunciations.dict"

#: The phones of the CMU Pronouncing Dictionary (version 0.7, without stress marks).
PHONES = frozenset(
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W "
    "Y Z ZH".split()
)

_HISSING = frozenset("S Z SH ZH CH JH".split())
_VOICELESS = frozenset("P T K F TH".split())

_ENTRY = re.compile(r"(\S+?)(?:\(\d+\))?\s+(.+)")


@dataclass(frozen=True, slots=True)
class Pronunciations:
    """The pronunciations of a set of words, each word with at least one, the usual one first."""

    variants: Mapping[str, tuple[Phones, ...]]

    def phones(self, word: str) -> Phones | None:
        """Return the phones of ``word`` in its usual pronunciation, or None for another word."""
        found = self.variants.get(word)
        return found[0] if found else None

    def dictionary(self) -> str:
        """Return the text of a recogniser's dictionary: one pronunciation a line."""
        lines = []
        for word in sorted(self.variants):
            for at, phones in enumerate(self.variants[word], start=1):
                name = variant_of(word, at)
                lines.append(f"{name} {' '.join(phones)}\n")
        return "".join(lines)


def read_pronunciations(
    words: Iterable[str],
    dictionary: Path,
    trade_words: Path | None = None,
    unknown: Callable[[str], Phones] | None = None,
) -> Pronunciations:
    """Return how ``words`` (lower case) sound, with every variant that either file has.

    ``dictionary`` is the recogniser's; ``trade_words`` adds words and variants, and its phones are
    checked. A word with "'s" that neither has sounds like the word and its ending; the word must
    then be among ``words`` too. ``unknown`` gives the phones of any other word.

    Raises:
        MissingPronunciationError: naming all the words that neither file has.
        GrammarError: for a file that cannot be read, or an unknown phone in ``trade_words``.
    """
    wanted = frozenset(words)
    found: dict[str, list[Phones]] = defaultdict(list)
    for word, phones, _ in _entries(dictionary):
        if word in wanted:
            found[word].append(phones)
    if trade_words is not None:
        for word, phones, number in _entries(trade_words):
            strange = [phone for phone in phones if phone not in PHONES]
            if strange:
                raise GrammarError(f"{trade_words.name}, line {number}: no phone {strange[0]!r}")
            if word in wanted and phones not in found[word]:
                found[word].append(phones)
    _derive(wanted - found.keys(), found, unknown)
    missing = sorted(wanted - found.keys())
    if missing:
        raise MissingPronunciationError(f"no pronunciation for: {', '.join(missing)}")
    return Pronunciations({word: tuple(variants) for word, variants in found.items()})


def words_in(path: Path) -> frozenset[str]:
    """Return the words of a dictionary.

    Raises:
        GrammarError: the file cannot be read.
    """
    return frozenset(word for word, _, _ in _entries(path))


def _derive(
    words: frozenset[str],
    found: dict[str, list[Phones]],
    unknown: Callable[[str], Phones] | None,
) -> None:
    """Add to ``found`` how words sound that no file has: by ``unknown``, or by their owner."""
    if unknown is not None:
        found.update({word: [unknown(word)] for word in words if not word.endswith("'s")})
    for word in words - found.keys():
        owner = word.removesuffix("'s")
        if owner in found:
            found[word] = [with_s(phones) for phones in found[owner]]


def variant_of(word: str, number: int) -> str:
    """Return what a dictionary calls one of the ways to say ``word``, numbered from 1 on."""
    return word if number == 1 else f"{word}({number})"


def with_s(phones: Phones) -> Phones:
    """Return a word's phones with "'s" at its end, by the rule of every English grammar."""
    if phones[-1] in _HISSING:
        return (*phones, "IH", "Z")
    return (*phones, "S" if phones[-1] in _VOICELESS else "Z")


def _entries(path: Path) -> Iterator[tuple[str, Phones, int]]:
    """Yield word, phones and line number of each entry."""
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise GrammarError(f"cannot read the pronunciations in {path}") from error
    for number, line in enumerate(lines, start=1):
        if not line or line.isspace() or line.startswith(("#", ";;;")):
            continue
        entry = _ENTRY.fullmatch(line)
        if entry is None:
            raise GrammarError(f"{path.name}, line {number}: a word without phones")
        yield entry[1], tuple(entry[2].split()), number
