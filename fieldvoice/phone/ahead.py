"""A head start: what is finished of a note is heard while the rest is spoken.

Nothing goes by it. The whole recording is decoded, parted and heard as ever when it is there;
``HeardBefore`` then knows the words of a sound that it heard before, sample for sample.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr import SAMPLE_RATE, UtteranceStream
from fieldvoice.asr.growing import GrowingSound
from fieldvoice.asr.pauses import TAIL_S
from fieldvoice.asr.stream import Ended, Paused

if TYPE_CHECKING:
    from fieldvoice.asr import Recogniser, Samples
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.transcript import Transcript

#: Recordings under way at once, and sounds remembered.
_MOST_UNDER_WAY, _MOST_SOUNDS = 8, 64
#: Sound is looked at in such steps, in samples: a pause within a piece is no pause at its end.
_STEP = SAMPLE_RATE // 10


class Ahead:
    """The recordings under way, by name."""

    def __init__(self) -> None:
        self._under_way: OrderedDict[str, tuple[GrowingSound, UtteranceStream]] = OrderedDict()

    def feed(self, name: str, piece: bytes) -> list[Samples]:
        """Take the next bytes of a recording; return the utterances that are over by now.

        The last of them may yet go on: nothing was said for a moment.
        """
        if name not in self._under_way:
            self._under_way[name] = GrowingSound(), UtteranceStream()
        self._under_way.move_to_end(name)
        while len(self._under_way) > _MOST_UNDER_WAY:
            self.close(next(iter(self._under_way)))
        growing, stream = self._under_way[name]
        samples = growing.feed(piece)
        over: list[Samples] = []
        paused: Samples | None = None
        for at in range(0, len(samples), _STEP):
            for event in stream.feed(samples[at : at + _STEP]):
                if isinstance(event, Ended):
                    over.append(event.sound)
                if isinstance(event, Paused):
                    paused = event.sound
        return [*over, paused] if paused is not None and stream.paused_s >= TAIL_S else over

    def close(self, name: str) -> None:
        """Forget a recording: the whole of it is there, or it was given up."""
        if name in self._under_way:
            self._under_way.pop(name)[0].close()


class HeardBefore:
    """A recogniser that remembers what it heard lately."""

    def __init__(self, recogniser: Recogniser) -> None:
        self._recogniser = recogniser
        self._names: EntityNames | None = None
        self._heard: OrderedDict[bytes, Transcript] = OrderedDict()

    @property
    def name(self) -> str:
        """See ``Recogniser``."""
        return self._recogniser.name

    def learn(self, names: EntityNames) -> None:
        """See ``Recogniser``; with other names other words may be heard."""
        if names != self._names:
            self._heard.clear()
            self._names = names
        self._recogniser.learn(names)

    def recognise(self, samples: Samples) -> Transcript:
        """See ``Recogniser``."""
        key = hashlib.sha256(np.ascontiguousarray(samples).data).digest()
        heard = self._heard.pop(key, None) or self._recogniser.recognise(samples)
        self._heard[key] = heard
        if len(self._heard) > _MOST_SOUNDS:
            self._heard.popitem(last=False)
        return heard
