"""R-dropping and the broad a, against the example words of Wells, *Accents of English* (1982)."""

from __future__ import annotations

import pytest

from fieldvoice.grammar.accents import with_accents


@pytest.mark.parametrize(
    ("word", "american", "further"),
    [
        # Wells 3.2.2: silent before a consonant and at the end, kept before a vowel.
        ("quarter", "K W AO R T ER", "K W AO T AH"),
        ("clear", "K L IH R", "K L IH AH"),
        ("forty", "F AO R T IY", "F AO T IY"),
        ("very", "V EH R IY", None),
        ("brix", "B R IH K S", None),
        # Wells 3.1.8: the BATH words.
        ("half", "HH AE F", "HH AA F"),
        ("last", "L AE S T", "L AA S T"),
        ("sap", "S AE P", None),
        # A number that would sound like another keeps its one pronunciation.
        ("four", "F AO R", None),
    ],
)
def test_further_pronunciations(word: str, american: str, further: str | None) -> None:
    known = tuple(american.split())
    expected = (known,) if further is None else (known, tuple(further.split()))
    assert with_accents({word: (known,)}) == {word: expected}
