"""A text that is held to a grammar while it is written token by token."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from fieldvoice.grammar.ahead import Beginning


@dataclass(frozen=True, slots=True)
class Held:
    """How far a text has come, and its log likelihood.

    ``said`` are the words that are whole, ``begun`` the tokens of one that is not; ``token`` is the
    last of all.
    """

    beginning: Beginning
    said: tuple[str, ...] = ()
    begun: tuple[int, ...] = ()
    token: int = -1
    log: float = 0.0

    @property
    def is_whole(self) -> bool:
        """Whether it may end here."""
        return not self.begun and self.beginning.is_whole

    def onward(
        self, logs: NDArray[np.float64], spelled: Callable[[str], Sequence[int]]
    ) -> Iterator[Held]:
        """Yield it with each next token that the grammar allows.

        ``logs`` are the log likelihoods of all tokens, ``spelled`` gives those of a word.
        """
        size = len(self.begun)
        longer = set[int]()
        for word in self.beginning.next_words:
            tokens = spelled(word)
            if len(tokens) <= size or tuple(tokens[:size]) != self.begun:
                continue
            token = tokens[size]
            log = self.log + float(logs[token])
            if len(tokens) == size + 1:
                yield Held(self.beginning.then(word), (*self.said, word), (), token, log)
            elif token not in longer:
                longer.add(token)
                yield Held(self.beginning, self.said, (*self.begun, token), token, log)
