"""What sap looks like and what is done with it: common practice, and extension leaflets."""

from __future__ import annotations

from typing import get_args

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.sap import SAP_CONDITIONS, pour_check, sap_advice, sap_of_smell, worst_sap
from fieldvoice.schema.base import Sap

# sign -> action and how loudly it is said (condition table of the trade sheet)
ACTIONS = [
    ("clear", "keep", "note"),
    ("frozen", "leave", "note"),
    ("hazy", "boil first", "care"),
    ("yellow", "boil first", "care"),
    ("buddy", "boil apart", "stop"),
    ("cloudy", "boil now", "stop"),
    ("sour", "dump and wash", "stop"),
    ("ropey", "dump and wash", "stop"),
]


@pytest.mark.parametrize(("sap", "action", "level"), ACTIONS)
def test_action_and_level(sap, action, level):
    advice = sap_advice(sap)
    (finding,) = advice.findings
    assert (advice.sap, advice.action) == (sap, action)
    assert (finding.rule, finding.level) == (f"sap-{sap}", level)


def test_every_condition_that_can_be_said_has_advice():
    assert set(get_args(Sap)) == set(SAP_CONDITIONS) == {sap for sap, _, _ in ACTIONS}


def test_cloudy_in_a_bucket_is_kept_out_of_the_tank():
    assert sap_advice("cloudy").findings[0].text == "Keep it out of the tank."


def test_cloudy_in_a_vessel_is_boiled_by_itself():
    text = sap_advice("cloudy", where="vessel").findings[0].text
    assert text == "Boil it now, by itself, for dark syrup, or dump it."


@pytest.mark.parametrize("where", ["bucket", "vessel"])
@pytest.mark.parametrize("sap", SAP_CONDITIONS)
def test_advice_is_short_and_never_calls_sap_safe(sap, where):
    (finding,) = sap_advice(sap, where=where).findings
    assert len(finding.text.split()) <= 16
    assert "safe" not in finding.text + finding.why
    assert finding.source


@pytest.mark.parametrize(
    ("smell", "sap"),
    [
        ("like yeast", "sour"),
        ("vinegary", "sour"),
        ("off", "sour"),
        ("buddy", "buddy"),
        ("Cabbage", "buddy"),
        ("fine", None),
        ("", None),
        (None, None),
    ],
)
def test_smells(smell, sap):
    assert sap_of_smell(smell) == sap


def test_the_worse_of_look_and_smell_decides():
    assert sap_advice("clear", smell="sour").sap == "sour"
    assert sap_advice("ropey", smell="sour").sap == "ropey"
    assert sap_advice("cloudy", smell="fine").sap == "cloudy"


@pytest.mark.parametrize(
    ("conditions", "worst"),
    [
        ([None, None], None),
        ([], None),
        (["clear", None], "clear"),
        (["clear", None, "cloudy", "hazy"], "cloudy"),
        (["ropey", "yellow"], "ropey"),
        (["frozen", "hazy"], "hazy"),
    ],
)
def test_worst_of_several(conditions, worst):
    """Cloudy, ropey and sour above all: spoiled sap spoils what it is mixed with
    (common practice); the order between them is this project's choice."""
    assert worst_sap(conditions) == worst


def test_unknown_condition_lists_the_known():
    with pytest.raises(RangeError, match="clear, frozen, hazy"):
        sap_advice("purple")


def test_nothing_known_is_no_question():
    with pytest.raises(ValueError, match="condition or a telling smell"):
        sap_advice(smell="fine")


@pytest.mark.parametrize(
    ("sap", "vessel_sap", "empty", "warns"),
    [
        ("cloudy", "clear", False, True),
        ("ropey", None, False, True),
        ("buddy", "hazy", False, True),
        ("cloudy", "cloudy", False, False),
        ("cloudy", None, True, False),
        ("clear", "cloudy", False, False),
        (None, "clear", False, False),
    ],
)
def test_bad_sap_poured_into_good(sap, vessel_sap, empty, warns):
    rules = [f.rule for f in pour_check(sap, vessel_sap, vessel_is_empty=empty).findings]
    assert rules == (["sap-mixed"] if warns else [])
