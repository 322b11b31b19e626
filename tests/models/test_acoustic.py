"""The field model beside the bundled one, and the forms of their files."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fieldvoice.asr.model_files import acoustic_settings, bundled_model
from models.acoustic import AcousticModel, read_model, write_model


@pytest.fixture(scope="module")
def bundled() -> AcousticModel:
    return read_model(bundled_model("en-us"))


def test_phones_of_senones_agree_with_the_model_definition(bundled: AcousticModel) -> None:
    """Senones of "tree" by the recogniser's own alignment: T is phone 33, R 29, IY 19, SIL 32."""
    assert [int(bundled.phone_of[senone]) for senone in (4321, 3840, 2551, 96)] == [33, 29, 19, 32]


def test_what_is_written_is_read_again(bundled: AcousticModel, tmp_path: Path) -> None:
    folder = bundled_model("en-us")
    write_model(bundled, tmp_path, folder)
    for name in ("means", "sendump"):
        old, new = (np.fromfile(path / name, np.uint8)[-100_000:] for path in (folder, tmp_path))
        # weights are made to add up to 1 on reading, which moves a few by one step
        assert np.abs(old.astype(int) - new).max() <= (1 if name == "sendump" else 0)


def test_the_field_model_is_the_bundled_one_moved_a_little(bundled: AcousticModel) -> None:
    settings = acoustic_settings("field")
    assert settings["hmm"] == acoustic_settings("bundled")["hmm"]
    raw = Path(settings["mean"]).read_bytes()
    means = np.frombuffer(raw[raw.index(b"endhdr\n") + 39 : -4], "<f4")
    assert means.size == bundled.means.size
    moved = np.abs(means - bundled.means.ravel()) / np.sqrt(bundled.variances.ravel())
    assert 0.005 < np.median(moved) < 0.1
    assert 0.1 < np.quantile(moved, 0.99) < 2.0
