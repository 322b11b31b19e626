"""How long somebody waits for the first word of a reply, by a virtual microphone.

    python -m benchmarks.wait [--notes 20] [--nice -15]

The real ``fieldvoice listen --open`` on a sound server of its own: the utterances of the demo's
recordings are played into a virtual microphone, one after the other, and a virtual loudspeaker is
listened to. Both are read by one clock, as they come. Told are, for each spoken reply, the time
from the last sound that was said to the first of the reply's words (the whole wait, of which the
pause that decides the end is most), and from the moment at which the program tells that it has
decided (``--states``: "thinking") to the first sound and to the first word. The short sound before
a reply is no word: it is a pure note, and found by that.

On a machine with other work these times are those of the other work; ``--nice -15`` (for root
alone) lets the sound server and the program go first. What the tests need is needed:
``tests/live/test_virtual_microphone.py``.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import tempfile
import threading
import time
from collections import deque
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr import SAMPLE_RATE, read_audio, split_utterances
from fieldvoice.tts import Sound, write_wav
from fieldvoice.tts.tones import NOTES
from tests.live.test_virtual_microphone import Listening, Rig, missing

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

DEMO = Path(__file__).parents[1] / "demo_sessions"
FRAME_S = 0.02
#: What is louder than this (full scale 1) is no silence.
LOUD = 0.01
#: A note has so much of its power this close to the pitches of the short sounds and their octaves.
PURE, NEAR_HZ = 0.85, 110.0
#: The program's states are looked for this often.
LOOK_S = 0.005
#: So long without a state or a sound, and nothing will be said.
SILENT_S = 30.0


@dataclass
class Ear:
    """Listens to a device: the times at which something sounded, and at which it was no note."""

    rig: Rig
    device: str
    loud: deque[float] = field(default_factory=deque)
    spoken: deque[float] = field(default_factory=deque)

    def __post_init__(self) -> None:
        command = [
            "parecord", "--raw", "--latency-msec=10", f"--device={self.device}",
            f"--rate={SAMPLE_RATE}", "--channels=1", "--format=s16le",
        ]  # fmt: skip
        self._process = subprocess.Popen(command, env=self.rig.env, stdout=subprocess.PIPE)
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        size = 2 * round(FRAME_S * SAMPLE_RATE)
        began: float | None = None
        while len(piece := self._process.stdout.read(size)) == size:
            now = time.monotonic()
            wave = np.frombuffer(piece, dtype="<i2") / 32768
            if np.sqrt(np.mean(wave**2)) > LOUD:
                self.loud.append(now)
                # A note's edge is no pure note: a voice lasts for two pieces at least.
                voiced = not is_note(wave)
                if voiced and began is not None:
                    self.spoken.append(began)
                began = now if voiced else None
            else:
                began = None

    def close(self) -> None:
        """Stop listening."""
        self._process.kill()
        self._process.wait()


def is_note(wave: NDArray[np.floating]) -> bool:
    """Whether a piece of sound is one of the short sounds and no voice."""
    power = np.abs(np.fft.rfft(wave * np.hanning(len(wave)), 4096)) ** 2
    pitches = np.fft.rfftfreq(4096, 1 / SAMPLE_RATE)
    notes = {pitch for each in NOTES.values() for pitch, _ in each if pitch}
    near = [np.abs(pitches - times * pitch) < NEAR_HZ for pitch in notes for times in (1, 2)]
    of_one = max(power[near[at] | near[at + 1]].sum() for at in range(0, len(near), 2))
    return bool(of_one > PURE * power.sum())


class News:
    """What the program has told since the last look, in JSON; each line is read once.

    The program shares the machine with whoever measures it: looking must cost nothing.
    """

    def __init__(self, path: Path) -> None:
        self._told = path.open()
        self._begun = ""

    def states(self) -> list[str]:
        """Return the states told since the last look."""
        *lines, self._begun = (self._begun + self._told.read()).split("\n")
        return [one["state"] for one in map(json.loads, lines) if "state" in one]


@dataclass
class Waits:
    """Times of each spoken reply, in seconds."""

    sound: list[float] = field(default_factory=list)
    word: list[float] = field(default_factory=list)
    whole: list[float] = field(default_factory=list)


def utterances(folder: Path) -> Iterator[Path]:
    """Yield the demo's utterances, each in a file of its own."""
    for path in sorted(DEMO.glob("*/*.flac")):
        samples = read_audio(path).samples
        for number, span in enumerate(split_utterances(samples)):
            said = folder / f"{path.parent.name}-{path.stem}-{number}.wav"
            write_wav(said, Sound(span.of(samples), SAMPLE_RATE))
            yield said


def measure(
    live: Listening, news: News, said: Path, microphone: Ear, speaker: Ear
) -> tuple[float, ...] | None:
    """Say it; return when it ended, the end was decided, and the first sound and word came.

    None where nothing was said to it, or the end was decided twice (a pause within it).
    """
    news.states()
    for heard in (microphone.loud, speaker.loud, speaker.spoken):
        heard.clear()
    decided: list[float] = []
    live.rig.play(said)
    ends = time.monotonic() + SILENT_S
    while time.monotonic() < ends and not speaker.spoken:
        decided += [time.monotonic()] * news.states().count("thinking")
        time.sleep(LOOK_S)
    if not speaker.spoken:
        return None
    live.finish_speaking()
    if len(decided) + news.states().count("thinking") != 1:
        return None
    return microphone.loud[-1], decided[0], speaker.loud[0], speaker.spoken[0]


def told(name: str, values: list[float]) -> None:
    """Print a row of the table: median, 95th percentile and most, in ms."""
    middle, high = np.quantile(values, (0.5, 0.95))
    print(f"{name:52}{1000 * middle:8.0f}{1000 * high:8.0f}{1000 * max(values):8.0f}")


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure how long somebody waits.")
    parser.add_argument("--notes", type=int, default=20)
    parser.add_argument("--nice", type=int, default=0, help="priority of all that is measured")
    chosen = parser.parse_args()
    if (lacking := missing()) is not None:
        parser.error(lacking)
    os.nice(chosen.nice)
    waits = Waits()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "said").mkdir()
        rig = Rig(folder)
        rig.start()
        ears = Ear(rig, "vmic.monitor"), Ear(rig, "vspk.monitor")
        live = Listening(rig, folder / "season.db", "--open")
        asked, news = 0, News(live.book.with_suffix(".out"))
        for said in islice(utterances(folder / "said"), chosen.notes):
            asked += 1
            moments = measure(live, news, said, *ears)
            if moments is not None:
                ended, decided, sound, word = moments
                waits.sound.append(sound - decided)
                waits.word.append(word - decided)
                waits.whole.append(word - ended)
        live.end()
        for ear in ears:
            ear.close()
        rig.stop()
    load = os.getloadavg()[0]
    print(f"{len(waits.word)} spoken replies to {asked} utterances; load average {load:.1f}")
    print(f"{'ms':52}{'median':>8}{'95 %':>8}{'most':>8}")
    told("from the end decided to the first sound", waits.sound)
    told("from the end decided to the first word", waits.word)
    told("the whole wait: from the last sound to the first word", waits.whole)


if __name__ == "__main__":
    main()
