"""The natural voice's engine with less memory says the same as it does by itself."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fieldvoice.tts.lighter import lighten
from fieldvoice.tts.tables import Table

#: Words with several readings, words of the trade, and words that no dictionary has.
SAID = (
    "Tree twelve: bucket nearly full, cloudy.",
    "I read that they live to record the lead line; use the used one.",
    "Spiles, sugarbush, hydrometer, Zwerble and Quintus's NOAA readout.",
    "Draw at two nineteen, within 4 hours.",
)


@pytest.fixture(scope="module")
def package() -> Any:
    return pytest.importorskip("hibari", reason="the natural voice's package is not installed")


def test_it_sounds_the_same_sample_by_sample(package: Any) -> None:
    usual, light = package.Hibari(), package.Hibari()
    lighten(light)
    for text in SAID:
        assert light.phonemize(text) == usual.phonemize(text)
        assert np.array_equal(light(text, seed=0), usual(text, seed=0))


def test_its_dictionaries_are_tables(package: Any) -> None:
    engine = package.Hibari()
    lighten(engine)
    assert isinstance(engine.g2p.lexicon.golds.d, Table)
    assert isinstance(engine.g2p.tagger.weights, Table)
    # Whoever else uses the package finds it as it was.
    assert isinstance(package.g2p.G2P().lexicon.golds.d, dict)


def test_an_engine_with_other_parts_stays_as_it_is(
    package: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Later:
        g2p = "its own"

    monkeypatch.delattr("hibari.g2p._load_json")
    engine = Later()
    lighten(engine)
    assert vars(engine) == {}


def test_a_dictionary_of_another_form_is_read_as_usual(
    package: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(text: bytes) -> Table:
        raise ValueError("This is no table in JSON.")

    monkeypatch.setattr("fieldvoice.tts.lighter._READERS", {"lexicon": refuse})
    engine = package.Hibari()
    lighten(engine)
    assert isinstance(engine.g2p.lexicon.golds.d, dict)
    assert engine("Ready.").any()
