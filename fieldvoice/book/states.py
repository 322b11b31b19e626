"""The fold's state as bytes, to be kept and taken up again."""

from __future__ import annotations

import hashlib
import zlib
from functools import cache

from pydantic import TypeAdapter

from fieldvoice.book.fold import State


def written_state(state: State) -> bytes:
    """Return a state as bytes, without the names, which are looked up anew each time."""
    plain = _adapter().dump_json(state, exclude_none=True, exclude={"names"})
    return zlib.compress(plain, level=1)


def state_from(written: bytes) -> State:
    """Return the state that bytes hold.

    Raises:
        ValueError: they hold none.
    """
    try:
        return _adapter().validate_json(zlib.decompress(written))
    except zlib.error as fault:
        raise ValueError("this is no state") from fault


def sum_of(written: bytes) -> str:
    """Return the checksum of a written state."""
    return hashlib.blake2b(written, digest_size=16).hexdigest()


@cache
def _adapter() -> TypeAdapter[State]:
    return TypeAdapter(State)
