"""What all tests share: places of their own, and one cache for what takes half a minute to make."""

from __future__ import annotations

import os
import time
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

#: Even a busy machine has made the recogniser's files by then.
MADE_WITHIN_S = 300.0


@pytest.fixture(scope="session")
def shared_cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache folder for this run alone; tests that run side by side have it in common."""
    base = tmp_path_factory.getbasetemp()
    run = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    return run / "cache"


@pytest.fixture(scope="session")
def hearing_cache(shared_cache: Path, _own_places: None) -> Path:
    """The same with the recogniser's files in it: of those who run side by side one makes them."""
    making = shared_cache.with_name("making")
    try:
        making.mkdir(parents=True)
    except FileExistsError:
        ends = time.monotonic() + MADE_WITHIN_S
        while not (making / "done").exists() and time.monotonic() < ends:
            time.sleep(0.2)
        return shared_cache
    from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser
    from tests.one_grammar import GRAMMAR

    PocketsphinxRecogniser(GRAMMAR, shared_cache)
    (making / "done").touch()
    return shared_cache


@pytest.fixture(autouse=True, scope="session")
def _own_places(tmp_path_factory: pytest.TempPathFactory, shared_cache: Path) -> None:
    """Keep caches and books away from those of whoever runs the tests."""
    places = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        for name in ("XDG_DATA_HOME", "XDG_STATE_HOME"):
            patch.setenv(name, str(places / name.lower()))
        patch.setenv("FIELDVOICE_CACHE", str(shared_cache))
        patch.setenv("NO_COLOR", "1")
        # Programs that the tests start are compiled once, whatever else is set where they run.
        patch.setenv("PYTHONPYCACHEPREFIX", str(shared_cache / "compiled"))
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        patch.delenv("FIELDVOICE_BOOK", raising=False)
        yield
