"""The texts that one utterance may have been, likeliest first, with what is against each."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from fieldvoice.homophones import with_figures
from fieldvoice.nlu import costs

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from fieldvoice.nlu.word_lists import WordLists
    from fieldvoice.transcript import Transcript

    Pairs = Collection[tuple[str, ...]]

#: Hearings searched of one utterance.
MOST = 10


def hearings(heard: Transcript, lists: WordLists) -> Iterator[tuple[str, float]]:
    """Yield the texts to be searched with the price of each hearing.

    Of what was heard plainly another hearing counts only where it has another number or vessel.
    """
    one_of_many = lists.one_of_many
    beside = _without(heard.text, lists.sound_alike)
    yield heard.text, 0.0 if heard.is_typed else _unsayable(heard.text, one_of_many)
    figures = heard.text if heard.is_typed else with_figures(heard.text)
    if figures != heard.text:
        yield figures, costs.FILLER + _unsayable(figures, one_of_many)
    for alternative in heard.alternatives[:MOST]:
        is_other = not heard.is_plain or _without(alternative.text, lists.sound_alike) == beside
        if is_other and alternative.text != heard.text:
            behind = max(0.0, -alternative.score * costs.PER_HEARING_SCORE)
            yield alternative.text, behind + _unsayable(alternative.text, one_of_many)


def _without(text: str, words: Collection[str]) -> list[str]:
    return [word for word in text.split() if word not in words]


def _unsayable(text: str, one_of_many: Pairs) -> float:
    """Return the price of two words that do not go together: "a pints"."""
    together = pairwise(text.split())
    return costs.DOUBTFUL * sum(pair in one_of_many for pair in together)
