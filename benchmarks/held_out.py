"""Speak the held-out field sentences: a second set, which no model was fitted to.

It is not untouched: the margins of doubt (what is saved, asked or kept) were chosen with an eye on
its results as well, so that the shares of wrong and asked are a little too good for a new set.

    python -m benchmarks.held_out FOLDER --noise RECORDINGS

The sentences and their meanings stand in ``held_out.jsonl``, written down as people talk before
anything was heard of them. ``FOLDER`` becomes one that ``benchmarks.recordings`` reads; its noise
is that of ``RECORDINGS``. The voices are those that can be installed by name (``hibari-tts``,
``py-nanotts``, Debian's ``flite``), and hibari once more resampled, as a smaller speaker.
"""

from __future__ import annotations

import argparse
import functools
import json
import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.tts.voices import HibariVoice, PicoVoice, Sound
from fieldvoice.tts.wav import write_wav

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

SENTENCES = Path(__file__).with_name("held_out.jsonl")
#: A speaker this much smaller: all resonances and the pitch are higher by it.
SMALLER = 1.07
#: Read this much slower, so that it is as fast as before in the end.
PACE = 1 / SMALLER


def speakers() -> Iterator[tuple[str, Callable[[str, Path], None]]]:
    """Yield the names of the voices, and what writes a text spoken by each to a file."""
    hibari = HibariVoice()
    yield "hibari", lambda text, path: write_wav(path, hibari.render(text))
    yield "hibari_small", lambda text, path: write_wav(path, _smaller(hibari.render(text, PACE)))
    for accent in ("en-US", "en-GB"):
        pico = PicoVoice(accent)
        yield f"pico_{accent}", lambda text, path, pico=pico: write_wav(path, pico.render(text))  # type: ignore[misc]
    for voice in ("awb", "rms"):
        yield f"flite_{voice}", functools.partial(_flite, voice)


def _smaller(sound: Sound) -> Sound:
    return Sound(sound.samples, round(sound.rate * SMALLER))


def _flite(voice: str, text: str, path: Path) -> None:
    subprocess.run(["flite", "-voice", voice, "-t", text, "-o", str(path)], check=True)


def main() -> None:
    parser = argparse.ArgumentParser(description="Speak the held-out sentences.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--noise", type=Path, help="a folder of recordings with noise/ in it")
    chosen = parser.parse_args()
    chosen.folder.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(SENTENCES, chosen.folder / "dev.jsonl")
    if chosen.noise and not (chosen.folder / "noise").exists():
        (chosen.folder / "noise").symlink_to(chosen.noise.absolute() / "noise")
    lines = [json.loads(line) for line in SENTENCES.read_text(encoding="utf-8").splitlines()]
    speak_all({line["id"]: line["say"] for line in lines}, chosen.folder / "dev")


def speak_all(lines: Mapping[str, str], folder: Path) -> None:
    """Have every line read by every voice, into ``folder/VOICE/KEY.wav``, unless it is there."""
    for name, speak in speakers():
        place = folder / name
        place.mkdir(parents=True, exist_ok=True)
        for key, text in lines.items():
            path = place / f"{key}.wav"
            if not path.exists():
                speak(text, path)
        print(name, len(lines), flush=True)


if __name__ == "__main__":
    main()
