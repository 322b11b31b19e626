"""The bundled recogniser on the real grammar, with sentences said by the package's own voice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, choose_recogniser
from fieldvoice.asr.pocketsphinx_engine import ALTERNATIVES, PocketsphinxRecogniser
from fieldvoice.dialogue.policy import FIT_FLOOR
from fieldvoice.errors import MissingPronunciationError
from fieldvoice.grammar import load_grammar
from tests.asr.conftest import silence

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Samples

SAID = [
    "tree twelve bucket nearly full sap cloudy",
    "collected two and a half gallons from tree nine",
    "what should i boil today",
    "pulled the spile on tree nineteen",
    "the sap in tote one is ropey",
    "scratch that",
]


@pytest.mark.parametrize("text", SAID)
def test_notes_are_heard_word_for_word(
    recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples], text: str
) -> None:
    heard = recogniser.recognise(say(text))
    assert heard.text == text
    assert heard.recogniser == "pocketsphinx"
    assert " ".join(word.text for word in heard.words) == text


def test_words_have_their_place_and_confidence(
    recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples]
) -> None:
    sound = say("tree twelve bucket half full")
    heard = recogniser.recognise(np.concatenate([silence(0.5), sound, silence(0.5)]))
    ends = [edge for word in heard.words for edge in (word.start_s, word.end_s)]
    assert ends == sorted(ends)
    assert ends[0] >= 0.4
    assert ends[-1] <= 0.6 + len(sound) / SAMPLE_RATE
    assert all(0 < word.confidence <= 1 for word in heard.words)
    assert 0 < heard.confidence <= 1


def test_alternatives_are_ranked_from_the_best(
    recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples]
) -> None:
    heard = recogniser.recognise(say("pulled the spile on tree nineteen"))
    texts = [alternative.text for alternative in heard.alternatives]
    scores = [alternative.score for alternative in heard.alternatives]
    assert texts[0] == heard.text
    assert scores[0] == 0
    assert scores == sorted(scores, reverse=True)
    assert 1 < len(set(texts)) == len(texts) <= ALTERNATIVES


@pytest.mark.long
@pytest.mark.parametrize("text", SAID)
def test_notes_fit(
    recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples], text: str
) -> None:
    fit = recogniser.recognise(say(text)).fit
    assert fit is not None
    assert fit >= FIT_FLOOR


def test_one_utterance_leaves_no_trace_in_the_next(
    recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples]
) -> None:
    """The same sound is heard the same whatever came before it, loud or soft.

    But for a rounding: the engine begins its search for the nearest densities where it left off.
    """
    sound = say("tree twelve bucket half full")
    first = recogniser.recognise(sound)
    recogniser.recognise((say("what should i boil today") // 20).astype(np.int16))
    again = recogniser.recognise(sound)
    assert again.text == first.text
    assert again.fit == pytest.approx(first.fit, abs=5e-5)  # a sixth of what decides
    assert again.confidence == pytest.approx(first.confidence, abs=0.01)


def test_a_soft_voice_is_heard_too(
    recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples]
) -> None:
    soft = (say("tree twelve bucket half full") // 30).astype(np.int16)
    assert recogniser.recognise(soft).text == "tree twelve bucket half full"


@pytest.mark.long
@pytest.mark.parametrize("samples", [0, 1, 100, 400, SAMPLE_RATE])
def test_silence_of_any_length_has_no_confident_words(
    recogniser: PocketsphinxRecogniser, samples: int
) -> None:
    heard = recogniser.recognise(np.zeros(samples, dtype=np.int16))
    assert heard.text == ""
    assert heard.words == ()
    assert heard.confidence == 0


def test_without_a_vosk_model_the_bundled_recogniser_is_chosen(tmp_path: Path) -> None:
    assert choose_recogniser(small_grammar(tmp_path, "tree two"), tmp_path).name == "pocketsphinx"


def test_a_deaf_spot_in_the_grammar_is_named_at_the_start(tmp_path: Path) -> None:
    with pytest.raises(MissingPronunciationError, match="glorpish, zzyzx"):
        choose_recogniser(small_grammar(tmp_path, "tree zzyzx | glorpish tree"), tmp_path)


def small_grammar(folder: Path, sentences: str):
    where = folder / "grammars"
    where.mkdir()
    (where / "pronunciations.dict").write_text("# none\n")
    (where / "fieldvoice.jsgf").write_text(
        f"#JSGF V1.0;\ngrammar fieldvoice;\npublic <utterance> = {sentences};\n"
    )
    return load_grammar(where)
