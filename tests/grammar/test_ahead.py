"""What may come next, followed word by word, against the search that begins anew each time."""

from __future__ import annotations

from fieldvoice.grammar.ahead import Beginning
from fieldvoice.grammar.expect import accepts, next_words
from fieldvoice.grammar.grammar import TOP
from tests.one_grammar import GRAMMAR


def test_the_next_words_are_those_of_a_search_from_the_start() -> None:
    """For each beginning of six sentences drawn from the grammar."""
    networks = GRAMMAR.networks
    start = Beginning(networks, TOP)
    for sample in GRAMMAR.samples(6, seed=5):
        here, said = start, list[str]()
        for word in sample.words:
            assert here.next_words == set(next_words(networks, TOP, said))
            assert here.is_whole == accepts(networks, TOP, said)
            if word not in here.next_words:  # the free words of a remark
                break
            here, said = here.then(word), [*said, word]
