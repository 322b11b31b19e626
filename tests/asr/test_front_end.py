"""Frames of sound, beside those that the engine itself makes (pocketsphinx writes them out)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr.floor import with_floor
from fieldvoice.asr.front_end import CEPSTRA, cepstra, power_spectra
from fieldvoice.asr.model_files import bundled_model

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Samples


def frames_of_the_engine(samples: Samples, folder: Path) -> np.ndarray:
    """Return the cepstra that a fresh decoder logs while it takes ``samples``."""
    from pocketsphinx import Config, Decoder

    dictionary = folder / "words.dict"
    dictionary.write_text("sap S AE P\n")
    config = Config(
        hmm=str(bundled_model("en-us")),
        dict=str(dictionary),
        lm=None,
        mfclogdir=str(folder),
        loglevel="FATAL",
    )
    decoder = Decoder(config)
    decoder.set_align_text("sap")
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), full_utt=True)
    decoder.end_utt()
    (log,) = folder.glob("*.mfc")
    return np.frombuffer(log.read_bytes()[4:], ">f4").reshape(-1, CEPSTRA)


@pytest.mark.parametrize("text", ["tree twelve bucket half full", "scratch that"])
def test_cepstra_are_those_of_the_engine(
    say: Callable[[str], Samples], text: str, tmp_path: Path
) -> None:
    samples = with_floor(say(text))
    own = cepstra(power_spectra(samples))
    assert own == pytest.approx(frames_of_the_engine(samples, tmp_path), abs=1e-3)


def test_cepstra_are_those_of_the_engine_in_noise(
    say: Callable[[str], Samples], tmp_path: Path
) -> None:
    quiet = say("what should i boil today")
    hiss = np.random.default_rng(3).normal(0, 300, len(quiet))
    samples = np.clip(quiet + hiss, -32768, 32767).astype(np.int16)
    own = cepstra(power_spectra(samples))
    assert own == pytest.approx(frames_of_the_engine(samples, tmp_path), abs=1e-3)


@pytest.mark.parametrize(("samples", "frames"), [(1, 1), (410, 1), (411, 2), (570, 2), (571, 3)])
def test_a_frame_begins_every_hundredth_of_a_second(samples: int, frames: int) -> None:
    power = power_spectra(np.ones(samples, np.int16))
    assert len(power) == len(cepstra(power)) == frames
