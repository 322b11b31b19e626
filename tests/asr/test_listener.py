"""The small listener that comes along: tokens, what it hears and writes, and what is no model."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE
from fieldvoice.asr.free_recogniser import FreeRecogniser
from fieldvoice.asr.listener_model import Listener
from fieldvoice.asr.listener_net import PLACE_S, SHORTEST_S, SILENCE_S, ListenerNet, mel_bands
from fieldvoice.asr.system_combination import SystemCombination
from fieldvoice.asr.tokens import Tokens
from fieldvoice.cli.recognisers import LISTENER, ears, sound_of_words, with_second
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar import Grammar
from fieldvoice.grammar.ahead import Beginning
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.grammar.grammar import TOP
from fieldvoice.transcript import NBestEntry, Transcript
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Samples

SAID = "tree twelve bucket nearly full sap cloudy"


@pytest.fixture(scope="module")
def listener() -> Listener:
    return Listener(GRAMMAR, LISTENER)


class Hears:
    """In the place of the first listener."""

    name = "first"

    def __init__(self, text: str, confidence: float = 0.5) -> None:
        self._heard = Transcript(text, (), confidence, (NBestEntry(text, 0.0),), None, "first")

    def learn(self, names: EntityNames) -> None:
        pass

    def recognise(self, samples: Samples) -> Transcript:
        return self._heard


def test_words_become_tokens_and_words_again() -> None:
    """Every word of the grammar, and what is no word of any list."""
    tokens = Tokens(LISTENER / "tokens.txt")
    for word in [*GRAMMAR.words, "Zürich", "qxz", "3.5", "12½"]:
        assert tokens.text(tokens.of(word)) == f" {word}"


def test_common_words_are_one_token_each() -> None:
    tokens = Tokens(LISTENER / "tokens.txt")
    assert len(tokens.of("tree twelve is full")) == 4


def test_it_hears_what_is_said(listener: Listener, say: Callable[[str], Samples]) -> None:
    """And holds that likelier than what sounds alike."""
    samples = say(SAID)
    sound = listener.listen(samples)
    best = listener.write(sound)[0]
    assert best.text == SAID
    others = [SAID, SAID.replace("twelve", "twenty"), SAID.replace("cloudy", "clear")]
    likely = listener.log_likelihoods(sound, others)
    assert likely[0] > max(likely[1:])
    # closed by a stop or not, so a little more than the writing itself
    assert best.log_likelihood - 0.01 <= likely[0] < best.log_likelihood + 0.5
    words = listener.words(sound, SAID, len(samples) / SAMPLE_RATE)
    assert [word.text for word in words] == SAID.split()
    assert all(word.start_s <= word.end_s for word in words)
    assert words[-1].end_s <= len(samples) / SAMPLE_RATE
    assert words[3].start_s > 0.3 * words[-1].end_s


def test_it_costs_what_was_said_is_long(say: Callable[[str], Samples]) -> None:
    """The sound is not filled up to thirty seconds."""
    samples = say(SAID)
    sound = ListenerNet(LISTENER).hear(samples)
    assert sound.shape[2] * PLACE_S == pytest.approx(
        len(samples) / SAMPLE_RATE + SILENCE_S, abs=2 * PLACE_S
    )
    short = ListenerNet(LISTENER).hear(samples[:1600])
    assert short.shape[2] * PLACE_S == pytest.approx(SHORTEST_S)
    hour = np.zeros(120 * SAMPLE_RATE, np.int16)
    assert mel_bands(hour).shape == (80, 3000)


def test_a_name_of_the_book_is_expected(listener: Listener) -> None:
    listener.learn(EntityNames(trees=frozenset({"old crooked"}), vessels=frozenset()))
    with_name = listener._begin
    listener.learn(EntityNames())
    assert listener._begin != with_name


def test_silence_is_nothing(listener: Listener) -> None:
    alone = FreeRecogniser(listener, GRAMMAR)
    assert alone.recognise(np.zeros(SAMPLE_RATE, np.int16)).text == ""


def test_a_remark_is_in_its_words(say: Callable[[str], Samples]) -> None:
    """The first knows the trade's words alone, and makes of any others what it can."""
    text = "make a note the ladder behind the house wants a new rung"
    both = with_second(Hears("make a note the letter is high"), LISTENER, GRAMMAR, live=True)
    heard = both.recognise(say(text))
    # "ladder" may be heard as "latter": the voice says it so
    assert heard.text.startswith("make a note the la")
    assert heard.text.endswith("behind the house wants a new rung")
    assert heard.recogniser == "first+listener"


@pytest.mark.parametrize(
    ("name", "left", "told"),
    [
        ("decoder.onnx", None, "decoder.onnx cannot be opened"),
        ("encoder.onnx", b"no network", "encoder.onnx cannot be opened"),
        ("weights.bin", b"\0" * 1000, "cannot be opened"),
        ("tokens.txt", b"a\nb\n", "is not whole"),
        ("tokens.txt", b"\xff\xfe\n", "has no list of tokens"),
        ("tokens.txt", None, "has no list of tokens"),
    ],
)
def test_a_missing_or_damaged_file_is_one_line_and_the_first_hears_alone(
    name: str,
    left: bytes | None,
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder = tmp_path / "listener"
    shutil.copytree(LISTENER, folder)
    (folder / name).unlink()
    if left is not None:
        (folder / name).write_bytes(left)
    with pytest.raises(RecogniserError, match=told):
        Listener(GRAMMAR, folder).open()
    monkeypatch.setattr("fieldvoice.cli.recognisers.LISTENER", folder)
    first = Hears("tree nine empty")
    assert with_second(first, folder, GRAMMAR, live=False) is first
    said = capsys.readouterr().err
    assert told in said
    assert said.endswith("; hearing without a second listener.\n")
    assert said.count("\n") == 1


def test_whole_it_is_the_second_of_two() -> None:
    assert isinstance(with_second(Hears(""), LISTENER, GRAMMAR, live=False), SystemCombination)


def test_without_the_first_recogniser_it_hears_alone(
    say: Callable[[str], Samples],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Not every machine has a wheel of it: a line tells, and notes are heard all the same."""
    monkeypatch.setattr("fieldvoice.asr.model_files.engine_is_there", lambda: False)
    alone = ears(GRAMMAR)
    assert alone.recognise(say("tree twelve bucket half full")).text == (
        "tree twelve bucket half full"
    )
    assert alone.name == "listener"
    assert "the listener hears alone" in capsys.readouterr().err
    assert sound_of_words(GRAMMAR)("tree") is None


def test_held_to_a_grammar_it_writes_one_of_its_sentences(
    listener: Listener, say: Callable[[str], Samples], tmp_path: Path
) -> None:
    """Also where it would write other words by itself."""

    def beginning(sentence: str) -> Beginning:
        (tmp_path / "fieldvoice.jsgf").write_text(
            f"#JSGF V1.0;\ngrammar fieldvoice;\npublic <utterance> = {sentence};\n"
        )
        return Beginning(Grammar(tmp_path).networks, TOP)

    sound = listener.listen(say("a large coffee with two sugars"))
    order = "a (small | large) (coffee | tea) [with (one | two | three) sugars]"
    found = listener.write_held(sound, beginning(order), 3)
    assert found[0] == "a large coffee with two sugars"
    assert len(set(found)) == 3
    near = "a (charge | barge) toffee [with (ten | tour) shutters]"
    assert listener.write_held(sound, beginning(near), 1)[0].startswith("a ")
