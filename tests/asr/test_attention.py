"""The attention words, spoken by the bundled voice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr.attention_words import ATTENTION_WORDS, DEFAULT_WORD
from fieldvoice.asr.listener_model import Listener
from fieldvoice.asr.model_files import bundled_model
from fieldvoice.asr.streaming import Ear
from fieldvoice.asr.wake_word import WakeWordDetector, WrittenCall
from fieldvoice.cli.recognisers import LISTENER
from fieldvoice.transcript import Transcript
from tests.asr.conftest import silence
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Recogniser, Samples
    from fieldvoice.grammar.entity_names import EntityNames

NOTE = "tree twelve bucket half full"


@pytest.fixture(scope="module", params=list(ATTENTION_WORDS))
def spotter(request: pytest.FixtureRequest) -> WakeWordDetector:
    return WakeWordDetector(ATTENTION_WORDS[request.param])


def test_it_is_heard_alone_and_before_a_note(
    spotter: WakeWordDetector, say: Callable[[str], Samples]
) -> None:
    phrase = spotter.word.phrase
    alone = say(phrase)
    ends_s = spotter.spot(alone)
    assert ends_s is not None
    assert 0.4 < ends_s < len(alone) / 16_000
    assert spotter.spot(say(f"{phrase}, {NOTE}")) is not None


@pytest.mark.long
@pytest.mark.parametrize(
    "text", [NOTE, "what should i boil today", "did you hear the game last night", "maple", "hello"]
)
def test_other_speech_is_no_call(
    spotter: WakeWordDetector, say: Callable[[str], Samples], text: str
) -> None:
    assert spotter.spot(say(text)) is None


def test_it_calls_only_from_the_beginning(
    spotter: WakeWordDetector, say: Callable[[str], Samples]
) -> None:
    """Somebody who speaks of the assistant does not speak to it."""
    assert spotter.spot(say(f"and then i told it this morning {spotter.word.phrase}")) is None


def test_silence_is_no_call(spotter: WakeWordDetector) -> None:
    assert spotter.spot(silence(0)) is None
    assert spotter.spot(silence(2)) is None


def test_the_phones_are_those_of_the_pronouncing_dictionary() -> None:
    """Against the CMU Pronouncing Dictionary, as the recogniser's package brings it."""
    known: dict[str, set[str]] = {}
    for line in bundled_model("cmudict-en-us.dict").read_text(encoding="utf-8").splitlines():
        name, _, phones = line.partition(" ")
        known.setdefault(name.partition("(")[0], set()).add(phones.strip())
    for word in ATTENTION_WORDS.values():
        assert list(word.phones) == word.phrase.split()
        for name, phones in word.phones.items():
            if name in known:
                assert set(phones) <= known[name]


def test_the_ear_takes_the_attention_word_off(
    say: Callable[[str], Samples], recogniser: Recogniser
) -> None:
    ear = Ear(recogniser, None, WakeWordDetector(ATTENTION_WORDS[DEFAULT_WORD]))
    called = ear.attend(say(f"{DEFAULT_WORD}, {NOTE}"), call_needed=True)
    assert called.called
    assert called.heard is not None
    assert called.heard.text == NOTE
    assert called.heard.words[0].start_s > 0.5, "times count from the beginning of the sound"
    alone = ear.attend(say(DEFAULT_WORD), call_needed=True)
    assert (alone.called, alone.heard) == (True, None)
    other = ear.attend(say(NOTE), call_needed=True)
    assert (other.called, other.heard) == (False, None)
    uncalled = ear.attend(say(NOTE), call_needed=False)
    assert uncalled.heard is not None
    assert uncalled.heard.text == NOTE


@pytest.mark.parametrize(
    ("text", "is_taken"),
    [(NOTE, False), ("help he burned his hand on the pan", True), ("the fire is lit", False)],
)
def test_uncalled_only_a_cry_for_help_comes_through(
    say: Callable[[str], Samples], text: str, is_taken: bool
) -> None:
    class Hears:
        name = "hears"

        def recognise(self, samples: Samples) -> Transcript:
            return Transcript(text, fit=0.0, recogniser=self.name)

        def learn(self, names: EntityNames) -> None:
            """It knows all."""

    ear = Ear(Hears(), None, WakeWordDetector(ATTENTION_WORDS[DEFAULT_WORD]))
    attended = ear.attend(say(text), call_needed=True)
    assert not attended.called
    assert (attended.heard is not None) == is_taken


@pytest.mark.long
@pytest.mark.parametrize(
    ("parts", "ends_s"),
    [(("listen maple", "tree nine half full"), 1.0), (("tree nine half full",), None)],
)
def test_a_call_is_found_in_what_the_listener_writes(
    say: Callable[[str], Samples], parts: tuple[str, ...], ends_s: float | None
) -> None:
    """For machines without the engine that looks for phrases."""
    call = WrittenCall(ATTENTION_WORDS["listen maple"], Listener(GRAMMAR, LISTENER))
    found = call.spot(np.concatenate([say(part) for part in parts]))
    assert found == (None if ends_s is None else pytest.approx(ends_s, abs=0.4))
