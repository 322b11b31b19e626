"""The demo sessions: recordings as their scripts say, and meanings that follow from the words."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import av
import numpy as np
import pytest

from fieldvoice.asr import choose_recogniser, hear_memo
from fieldvoice.book import Book
from fieldvoice.cli.recognisers import LISTENER, with_second
from fieldvoice.dialogue import Conversation
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import Transcript, typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

FOLDER = Path(__file__).parents[2] / "demo_sessions"
SESSIONS = ("first_round", "sugarhouse")
COMPARED = ("outcome", "meanings")


def _memos(session: str) -> list[dict[str, Any]]:
    with (FOLDER / session / "session.toml").open("rb") as file:
        memos: list[dict[str, Any]] = tomllib.load(file)["memo"]
    return memos


def _expected(session: str) -> list[dict[str, Any]]:
    lines = (FOLDER / session / "expected.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


def _decoded(path: Path) -> np.ndarray:
    resampler = av.AudioResampler(format="s16", layout="mono", rate=16_000)
    with av.open(str(path)) as file:
        frames = [part for frame in file.decode(audio=0) for part in resampler.resample(frame)]
    frames += resampler.resample(None)
    return np.concatenate([frame.to_ndarray().ravel() for frame in frames]).astype(int)


def _phrases(samples: np.ndarray) -> int:
    """Count stretches of sound with at least a second of quiet between them."""
    frames = samples[: len(samples) // 320 * 320].reshape(-1, 320)
    loud = np.flatnonzero(np.sqrt(np.mean(frames**2, axis=1)) > 0.008 * 32768)
    return 1 + int(np.sum(np.diff(loud) > 50))


MEMOS = [(session, memo) for session in SESSIONS for memo in _memos(session)]


@pytest.mark.parametrize(
    ("session", "memo"), MEMOS, ids=[f"{session}/{memo['file']}" for session, memo in MEMOS]
)
def test_a_memo_has_each_sentence_apart_and_does_not_clip(
    session: str, memo: dict[str, Any]
) -> None:
    samples = _decoded(FOLDER / session / memo["file"])
    assert _phrases(samples) == len(memo["said"])
    assert 0.1 * 32768 < np.abs(samples).max() < 0.95 * 32768


@pytest.mark.parametrize("session", SESSIONS)
def test_what_is_expected_follows_what_is_said(session: str) -> None:
    said = [(memo["file"], words) for memo in _memos(session) for words in memo["said"]]
    assert [(line["file"], line["said"]) for line in _expected(session)] == said


@pytest.mark.parametrize("session", SESSIONS)
def test_memos_are_in_the_order_of_their_names_and_times(session: str) -> None:
    memos = _memos(session)
    assert [memo["file"] for memo in memos] == sorted(memo["file"] for memo in memos)
    assert [memo["at"] for memo in memos] == sorted(memo["at"] for memo in memos)
    on_disk = {path.name for path in (FOLDER / session).iterdir()}
    assert on_disk == {memo["file"] for memo in memos} | {"session.toml", "expected.jsonl"}


def _played(utterances: Callable[[str, str], Iterable[Transcript]]) -> list[dict[str, Any]]:
    """Return what comes of both sessions as one season, in the form of ``expected.jsonl``."""
    now = MEMOS[0][1]["at"]
    conversation = Conversation(Book.in_memory_copy(None), Interpreter(GRAMMAR), clock=lambda: now)
    came = []
    for session, memo in MEMOS:
        now = memo["at"]
        for heard in utterances(session, memo["file"]):
            answer = conversation.hear(heard, source="memo").as_json()
            came.append({"file": memo["file"], **{key: answer[key] for key in COMPARED}})
    return came


def _wanted() -> list[dict[str, Any]]:
    return [
        {"file": line["file"], **{key: line[key] for key in COMPARED}}
        for session in SESSIONS
        for line in _expected(session)
    ]


def test_the_words_typed_give_what_is_expected() -> None:
    """Without the hearing: a mishearing cannot hide a mistake in what is expected."""

    def say(session: str, name: str) -> Iterable[Transcript]:
        return [typed(line["said"]) for line in _expected(session) if line["file"] == name]

    assert _played(say) == _wanted()


@pytest.mark.long
def test_the_recordings_heard_give_what_is_expected(hearing_cache: Path) -> None:
    """The whole way, from sound to the book, with the listeners that hear by default."""
    recogniser = with_second(
        choose_recogniser(GRAMMAR, hearing_cache), LISTENER, GRAMMAR, live=False
    )

    def hear(session: str, name: str) -> Iterable[Transcript]:
        return hear_memo(FOLDER / session / name, recogniser)

    assert _played(hear) == _wanted()


def test_the_recordings_stay_small() -> None:
    assert sum(path.stat().st_size for path in FOLDER.rglob("*") if path.is_file()) < 3_000_000
