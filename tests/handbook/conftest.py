"""The finder of the cards that are shipped: made once for a run, for it takes half a second."""

from __future__ import annotations

import pytest

from fieldvoice.handbook import Finder
from fieldvoice.handbook.loader import shipped


@pytest.fixture(scope="session")
def finder() -> Finder:
    return Finder(shipped().cards)
