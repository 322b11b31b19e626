"""The real ``fieldvoice listen`` as a person meets it: spoken to, and listened to, in real time.

A sound server of the test's own plays recordings into a virtual microphone and records a virtual
loudspeaker; what the assistant said is recognised again. Needs the Debian packages pulseaudio,
pulseaudio-utils, libasound2-plugins and libportaudio2, and the extra ``live``.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from contextlib import contextmanager, suppress
from datetime import datetime
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, hear_memo, read_audio, split_utterances
from fieldvoice.asr.attention_words import DEFAULT_WORD
from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser
from fieldvoice.book import Book
from fieldvoice.cli.app import cache_folder, the_grammar
from fieldvoice.errors import UnreadableAudioError
from fieldvoice.transcript import AudioSpan, Transcript
from fieldvoice.tts import HibariVoice, Sound, write_wav
from tests.live.stalled_player import HUM_S
from tests.live.test_whole_loop import noise

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

PROGRAMS = ("pulseaudio", "pactl", "paplay", "parecord")
MODULES = (
    "module-native-protocol-unix auth-anonymous=1",
    "module-null-sink sink_name=vmic rate=16000 channels=1",
    "module-null-sink sink_name=vspk rate=22050 channels=1",
    "module-remap-source source_name=mic master=vmic.monitor",
)
#: A busy machine may take this long to load everything.
READY_S = 300.0
ANSWER_S = 120.0
#: What it does when it has said what it had to say.
AT_REST = ("waiting", "listening")


def missing() -> str | None:
    """Return what this machine lacks, None for nothing."""
    lacking = [name for name in PROGRAMS if shutil.which(name) is None]
    if lacking:
        return f"not installed: {', '.join(lacking)}"
    try:
        import filelock  # noqa: F401
        import sounddevice  # noqa: F401
    except (ImportError, OSError) as fault:
        return f"the extra live is not installed: {fault}"
    return None


pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(missing() is not None, reason=missing() or ""),
]


class Rig:
    """A sound server with a virtual microphone and loudspeaker."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        home, run = folder / "home", folder / "run"
        home.mkdir()
        run.mkdir(mode=0o700)
        (home / ".asoundrc").write_text(
            "pcm.!default { type pulse }\nctl.!default { type pulse }\n"
        )
        self.env = {
            **os.environ,
            "HOME": str(home),
            "XDG_RUNTIME_DIR": str(run),
            "XDG_DATA_HOME": str(folder / "data"),
            "FIELDVOICE_CACHE": str(cache_folder()),
        }
        for name in ("PULSE_SERVER", "FIELDVOICE_BOOK", "FIELDVOICE_VOSK_MODEL"):
            self.env.pop(name, None)

    def start(self) -> None:
        options = [part for module in MODULES for part in ("-L", module)]
        self.call("pulseaudio", "-n", "--daemonize=yes", "--exit-idle-time=-1", *options)
        self.call("pactl", "set-default-source", "mic")
        self.call("pactl", "set-default-sink", "vspk")
        # A virtual loudspeaker that nobody listens to takes its sound in gulps of two seconds.
        self._awake = subprocess.Popen(
            ["parecord", "--latency-msec=20", "--device=vspk.monitor", "--raw"],
            env=self.env,
            stdout=subprocess.DEVNULL,
        )

    def stop(self) -> None:
        self._awake.kill()
        self._awake.wait()
        with suppress(subprocess.CalledProcessError):
            self.call("pulseaudio", "--kill")

    def call(self, *command: str) -> None:
        subprocess.run(command, env=self.env, check=True, capture_output=True, timeout=60)

    def play(self, path: Path) -> None:
        """Say what is in ``path`` into the microphone; return when it has been said."""
        self.call("paplay", "--device=vmic", str(path))

    @contextmanager
    def recording(self, path: Path) -> Iterator[None]:
        """Record the loudspeaker."""
        command = ["parecord", "--latency-msec=20", "--device=vspk.monitor", str(path)]
        with subprocess.Popen(command, env=self.env) as running:
            try:
                yield
            finally:
                running.send_signal(signal.SIGINT)


class Listening:
    """A running ``fieldvoice listen --json --states``, or another command that listens.

    What comes next is waited for by what it says that it does: a busy machine takes its time.
    """

    def __init__(self, rig: Rig, book: Path, *options: str, name: str = "listen") -> None:
        self.rig, self.book = rig, book
        self._out = book.with_suffix(".out")
        self._err = book.with_suffix(".err")
        command = [sys.executable, "-m", "fieldvoice", name, "--json", "--states"]
        self.process = subprocess.Popen(
            [*command, "--book", str(book), *options],
            env=rig.env,
            stdin=subprocess.DEVNULL,
            stdout=self._out.open("w"),
            stderr=self._err.open("w"),
        )
        self.wait_for(lambda: self.state in AT_REST, READY_S)
        time.sleep(1)

    @property
    def told(self) -> list[dict[str, Any]]:
        """Replies and states, in order; a line that is not whole yet is left out."""
        lines = self._out.read_text().splitlines(keepends=True)
        return [json.loads(line) for line in lines if line.endswith("\n")]

    @property
    def replies(self) -> list[dict[str, Any]]:
        return [one for one in self.told if "outcome" in one]

    @property
    def states(self) -> list[str]:
        """Those after the newest reply."""
        told = self.told
        after = max((at for at, one in enumerate(told) if "outcome" in one), default=-1)
        return [one["state"] for one in told[after + 1 :]]

    @property
    def state(self) -> str:
        """What it does now; nothing yet before it runs."""
        return ([one["state"] for one in self.told if "state" in one] or [""])[-1]

    @property
    def asides(self) -> str:
        return self._err.read_text()

    def wait_for(self, holds: Callable[[], bool], seconds: float = ANSWER_S) -> None:
        ends = time.monotonic() + seconds
        while not holds():
            assert self.process.poll() is None, self.asides
            assert time.monotonic() < ends, f"{self.replies}\n{self.asides}"
            time.sleep(0.05)

    def say(self, path: Path) -> dict[str, Any]:
        """Say it and return the reply to it, which it begins to speak."""
        before = len(self.replies)
        self.rig.play(path)
        self.wait_for(lambda: len(self.replies) > before and "speaking" in self.states)
        return self.replies[before]

    def finish_speaking(self) -> None:
        """Wait until it has said what it had to say, and listens or waits again."""
        self.wait_for(lambda: self.state in AT_REST)
        time.sleep(0.5)

    def end(self) -> None:
        self.process.send_signal(signal.SIGINT)
        assert self.process.wait(timeout=READY_S) == 0, self.asides


@pytest.fixture(scope="module")
def rig(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Rig]:
    made = Rig(tmp_path_factory.mktemp("rig"))
    made.start()
    yield made
    made.stop()


@pytest.fixture
def listening(rig: Rig, tmp_path: Path) -> Iterator[Callable[..., Listening]]:
    running: list[Listening] = []

    def start(*options: str, name: str = "listen") -> Listening:
        running.append(Listening(rig, tmp_path / "season.db", *options, name=name))
        return running[-1]

    yield start
    for one in running:
        if one.process.poll() is None:
            one.process.kill()
            one.process.wait()


@pytest.fixture(scope="module")
def spoken(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """Return a recording of a text."""
    folder, voice = tmp_path_factory.mktemp("spoken"), HibariVoice()

    def say(text: str) -> Path:
        path = folder / f"{abs(hash(text))}.wav"
        if not path.exists():
            write_wav(path, voice.render(text))
        return path

    return say


def entries(book: Path) -> list[dict[str, Any]]:
    with Book.open(book) as opened:
        return [entry.act.json_fields() for entry in opened.entries()]


def pauses_after(seconds: float, book: Path) -> bool:
    """Return whether so much has been recorded, with nothing said at its end."""
    for path in book.with_name(f"{book.stem}_sound").glob("*.flac"):
        try:
            sound = read_audio(path)
        except UnreadableAudioError:
            return False
        spans = split_utterances(sound.samples)
        ends_s = spans[-1].end_s if spans else sound.duration_s
        return sound.duration_s > seconds and ends_s < sound.duration_s - 0.1
    return False


def test_a_note_is_called_in_saved_and_read_back_aloud(
    rig: Rig,
    listening: Callable[..., Listening],
    spoken: Callable[[str], Path],
    tmp_path: Path,
    recogniser: PocketsphinxRecogniser,
) -> None:
    """Chatter first, which is not for it; then the word and a note; then a question it asks."""
    live = listening()
    rig.play(spoken("did you see the game last night, it was really something"))
    reply_aloud = tmp_path / "reply.wav"
    with rig.recording(reply_aloud):
        time.sleep(0.5)
        said = live.say(spoken(f"{DEFAULT_WORD}, tree twelve, bucket half full"))
        live.finish_speaking()
    assert said["outcome"] == "saved"
    assert said["meanings"] == [{"act": "inspect", "tree": 12, "fill": 0.5}]
    assert said["heard"] == "tree twelve bucket half full"
    aloud = " ".join(heard.text for heard in hear_memo(reply_aloud, recogniser))
    assert "twelve" in aloud
    assert "half full" in aloud

    assert live.say(spoken(f"{DEFAULT_WORD}, collected from tree nine"))["outcome"] == "asked"
    live.finish_speaking()
    assert live.say(spoken("two gallons"))["outcome"] == "saved"
    live.end()
    assert len(live.replies) == 3, "the chatter is not among them"
    assert entries(live.book) == [
        {"act": "inspect", "tree": 12, "fill": 0.5},
        {"act": "gather", "tree": 9, "volume_gal": 2.0},
    ]
    recordings = sorted((tmp_path / "season_sound").glob("*.flac"))
    assert [path.name for path in recordings] == [one["audio"]["file"] for one in live.replies]


def test_noise_saves_nothing_and_speaking_over_it_stops_it(
    rig: Rig,
    listening: Callable[..., Listening],
    spoken: Callable[[str], Path],
    tmp_path: Path,
) -> None:
    live = listening("--open")
    windy = tmp_path / "wind.wav"
    write_wav(windy, Sound(noise("wind", 15), SAMPLE_RATE))
    rig.play(windy)
    live.finish_speaking()
    assert live.replies == []

    aloud = tmp_path / "aloud.wav"
    with rig.recording(aloud):
        live.say(spoken("what can i say"))
        time.sleep(2)  # it has learnt how strongly its voice comes back
        over = live.say(spoken("tree nine, bucket half full"))
        live.finish_speaking()
    assert over["outcome"] == "saved"
    assert over["meanings"] == [{"act": "inspect", "tree": 9, "fill": 0.5}]
    live.end()
    assert entries(live.book) == [{"act": "inspect", "tree": 9, "fill": 0.5}]
    whole = HibariVoice().render(live.replies[0]["reply"]).duration_s
    assert whole > 5, "there was something to interrupt"
    aloud_s = [span.end_s - span.start_s for span in split_utterances(read_audio(aloud).samples)]
    assert sum(aloud_s) < whole + 1


def test_the_microphone_vanishes_and_comes_back(
    rig: Rig, listening: Callable[..., Listening], spoken: Callable[[str], Path]
) -> None:
    """The whole sound server goes, as when a headset takes its microphone and speaker along."""
    live = listening("--open")
    assert live.say(spoken("tree nine, bucket half full"))["outcome"] == "saved"
    live.finish_speaking()
    rig.stop()
    live.wait_for(lambda: live.state == "deaf")
    assert "looking for it" in live.asides
    rig.start()
    live.wait_for(lambda: "is back" in live.asides)
    live.finish_speaking()
    assert live.say(spoken("tree twelve, bucket half full"))["outcome"] == "saved"
    live.end()
    assert [act["tree"] for act in entries(live.book)] == [9, 12]


def test_a_busy_machine_swallows_nothing_of_what_is_said(rig: Rig, tmp_path: Path) -> None:
    """A gap may be heard where the machine stood still; the sound after it is all there."""
    aloud = tmp_path / "aloud.wav"
    with rig.recording(aloud):
        command = [sys.executable, "-m", "tests.live.stalled_player"]
        subprocess.run(command, env=rig.env, check=True, timeout=READY_S)
    loud = np.abs(read_audio(aloud).samples.astype(float)) > 0.05 * 32768
    heard_s = 0.02 * sum(block.any() for block in np.array_split(loud, len(loud) // 320))
    assert heard_s == pytest.approx(HUM_S, abs=0.5)


def test_after_a_crash_the_note_is_finished_at_the_next_start(
    rig: Rig, listening: Callable[..., Listening], spoken: Callable[[str], Path]
) -> None:
    """Killed in the pause after the note: the words had not been written down yet."""
    live = listening("--open", "--pause", "3")
    note = spoken("tree nine, bucket half full")
    rig.play(note)
    live.wait_for(lambda: pauses_after(read_audio(note).duration_s, live.book))
    os.kill(live.process.pid, signal.SIGKILL)
    live.process.wait()
    assert entries(live.book) == []
    again = listening("--open")
    again.wait_for(lambda: len(again.replies) == 1)
    again.end()
    assert entries(again.book) == [{"act": "inspect", "tree": 9, "fill": 0.5}]
    third = listening("--open")
    third.end()
    assert third.replies == []


def test_what_was_kept_is_played_and_said_anew(
    rig: Rig,
    listening: Callable[..., Listening],
    spoken: Callable[[str], Path],
    tmp_path: Path,
) -> None:
    """What was kept is heard again in the review, said in other words, and settled."""
    with Book.open(tmp_path / "season.db") as book:
        sound = read_audio(spoken("the weather was really something last night"))
        shutil.copy(spoken("the weather was really something last night"), tmp_path / "kept.wav")
        span = AudioSpan("kept.wav", sound.sha256, 0.0, sound.duration_s)
        heard = Transcript(text="whether", recogniser="other", audio=span)
        now = datetime.now().astimezone()
        book.take(
            at=now, source="live", heard=heard, outcome="kept", meanings=(), reply="Not understood."
        )
    review = listening("--aloud", name="review")
    settled = review.say(spoken("tree nine, bucket half full"))
    assert review.process.wait(timeout=READY_S) == 0
    assert settled["outcome"] == "saved"
    assert settled["reply"].endswith("That was the last. Nothing waits.")
    assert "I heard" not in review.asides, "its sound was found, and is played instead"
    (note,) = entries(review.book)
    assert (note["tree"], note["fill"], note["at"]) == (9, 0.5, now.isoformat())
    with Book.open(review.book) as book:
        assert book.kept() == []


def test_the_sound_check_hears_and_measures(rig: Rig, spoken: Callable[[str], Path]) -> None:
    note = spoken("tree twelve bucket half full")
    command = [sys.executable, "-m", "fieldvoice", "check", "--json", "--seconds", "8"]
    with subprocess.Popen(command, env=rig.env, stdout=subprocess.PIPE) as running:
        ends = time.monotonic() + READY_S
        while running.poll() is None and time.monotonic() < ends:
            rig.play(note)
        out, _ = running.communicate(timeout=ANSWER_S)
    found = json.loads(out)
    assert running.returncode == 0
    assert "tree twelve bucket half full" in " ".join(found["heard"])
    assert found["speech_db"] > found["background_db"] + 20
    assert found["clipped"] == 0.0


@pytest.fixture(scope="module")
def recogniser(tmp_path_factory: pytest.TempPathFactory) -> PocketsphinxRecogniser:
    return PocketsphinxRecogniser(the_grammar(), cache_folder())
