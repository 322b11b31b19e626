"""Order of vessels to boil. The growth law is published; the order by it is this house's choice."""

from __future__ import annotations

import pytest

from fieldvoice.rules.plan import Stored, boil_plan


def order(*vessels):
    return [(step.name, step.action) for step in boil_plan(vessels).steps]


@pytest.mark.outside(
    "boil-order", by="Olley and Ratkowsky 1973: hours left of two days at 38 °F, worked by hand"
)
@pytest.mark.parametrize(
    ("vessels", "expected"),
    [
        pytest.param(
            [Stored("a", 5), Stored("b", 30)], [("b", "boil"), ("a", "boil")], id="older-first"
        ),
        pytest.param(
            [Stored("a", 24, ((0, 35),)), Stored("b", 20, ((0, 45),))],
            [("b", "boil"), ("a", "boil")],
            id="warmer-though-younger",
        ),
        pytest.param(
            [Stored("a", 24), Stored("b", 24, sap="hazy")],
            [("b", "boil"), ("a", "boil")],
            id="hazy-before-clear",
        ),
        pytest.param(
            [Stored("a", 24), Stored("b", 6, sap="cloudy")],
            [("b", "boil apart"), ("a", "boil")],
            id="cloudy-at-once-and-apart",
        ),
        pytest.param(
            [Stored("a", 24), Stored("b", 6, sap="ropey")],
            [("b", "dump"), ("a", "boil")],
            id="ropey-is-dumped",
        ),
        pytest.param(
            [Stored("a", 24), Stored("b", 90, sap="buddy")],
            [("a", "boil"), ("b", "boil apart")],
            id="budding-last-and-apart",
        ),
        pytest.param(
            [Stored("a", 24), Stored("b", 200, ((0, 40),))],
            [("b", "dump"), ("a", "boil")],
            id="more-than-seven-days-at-38",
        ),
        pytest.param(
            [Stored("a", 60), Stored("b", 80)], [("b", "boil"), ("a", "boil")], id="both-overdue"
        ),
    ],
)
def test_order(vessels, expected):
    assert order(*vessels) == expected
    assert order(*reversed(vessels)) == expected


@pytest.mark.parametrize(
    ("vessels", "texts"),
    [
        ([], ["Nothing is stored."]),
        ([Stored("tank 1", 5)], ["Boil tank 1."]),
        (
            [Stored("tank 1", 5), Stored("tank 2", 30), Stored("tote 1", 12)],
            ["Boil tank 2 first, then tote 1, then tank 1."],
        ),
        (
            [Stored("tank 1", 5), Stored("tank 2", 5, sap="sour")],
            ["Boil tank 1.", "Don't boil tank 2: dump and wash."],
        ),
        ([Stored("tank 2", 5, sap="sour")], ["Don't boil tank 2: dump and wash."]),
    ],
)
def test_what_is_said(vessels, texts):
    assert [finding.text for finding in boil_plan(vessels).findings] == texts


def test_overdue_sap_is_urgent():
    assert boil_plan([Stored("tank 1", 70)]).findings[0].level == "care"
    assert boil_plan([Stored("tank 1", 7)]).findings[0].level == "note"


def test_hours_left_shrink_with_age_and_warmth():
    (cool,) = boil_plan([Stored("a", 12, ((0, 38),))]).steps
    (warm,) = boil_plan([Stored("a", 12, ((0, 50),))]).steps
    assert cool.hours_left == pytest.approx(36)
    assert warm.hours_left < cool.hours_left
