"""The net's evidence as a stream of Gaussians: what the engine makes of it."""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr.acoustic import AcousticModel
from fieldvoice.asr.acoustic_files import read_senones
from fieldvoice.asr.floor import with_floor
from fieldvoice.asr.front_end import cepstra, power_spectra, streams
from fieldvoice.asr.model_files import bundled_model
from fieldvoice.errors import RecogniserError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Samples
    from fieldvoice.asr.front_end import Frames

#: A step of the engine's scores, in natural logarithm: 1.0001 to the power of 1024.
STEP = 1024 * np.log(1.0001)
#: The engine lets no density be further than this behind the best of its stream.
FURTHEST = 96


def senone_scores(model: AcousticModel, frames: Frames, folder: Path) -> np.ndarray:
    """Return (frames, senones) as the engine scores them, in steps behind the best."""
    from pocketsphinx import Config, Decoder

    folder.mkdir()
    dictionary = folder / "words.dict"
    dictionary.write_text("sap S AE P\n")
    config = Config(
        hmm=str(model.folder),
        dict=str(dictionary),
        lm=None,
        senlogdir=str(folder),
        compallsen=True,
        loglevel="FATAL",
    )
    decoder = Decoder(config)
    decoder.add_jsgf_string("sap", "#JSGF V1.0; grammar g; public <s> = sap;")
    decoder.activate_search("sap")
    decoder.start_utt()
    decoder.process_cep(frames.astype("=f4").tobytes(), full_utt=True)
    decoder.end_utt()
    (log,) = folder.glob("*.sen")
    raw = log.read_bytes()
    body = raw[raw.index(b"endhdr\n") + 11 :]
    (count,) = struct.unpack_from("=h", body)
    return np.frombuffer(body, "=i2").reshape(-1, 1 + count)[:, 1:].astype(float)


def test_a_senone_scores_by_the_evidence_for_its_state(
    say: Callable[[str], Samples], tmp_path: Path
) -> None:
    """The engine's own scores with the net's stream and without it differ by the evidence."""
    model = AcousticModel("field", tmp_path)
    frames = model.heard(with_floor(say("tree twelve"))).frames[20:60]
    without = frames.copy()
    without[:, 40:] = 0
    scored = senone_scores(model, frames, tmp_path / "with")
    unscored = senone_scores(model, without, tmp_path / "without")
    senones = read_senones((bundled_model("en-us") / "mdef").read_bytes())
    own = 40 + 3 * senones.phone_of + senones.state_of
    behind = (frames[:, 40:].max(axis=1, keepdims=True) - frames[:, own]) / STEP
    expected = np.minimum(behind, FURTHEST)
    gained = scored - unscored
    # scores are told less the best of each frame, and in whole steps
    gained -= np.median(gained - expected, axis=1, keepdims=True)
    assert np.abs(gained - expected).max() <= 2
    assert np.ptp(expected) > 30


def test_the_bundled_model_has_its_three_streams_alone(
    say: Callable[[str], Samples], tmp_path: Path
) -> None:
    samples = with_floor(say("scratch that"))
    frames = AcousticModel("bundled", tmp_path).heard(samples).frames
    assert np.array_equal(frames, streams(cepstra(power_spectra(samples))).reshape(len(frames), 39))


def test_the_folder_is_made_once(tmp_path: Path) -> None:
    folder = AcousticModel("field", tmp_path).folder
    before = (folder / "means").stat().st_mtime_ns
    assert AcousticModel("field", tmp_path).folder == folder
    assert (folder / "means").stat().st_mtime_ns == before
    assert [path.name for path in tmp_path.iterdir()] == [folder.name]


def test_a_cache_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    in_the_way = tmp_path / "cache"
    in_the_way.write_text("a file")
    with pytest.raises(RecogniserError, match="cannot write the recogniser's files"):
        AcousticModel("field", in_the_way)
