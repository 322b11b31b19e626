"""Words to the small listener's tokens and back: byte pairs, joined in the order of the list.

The method is that of R. Sennrich, B. Haddow and A. Birch, "Neural machine translation of rare words
with subword units" (ACL 2016), on bytes; the list is a part of GPT-2's vocabulary.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

#: What follows the list's own tokens: no more is said, here begins what is heard, here the prompt.
END, START, PROMPT, NO_SPEECH, NO_TIMES = range(5)

_SPACE = "Ġ"


class Tokens:
    """The tokens listed in a file, one a line, the commoner the earlier."""

    def __init__(self, file: Path) -> None:
        self._pieces = file.read_text(encoding="utf-8").split("\n")[:-1]
        self._numbers = {piece: number for number, piece in enumerate(self._pieces)}
        signs = _signs_of_bytes()
        self._sign = dict(enumerate(signs))
        self._byte = {sign: byte for byte, sign in enumerate(signs)}
        self._of_word = lru_cache(65_536)(self._joined)

    def special(self, which: int) -> int:
        """Return the number of a special token, such as ``END``."""
        return len(self._pieces) + which

    def of(self, text: str) -> list[int]:
        """Return the tokens of the words of ``text``, each with the space before it."""
        return [token for word in text.split() for token in self._of_word(word)]

    def of_piece(self, piece: str) -> int:
        """Return the number of a token by its name in the list."""
        return self._numbers[piece]

    def text(self, tokens: Iterable[int]) -> str:
        """Return what tokens stand for; the special ones for nothing."""
        signs = "".join(self._pieces[one] for one in tokens if one < len(self._pieces))
        raw = bytes(self._byte[sign] for sign in signs)
        return raw.decode("utf-8", errors="ignore")

    def _joined(self, word: str) -> Sequence[int]:
        parts = [_SPACE, *(self._sign[byte] for byte in word.encode())]
        while len(parts) > 1:
            pairs = [one + other for one, other in pairwise(parts)]
            best = min(pairs, key=lambda pair: self._numbers.get(pair, len(self._pieces)))
            if best not in self._numbers:
                break
            at = pairs.index(best)
            parts[at : at + 2] = [best]
        return tuple(self._numbers[part] for part in parts)


def _signs_of_bytes() -> list[str]:
    """Return the sign that the list writes each byte with: itself, or one from 256 on."""
    plain = {*range(33, 127), *range(161, 173), *range(174, 256)}
    others = iter(range(256, 512))
    return [chr(byte) if byte in plain else chr(next(others)) for byte in range(256)]
