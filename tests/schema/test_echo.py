"""What a question is about, as it is told before an answer that was taken freely."""

from __future__ import annotations

from typing import Any

import pytest

from fieldvoice.nlg.written import told_text, written
from fieldvoice.schema import ASKS, Ask, meaning_from
from fieldvoice.segments import Sentence, Text

TOLD = [
    pytest.param({"ask": "hole_advice"}, "drilling", id="a subject alone"),
    pytest.param({"ask": "advice", "topic": "foam-over"}, "foam-over", id="advice has its topic"),
    pytest.param(
        {"ask": "can_wait", "vessel": "tank 2", "until": "2027-03-14"},
        "whether the sap can wait, tank 2, until Sunday",
        id="with what it names",
    ),
    pytest.param(
        {"ask": "can_wait", "until": "2027-03-14T18:00:00-05:00"},
        "whether the sap can wait, until 6:00 pm",
        id="an hour",
    ),
    pytest.param(
        {"ask": "container_advice", "item": "bucket", "heated": True},
        "what gear is fit for food, bucket, to boil in",
        id="what it is for",
    ),
    pytest.param(
        {"ask": "syrup_estimate", "volume_gal": 40.0, "brix": 2.2},
        "how much syrup it makes, 40 gal, 2.2 %",
        id="numbers with their units",
    ),
]


@pytest.mark.parametrize(("asked", "told"), TOLD)
def test_a_question_is_told_by_its_subject_and_what_it_names(
    asked: dict[str, Any], told: str
) -> None:
    ask = meaning_from(asked)
    assert isinstance(ask, Ask)
    assert told_text(ask.echo()) == told


@pytest.mark.parametrize("name", sorted(ASKS.keys() - {"advice"}))
def test_every_question_has_a_subject(name: str) -> None:
    assert told_text(ASKS[name]().echo()).strip()


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ("Five-sixteenths bit.", "About drilling: five-sixteenths bit."),
        ("I don't know tree 9.", "About drilling: I don't know tree 9."),
        ("I'm not told.", "About drilling: I'm not told."),
        ("A drop of it.", "About drilling: a drop of it."),
        ("Saturday, not before.", "About drilling: Saturday, not before."),
        ("185 °F.", "About drilling: 185 °F."),
    ],
)
def test_the_answer_goes_on_after_what_it_is_about(answer: str, told: str) -> None:
    sentence = Sentence("fact", (Text(answer),), about=(Text("drilling"),))
    assert written((sentence,)) == told
