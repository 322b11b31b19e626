"""The net of the second reader: what it gives back, and what becomes of damaged files."""

from __future__ import annotations

import shutil
import warnings
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.asking_vectors import AskingVectors, digest
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.reader_net import LONGEST, ReaderNet
from fieldvoice.nlu.second_reader import SHIPPED, SecondReader
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    Harm = Callable[[Path, str], None]

NET = ReaderNet(SHIPPED)
NETWORKS = Interpreter(GRAMMAR).networks

OWN_WORDS = "tree twelve's pail looked about three quarters there and a bit milky"
BY_THE_GRAMMAR = "tree nine is half full"


def test_a_guess_has_a_chance_of_every_kind_and_a_role_of_every_word() -> None:
    words = "we lugged nine gallons off of tree fourteen".split()
    guess = NET.guess(words)
    assert len(guess.roles) == len(words)
    assert all(0 <= chance <= 1 for chance in guess.labels.values())
    for roles in guess.roles:
        assert {"O", "X"} <= roles.keys()
        assert np.exp(list(roles.values())).sum() == pytest.approx(1, abs=1e-6)
    assert np.linalg.norm(guess.vector) == pytest.approx(1, abs=1e-3)
    kinds = guess.kinds()
    assert kinds == sorted(kinds, key=lambda one: -one[1])


def test_the_same_words_give_the_same_guess() -> None:
    words = OWN_WORDS.split()
    assert NET.guess(words).labels == ReaderNet(SHIPPED).guess(words).labels


def test_what_is_beyond_its_length_does_not_change_a_guess() -> None:
    words = ["sap"] * (LONGEST + 20)
    assert len(NET.guess(words).roles) == len(words)
    assert NET.guess(words).labels == NET.guess([*words, "tree", "nine"]).labels


def without(folder: Path, name: str) -> None:
    (folder / name).unlink()


def cut_short(folder: Path, name: str) -> None:
    whole = (folder / name).read_bytes()
    (folder / name).write_bytes(whole[: len(whole) // 3])


def emptied(folder: Path, name: str) -> None:
    (folder / name).write_bytes(b"")


def of_something_else(folder: Path, name: str) -> None:
    (folder / name).write_bytes(b"\xff\xfe no file of this kind \x00" * 50)


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    folder = tmp_path / "reader"
    shutil.copytree(SHIPPED, folder)
    return folder


@pytest.mark.parametrize("harm", [without, cut_short, emptied, of_something_else])
@pytest.mark.parametrize("name", ["reader.onnx", "labels.json", "vocab.txt"])
def test_without_a_net_the_exact_reader_works_on_and_one_line_says_so(
    copied: Path, name: str, harm: Harm
) -> None:
    harm(copied, name)
    understander = Interpreter(GRAMMAR, second=SecondReader(GRAMMAR.words, folder=copied))
    with pytest.warns(UserWarning, match="own words are not understood") as told:
        assert understander.second(typed(OWN_WORDS)) is None
    assert len(told) == 1
    assert "\n" not in str(told[0].message)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert understander.second(typed(OWN_WORDS)) is None
    (reading, *_) = understander.read(typed(BY_THE_GRAMMAR))
    assert [one.json_fields() for one in reading.meanings] == [
        {"act": "inspect", "tree": 9, "fill": 0.5}
    ]


@pytest.mark.parametrize("harm", [without, cut_short, emptied, of_something_else])
def test_without_the_cards_vectors_a_card_is_still_found(copied: Path, harm: Harm) -> None:
    """They are then reckoned anew; with two cards that is soon done."""
    harm(copied, "askings.npz")
    assert AskingVectors.stored(copied / "askings.npz", NET.size).kept == {}
    two = [card for card in shipped().cards if card.id in ("why-dark", "mold")]
    reader = SecondReader(GRAMMAR.words, lambda: two, copied)
    reading = reader.read("how come my syrup went dark", NETWORKS)
    assert reading is not None
    assert [one.json_fields() for one in reading.meanings] == [
        {"ask": "advice", "topic": "why-dark"}
    ]


def test_the_cards_vectors_are_those_the_net_gives() -> None:
    """They are kept along half of the axes, in 8 bits: the product is 0.9 to 1 for 1.

    Askings newer than the net have none yet.
    """
    vectors = AskingVectors.stored(SHIPPED / "askings.npz", NET.size)
    askings = [asking for card in shipped().cards for asking in card.asked]
    known = [asking for asking in askings if digest(asking) in vectors.kept]
    assert len(known) > 0.8 * len(askings)
    for asking in known[::60]:
        told = NET.guess(words_of(asking, GRAMMAR.words, breaks=True)).vector
        kept = vectors.kept[digest(asking)]
        assert 0.88 < vectors.near(kept[None], told) < 1.02, asking
