"""What reading two dozen sentences aloud would be worth: held-back sentences of the same voice.

    python -m models.enrolment FOLDER [--voices flite_awb,…] [--read 24]

``FOLDER`` is laid out as for ``benchmarks.hearing``. Of each voice's field sentences some are taken
as read aloud in a quiet room and the field model is adapted to them (``models/speaker.py``); the
others are heard before and after, clean and in wind at 10 dB, by the Gaussians alone: the net
beside them is not adapted, and the free phones are left out.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
import zlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jiwer
import numpy as np
from pocketsphinx import Config, Decoder

from benchmarks.recordings import CLEAN, Clip, Condition, Recordings
from fieldvoice.asr import read_audio
from fieldvoice.asr.floor import with_floor
from fieldvoice.asr.model_files import acoustic_settings, bundled_model, model_files
from fieldvoice.asr.pocketsphinx_engine import _SEARCH
from fieldvoice.cli.app import cache_folder, the_grammar
from models.acoustic import read_model, write_model
from models.alignment import Aligner, features
from models.corpus import Corpus
from models.speaker import of_speaker

if TYPE_CHECKING:
    from collections.abc import Mapping

CONDITIONS = (CLEAN, Condition("wind", 10))


def field_model(folder: Path) -> Path:
    """Put the field model together in ``folder``, whose parts lie in two places."""
    shutil.copytree(bundled_model("en-us"), folder)
    settings = acoustic_settings("field")
    for key, name in (("mean", "means"), ("var", "variances"), ("sendump", "sendump")):
        shutil.copy(settings[key], folder / name)
    return folder


def corpus_of(clips: list[Clip], aligner: Aligner) -> Corpus:
    """Return the frames of ``clips`` and their senones, those left out that do not align."""
    frames, senones = [], []
    for clip in clips:
        samples = with_floor(read_audio(clip.path).samples)
        found = aligner.aligned(samples, clip.say)
        if found is not None:
            frames.append(features(samples).astype(np.float16))
            senones.append(found)
    count = sum(map(len, senones))
    return Corpus(np.concatenate(frames), np.concatenate(senones), np.zeros(count, bool))


def decoder(acoustic: Path, files: Any) -> Any:
    settings: Mapping[str, Any] = {"hmm": str(acoustic), **_SEARCH}
    config = Config(dict=str(files.dictionary), lm=str(files.language_model), loglevel="FATAL")
    for name, value in settings.items():
        config[name] = value
    return Decoder(config)


def words(ear: Any, samples: Any) -> str:
    ear.start_utt()
    ear.process_raw(with_floor(samples).tobytes(), full_utt=True)
    ear.end_utt()
    heard = ear.hyp()
    return " ".join(word.split("(")[0] for word in heard.hypstr.split()) if heard else ""


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure adapting to one speaker.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--voices", help="only these, separated by commas")
    parser.add_argument("--read", type=int, default=24, help="sentences that are read aloud")
    chosen = parser.parse_args()
    recordings = Recordings(chosen.folder)
    files = model_files(the_grammar(), cache_folder())
    with tempfile.TemporaryDirectory() as name:
        before = field_model(Path(name) / "field")
        model, aligner = read_model(before), Aligner(before, files.dictionary)
        for voice in chosen.voices.split(",") if chosen.voices else recordings.voices:
            clips = [clip for clip in recordings.sentences if clip.speaker == voice]
            clips.sort(key=lambda clip: zlib.crc32(clip.key.encode()))
            corpus = corpus_of(clips[: chosen.read], aligner)
            after = Path(name) / voice
            shutil.copytree(before, after)
            write_model(of_speaker(model, corpus), after, before)
            for condition in CONDITIONS:
                row = f"| {voice} | {len(corpus.senones) / 100:.0f} s | {condition}"
                held_back = clips[chosen.read :]
                said = [clip.say for clip in held_back]
                for acoustic in (before, after):
                    ear = decoder(acoustic, files)
                    heard = [words(ear, recordings.samples(clip, condition)) for clip in held_back]
                    exact = sum(map(str.__eq__, said, heard))
                    row += f" | {exact} of {len(said)} | {100 * jiwer.wer(said, heard):.1f}"
                print(f"{row} |", flush=True)


if __name__ == "__main__":
    main()
