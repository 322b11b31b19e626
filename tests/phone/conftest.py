"""A house with the real book and conversation behind the real network; its ear is told words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.phone.served import Served

for _name in ("starlette", "cryptography", "uvicorn"):
    pytest.importorskip(_name, reason="needs the extra: pip install fieldvoice[phone]")


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """A house at a free port of this machine, with nobody paired."""
    from tests.phone.served import Served

    with Served(tmp_path).running() as house:
        yield house
