"""Words cut into pieces, against examples and the reference that the model's pieces come from."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.nlu.second_reader import SHIPPED
from fieldvoice.nlu.wordpiece import WordPieces
from tests.one_grammar import GRAMMAR

VOCABULARY = (SHIPPED / "vocab.txt").read_text(encoding="utf-8").splitlines()
PIECES = WordPieces(VOCABULARY)

#: The vocabulary of the tokenizer's published test (google-research/bert, tokenization_test.py,
#: ``test_full_tokenizer`` and ``test_wordpiece_tokenizer``), whose expectations follow.
PUBLISHED = "[UNK] [CLS] [SEP] want ##want ##ed wa un runn ##ing ,".split()


def cut(known: WordPieces, vocabulary: list[str], word: str) -> list[str]:
    return [vocabulary[at] for at in known.ids(word)]


@pytest.mark.parametrize(
    ("word", "pieces"),
    [
        ("unwanted", "un ##want ##ed"),
        ("running", "runn ##ing"),
        ("unwantedX", "[UNK]"),
        ("UNwant\u00e9d,running", "un ##want ##ed , runn ##ing"),
    ],
)
def test_the_published_test_of_the_tokenizer(word: str, pieces: str) -> None:
    assert cut(WordPieces(PUBLISHED), PUBLISHED, word) == pieces.split()


@pytest.mark.parametrize(
    ("word", "pieces"),
    [
        # Widely printed with the uncased English vocabulary; from memory.
        ("embeddings", "em ##bed ##ding ##s"),
        ("tokenization", "to ##ken ##ization"),
        ("snowboarding", "snow ##board ##ing"),
        ("strawberries", "straw ##berries"),
    ],
)
def test_words_are_cut_as_the_vocabulary_is_known_for(word: str, pieces: str) -> None:
    assert cut(PIECES, VOCABULARY, word) == pieces.split()


def test_capitals_and_accents_make_no_difference() -> None:
    assert PIECES.ids("CAFÉ") == PIECES.ids("cafe")


@pytest.mark.parametrize("word", ["", "🍁", "a" * 41, "\x00"])
def test_what_is_no_word_is_one_unknown_piece(word: str) -> None:
    assert PIECES.ids(word) == (PIECES.unknown,)


@given(st.text(max_size=60))
def test_any_text_has_pieces_and_all_are_known(text: str) -> None:
    ids = PIECES.ids(text)
    assert ids
    assert all(0 <= at < len(VOCABULARY) for at in ids)


@given(st.from_regex(r"[a-z]{1,40}", fullmatch=True))
def test_the_pieces_of_a_word_spell_it(word: str) -> None:
    pieces = cut(PIECES, VOCABULARY, word)
    assert pieces == ["[UNK]"] or re.sub("##", "", "".join(pieces)) == word
    assert all(piece.startswith("##") for piece in pieces[1:])


def test_the_grammars_words_are_cut_as_the_reference_cuts_them() -> None:
    """Outside check: the package tokenizers (PyPI), which comes with the extra ``second``."""
    tokenizers = pytest.importorskip("tokenizers", reason="the extra second is not installed")
    reference = tokenizers.Tokenizer(
        tokenizers.models.WordPiece(
            {piece: at for at, piece in enumerate(VOCABULARY)},
            unk_token="[UNK]",
            max_input_chars_per_word=40,
        )
    )
    reference.normalizer = tokenizers.normalizers.BertNormalizer(lowercase=True)
    reference.pre_tokenizer = tokenizers.pre_tokenizers.BertPreTokenizer()
    for word in GRAMMAR.words:
        assert list(PIECES.ids(word)) == reference.encode(word).ids, word
