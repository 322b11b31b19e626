from __future__ import annotations

import pytest

from fieldvoice.tts import HibariVoice


@pytest.fixture(scope="session")
def hibari() -> HibariVoice:
    """The default voice, loaded once for all tests."""
    return HibariVoice()
