"""Given names in the language model and the dictionary, and heard."""

from __future__ import annotations

import random
import re
from typing import TYPE_CHECKING

import pytest

from fieldvoice.asr.letter_to_sound import phones_of
from fieldvoice.asr.model_files import bundled_model
from fieldvoice.asr.names import FAVOURED, pronunciations_of, token, write_filled
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.grammar.language_model import train
from fieldvoice.grammar.pronunciations import PHONES
from fieldvoice.nlu.fuzzy import phone_distance

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from fieldvoice.asr import Recogniser, Samples
    from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser

NAMES = EntityNames(
    frozenset({"big yard tree", "grandpa's maple", "wolfgang", "grandpa"}),
    frozenset({"blue tank", "tote"}),
)

SENTENCES = [
    ("tree", "nine", "full"),
    ("%tree", "full"),
    ("%tree", "is", "empty"),
    ("%tree's", "bucket", "full"),
    ("poured", "it", "into", "%vessel"),
    ("tree", "nine", "is", "empty"),
]
TOKENS = {"%tree": ("old_king", "wolfgang"), "%vessel": ("blue_tank",)}


def probabilities(arpa: str) -> dict[tuple[str, ...], float]:
    """Return the n-grams of an ARPA text with their probabilities."""
    found: dict[tuple[str, ...], float] = {}
    order = 0
    for line in arpa.splitlines():
        table = re.fullmatch(r"\\(\d)-grams:", line)
        order = int(table[1]) if table else order
        parts = line.split()
        if order and len(parts) > order and not line.startswith("\\"):
            found[tuple(parts[1 : order + 1])] = 10 ** float(parts[0])
    return found


def filled(folder: Path, arpa: str, tokens: Mapping[str, Sequence[str]]) -> str:
    """Return a language model with words in the place of its slots."""
    before, after = folder / "before.arpa", folder / "after.arpa"
    before.write_text(arpa)
    write_filled(before, after, tokens)
    return after.read_text()


def test_names_share_the_place_of_the_slot(tmp_path: Path) -> None:
    """As a class-based model has it: p(name | h) = p(class | h) p(name | class), and favoured.

    Brown et al., "Class-based n-gram models of natural language", Computational Linguistics 18(4),
    1992, equation 15.
    """
    arpa = train(SENTENCES).arpa()
    before, after = probabilities(arpa), probabilities(filled(tmp_path, arpa, TOKENS))
    assert not [gram for gram in after if any("%" in word for word in gram)]

    def share(gram: tuple[str, ...], of: int) -> object:
        return pytest.approx(min(1.0, before[gram] * FAVOURED / of), rel=1e-3)

    for name in TOKENS["%tree"]:
        assert after["<s>", name] == share(("<s>", "%tree"), 2)
        assert after["<s>", name, "is"] == pytest.approx(before["<s>", "%tree", "is"], rel=1e-3)
        assert after[f"{name}'s", "bucket"] == pytest.approx(before["%tree's", "bucket"], rel=1e-3)
    assert after["into", "blue_tank"] == share(("into", "%vessel"), 1)
    assert after["tree", "nine", "is"] == pytest.approx(before["tree", "nine", "is"], rel=1e-3)


@pytest.mark.parametrize("tokens", [TOKENS, {"%tree": (), "%vessel": ()}])
def test_the_counts_at_the_head_are_those_of_the_tables(
    tmp_path: Path, tokens: dict[str, tuple[str, ...]]
) -> None:
    text = filled(tmp_path, train(SENTENCES).arpa(), tokens)
    told = {int(order): int(count) for order, count in re.findall(r"ngram (\d)=(\d+)", text)}
    grams = probabilities(text)
    assert told == {order: sum(len(gram) == order for gram in grams) for order in told}


def test_letters_sound_much_as_the_dictionary_has_them() -> None:
    """Against the CMU Pronouncing Dictionary, on words drawn from it: a sixth of the way apart."""
    lines = bundled_model("cmudict-en-us.dict").read_text().splitlines()
    words = dict(line.split(" ", 1) for line in lines if line[0].isalpha() and "(" not in line)
    chosen = random.Random(3).sample([word for word in words if 4 < len(word) < 11], 300)
    gaps = [phone_distance(phones_of(word), tuple(words[word].split())) for word in chosen]
    assert sum(gaps) / len(gaps) < 0.17
    assert all(set(phones_of(word)) <= PHONES for word in chosen)


def test_a_name_sounds_like_its_words_in_a_row() -> None:
    dictionary = bundled_model("cmudict-en-us.dict")
    sounds = pronunciations_of(["grandpa's maple", "blue tank"], dictionary, dictionary)
    assert sounds["blue_tank"][0] == ("B", "L", "UW", "T", "AE", "NG", "K")
    assert sounds[token("grandpa's maple")][0][-5:] == ("M", "EY", "P", "AH", "L")
    assert sounds["blue_tank's"][0] == (*sounds["blue_tank"][0], "S")


@pytest.mark.long
@pytest.mark.parametrize(
    "said",
    [
        "big yard tree half full sap clear",
        "collected two gallons from grandpa's maple",
        "poured ten gallons into the blue tank",
        "wolfgang is empty",
        "grandpa is half full",
        "poured ten gallons into tote two",
    ],
)
def test_names_are_heard_once_they_are_learnt(
    said: str, recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples]
) -> None:
    recogniser.learn(NAMES)
    try:
        assert recogniser.recognise(say(said)).text == said
        assert recogniser.recognise(say("tree twelve bucket half full")).text == (
            "tree twelve bucket half full"
        )
    finally:
        recogniser.learn(EntityNames())


def test_names_unlearnt_are_not_heard(
    recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples]
) -> None:
    recogniser.learn(NAMES)
    recogniser.learn(EntityNames())
    assert "wolfgang" not in recogniser.recognise(say("wolfgang is empty")).text


@pytest.mark.long
@pytest.mark.parametrize("said", ["grandpa's bucket is full", "wolfgang's bucket is empty"])
def test_whose_bucket_it_is_is_heard_by_both(
    said: str, ears: Recogniser, say: Callable[[str], Samples]
) -> None:
    """The first alone may hear "grandpa is bucket", which is said as the other is."""
    ears.learn(NAMES)
    try:
        assert ears.recognise(say(said)).text == said
    finally:
        ears.learn(EntityNames())
