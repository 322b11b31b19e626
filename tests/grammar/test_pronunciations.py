"""How the grammar's words sound."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.errors import GrammarError, MissingPronunciationError
from fieldvoice.grammar.pronunciations import PHONES, TRADE_WORDS, read_pronunciations
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from pathlib import Path

CMU = "a AH\na(2) EY\nbucket B AH K AH T\nbucket(2) B AH K IH T\ntree T R IY\nzebra Z IY B R AH\n"


@pytest.fixture
def cmu(tmp_path: Path) -> Path:
    path = tmp_path / "cmu.dict"
    path.write_text(CMU)
    return path


def trade(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "trade.dict"
    path.write_text(text)
    return path


def test_every_variant_of_the_words_asked_for_is_kept(cmu: Path) -> None:
    found = read_pronunciations(["bucket", "a"], cmu)
    assert found.variants == {
        "a": (("AH",), ("EY",)),
        "bucket": (("B", "AH", "K", "AH", "T"), ("B", "AH", "K", "IH", "T")),
    }
    assert found.dictionary() == ("a AH\na(2) EY\nbucket B AH K AH T\nbucket(2) B AH K IH T\n")


def test_trade_words_add_words_and_variants(cmu: Path, tmp_path: Path) -> None:
    more = trade(tmp_path, "# the trade's own\n\nspile S P AY L\nspile(2) S P IY L\ntree CH R IY\n")
    found = read_pronunciations(["tree", "spile"], cmu, more)
    assert found.phones("spile") == ("S", "P", "AY", "L")
    assert found.variants["spile"][1] == ("S", "P", "IY", "L")
    assert found.variants["tree"] == (("T", "R", "IY"), ("CH", "R", "IY"))
    assert found.phones("zebra") is None


def test_a_dictionary_written_is_read_again_the_same(cmu: Path, tmp_path: Path) -> None:
    found = read_pronunciations(["a", "bucket", "tree"], cmu)
    again = trade(tmp_path, found.dictionary())
    assert read_pronunciations(["a", "bucket", "tree"], again) == found


def test_all_words_without_a_pronunciation_are_named(cmu: Path) -> None:
    """Start-up tells of each deaf spot at once, not one at a time."""
    with pytest.raises(MissingPronunciationError, match="no pronunciation for: ropey, spile"):
        read_pronunciations(["spile", "tree", "ropey"], cmu)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("spile S P Y L\nropey R OW P IIY\n", r"trade\.dict, line 2: no phone 'IIY'"),
        ("spile S P AY1 L\n", r"line 1: no phone 'AY1'"),
        ("# nothing\nspile\n", r"line 2: a word without phones"),
    ],
)
def test_mistakes_name_file_and_line(cmu: Path, tmp_path: Path, text: str, reason: str) -> None:
    with pytest.raises(GrammarError, match=reason):
        read_pronunciations(["tree"], cmu, trade(tmp_path, text))


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(GrammarError, match=r"gone\.dict"):
        read_pronunciations(["tree"], tmp_path / "gone.dict")


def test_every_word_of_the_grammar_can_be_heard() -> None:
    """With the recogniser's dictionary and the trade words none is left over."""
    from pocketsphinx import get_model_path

    grammar = GRAMMAR
    from pathlib import Path

    cmu = Path(get_model_path("en-us")) / "cmudict-en-us.dict"
    found = read_pronunciations(grammar.words, cmu, grammar.folder / TRADE_WORDS)
    assert found.variants.keys() == grammar.words


def test_a_possessive_sounds_like_its_word_and_the_ending(tmp_path: Path) -> None:
    """By the rule of every English grammar: S after p t k f th, a syllable after a hiss, else Z."""
    dictionary = tmp_path / "some.dict"
    dictionary.write_text("eight EY T\nsix S IH K S\nnine N AY N\n")
    words = {"eight", "six", "nine", "eight's", "six's", "nine's"}
    found = read_pronunciations(words, dictionary).variants
    assert found["eight's"] == (("EY", "T", "S"),)
    assert found["six's"] == (("S", "IH", "K", "S", "IH", "Z"),)
    assert found["nine's"] == (("N", "AY", "N", "Z"),)


def test_the_phones_are_those_of_the_recogniser() -> None:
    """The list in the code is the list in the acoustic model's own definition, no more, no less."""
    from pathlib import Path

    from pocketsphinx import get_model_path

    lines = (Path(get_model_path("en-us")) / "cmudict-en-us.dict").read_text().splitlines()
    assert {phone for line in lines for phone in line.split()[1:]} == PHONES
