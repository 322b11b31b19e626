"""What people do: they hesitate, begin again, think in the middle; and what is heard beside them.

Made of the package's voice and of noise made of random numbers (``models/noise.py``), since no
recording of people having such trouble may be kept here. Children and accents are untried.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE
from fieldvoice.asr.floor import active_power
from models import noise
from tests.asr.conftest import noted, silence

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Samples
    from fieldvoice.reply import Reply

    Said = Callable[..., Samples]

pytestmark = pytest.mark.long

NOTE = [{"act": "inspect", "tree": 12, "fill": 0.5}]
GATHERED = [{"act": "gather", "tree": 9, "volume_gal": 2.5}]
WARMED = [{"act": "reading", "vessel": "tank 1", "temp_f": 36.0}]


@pytest.fixture
def said(say: Callable[[str], Samples]) -> Said:
    """Returns words and pauses (in seconds), one after the other, over a faint hiss."""

    def made(*parts: str | float) -> Samples:
        sounds = [
            trimmed(say(part)) if isinstance(part, str) else silence(part) for part in (1.0, *parts)
        ]
        sound = np.concatenate([*sounds, silence(1.0)])
        hiss = np.random.default_rng(1).normal(0, 10, len(sound))
        return np.clip(sound + hiss, -32768, 32767).astype(np.int16)

    return made


def trimmed(sound: Samples) -> Samples:
    """Return ``sound`` without the silence around it, so that pauses are what they are."""
    loud = np.flatnonzero(np.abs(sound.astype(int)) > 300)
    return sound[loud[0] : loud[-1] + 1]


def over(sound: Samples, loud: np.ndarray, ratio_db: float, begin_s: float) -> Samples:
    """Return ``sound`` with noise (of mean power 1) from a place on, so far below the speech."""
    both = sound.astype(float)
    at = round(begin_s * SAMPLE_RATE)
    level = np.sqrt(active_power(sound) / 10 ** (ratio_db / 10))
    both[at : at + len(loud)] += level * loud[: len(both) - at]
    return np.clip(both, -32768, 32767).astype(np.int16)


@pytest.mark.parametrize(
    "parts",
    [
        ("uh", 0.3, "tree twelve bucket half full"),
        ("tree twelve", 0.4, "um", 0.4, "bucket half full"),
        ("tree twelve", 0.6, "bucket", 0.5, "half full"),
    ],
)
def test_a_hesitation_changes_nothing_of_a_note(
    said: Said, replies_to: Callable[..., list[Reply]], parts: tuple[str | float, ...]
) -> None:
    assert noted(replies_to(said(*parts))) == NOTE


def test_who_begins_again_is_not_noted_twice(
    said: Said, replies_to: Callable[..., list[Reply]]
) -> None:
    parts = ("tree nine", 0.3, "no tree twelve bucket half full")
    assert noted(replies_to(said(*parts))) in (NOTE, [])


@pytest.mark.parametrize(
    ("parts", "notes"),
    [
        (("collected two and a half", 1.2, "gallons from tree nine"), GATHERED),
        (("collected two and a half gallons from tree", 1.2, "nine"), GATHERED),
        (("tree forty", 1.2, "three is dry"), [{"act": "inspect", "tree": 43, "fill": 0.0}]),
        (("tank one is at thirty", 1.2, "six degrees"), WARMED),
    ],
)
def test_a_pause_before_what_is_owed_is_no_end(
    said: Said,
    replies_to: Callable[..., list[Reply]],
    parts: tuple[str | float, ...],
    notes: list[dict[str, object]],
) -> None:
    assert noted(replies_to(said(*parts))) == notes


@pytest.mark.parametrize(
    ("kind", "ratio_db", "lasts_s", "notes"),
    [
        (noise.wind, -5.0, 0.5, [NOTE]),
        (noise.wind, 0.0, 0.8, [NOTE, []]),
        (noise.engine, 5.0, 3.0, [NOTE, []]),
    ],
)
def test_noise_over_a_part_makes_no_other_note(
    said: Said,
    replies_to: Callable[..., list[Reply]],
    kind: Callable[[np.random.Generator, int], np.ndarray],
    ratio_db: float,
    lasts_s: float,
    notes: list[list[dict[str, object]]],
) -> None:
    """A gust in the first word, an engine that starts: the note, or where allowed none."""
    loud = kind(np.random.default_rng(5), round(lasts_s * SAMPLE_RATE))
    sound = over(said("tree twelve bucket half full"), loud, ratio_db, 0.9)
    assert noted(replies_to(sound)) in notes


def test_somebody_else_beside_makes_no_other_note(
    said: Said, say: Callable[[str], Samples], replies_to: Callable[..., list[Reply]]
) -> None:
    other = say("we should have had lunch an hour ago").astype(float)
    other /= np.sqrt(active_power(other.astype(np.int16)))
    sound = over(said("tree twelve bucket half full"), other, 10.0, 0.5)
    assert noted(replies_to(sound)) in (NOTE, [])


def test_a_knock_in_the_middle_makes_no_other_note(
    said: Said, replies_to: Callable[..., list[Reply]]
) -> None:
    """A bucket, a dog, a cough: short and loud."""
    chance = np.random.default_rng(3)
    bark = chance.normal(0, 1, SAMPLE_RATE // 6) * np.hanning(SAMPLE_RATE // 6)
    sound = over(said("tree twelve", 0.4, "bucket half full"), bark, -6.0, 1.95)
    assert noted(replies_to(sound)) in (NOTE, [])


@pytest.mark.parametrize(
    "text",
    [
        "my brother never calls his mother any more",
        "the parliament will vote on the committee's budget proposal",
        "nobody in the orchestra knew the conductor's favourite composer",
    ],
)
def test_small_talk_is_not_even_asked_about(
    said: Said, replies_to: Callable[..., list[Reply]], text: str
) -> None:
    """The first finds its own words in any talk; what was said, the second writes down."""
    assert {reply.outcome for reply in replies_to(said(text))} <= {"kept"}
