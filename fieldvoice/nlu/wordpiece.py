"""Words as the pieces that a network knows them by: the longest known piece first."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

#: A word of more letters is none.
_LONGEST = 40
_RUNS = re.compile(r"[a-z0-9]+|[^\sa-z0-9]")


class WordPieces:
    """A vocabulary of pieces; those inside a word begin with ``##``."""

    def __init__(self, pieces: Sequence[str]) -> None:
        self._place = {piece: at for at, piece in enumerate(pieces)}
        self.unknown = self._place["[UNK]"]
        self.begin, self.end = self._place["[CLS]"], self._place["[SEP]"]
        self.ids = lru_cache(maxsize=4096)(self._ids)

    def _ids(self, word: str) -> tuple[int, ...]:
        """Return the pieces of one word; at least one."""
        plain = unicodedata.normalize("NFD", word.lower())
        plain = "".join(sign for sign in plain if unicodedata.category(sign) != "Mn")
        found = [one for run in _RUNS.findall(plain) for one in self._of_run(run)]
        return tuple(found) or (self.unknown,)

    def _of_run(self, run: str) -> list[int]:
        if len(run) > _LONGEST:
            return [self.unknown]
        ids: list[int] = []
        at = 0
        while at < len(run):
            end = len(run)
            while end > at and (piece := ("##" if at else "") + run[at:end]) not in self._place:
                end -= 1
            if end == at:
                return [self.unknown]
            ids.append(self._place[piece])
            at = end
        return ids
