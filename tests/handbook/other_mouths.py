"""The askings held out: how people ask for a card who did not write its askings."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

FOLDER = Path(__file__).parent / "held_out"


class Asking(NamedTuple):
    """What was asked, the card that answers it, and the file that it stands in.

    ``also`` are cards whose text answers it as rightly.
    """

    file: str
    words: str
    card: str
    also: tuple[str, ...] = ()

    @property
    def cards(self) -> tuple[str, ...]:
        """All cards that answer it."""
        return (self.card, *self.also)


def held_out() -> Iterator[Asking]:
    """Yield every asking of ``held_out``.

    A line is ``words => card``, with further cards after it, or a remark after ``#``.
    """
    for path in sorted(FOLDER.glob("*.txt")):
        for line in path.read_text(encoding="utf-8").splitlines():
            words, arrow, cards = line.partition(" => ")
            if arrow and not line.startswith("#"):
                card, *also = cards.split()
                yield Asking(path.name, words.strip(), card, tuple(also))
