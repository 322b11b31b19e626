"""Hearings weighed by a net as well: what is put in front, and by how much."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr.ctc import log_likelihoods
from fieldvoice.asr.ctc_net import CtcNet, read_ctc_net
from fieldvoice.asr.floor import with_floor
from fieldvoice.asr.front_end import bands, power_spectra
from fieldvoice.asr.lattice import Hearing
from fieldvoice.asr.model_files import CTC_NET, bundled_model
from fieldvoice.asr.rescoring import LEAST, WEIGHT, Rescorer

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fieldvoice.asr import Samples

TWELVE, TWENTY = "tree twelve bucket half full", "tree twenty bucket half full"


@pytest.fixture(scope="module")
def net() -> CtcNet:
    return read_ctc_net(CTC_NET)


@pytest.fixture(scope="module")
def rescorer(net: CtcNet) -> Rescorer:
    lines = bundled_model("cmudict-en-us.dict").read_text("utf-8").splitlines()
    known = dict(line.split(" ", 1) for line in lines)

    def pronounced(word: str) -> Iterator[list[str]]:
        yield known[word].split()

    return Rescorer(net.phones, pronounced)


def hearing(text: str, score: float) -> Hearing:
    words = tuple(text.split())
    return Hearing(words, tuple((at, at + 1) for at in range(len(words))), score)


@pytest.mark.parametrize(("said", "other"), [(TWELVE, TWENTY), (TWENTY, TWELVE)])
def test_what_was_said_comes_before_what_the_search_thought_a_little_likelier(
    rescorer: Rescorer, net: CtcNet, say: Callable[[str], Samples], said: str, other: str
) -> None:
    heard = net.hear(bands(power_spectra(with_floor(say(said)))))
    first = [hearing(other, -1000.0), hearing(said, -1010.0)]
    assert [one.hearing.text for one in rescorer.rescored(first, heard)] == [said, other]


def test_what_the_search_is_sure_of_stays(
    rescorer: Rescorer, net: CtcNet, say: Callable[[str], Samples]
) -> None:
    heard = net.hear(bands(power_spectra(with_floor(say(TWELVE)))))
    first = [hearing(TWENTY, -1000.0), hearing(TWELVE, -1000.0 + WEIGHT * LEAST)]
    assert [one.hearing.text for one in rescorer.rescored(first, heard)] == [TWENTY, TWELVE]


def test_both_scores_are_added_and_words_keep_their_places(
    rescorer: Rescorer, net: CtcNet, say: Callable[[str], Samples]
) -> None:
    heard = net.hear(bands(power_spectra(with_floor(say("tree")))))
    (one,) = rescorer.rescored([hearing("tree", -50.0)], heard)
    way = tuple(net.phones.index(phone) + 1 for phone in ("T", "R", "IY"))
    (log,) = log_likelihoods(heard.labels, [[(way,)]])
    assert one.hearing.score == pytest.approx(-50.0 + WEIGHT * log)
    assert one.hearing.spans == ((0, 1),)
    assert one.likely == pytest.approx(log / len(heard.labels))


def test_a_text_that_there_was_no_time_for_is_far_behind_but_stays_in_the_list(
    rescorer: Rescorer, net: CtcNet
) -> None:
    heard = net.hear(np.zeros((9, 40), np.float32))
    short, long = rescorer.rescored([hearing(TWELVE, 0.0), hearing("oh", -5.0)], heard)
    assert (short.hearing.text, long.hearing.text) == ("oh", TWELVE)
    assert long.hearing.score == WEIGHT * LEAST


def test_nothing_heard_stays_nothing(rescorer: Rescorer, net: CtcNet) -> None:
    assert rescorer.rescored([], net.hear(np.zeros((9, 40), np.float32))) == []
