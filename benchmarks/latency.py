"""How long a live reply takes: end of speech decided, words, first sound, first word of the reply.

    python -m benchmarks.latency FOLDER [--voices kokoro_af_bella,…] [--most 20]
        [--noise wind] [--work]

``FOLDER`` is laid out as for ``benchmarks.hearing``. The recordings come into the live loop piece
by piece in real time, as from a microphone, with the two listeners side by side as in ``fieldvoice
listen``; the player keeps the moment at which each sound is handed to it. To that comes what the
loudspeaker holds ready (100 ms as fieldvoice opens it).

The baseline beside it hears only once the end is decided, and renders the whole reply before it is
played.

On a machine with other work these times are those of the other work. The second table is of
processor time, which is not: what each step takes, and what that makes on a machine with nothing
else to do, where hearing and understanding have the rest of the pause for themselves. Finding the
end and following the words go on all the while somebody speaks. What memory was needed at most is
that of ``fieldvoice listen``: of its own process with the voice, and of the ear's.
"""

from __future__ import annotations

import argparse
import functools
import os
import tempfile
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.memory import Watched
from benchmarks.recordings import Recordings, mixed
from fieldvoice.asr import SAMPLE_RATE, Span, UtteranceStream, read_audio, split_utterances
from fieldvoice.asr.endpoint import best_detector
from fieldvoice.asr.microphone import Piece
from fieldvoice.asr.pauses import PAUSE_S, TAIL_S
from fieldvoice.asr.recogniser import fitted, searched
from fieldvoice.asr.side_by_side import RecogniserProcess
from fieldvoice.asr.system_combination import Weighed
from fieldvoice.cli.app import conversation
from fieldvoice.cli.listen import make_engine, make_second
from fieldvoice.cli.options import clock_of
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.live import Address, BookDialogue, EchoGate, LiveLoop, Recorder, SaidAt, Tick
from fieldvoice.live.loop import FOLLOW_EVERY_S, News
from fieldvoice.tts import default_voice
from fieldvoice.tts.speech_output import SpeechOutput

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.asr import Samples
    from fieldvoice.asr.side_by_side import Engine
    from fieldvoice.asr.stream import Event
    from fieldvoice.asr.system_combination import SecondListener
    from fieldvoice.dialogue import Conversation
    from fieldvoice.live import Scene
    from fieldvoice.reply import Reply
    from fieldvoice.transcript import Transcript
    from fieldvoice.tts import Sound

PIECE = SAMPLE_RATE // 50
AFTER_S = 1.6
#: How far noise is below the speech, in dB.
NOISE_DB = 10.0


@dataclass
class Moments:
    """When things happened to one utterance, in seconds of a monotonic clock."""

    decided: float = 0.0
    words: float = 0.0
    sound: float = 0.0
    voice: float = 0.0


@dataclass
class TimedPlayer:
    """A loudspeaker that notes when it is first handed a sound, and words."""

    moments: Moments = field(default_factory=Moments)
    decisions: int = 0
    speaking: bool = False
    level: float = 0.0

    def play(self, sound: Sound, *, words: bool) -> None:
        """Note the moment."""
        now = time.perf_counter()
        self.moments.sound = self.moments.sound or now
        if words:
            self.moments.voice = self.moments.voice or now

    def stop(self) -> None:
        """Nothing is playing."""

    def close(self) -> None:
        """There is no device."""


class TimedScreen:
    """A screen that notes when a reply is shown: the words are there."""

    def __init__(self, player: TimedPlayer) -> None:
        self._player = player

    def scene(self, scene: Scene) -> None:
        """Show nothing."""

    def reply(self, reply: Reply) -> None:
        """Note the moment."""
        self._player.moments.words = time.perf_counter()

    def aside(self, text: str) -> None:
        """Show nothing."""


class TimedStream(UtteranceStream):
    """A stream that notes when it decides that an utterance has ended."""

    player: TimedPlayer

    def feed(self, piece: Samples) -> list[Event]:
        """See ``UtteranceStream``."""
        was = self.speaking
        events = super().feed(piece)
        if was and not self.speaking:
            self.player.moments.decided = time.perf_counter()
            self.player.decisions += 1
        return events


def clips(folder: Path, voices: list[str], kind: str | None) -> Iterator[Samples]:
    """Yield the recordings of these voices with silence after them, or with noise over it all."""
    after = np.zeros(round(AFTER_S * SAMPLE_RATE), dtype=np.int16)
    noises = Recordings(folder).noise(kind) if kind is not None else []
    for voice in voices:
        for number, path in enumerate(sorted((folder / "dev" / voice).glob("*.flac"))):
            sound = np.concatenate([read_audio(path).samples, after])
            noise = noises[number % len(noises)] if noises else None
            yield sound if noise is None else mixed(sound, noise, NOISE_DB, number)


def timed(loop: LiveLoop, inbox: SimpleQueue[News], sound: Samples) -> None:
    """Let ``sound`` come in as fast as it was spoken, and silence until all is answered."""
    began = time.perf_counter()
    silence = np.zeros(PIECE, dtype=np.int16)
    pieces = [sound[at : at + PIECE] for at in range(0, len(sound), PIECE)]
    count = 0
    while count < len(pieces) or loop.busy:
        piece = pieces[count] if count < len(pieces) else silence
        count += 1
        while (left := began + count * PIECE / SAMPLE_RATE - time.perf_counter()) > 0:
            try:
                loop.handle(inbox.get(timeout=left))
            except Empty:
                break
        loop.handle(Piece(piece))


def baseline_s(ear: RecogniserProcess, sound: Samples, text: str) -> float:
    """Return how long hearing a whole utterance takes and then rendering a reply."""
    began = time.perf_counter()
    ear.attend(sound, call_needed=False).result()
    _voice().render(text)
    return time.perf_counter() - began


_voice = functools.cache(default_voice)


@dataclass
class Near:
    """The engine and the second listener in this process, one after the other."""

    engine: Engine
    second: SecondListener | None


@dataclass
class Steps:
    """Processor time of the steps of each reply, in seconds."""

    ending: list[float] = field(default_factory=list)
    following: list[float] = field(default_factory=list)
    searching: list[float] = field(default_factory=list)
    fitting: list[float] = field(default_factory=list)
    listening: list[float] = field(default_factory=list)
    weighing: list[float] = field(default_factory=list)
    reading: list[float] = field(default_factory=list)
    talking: list[float] = field(default_factory=list)
    rendering: list[float] = field(default_factory=list)

    def measure(self, near: Near, talk: Conversation, sound: Samples) -> None:
        """Take one utterance through the steps, one after the other."""
        seconds = len(sound) / SAMPLE_RATE
        with taken(self.ending, seconds):
            split_utterances(sound)
        with taken(self.following, seconds):
            step = round(FOLLOW_EVERY_S * SAMPLE_RATE)
            for at in range(0, len(sound), step):
                if near.engine.partial is not None:
                    near.engine.partial.feed(sound[at : at + step])
        heard = self._heard(near, sound)
        with taken(self.reading):
            talk.prefetch(heard)
        with taken(self.talking):
            reply = talk.hear(heard, source="memo")
        with taken(self.rendering):
            _voice().render(reply.text.split(". ")[0])

    def _heard(self, near: Near, sound: Samples) -> Transcript:
        """Return what both hear, as ``SideBySide`` does."""
        first = near.engine.recogniser
        with taken(self.searching):
            found = searched(first, sound)
        with taken(self.listening):
            opinion = near.second.listen(sound) if near.second is not None else None
        with taken(self.weighing):
            weighed = near.second.weigh(opinion, found.heard) if near.second else Weighed(None)
        with taken(self.fitting):
            if weighed.is_beyond_doubt(found):
                return weighed.without_fit()
            return weighed.fitted(fitted(first, found))

    @property
    def hearing(self) -> list[float]:
        """What hearing takes where two cores are free: the listeners hear side by side."""
        parts = zip(self.searching, self.listening, self.weighing, self.fitting, strict=True)
        return [max(one, two) + weighed + fit for one, two, weighed, fit in parts]

    @property
    def after_the_end(self) -> list[float]:
        """What of it comes after the end of speech was decided, on a machine of its own."""
        ahead = PAUSE_S - TAIL_S
        parts = zip(self.hearing, self.reading, self.talking, self.rendering, strict=True)
        return [max(0.0, heard + read - ahead) + said + made for heard, read, said, made in parts]


@contextmanager
def taken(into: list[float], seconds: float = 1.0) -> Iterator[None]:
    """Add the processor time of the block to a list, for each of ``seconds``."""
    began = time.process_time()
    yield
    into.append((time.process_time() - began) / seconds)


def told(name: str, values: list[float]) -> None:
    """Print a row of the table: median, 95th percentile and most, in ms."""
    middle, high = np.quantile(values, (0.5, 0.95))
    print(f"{name:44}{1000 * middle:8.0f}{1000 * high:8.0f}{1000 * max(values):8.0f}")


def by_the_clock(sounds: list[Samples], folder: Path) -> None:
    """Let the sounds come in as they are spoken, and print when things happened."""
    player, inbox = TimedPlayer(), SimpleQueue[News]()
    clock = SaidAt(clock_of(None))
    found: list[Moments] = []
    ear = RecogniserProcess(functools.partial(make_engine, None), make_second)
    ear.ready()
    mouth = SpeechOutput(player, _voice())
    with conversation(folder / "season.db", clock, phones=sound_of_words) as desk:
        stream = TimedStream()
        stream.player = player
        loop = LiveLoop(
            talk=BookDialogue(desk.conversation, desk.book, clock),
            hearing=ear,
            mouth=mouth,
            tape=Recorder(folder / "sound"),
            screen=TimedScreen(player),
            address=Address("open"),
            stream=stream,
            gate=EchoGate(best_detector()),
            clock=clock,
            wake=lambda: inbox.put(Tick()),
        )
        for sound in sounds:
            player.moments = Moments()
            timed(loop, inbox, sound)
            # Cut in two by a pause, or answered by nothing but a sound: not what is measured.
            if player.decisions == 1 and player.moments.voice:
                found.append(player.moments)
            player.decisions = 0
    baseline = [baseline_s(ear, spoken(one), "Tree 12: nearly full, cloudy.") for one in sounds]
    mouth.close()
    ear.close()
    print(f"{len(found)} spoken replies of {len(sounds)} sentences")
    print(f"{'ms after the end of speech was decided':44}{'median':>8}{'95 %':>8}{'most':>8}")
    told("reply decided, saved and on the screen", [one.words - one.decided for one in found])
    told("first sound handed to the loudspeaker", [one.sound - one.decided for one in found])
    told("first word handed to the loudspeaker", [one.voice - one.decided for one in found])
    told("baseline: hear, then render, then play", baseline)


def by_work(sounds: list[Samples], folder: Path) -> None:
    """Print the processor time of each step."""
    steps = Steps()
    near = Near(make_engine(None), make_second())
    with conversation(folder / "work.db", clock_of(None), phones=sound_of_words) as desk:
        desk.conversation.get_ready()
        _voice().render("Yes.")  # opens it
        for sound in sounds:
            steps.measure(near, desk.conversation, spoken(sound))
    print(f"{'ms of processor time':44}{'median':>8}{'95 %':>8}{'most':>8}")
    told("finding the end, a second of sound", steps.ending)
    told("the words so far, a second of sound", steps.following)
    told("the first: its words", steps.searching)
    told("the second: what it writes", steps.listening)
    told("the second: both weighed", steps.weighing)
    told("the first: how well it fits, if asked", steps.fitting)
    told("hearing, the two side by side", steps.hearing)
    told("understanding", steps.reading)
    told("deciding and saving", steps.talking)
    told("the voice's first sentence", steps.rendering)
    told("of these after the end was decided", steps.after_the_end)


def spoken(sound: Samples) -> Samples:
    """Return what is heard of a clip: from a little before its first word to the tail."""
    spans = split_utterances(sound)
    return Span(spans[0].start_s, spans[-1].end_s).of(sound) if spans else sound


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure how long live replies take.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--voices", default="kokoro_af_bella")
    parser.add_argument("--most", type=int, help="no more sentences than this")
    parser.add_argument("--noise", help="wind, engine, …: a class of the recorded noise")
    parser.add_argument("--work", action="store_true", help="processor time alone: a busy machine")
    chosen = parser.parse_args()
    sounds = list(islice(clips(chosen.folder, chosen.voices.split(","), chosen.noise), chosen.most))
    with tempfile.TemporaryDirectory() as name:
        if not chosen.work:
            with Watched() as watched:
                by_the_clock(sounds, Path(name))
            print(f"memory of both processes together: {watched.most_mb:.0f} MB at most")
        by_work(sounds, Path(name))
    if hasattr(os, "getloadavg"):
        print(f"{len(sounds)} sentences; load average {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
