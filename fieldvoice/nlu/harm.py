"""What may have happened to words before they were read: slips put right, words lost or hidden."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection

    from fieldvoice.nlu.word_prices import WordPrices
    from fieldvoice.transcript import Transcript

_LETTERS = re.compile("[A-Za-z]+")

#: No note ends in these; and after those "of" leads to any word: "kind of in a hurry".
_LEADS_ON = frozenset({"and", "or", "from", "with"})
_SORT_OF = frozenset({"kind", "sort", "out", "because", "instead"})


class Harm:
    """Puts slips right, and tells where words were lost."""

    def __init__(self, prices: WordPrices) -> None:
        self._lists = prices.lists
        self._prices = prices

    def mended(self, text: str) -> str:
        """Return what was typed with slips of things and units put right: "tnak two"."""
        kinds = self._lists.counted | self._lists.says_tree | self._lists.units

        def put_right(found: re.Match[str]) -> str:
            word = found[0].lower()
            if word in self._lists.known or self._prices.is_word(word):
                return found[0]
            near = self._prices.near.near(word, by_sound=False)
            nearest = min(near, key=lambda other: near[other], default=word)
            return nearest if nearest in kinds else found[0]

        return _LETTERS.sub(put_right, text)

    def lacks_a_word(self, words: tuple[str, ...]) -> bool:
        """Whether a word is lost: "put a in tree fifty", "nice and", "tree thirty a cloudy"."""
        articles, counting = self._lists.small.articles, self._lists.small.counting
        if words[-1:] and words[-1] in articles | _LEADS_ON:
            return True
        if words[-2:-1] and words[-2] in counting and words[-1:] in self._lists.values:
            return True
        return any(
            two in articles | {"of"} and one not in _SORT_OF and self._lists.is_no_noun(three)
            for one, two, three in zip(("", *words), words, words[1:], strict=False)
        )

    def hides_a_word(
        self, words: tuple[str, ...], unread: Collection[str], heard: Transcript
    ) -> bool:
        """Whether a word that has no place may tell: a misheard number, "all dpne boiling"."""
        prices = self._prices
        if heard.is_plain:
            return any(prices.is_unknown(word) and not prices.is_word(word) for word in unread)
        return any(
            word in unread and prices.may_be_number(words, at) for at, word in enumerate(words)
        )
