"""Two listeners at once: the same words as one after the other, and an engine that may die."""

from __future__ import annotations

import functools
import os
from concurrent.futures import BrokenExecutor, Future
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from fieldvoice.asr.recogniser import Unfitted
from fieldvoice.asr.side_by_side import Engine, RecogniserProcess, SideBySide
from fieldvoice.asr.system_combination import SystemCombination
from fieldvoice.cli.listen import make_engine, make_second
from fieldvoice.cli.recognisers import ears
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.transcript import NBestEntry, Transcript
from tests.asr.test_second_listener import Broken, SaidToWrite, second
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fieldvoice.asr import Samples

SOUND = np.zeros(16_000, dtype=np.int16)
FRAMES = np.zeros((98, 13), np.float32)
NINE, FIVE = "tree nine half full", "tree five half full"
HEARD = Transcript(NINE, (), 0.5, (NBestEntry(NINE, 0.0), NBestEntry(FIVE, -2.0)), 0.001, "first")


@dataclass
class InSteps:
    """In the place of the engine: its fit comes after its words. It writes down what it does."""

    happened: list[str] = field(default_factory=list)
    names: EntityNames = field(default_factory=EntityNames)
    allowance: float = 0.0
    name = "first"

    def learn(self, names: EntityNames) -> None:
        self.names = names

    def recognise(self, samples: Samples) -> Transcript:
        return HEARD

    def search(self, samples: Samples) -> Unfitted:
        self.happened.append("searched")
        return Unfitted(replace(HEARD, fit=None), FRAMES, 1.0, self.allowance)

    def fitted(self, found: Unfitted) -> Transcript:
        self.happened.append("fitted")
        return HEARD


class Here:
    """In the place of the other process."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def sent(self, work: Callable[..., Any], *what: object) -> Future[Any]:
        done: Future[Any] = Future()
        done.set_result(work(self._engine, *what))
        return done


class Tells(SaidToWrite):
    """A second listener that writes down when it listens and when it weighs."""

    def __init__(self, happened: list[str]) -> None:
        super().__init__(["Tree 5, half full."], {NINE: -9.0, FIVE: -1.0})
        self._happened = happened

    def listen(self, samples: Samples) -> Any:
        self._happened.append("listens")
        return super().listen(samples)

    def log_likelihoods(self, sound: Any, texts: Any) -> list[float]:
        self._happened.append("weighs")
        return super().log_likelihoods(sound, texts)


def test_both_work_at_once() -> None:
    """The search is under way when the second begins."""
    happened: list[str] = []
    pair = SideBySide(Here(Engine(InSteps(happened))), second(Tells(happened)))
    heard = pair.recognise(SOUND)
    assert happened == ["searched", "listens", "weighs"]
    assert heard == SystemCombination(InSteps(), second(Tells([])), live=True).recognise(SOUND)
    assert (heard.text, heard.recogniser) == (FIVE, "first+written")


@pytest.mark.parametrize(("allowance", "is_asked"), [(0.0, False), (0.0004, True)])
def test_of_what_both_found_in_quiet_no_fit_is_asked(allowance: float, is_asked: bool) -> None:
    engine = InSteps(allowance=allowance)
    agrees = second(SaidToWrite(["Tree 9, half full."], {NINE: -1.0, FIVE: -9.0}))
    heard = SideBySide(Here(Engine(engine)), agrees).recognise(SOUND)
    assert ("fitted" in engine.happened) == is_asked
    assert (heard.text, heard.fit) == (NINE, 0.001 if is_asked else 0.0)
    assert heard == SystemCombination(engine, agrees, live=True).recognise(SOUND)


@pytest.mark.parametrize("other", [None, Broken([])])
def test_a_second_opinion_that_cannot_be_had_is_none(other: Broken | None) -> None:
    both = SideBySide(Here(Engine(InSteps())), None if other is None else second(other))
    assert both.recognise(SOUND) == HEARD


def test_an_engine_whose_words_and_fit_come_together() -> None:
    class AtOnce:
        name = "first"

        def learn(self, names: EntityNames) -> None:
            pass

        def recognise(self, samples: Samples) -> Transcript:
            return HEARD

    assert SideBySide(Here(Engine(AtOnce())), None).recognise(SOUND) == HEARD


# --- in a process of its own ------------------------------------------------------------------


class Mortal(InSteps):
    """Dies of a sound with anything in it."""

    def search(self, samples: Samples) -> Unfitted:
        if samples.any():
            os._exit(1)
        return super().search(samples)

    def fitted(self, found: Unfitted) -> Transcript:
        """Heard alone: tell the names learnt too."""
        names = " ".join(sorted(self.names.trees))
        return Transcript(f"{found.heard.text} {names}".strip(), recogniser="first")


class Letters:
    """The words so far: a letter for each piece."""

    said = ""

    def begin(self) -> None:
        self.said = ""

    def feed(self, samples: Samples) -> str:
        self.said += "x"
        return self.said


def mortal(partial: bool) -> Engine:
    return Engine(Mortal(), Letters() if partial else None)


@pytest.fixture
def process() -> Iterator[RecogniserProcess]:
    ear = RecogniserProcess(functools.partial(mortal, True))
    yield ear
    ear.close()


@pytest.mark.long
def test_the_engine_hears_elsewhere(process: RecogniserProcess) -> None:
    process.ready()
    process.names = lambda: EntityNames(trees=frozenset({"big yard"}))
    attended = process.attend(SOUND, call_needed=False).result()
    assert attended.heard is not None
    assert attended.heard.text == f"{NINE} big yard"
    follow = functools.partial(process.follow, SOUND, call_needed=False)
    words = [follow(first=first).result().words for first in (True, False, True)]
    assert words == ["x", "xx", "x"]
    process.change(functools.partial(mortal, False))
    assert follow(first=True).result().words == ""


@pytest.mark.long
def test_after_an_engine_that_died_a_new_one_hears(process: RecogniserProcess) -> None:
    with pytest.raises(BrokenExecutor):
        process.attend(SOUND + 1, call_needed=False).result()
    attended = process.attend(SOUND, call_needed=False).result()
    assert attended.heard is not None
    assert attended.heard.text == NINE


@pytest.mark.long
@pytest.mark.usefixtures("hearing_cache")
def test_real_listeners_hear_the_same_as_one_after_the_other(
    say: Callable[[str], Samples],
) -> None:
    pair = SideBySide(Here(make_engine(None)), make_second())
    after_the_other = ears(GRAMMAR, live=True)
    for text in ("tree twelve bucket half full", "make a note the gate squeaks", "what is next"):
        sound = say(text)
        assert pair.recognise(sound) == after_the_other.recognise(sound)
