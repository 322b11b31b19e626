"""One ear for live sound: the attention word, the words so far, and the words in the end.

How it hears without keeping its caller waiting, with two listeners side by side:
``side_by_side``.
"""

from __future__ import annotations

from concurrent.futures import Future
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol, TypeVar

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.asr.wake_word import LONGEST_S, STARTS_WITHIN_S
from fieldvoice.handbook.emergency import emergency_in

if TYPE_CHECKING:
    from fieldvoice.asr.audio import Samples
    from fieldvoice.asr.partial import PartialWords
    from fieldvoice.asr.recogniser import Recogniser
    from fieldvoice.asr.wake_word import CallDetector
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.transcript import Transcript, Word

#: What is left after the attention word must be this long to hold another word and its pause.
SHORTEST_REST_S = 0.65
#: How much more must have been said before the attention word is looked for again.
_LOOK_AGAIN_S = 0.3

Got = TypeVar("Got")


@dataclass(frozen=True, slots=True)
class Attended:
    """What one utterance was.

    ``called`` tells that it began with the attention word. ``heard`` is what came after it, or the
    whole without it; None where nothing came after it, or where a call was needed and none came
    and it was no cry for help either.
    """

    called: bool
    heard: Transcript | None


@dataclass(frozen=True, slots=True)
class Followed:
    """The utterance so far: whether the attention word was in it, and the words."""

    called: bool
    words: str


class Ear:
    """Hears with what it is given.

    Without a ``spotter`` there is no attention word, without ``partial`` no words so far.
    """

    def __init__(
        self,
        recogniser: Recogniser,
        partial: PartialWords | None = None,
        spotter: CallDetector | None = None,
    ) -> None:
        self._recogniser, self._partial, self._spotter = recogniser, partial, spotter
        self._sound: Samples = np.zeros(0, dtype=np.int16)
        self._looked = 0
        self._called = False
        self._words = ""

    def learn(self, names: EntityNames) -> None:
        """Hear the given names of trees and vessels, these and no others, from now on."""
        self._recogniser.learn(names)

    def attend(self, samples: Samples, *, call_needed: bool) -> Attended:
        """Return what a whole utterance (16 kHz mono) was."""
        ends_s = self._spotter.spot(samples) if self._spotter is not None else None
        if ends_s is None:
            heard = self._recogniser.recognise(samples)
            is_let_pass = call_needed and emergency_in(heard) is None
            return Attended(False, None if is_let_pass else heard)
        rest = samples[round(ends_s * SAMPLE_RATE) :]
        if len(rest) < SHORTEST_REST_S * SAMPLE_RATE:
            return Attended(True, None)
        heard = self._recogniser.recognise(rest)
        words = tuple(_later(word, ends_s) for word in heard.words)
        return Attended(True, replace(heard, words=words) if heard.text else None)

    def follow(self, samples: Samples, *, first: bool, call_needed: bool) -> Followed:
        """Take the next samples of the utterance under way; return what it is so far."""
        if first:
            self._begin(needed=call_needed and self._spotter is not None)
        if not self._called:
            self._sound = np.concatenate([self._sound, samples])
            samples = self._after_the_call()
        if self._called and self._partial is not None and len(samples):
            self._words = self._partial.feed(samples)
        return Followed(self._called, self._words)

    def _begin(self, *, needed: bool) -> None:
        self._sound, self._looked = np.zeros(0, dtype=np.int16), 0
        self._called, self._words = not needed, ""
        if self._partial is not None:
            self._partial.begin()

    def _after_the_call(self) -> Samples:
        """Look for the attention word once there is enough more; return what came after it."""
        nothing: Samples = np.zeros(0, dtype=np.int16)
        enough = len(self._sound) - self._looked >= _LOOK_AGAIN_S * SAMPLE_RATE
        late = self._looked >= (STARTS_WITHIN_S + LONGEST_S) * SAMPLE_RATE
        if self._spotter is None or not enough or late:
            return nothing
        self._looked = len(self._sound)
        ends_s = self._spotter.spot(self._sound)
        if ends_s is None:
            return nothing
        self._called = True
        return self._sound[round(ends_s * SAMPLE_RATE) :]


class Hearing(Protocol):
    """An ear that does not keep its caller waiting."""

    def attend(self, samples: Samples, *, call_needed: bool) -> Future[Attended]:
        """As ``Ear.attend``, later."""
        ...

    def follow(self, samples: Samples, *, first: bool, call_needed: bool) -> Future[Followed]:
        """As ``Ear.follow``, later."""
        ...


class StreamingRecogniser:
    """An ear in this process, whose futures are done at once."""

    def __init__(self, ear: Ear) -> None:
        self._ear = ear

    def attend(self, samples: Samples, *, call_needed: bool) -> Future[Attended]:
        """See ``Hearing``."""
        return _done(self._ear.attend(samples, call_needed=call_needed))

    def follow(self, samples: Samples, *, first: bool, call_needed: bool) -> Future[Followed]:
        """See ``Hearing``."""
        return _done(self._ear.follow(samples, first=first, call_needed=call_needed))


def _done(value: Got) -> Future[Got]:
    future: Future[Got] = Future()
    future.set_result(value)
    return future


def _later(word: Word, by_s: float) -> Word:
    return replace(word, start_s=round(word.start_s + by_s, 2), end_s=round(word.end_s + by_s, 2))
