"""Containers, against the food-grade and lead lists of Ontario and the Canadian agency."""

from __future__ import annotations

import pytest

from fieldvoice.rules.containers import container_advice


@pytest.mark.outside(
    "container-fit",
    "container-unknown",
    "container-galvanized",
    "container-lead",
    "container-solder",
    "container-plastic",
    "container-not-food",
    "container-rust",
    "container-heated",
    "container-history",
    by="Ontario's lists: food grade, not food grade, lead sources; practice on plastic",
)
@pytest.mark.parametrize(
    ("said", "verdict", "rule"),
    [
        # Ontario's food-grade list.
        ({"material": "stainless"}, "use", "container-fit"),
        ({"material": "stainless steel"}, "use", "container-fit"),
        ({"material": "glass"}, "use", "container-fit"),
        ({"material": "aluminum"}, "use", "container-fit"),
        ({"material": "lead-free stainless"}, "use", "container-fit"),
        # Its list of what is not food grade.
        ({"material": "copper"}, "do not use", "container-not-food"),
        ({"material": "mild steel"}, "do not use", "container-not-food"),
        ({"material": "wood"}, "do not use", "container-not-food"),
        ({"material": "tin"}, "do not use", "container-not-food"),
        # Lead sources: Ontario ministry and Canadian Food Inspection Agency.
        ({"material": "brass"}, "do not use", "container-lead"),
        ({"item": "bronze gear pump"}, "do not use", "container-lead"),
        ({"material": "lead solder"}, "do not use", "container-lead"),
        ({"item": "old milk can"}, "do not use", "container-lead"),
        ({"material": "galvanized"}, "ask", "container-galvanized"),
        ({"material": "galvanized", "made_year": 1990}, "do not use", "container-galvanized"),
        ({"material": "galvanized", "made_year": 2005}, "ask", "container-galvanized"),
        ({"material": "galvanized", "solder": True}, "do not use", "container-solder"),
        ({"material": "stainless", "solder": True}, "do not use", "container-solder"),
        (
            {"material": "stainless", "solder": True, "made_year": 2010},
            "ask",
            "container-solder",
        ),
        # Common practice: only a food mark proves plastic; chemicals stay in the walls.
        ({"material": "plastic"}, "ask", "container-plastic"),
        ({"material": "plastic", "food_grade": True}, "use", "container-plastic"),
        ({"material": "plastic", "food_grade": False}, "do not use", "container-plastic"),
        ({"item": "plastic soap pail"}, "do not use", "container-history"),
        ({"item": "paint bucket"}, "do not use", "container-history"),
        ({"material": "stainless", "rust": True}, "ask", "container-rust"),
        ({"material": "stainless", "food_grade": False}, "do not use", "container-not-food"),
        # Ontario: galvanized is not food grade, and food-grade plastic is not for pans.
        ({"item": "pan", "material": "galvanized"}, "do not use", "container-heated"),
        (
            {"item": "bucket", "material": "galvanized", "heated": True},
            "do not use",
            "container-heated",
        ),
        ({"item": "pot", "material": "plastic"}, "do not use", "container-heated"),
        ({"material": "copper", "heated": True}, "do not use", "container-not-food"),
        ({"item": "pan", "material": "aluminum"}, "ask", "container-heated"),
        ({"item": "pan", "material": "stainless"}, "use", "container-fit"),
        # Ontario and the Canadian agency: solder of before 1995 or of unknown age, stainless too.
        ({"item": "pan", "material": "soldered"}, "do not use", "container-solder"),
        ({"item": "soldered bucket", "rust": True}, "do not use", "container-solder"),
        ({"item": "pan", "material": "lead-free soldered stainless"}, "use", "container-fit"),
        # Nothing known.
        ({}, "ask", "container-unknown"),
        ({"item": "barrel"}, "ask", "container-unknown"),
        ({"item": "barrel", "food_grade": True}, "use", "container-fit"),
        ({"item": "barrel", "food_grade": False}, "do not use", "container-not-food"),
    ],
)
def test_verdict_and_the_rule_that_decides(said, verdict, rule):
    advice = container_advice(**said)
    assert advice.verdict == verdict
    assert advice.findings[0].rule == rule


@pytest.mark.parametrize(
    ("said", "question"),
    [
        ({}, "What is it made of?"),
        ({"material": "plastic"}, "Is it marked for food?"),
        ({"material": "plastic", "food_grade": True}, None),
        (
            {"material": "galvanized"},
            "Was it made before 1994, or are the seams soldered?",
        ),
        ({"material": "galvanized", "made_year": 2005}, None),
        ({"material": "brass"}, None),
        ({"material": "stainless"}, None),
        ({"item": "barrel", "food_grade": True}, None),
    ],
)
def test_one_question_settles_an_open_verdict(said, question):
    assert container_advice(**said).question == question


def test_the_most_serious_word_comes_first():
    advice = container_advice("galvanized", rust=True, solder=True)
    assert [f.level for f in advice.findings] == ["stop", "care", "care"]


def test_both_lead_limits_and_the_test_are_told():
    """250 ppb: Vermont Maple Sugar Makers' Association; 0.5 ppm: the Canadian agency."""
    why = container_advice("stainless", solder=True).findings[0].why
    assert "250" in why
    assert "500" in why
    assert "swab" in why
