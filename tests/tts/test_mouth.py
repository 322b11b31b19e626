"""Replies in order, stopped at once; the five short sounds; what waits for the loudspeaker."""

from __future__ import annotations

import time
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.errors import VoiceError
from fieldvoice.tts.levelled import limited
from fieldvoice.tts.manner import LOUDEST
from fieldvoice.tts.player import Waiting
from fieldvoice.tts.speech_output import SpeechOutput
from fieldvoice.tts.tones import NOTES, RATE, tone
from fieldvoice.tts.voices import Sound

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


class NamedSounds:
    """A voice whose sound has as many samples as the sentence has letters."""

    name = "named"

    def __init__(self) -> None:
        self.paces: list[float] = []

    def render(self, text: str, pace: float = 1.0) -> Sound:
        self.paces.append(pace)
        if "cannot" in text:
            raise VoiceError("The voice named could not say that.")
        return Sound(np.full(len(text), 10_000, dtype=np.int16), 16_000)


class Kept:
    """A player that keeps what it is given."""

    speaking = False
    level = 0.0

    def __init__(self) -> None:
        self.sounds: list[tuple[Sound, bool]] = []

    def play(self, sound: Sound, *, words: bool) -> None:
        self.sounds.append((sound, words))

    def stop(self) -> None:
        self.sounds.append((Sound(np.zeros(0, dtype=np.int16), 1), False))

    def close(self) -> None:
        pass


@pytest.fixture
def voice() -> NamedSounds:
    return NamedSounds()


@pytest.fixture
def player() -> Kept:
    return Kept()


@pytest.fixture
def mouth(player: Kept, voice: NamedSounds) -> Iterator[SpeechOutput]:
    made = SpeechOutput(player, voice)
    yield made
    made.close()


def until(holds: Callable[[], bool]) -> None:
    ends = time.monotonic() + 5
    while not holds():
        assert time.monotonic() < ends, "it takes too long"
        time.sleep(0.005)


def lengths(player: Kept) -> list[int]:
    return [len(sound.samples) for sound, _ in player.sounds]


def test_sentences_come_one_by_one_and_in_order(mouth: SpeechOutput, player: Kept) -> None:
    mouth.sound("got_it")
    mouth.say("Tree 12: 2.5 gal. Keep it out of the tank.")
    until(lambda: not mouth.speaking and len(player.sounds) == 3)
    assert lengths(player)[1:] == [len("Tree 12: 2.5 gal."), len("Keep it out of the tank.")]
    assert [words for _, words in player.sounds] == [False, True, True]


def test_a_sentence_that_fails_does_not_hold_up_the_rest(mouth: SpeechOutput, player: Kept) -> None:
    mouth.say("This cannot be said. This can.")
    until(lambda: not mouth.speaking and len(player.sounds) == 1)


def test_louder_and_softer_and_slower(
    mouth: SpeechOutput, player: Kept, voice: NamedSounds
) -> None:
    mouth.louder()
    mouth.slower()
    mouth.say("one.")
    until(lambda: len(player.sounds) == 1)
    assert voice.paces[-1] < 1
    assert player.sounds[0][0].samples.max() > 10_000
    for _ in range(20):
        mouth.louder()
    mouth.say("two.")
    until(lambda: len(player.sounds) == 2)
    (loudest,) = 32767 * limited(np.array([10_000 / 32767 * LOUDEST]))
    assert player.sounds[1][0].samples.max() == pytest.approx(loudest, abs=2)
    for _ in range(40):
        mouth.louder(-1)
    mouth.say("three.")
    until(lambda: len(player.sounds) == 3)
    assert 0 < player.sounds[2][0].samples.max() < 5_000


def test_a_mouth_without_a_voice_makes_sounds_alone(player: Kept) -> None:
    mute = SpeechOutput(player, None)
    mute.say("Tree 12.")
    mute.sound("careful")
    until(lambda: len(player.sounds) == 1)
    assert not mute.speaking
    mute.close()


# --- what waits for the loudspeaker ------------------------------------------------------------


def test_blocks_join_without_gaps_and_end_in_silence() -> None:
    waiting = Waiting()
    waiting.put(np.arange(1, 6, dtype=np.int16), words=False)
    waiting.put(np.arange(6, 9, dtype=np.int16), words=True)
    assert waiting.speaking
    taken = np.concatenate([waiting.take(3) for _ in range(4)])
    assert taken.tolist() == [1, 2, 3, 4, 5, 6, 7, 8, 0, 0, 0, 0]


def test_the_short_sounds_are_no_speaking() -> None:
    waiting = Waiting()
    waiting.put(np.ones(100, dtype=np.int16), words=False)
    assert not waiting.speaking


def test_what_is_stopped_is_gone_at_once() -> None:
    waiting = Waiting()
    waiting.put(np.ones(100, dtype=np.int16), words=True)
    waiting.take(10)
    waiting.clear()
    assert not waiting.speaking
    assert not waiting.take(10).any()


def test_the_level_is_that_of_the_block() -> None:
    waiting = Waiting()
    waiting.put(np.full(10, 16_384, dtype=np.int16), words=True)
    waiting.take(10)
    assert waiting.level == pytest.approx(0.5)
    waiting.take(10)
    assert waiting.level == 0.0


# --- the short sounds --------------------------------------------------------------------------


def tune(sound: Sound) -> list[tuple[float, float]]:
    """Return the notes of a sound: pitch in Hz and length in seconds, found from its samples."""
    loud = np.convolve(np.abs(sound.samples.astype(float)), np.ones(120) / 120, "same") > 800
    edges = np.flatnonzero(np.diff(np.concatenate([[0], loud.astype(int), [0]])))
    found = []
    for first, last in edges.reshape(-1, 2):
        part = sound.samples[first:last]
        spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), 1 << 15))
        found.append((spectrum.argmax() * RATE / (1 << 15), (last - first) / RATE))
    return found


def test_the_sounds_differ_in_number_or_direction() -> None:
    """They must be told apart by someone who hears neither pitch exactly nor the highest notes."""
    shapes = {}
    for name, notes in NOTES.items():
        pitches = [pitch for pitch, _ in notes if pitch]
        shapes[name] = (len(pitches), np.sign(pitches[-1] - pitches[0]))
        assert all(400 <= pitch <= 1200 for pitch in pitches)
        assert tone(name).duration_s < 0.5
    for one, other in combinations(shapes, 2):
        assert shapes[one] != shapes[other]


def test_the_sounds_are_what_their_notes_say() -> None:
    (low, _), (lower, _) = tune(tone("say_again"))
    assert (low, lower) == (pytest.approx(700, abs=15), pytest.approx(500, abs=15))
    assert len(tune(tone("careful"))) == 3
    bell = [pitch for pitch, _ in tune(tone("timer"))]
    assert bell == pytest.approx([988, 784] * 2, abs=25)


def test_the_sounds_do_not_click() -> None:
    for name in NOTES:
        samples = tone(name).samples.astype(int)
        assert abs(samples[0]) < 200
        assert abs(samples[-1]) < 200


def test_what_somebody_said_is_played_after_the_words_and_counts_as_speech(
    mouth: SpeechOutput, player: Kept
) -> None:
    """While it plays, the ear must not take it for a new note."""
    said = Sound(np.full(7, 5_000, dtype=np.int16), 16_000)
    mouth.say("Just now.")
    mouth.play(said)
    until(lambda: len(player.sounds) == 2)
    assert [(len(sound.samples), words) for sound, words in player.sounds] == [(9, True), (7, True)]
    mouth.play(said)
    mouth.stop()
    until(lambda: not mouth.speaking)
