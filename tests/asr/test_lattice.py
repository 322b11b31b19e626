"""Paths through a lattice, against every path of it written out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.asr.lattice import (
    AT_A_NODE,
    BEAM,
    LOG_BASE,
    Lattice,
    best_paths,
    read_lattice,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

# What the engine writes for "tree nine": a pause before it, a variant, and a link that is none.
WRITTEN = """\
# getcwd: /somewhere
# -logbase 1.000100e+00
#
Frames 90
#
Nodes 6 (NODEID WORD STARTFRAME FIRST-ENDFRAME LAST-ENDFRAME)
0 </s> 80 89 89 ; 0
1 nine 50 78 79 ; 0
2 ninety(2) 50 79 79 ; 0
3 tree 20 49 49 ; 0
4 <sil> 1 19 19 ; 0
5 <s> 0 0 0 ; 0
#
Initial 5
Final 0
#
BestSegAscr 0 (NODEID ENDFRAME ASCORE)
#
Edges (FROM-NODEID TO-NODEID ASCORE)
1 0 -300000
2 0 -280000
3 1 -300000
3 2 -310000
4 3 -20000
5 3 -434423808
5 4 -1000
End
"""


def flat(words: tuple[str, ...]) -> float:
    """Every word is as likely as every other."""
    return -1.0


def test_a_lattice_is_read_as_the_engine_writes_it() -> None:
    lattice = read_lattice(WRITTEN)
    assert lattice.words == ("</s>", "nine", "ninety", "tree", "<sil>", "<s>")
    assert lattice.starts == (80, 50, 50, 20, 1, 0)
    assert (lattice.first, lattice.last, lattice.frames) == (5, 0, 90)
    assert lattice.links[5] == ((4, pytest.approx(-1000 * LOG_BASE)),)
    assert [lattice.is_silent(node) for node in range(6)] == [False] * 4 + [True, False]


def test_anything_else_is_no_lattice() -> None:
    with pytest.raises(ValueError, match="no Nodes in the lattice"):
        read_lattice("Frames 3\n")
    with pytest.raises(ValueError, match="no Initial in the lattice"):
        read_lattice("Frames 3\nNodes 2 (…)\n0 </s> 2 2 2 ; 0\n")


def test_words_have_their_places_and_pauses_none() -> None:
    best, other = best_paths(read_lattice(WRITTEN), flat, context=2, count=5)
    assert (best.text, best.spans) == ("tree ninety", ((20, 50), (50, 80)))
    assert other.text == "tree nine"
    assert best.score - other.score == pytest.approx(10_000 * LOG_BASE)


def test_the_language_decides_with_all_the_context_it_has() -> None:
    """Two words back are enough to know, and one is not."""

    def language(words: tuple[str, ...]) -> float:
        return 0.0 if words == ("nine", "tree", "<s>") else -3.0

    assert best_paths(read_lattice(WRITTEN), language, context=2, count=1)[0].text == "tree nine"
    assert best_paths(read_lattice(WRITTEN), language, context=1, count=1)[0].text == "tree ninety"


WORDS = ("tree", "nine", "ninety", "<sil>", "[NOISE]")


@st.composite
def lattices(draw: st.DrawFn) -> Lattice:
    """Lattices of up to seven words, each of which leads to some later ones."""
    between = draw(st.lists(st.sampled_from(WORDS), min_size=1, max_size=7))
    words = ("<s>", *between, "</s>")
    links = []
    for node in range(len(words)):
        later = range(node + 1, len(words))
        there = draw(st.lists(st.sampled_from(later), unique=True)) if later else []
        scores = st.floats(-30.0, -0.01)
        links.append(tuple((one, draw(scores)) for one in there))
    starts = tuple(10 * node for node in range(len(words)))
    return Lattice(words, starts, tuple(links), 0, len(words) - 1, 10 * len(words))


def language_of(words: tuple[str, ...]) -> float:
    """Some probability or other that depends on all words given and their order."""
    return -1.0 - sum((at + 1) * len(word) for at, word in enumerate(words)) % 7


def every_path(lattice: Lattice, context: int) -> dict[tuple[str, ...], float]:
    """Return the score of every hearing: that of the best of its paths."""
    found: dict[tuple[str, ...], float] = {}

    def walk(node: int, said: tuple[str, ...], score: float) -> Iterator[None]:
        if node == lattice.last:
            words = said[1:-1]
            found[words] = max(score, found.get(words, -math.inf))
        for there, sound in lattice.links[node]:
            if lattice.is_silent(there):
                yield from walk(there, said, score + sound)
            else:
                word = lattice.words[there]
                seen = (word, *reversed(said[-context:]))
                yield from walk(there, (*said, word), score + sound + language_of(seen))

    assert not list(walk(lattice.first, ("<s>",), 0.0))
    return found


@given(lattices(), st.integers(1, 3))
def test_the_best_paths_are_those_among_all(lattice: Lattice, context: int) -> None:
    everything = every_path(lattice, context)
    found = best_paths(lattice, language_of, context, count=AT_A_NODE)
    best = max(everything.values(), default=-math.inf)
    wanted = sorted((score for score in everything.values() if score > best - BEAM), reverse=True)
    if len(everything) <= AT_A_NODE:
        assert [path.score for path in found] == pytest.approx(wanted)
    for path in found:
        assert path.score == pytest.approx(everything[path.words])
        assert len(path.spans) == len(path.words)
    assert bool(found) == bool(everything)
