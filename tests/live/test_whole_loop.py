"""The live conversation with the real ear: voices, noise and the attention word, without devices.

Faster than real time. ``live_rig/`` does the same through a virtual microphone and loudspeaker.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE
from fieldvoice.asr.attention_words import ATTENTION_WORDS, DEFAULT_WORD
from fieldvoice.asr.endpoint import best_detector
from fieldvoice.asr.microphone import Found, Lost
from fieldvoice.asr.partial import PocketsphinxWords
from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser
from fieldvoice.asr.streaming import Ear
from fieldvoice.asr.wake_word import WakeWordDetector
from fieldvoice.cli.app import the_grammar
from fieldvoice.live import take_pending
from fieldvoice.tts import HibariVoice
from fieldvoice.tts.player import at_rate
from tests.live.conftest import PIECE, SAYS_S, Bench, silence

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Samples
    from fieldvoice.book import Book

NOTE = "tree twelve bucket half full"
HALF_FULL = {"act": "inspect", "tree": 12, "fill": 0.5}


@pytest.fixture(scope="module")
def say() -> Callable[[str], Samples]:
    voice = HibariVoice()

    def speak(text: str) -> Samples:
        sound = voice.render(text)
        return at_rate(sound.samples, sound.rate, SAMPLE_RATE)

    return speak


@pytest.fixture(scope="module")
def ears(hearing_cache: Path) -> dict[str, Ear]:
    """The ear for each way of calling it, made once."""
    grammar = the_grammar()
    recogniser = PocketsphinxRecogniser(grammar, hearing_cache)
    words = PocketsphinxWords(grammar, hearing_cache)
    spotter = WakeWordDetector(ATTENTION_WORDS[DEFAULT_WORD])
    return {"open": Ear(recogniser, words), "word": Ear(recogniser, words, spotter)}


@pytest.fixture
def bench(tmp_path: Path, book: Book, ears: dict[str, Ear]) -> Callable[..., Bench]:
    return lambda way: Bench(tmp_path, book, ears[way], way, best_detector)


def noise(kind: str, seconds: float, level: float = 2_000, seed: int = 1) -> Samples:
    """Return made noise: ``wind`` rumbles and gusts, ``engine`` hums, ``hiss`` is even."""
    chance = np.random.default_rng(seed)
    count = round(seconds * SAMPLE_RATE)
    times = np.arange(count) / SAMPLE_RATE
    if kind == "hiss":
        sound = chance.normal(0, 1, count)
    elif kind == "wind":
        spectrum = np.fft.rfft(chance.normal(0, 1, count))
        pitches = np.fft.rfftfreq(count, 1 / SAMPLE_RATE)
        sound = np.fft.irfft(spectrum / np.maximum(pitches, 20) ** 1.2, count)
        sound /= sound.std()
        sound *= 0.6 + 0.4 * np.sin(2 * np.pi * 0.2 * times)
    else:
        sound = sum(np.sin(2 * np.pi * 27 * k * times) / k for k in range(1, 20))
        sound = sound / np.std(sound) + 0.3 * chance.normal(0, 1, count)
    return np.clip(sound * level, -32768, 32767).astype(np.int16)


def over(one: Samples, other: Samples, after_s: float = 0.0) -> Samples:
    """Return two sounds at once, the second beginning later."""
    first = round(after_s * SAMPLE_RATE)
    both = np.zeros(max(len(one), first + len(other)), dtype=np.int32)
    both[: len(one)] += one
    both[first : first + len(other)] += other
    return np.clip(both, -32768, 32767).astype(np.int16)


def cough() -> Samples:
    chance = np.random.default_rng(7)
    burst = chance.normal(0, 1, round(0.25 * SAMPLE_RATE))
    burst *= 9_000 * np.exp(-np.arange(len(burst)) / (0.06 * SAMPLE_RATE))
    return burst.astype(np.int16)


def test_the_attention_word_and_a_note(
    bench: Callable[..., Bench], say: Callable[[str], Samples]
) -> None:
    live = bench("word").hear(0.5, say(f"{DEFAULT_WORD}, {NOTE}"), 3)
    assert live.acts == [HALF_FULL]
    assert live.mouth.said == ["Tree twelve: half full."]
    assert any("tree" in words for words in live.screen.words), "words are shown as they are said"


def test_called_first_then_told_and_asked_back(
    bench: Callable[..., Bench], say: Callable[[str], Samples]
) -> None:
    live = bench("word").hear(0.5, say(DEFAULT_WORD), 1)
    assert live.mouth.sounds == ["listening"]
    live.hear(say("collected from tree nine"), SAYS_S + 2)
    assert live.outcomes == ["asked"]
    live.hear(say("two gallons"), 3)
    assert live.acts == [{"act": "gather", "tree": 9, "volume_gal": 2.0}]


@pytest.mark.long
def test_a_remark_in_free_words_is_kept_with_its_sound(
    bench: Callable[..., Bench], say: Callable[[str], Samples]
) -> None:
    """Words outside the grammar are heard as others: that is no reason to ask, or to lose them."""
    live = bench("open").hear(
        0.5, say("make a note about tree twelve, a woodpecker has been at it"), 3
    )
    assert live.outcomes == ["saved"]
    (act,) = live.acts
    assert (act["act"], act["tree"]) == ("remark", 12)
    assert live.talk.needed_sounds() == set(live.recordings)


@pytest.mark.long
def test_talk_that_is_not_for_it_is_not_taken(
    bench: Callable[..., Bench], say: Callable[[str], Samples]
) -> None:
    live = bench("word")
    for text in (NOTE, "did you feed the dog this morning", "the maple by the barn is enormous"):
        live.hear(say(text), 1.5)
    assert live.book.utterances() == []
    assert live.mouth.said == live.mouth.sounds == []
    assert live.recordings == []


@pytest.mark.long
@pytest.mark.parametrize("kind", ["wind", "engine", "hiss"])
@pytest.mark.parametrize("way", ["open", "word"])
def test_a_minute_of_noise_saves_nothing(bench: Callable[..., Bench], kind: str, way: str) -> None:
    live = bench(way).hear(noise(kind, 60))
    assert live.acts == []
    assert live.mouth.said == []


@pytest.mark.long
@pytest.mark.parametrize("way", ["open", "word"])
def test_after_five_minutes_of_noise_it_still_hears(
    bench: Callable[..., Bench], say: Callable[[str], Samples], way: str
) -> None:
    """Wind, an engine, rain and people far off, one after the other and all at once."""
    far = (say("did you feed the dog this morning") / 20).astype(np.int16)
    live = bench(way)
    for seed, kind in enumerate(("wind", "engine", "hiss", "wind", "engine")):
        minute = noise(kind, 60, level=1_000 * (1 + seed % 3), seed=seed)
        for at_s in range(5, 55, 10):
            minute = over(minute, far, at_s)
        live.hear(minute)
    assert live.acts == []
    assert live.mouth.said == []
    live.hear(1, say(NOTE if way == "open" else f"{DEFAULT_WORD}, {NOTE}"), 3)
    assert live.acts == [HALF_FULL]


@pytest.mark.long
def test_speaking_over_it_stops_it_and_is_heard(
    bench: Callable[..., Bench], say: Callable[[str], Samples]
) -> None:
    live = bench("open").hear(0.5, say("what can i say"), 0.9)
    assert live.mouth.speaking
    live.mouth.left_s = 10.0
    live.hear(1.2, say("tree nine bucket nearly full"), 3)
    assert live.mouth.changes == ["stopped"]
    assert live.acts == [{"act": "inspect", "tree": 9, "fill": 0.9}]


def test_a_microphone_that_vanishes_within_a_note_loses_nothing(
    bench: Callable[..., Bench], say: Callable[[str], Samples]
) -> None:
    """What there was of it is kept with its sound; said again, it is saved."""
    note = say(NOTE)
    live = bench("open").hear(0.5, note[: len(note) * 2 // 3])
    live.loop.handle(Lost("nothing comes from the microphone"))
    live.loop.handle(Found("headset"))
    assert live.outcomes == ["kept"]
    assert live.talk.needed_sounds() == set(live.recordings)
    live.hear(SAYS_S + 1, note, 3)
    assert live.acts == [HALF_FULL]


def test_a_cough_alone_says_nothing(bench: Callable[..., Bench]) -> None:
    live = bench("open").hear(1, cough(), 1, cough(), 0.3, cough(), 3)
    assert live.acts == []
    assert live.mouth.said == []


@pytest.mark.long
def test_two_people_at_once_make_no_wrong_note(
    bench: Callable[..., Bench], say: Callable[[str], Samples]
) -> None:
    """The other is 20 dB softer, as one standing at the next tree: it may ask, but not mistake."""
    other = (say("did you see the game last night it was really something") / 10).astype(np.int16)
    live = bench("word").hear(0.5, over(say(f"{DEFAULT_WORD}, {NOTE}"), other, 0.4), 3)
    assert live.outcomes, "it was called, so something comes of it"
    assert live.acts in ([], [HALF_FULL])


@pytest.mark.long
def test_a_cough_in_the_middle_changes_no_number(
    bench: Callable[..., Bench], say: Callable[[str], Samples]
) -> None:
    """It may cost a question, but what is saved is what was said."""
    parts = (say("tree twelve"), cough(), say("bucket half full"))
    live = bench("open").hear(0.5, np.concatenate(parts), 3)
    assert live.outcomes, "something came of it"
    assert live.acts in ([], [HALF_FULL])


@pytest.mark.long
def test_a_loudspeaker_beside_the_microphone_is_not_taken_for_a_person(
    bench: Callable[..., Bench], say: Callable[[str], Samples]
) -> None:
    """Its own voice comes back at a third of its strength, each time it speaks."""
    live = bench("open")
    for number in ("twelve", "nine", "seven"):
        live.hear(say(f"tree {number} bucket half full"), 0.85)
        assert live.mouth.speaking
        echo = say("tree nine nearly full sap cloudy")
        for at in range(0, len(echo), PIECE):
            if live.mouth.speaking:
                piece = echo[at : at + PIECE]
                live.mouth.level = float(np.sqrt(np.mean((piece / 32768) ** 2)))
                live.hear((piece / 3).astype(np.int16))
        live.hear(2)
    assert [act["fill"] for act in live.acts] == [0.5, 0.5, 0.5]
    assert live.mouth.changes == []


@pytest.mark.long
def test_the_same_words_whatever_the_pieces(
    bench: Callable[..., Bench], say: Callable[[str], Samples], ears: dict[str, Ear]
) -> None:
    """What is heard live is what is heard in the recording of it."""
    from fieldvoice.asr import hear_memo

    live = bench("open").hear(0.5, say("collected two and a half gallons from tree nine"), 3)
    (taken,) = live.book.utterances()
    (heard,) = hear_memo(live.tape.folder / live.recordings[0], ears["open"]._recogniser)
    assert heard.text == taken.text


@pytest.mark.long
@pytest.mark.parametrize(
    ("said_s", "outcome"),
    [pytest.param(1.1, "kept", id="in a word"), pytest.param(None, "saved", id="in the pause")],
)
def test_a_crash_before_the_end_of_a_note(
    bench: Callable[..., Bench],
    say: Callable[[str], Samples],
    said_s: float | None,
    outcome: str,
) -> None:
    """Half a note sounds like a whole one, and is kept; a whole one is saved at the next start."""
    note = say(NOTE)
    note = note[: round(said_s * SAMPLE_RATE)] if said_s else np.concatenate([note, silence(0.3)])
    live = bench("open").hear(0.5, note)
    assert live.book.utterances() == []
    del live.loop
    again = bench("open")
    replies = list(take_pending(again.tape, again.book, again.talk, again.ear, "open"))
    assert [reply.outcome for reply in replies] == [outcome]
    assert list(take_pending(again.tape, again.book, again.talk, again.ear, "open")) == []
