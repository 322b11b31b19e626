"""Two listeners at once, for live sound: the engine in a process of its own, the second one here.

The engine keeps the interpreter locked while it searches, and neither microphone nor loudspeaker
can wait half a second, so that it searches elsewhere. The second listener lets others go on, and
needs what the voice has loaded already: it hears here, in a thread, on the other core.
"""

from __future__ import annotations

import multiprocessing
import signal
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Protocol, TypeVar

from fieldvoice.asr.recogniser import fitted, searched
from fieldvoice.asr.streaming import Attended, Ear, Followed
from fieldvoice.asr.system_combination import Weighed
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar.entity_names import EntityNames

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr.audio import Samples
    from fieldvoice.asr.partial import PartialWords
    from fieldvoice.asr.recogniser import Recogniser, Unfitted
    from fieldvoice.asr.system_combination import Opinion, SecondListener
    from fieldvoice.asr.wake_word import CallDetector
    from fieldvoice.transcript import Transcript

Got = TypeVar("Got")


@dataclass(frozen=True, slots=True)
class Engine:
    """What hears in a process of its own: whole utterances, the words so far, the attention word.

    Without a ``spotter`` there is no attention word, without ``partial`` no words so far.
    """

    recogniser: Recogniser
    partial: PartialWords | None = None
    spotter: CallDetector | None = None


class RecogniserProcess:
    """An ear whose engine is in another process. ``make`` makes that there: a plain function.

    When that process dies (no memory left), the next utterance is heard by a new one. ``names``
    gives those that trees and vessels have at the time. ``second`` makes the second listener, which
    hears in a thread of this process; None for no second listener.
    """

    def __init__(
        self,
        make: Callable[[], Engine],
        second: Callable[[], SecondListener | None] = lambda: None,
    ) -> None:
        self._engine = _FarEngine(make)
        self._make_second = second
        self.names: Callable[[], EntityNames] = EntityNames
        self._ear: Ear | None = None
        self._here = ThreadPoolExecutor(1, thread_name_prefix="second listener")

    def ready(self) -> None:
        """Wait until the ear can hear.

        Raises:
            FieldvoiceError: it cannot; as raised by ``make``.
        """
        self._here.submit(self._the_ear).result()

    def attend(self, samples: Samples, *, call_needed: bool) -> Future[Attended]:
        """See ``Hearing``."""
        return self._here.submit(self._attend, self.names(), samples, call_needed)

    def follow(self, samples: Samples, *, first: bool, call_needed: bool) -> Future[Followed]:
        """See ``Hearing``."""
        return self._here.submit(self._follow, samples, first, call_needed)

    def change(self, make: Callable[[], Engine]) -> None:
        """Hear with the engine that ``make`` makes, from the next utterance on."""
        self._here.submit(self._change, make)

    def close(self) -> None:
        """End the process."""
        self._here.shutdown(wait=True, cancel_futures=True)
        self._engine.close()

    # In the thread.

    def _attend(self, names: EntityNames, samples: Samples, call_needed: bool) -> Attended:
        ear = self._the_ear()
        ear.learn(names)
        return ear.attend(samples, call_needed=call_needed)

    def _follow(self, samples: Samples, first: bool, call_needed: bool) -> Followed:
        return self._the_ear().follow(samples, first=first, call_needed=call_needed)

    def _change(self, make: Callable[[], Engine]) -> None:
        self._engine.change(make)
        self._ear = None

    def _the_ear(self) -> Ear:
        if self._ear is None:
            parts = self._engine.sent(_parts)
            recogniser = SideBySide(self._engine, self._second)
            has_partial, has_spotter = parts.result()
            self._ear = Ear(
                recogniser,
                _FarWords(self._engine) if has_partial else None,
                _FarSpotter(self._engine) if has_spotter else None,
            )
        return self._ear

    @cached_property
    def _second(self) -> SecondListener | None:
        return self._make_second()


class Elsewhere(Protocol):
    """Where an engine does what it is sent, in order."""

    def sent(self, work: Callable[..., Got], *what: object) -> Future[Got]:
        """Return what ``work`` returns, done there with the engine and ``what``; later."""
        ...


class SideBySide:
    """A recogniser of two that hear at once, as ``SystemCombination`` does one after the other.

    A second opinion that cannot be had is none.
    """

    name = "two side by side"

    def __init__(self, engine: Elsewhere, second: SecondListener | None) -> None:
        self._engine, self._second = engine, second
        self._names = EntityNames()

    def learn(self, names: EntityNames) -> None:
        """See ``Recogniser``."""
        self._names = names
        if self._second is not None:
            self._second.learn(names)

    def recognise(self, samples: Samples) -> Transcript:
        """See ``Recogniser``."""
        search = self._engine.sent(_search, self._names, samples)
        opinion = self._opinion(samples)
        found = search.result()
        weighed = self._weighed(opinion, found.heard)
        if weighed.is_beyond_doubt(found):
            return weighed.without_fit()
        return weighed.fitted(self._engine.sent(_fitted, found).result())

    def _opinion(self, samples: Samples) -> Opinion | None:
        try:
            return self._second.listen(samples) if self._second is not None else None
        except RecogniserError:
            return None

    def _weighed(self, opinion: Opinion | None, heard: Transcript) -> Weighed:
        try:
            return self._second.weigh(opinion, heard) if self._second is not None else Weighed(None)
        except RecogniserError:
            return Weighed(None)


class _FarWords:
    """The words so far, from the other process. See ``PartialWords``."""

    def __init__(self, engine: _FarEngine) -> None:
        self._engine = engine

    def begin(self) -> None:
        self._engine.sent(_begin_words).result()

    def feed(self, samples: Samples) -> str:
        return self._engine.sent(_feed_words, samples).result()


class _FarSpotter:
    """The attention word, found in the other process. See ``CallDetector``."""

    def __init__(self, engine: _FarEngine) -> None:
        self._engine = engine

    def spot(self, samples: Samples) -> float | None:
        return self._engine.sent(_spot, samples).result()


class _FarEngine:
    """The process with the engine: what it is sent it does in order."""

    def __init__(self, make: Callable[[], Engine]) -> None:
        self._make = make
        self._process = self._started()

    def sent(self, work: Callable[..., Got], *what: object) -> Future[Got]:
        """See ``Elsewhere``. A process that has died is followed by a new one."""
        try:
            return self._process.submit(_with_engine, self._make, work, what)
        except BrokenProcessPool:
            self._process = self._started()
            return self._process.submit(_with_engine, self._make, work, what)

    def change(self, make: Callable[[], Engine]) -> None:
        """Have the engine made anew by ``make``."""
        self._make = make
        self._process.submit(_forget_engine)

    def close(self) -> None:
        """End the process."""
        self._process.shutdown(wait=True, cancel_futures=True)

    def _started(self) -> ProcessPoolExecutor:
        # A fresh interpreter, not a copy of this one with its threads and open devices.
        context = multiprocessing.get_context("spawn")
        return ProcessPoolExecutor(1, mp_context=context, initializer=_leave_interrupts_alone)


# In the engine's own process.
_engine: Engine | None = None


def _leave_interrupts_alone() -> None:
    # Ctrl-C reaches all processes of a terminal; the one that talks to the user decides.
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _with_engine(
    make: Callable[[], Engine], work: Callable[..., Got], what: tuple[object, ...]
) -> Got:
    global _engine
    if _engine is None:
        _engine = make()
    return work(_engine, *what)


def _forget_engine() -> None:
    global _engine
    _engine = None


def _parts(engine: Engine) -> tuple[bool, bool]:
    return engine.partial is not None, engine.spotter is not None


def _search(engine: Engine, names: EntityNames, samples: Samples) -> Unfitted:
    engine.recogniser.learn(names)
    return searched(engine.recogniser, samples)


def _fitted(engine: Engine, found: Unfitted) -> Transcript:
    return fitted(engine.recogniser, found)


def _begin_words(engine: Engine) -> None:
    if engine.partial is not None:
        engine.partial.begin()


def _feed_words(engine: Engine, samples: Samples) -> str:
    return engine.partial.feed(samples) if engine.partial is not None else ""


def _spot(engine: Engine, samples: Samples) -> float | None:
    return engine.spotter.spot(samples) if engine.spotter is not None else None
