"""Cries for help that the recogniser learns from: all of them emergencies, of every card."""

from __future__ import annotations

import shutil

import pytest

from fieldvoice.asr.model_files import english_words, in_full
from fieldvoice.grammar import grammar_folder
from fieldvoice.grammar.pronunciations import TRADE_WORDS, words_in
from fieldvoice.handbook import emergency, handbook_folder
from fieldvoice.handbook.cries import CARDS, cries, fingerprint
from fieldvoice.handbook.loader import shipped


@pytest.fixture(scope="module")
def cried() -> list[str]:
    return [" ".join(words) for words in cries(3_000, seed=1)]


#: Words of askings that no dictionary has: slips of the pen, and what two words are as one.
SLIPS = frozenset(
    "911 amblance ambulence anaphyl breething burnd brned caght chloramine choaking electricuted "
    "emergancy falled heartattack hlp jaket realy roarin sirup slipt sumthing zaped isn bleding "
    "chimny dizy fier swallowd mushed epi pto".split()
)


def test_cries_are_emergencies_and_hardly_ever_the_same(cried):
    assert all(emergency(cry) is not None for cry in cried[::10])
    assert len(set(cried)) > 0.7 * len(cried)
    assert [" ".join(words) for words in cries(3_000, seed=1)] == cried


def test_every_emergency_is_cried(cried):
    assert {emergency(cry).id for cry in cried} == shipped().urgent


def test_people_and_things_are_exchanged(cried):
    """Nobody wrote down that an uncle burned his elbow; he can be heard all the same."""
    said = " ".join(cried)
    for words in ("my uncle", "grandma's", "elbow", "the back pan", "the smokestack"):
        assert words in said


def test_all_words_but_slips_can_be_heard(cried):
    known = english_words() | words_in(grammar_folder() / TRADE_WORDS)
    full = {in_full(word, known) for cry in cried for word in cry.split()}
    silent = {word for word in full if word.removesuffix("'s") not in known}
    assert silent <= SLIPS


@pytest.mark.parametrize(
    ("written", "full"),
    [("cant", "can't"), ("hes", "he's"), ("theyre", "they're"), ("im", "i'm"), ("its", "its"),
     ("ill", "ill"), ("want", "want"), ("burned", "burned")],
)  # fmt: skip
def test_apostrophes_are_put_in_where_they_are_sure(written, full):
    assert in_full(written, english_words()) == full


def test_a_new_asking_is_cried_and_the_model_made_anew(tmp_path):
    folder = tmp_path / "handbook"
    shutil.copytree(handbook_folder(), folder)
    before = fingerprint(folder)
    text = (folder / CARDS).read_text("utf-8")
    new = "- the chimney is on fire by the trampoline"
    text = text.replace("- the stack is on fire", f"- the stack is on fire\n{new}", 1)
    (folder / CARDS).write_text(text, "utf-8")
    assert fingerprint(folder) != before
    assert any("trampoline" in words for words in cries(4_000, seed=2, folder=folder))
