"""Sound of a recording that is still being made."""

from __future__ import annotations

import threading
from contextlib import suppress

import numpy as np

from fieldvoice.asr.audio import Samples, opened, resampled

#: A decoder that takes longer over one piece is given up, in seconds.
_DECODES_WITHIN_S = 5.0


class GrowingSound:
    """Decodes a recording piece by piece: the samples are those that the whole file will have.

    A form that cannot be read before its end is there gives none. The decoder reads as from a file,
    in a thread of its own, and waits there for what has not come yet.
    """

    def __init__(self) -> None:
        self._news = threading.Condition()
        self._bytes = b""
        self._waits = self._ended = self._is_over = False
        self._samples: list[Samples] = []
        threading.Thread(target=self._decode, daemon=True).start()

    def feed(self, piece: bytes) -> Samples:
        """Take the next bytes; return the samples that can be decoded now."""
        with self._news:
            self._bytes += piece
            self._news.notify_all()
            is_done = self._news.wait_for(self._has_read_all, _DECODES_WITHIN_S)
            found, self._samples = self._samples, []
        if not is_done:
            self.close()
        return np.concatenate(found) if found else np.zeros(0, dtype=np.int16)

    def close(self) -> None:
        """End the decoder."""
        with self._news:
            self._ended = True
            self._news.notify_all()

    def read(self, most: int) -> bytes:
        """Return the next bytes, for the decoder: what there is, and nothing at the end."""
        with self._news:
            self._waits = True
            self._news.notify_all()
            self._news.wait_for(lambda: self._bytes or self._ended)
            self._waits = False
            piece, self._bytes = self._bytes[:most], self._bytes[most:]
        return b"" if self._ended else piece

    def _has_read_all(self) -> bool:
        return self._is_over or (self._waits and not self._bytes)

    def _decode(self) -> None:
        # The decoder raises many kinds of its own; the whole file tells what is wrong with it.
        with suppress(Exception), opened(self) as container:
            for samples in resampled(container):
                self._samples.append(samples)
        with self._news:
            self._is_over = True
            self._news.notify_all()
