"""What all tests share: places of their own, and one cache for what takes half a minute to make."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="session")
def shared_cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache folder for this run alone; tests that run side by side have it in common."""
    base = tmp_path_factory.getbasetemp()
    run = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    return run / "cache"


@pytest.fixture(autouse=True, scope="session")
def _own_places(tmp_path_factory: pytest.TempPathFactory, shared_cache: Path) -> None:
    """Keep caches and books away from those of whoever runs the tests."""
    places = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        for name in ("XDG_DATA_HOME", "XDG_STATE_HOME"):
            patch.setenv(name, str(places / name.lower()))
        patch.setenv("FIELDVOICE_CACHE", str(shared_cache))
        patch.setenv("NO_COLOR", "1")
        patch.delenv("FIELDVOICE_BOOK", raising=False)
        yield
