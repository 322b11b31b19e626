"""The boil day in conversation: what first, can it wait, what it takes, what came of it.

The numbers are those of trade facts' worked examples where one is named; the pan is 8 ft² at the
common gallon a square foot an hour unless the settings say otherwise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.dialogue import Settings
from fieldvoice.tts import default_voice

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.dialogue.conftest import Talk


def two_tanks(talk: Talk) -> None:
    """Thirty gallons of yesterday in tank 1, twenty five of today in tank 2; it is 9:10."""
    talk.wait(days=-1)
    talk.say("poured thirty gallons into tank one", "tank one is at thirty eight degrees")
    talk.wait(days=1)
    talk.say("poured twenty five gallons into tank two", "tank two is at thirty eight degrees")


def test_the_plan_says_what_first_why_and_how_long(talk: Talk) -> None:
    """55 gal leave 53.7 gal of water at 2 %: 6.7 h and 0.4 to light it, from 9:10 to 16:20.

    Tank 1 keeps till Saturday 9:10; 46 minutes of its 3.66 h fit in before, 2.9 h on Friday.
    """
    two_tanks(talk)
    told = talk.say("what should i boil today").text
    assert told == (
        "Boil tank 1 first today: light the fire by 5:40 pm. It all fits: 7 hours, done by 4:20 pm,"
        " about 1.3 gal of syrup. Tank 2 can wait till tomorrow 6:10 pm. Tank 1 is 24 hours old, "
        "38 °F, 30 gal. Outdoors or a vented sugarhouse, never in a garage; CO alarm on. Don't "
        "leave the pan."
    )


def test_the_rest_is_told_on_request(talk: Talk) -> None:
    """When each comes on, where to draw, the jars and the wood."""
    two_tanks(talk)
    told = talk.say("and then what").text
    assert told.startswith("Begun now: tank 1 9:30 am, then tank 2 1:10 pm. Draw at 219.1 °F.")
    assert "10 pints or 5 quarts" in told
    assert "1 to 2 wheelbarrows of split wood" in told


def test_hours_one_has(talk: Talk) -> None:
    """Till noon are 2.8 h, 2.4 at the boil: 19.5 gal of water, so that about 20 of 55 gal go."""
    two_tanks(talk)
    told = talk.say("i have got till noon").text
    assert "About 20 gal of 55 gal fit before noon; the rest of tank 1 will be late." in told


def test_no_time_at_all(talk: Talk) -> None:
    """An hour leaves 0.6 h at the boil: five gallons do not cover the pan."""
    two_tanks(talk)
    told = talk.say("i have an hour").text
    assert "There's no time for a boil before 10:10 am" in told


def test_too_little_waits(talk: Talk) -> None:
    """Eight square feet two inches deep are ten gallons (231 cubic inches each)."""
    talk.say("poured five gallons into tank one")
    told = talk.say("what should i boil today").text
    assert told.startswith(
        "Tank 1 can wait: 5 gal is too little for a fire. "
        "Wait for 5 gal more, till tomorrow 7:50 pm at the latest."
    )


@pytest.mark.parametrize(
    ("question", "answer"),
    [
        # The last hours are the plan's own: tank 1 by 5:40 pm today, tank 2 tomorrow by 6:10 pm.
        ("can i wait till tonight", "No, not till 7:00 pm: for tank 1 light the fire by 5:40 pm."),
        ("can i wait till four", "Yes, till 4:00 pm: light the fire by 5:40 pm."),
        ("can i wait till tomorrow", "No, not till tomorrow 8:00 am: for tank 1 light the fire by"),
        ("can tank two wait till tomorrow", "Yes, till tomorrow 8:00 am: light the fire by"),
        ("can i wait till monday", "No, not till Monday 8:00 am: for tank 1 and tank 2 light"),
        ("can i hold it over till saturday", "No, not till tomorrow 8:00 am: for tank 1"),
    ],
)
def test_waiting(talk: Talk, question: str, answer: str) -> None:
    """5 March 2027 is a Friday, so that Saturday is tomorrow."""
    two_tanks(talk)
    assert talk.say(question).text.startswith(answer)


def test_gathered_sap_is_asked_about_and_the_answer_places_it(talk: Talk) -> None:
    """The tank named is noted as poured into; the plan then speaks of that tank."""
    talk.say(
        "gathered eight gallons from the south side", "gathered six gallons from the north side"
    )
    asked = talk.say("what should i boil today")
    assert asked.text.endswith("Which tank is the gathered sap in?")
    assert talk.say("barrel two").text == "Barrel 2: 14 gal in."
    told = talk.say("what should i boil today")
    assert told.text.startswith("Barrel 2 can wait")
    assert [one["vessel"] for one in told.as_json()["plan"]] == ["barrel 2"]


def test_gathered_sap_of_days_is_placed_as_old_as_it_is(talk: Talk) -> None:
    """A pail yesterday and one today, both asked for; the tank then holds sap of yesterday."""
    talk.say("gathered eight gallons from the south side")
    talk.wait(hours=26)
    talk.say("gathered six gallons from the north side")
    before = talk.say("what should i boil today").as_json()["plan"]
    assert (before[0]["volume_gal"], before[0]["age_h"]) == (14, 26)
    talk.say("tank one")
    (after,) = talk.say("what should i boil today").as_json()["plan"]
    assert after == {**before[0], "vessel": "tank 1"}
    assert "never" not in talk.say("where did the sap go").text


def test_sap_in_the_pan_since_morning(talk: Talk) -> None:
    """Poured in without a fire it waits in the pan, like any sap; once lit it is on the fire."""
    talk.say("added twenty gallons to the pan", "the first one")
    talk.wait(hours=5)
    told = talk.say("what should i boil today")
    assert told.text.startswith("The sap in the pan can wait: light the fire by tomorrow")
    assert told.as_json()["plan"][0]["age_h"] == 5
    talk.say("lit the fire")
    # 19.5 gal of water are 2.4 h, and 0.4 to get it rolling: from 14:10 to 17:00.
    told = talk.say("what should i boil today")
    assert told.text == "All the sap is on the fire: 20 gal, done about 5:00 pm."
    assert told.as_json()["plan"] == []


def test_a_level_read_of_the_pan_is_on_the_fire_once_it_is_lit(talk: Talk) -> None:
    """Ten gallons stand in the pan: in the plan until the fire is lit, then in the boil."""
    talk.say("there is ten gallons of sap in the pan")
    assert [one["vessel"] for one in talk.say("what is due").as_json()["plan"]] == ["pan"]
    talk.say("lit the fire")
    assert talk.say("what is due").as_json()["plan"] == []
    talk.wait(hours=2)
    talk.say("stopped boiling")
    assert talk.say("how did the boil go").text.startswith(
        "Boil 1, March 5, 9:10 am to 11:10 am: 10 gal of sap;"
    )


def test_a_fire_that_burns_takes_the_next_tank(talk: Talk) -> None:
    """Two days later tank two is due: it goes on today's fire, after what is on it."""
    talk.say("poured twenty gallons into tank two", "tank two is at thirty eight degrees")
    talk.wait(days=1)
    talk.say("poured ten gallons into tank one", "boiling tank one")
    told = talk.say("what should i boil today").text
    assert told.startswith("Put tank 2 on next: the fire is burning.")
    # Tank one's 9.8 gal of water keep the pan till 10:50, tank two's 19.5 till 13:20.
    assert "done by 1:10 pm" in told or "done by 1:20 pm" in told


def test_a_warm_day_half_told(talk: Talk) -> None:
    """A high of sixty alone is a warm day all the same: sap keeps less long."""
    talk.say("poured twenty gallons into tank one", "tank one is at thirty four degrees")
    before = talk.say("what should i boil today").as_json()["plan"][0]["by"]
    talk.say("high of sixty tomorrow")
    assert talk.say("what should i boil today").as_json()["plan"][0]["by"] < before


def test_more_than_half_a_days_work(talk: Talk) -> None:
    """65 gal are 7.9 h: not to be put off, and no answer says that it can wait."""
    talk.say("poured forty gallons into tank one", "poured twenty five gallons into tank two")
    told = talk.say("what should i boil today").text
    assert told.startswith("Boil tank 1 first today, there's a lot to boil: light the fire by")
    assert talk.say("can it wait").text.startswith("Better not")


def test_when_to_start_at_the_latest(talk: Talk) -> None:
    """Before tomorrow morning there is the evening till nine: tank 1's 3.7 h and lighting."""
    two_tanks(talk)
    told = talk.say("when must i start").text
    assert told.startswith("By 5:40 pm at the latest; sooner is better.")


def test_warned_before_good_sap_is_spoilt(talk: Talk) -> None:
    """Asked before it is poured, and again when it is said to be; no saves nothing."""
    talk.say("poured twenty gallons of clear sap into tank one")
    talk.say("poured five gallons of cloudy sap into tank two")
    assert talk.say("can i pour tank two into tank one").text.startswith("No. Tank 2 is cloudy")
    asked = talk.say("pour tank two into tank one")
    assert asked.outcome == "asked"
    assert "would turn all of tank 1" in asked.text
    talk.say("no")
    assert talk.say("how full is tank one").text == "Tank 1: 20 gal."


def test_more_than_there_is_and_more_than_there_is_room_for(talk: Talk) -> None:
    """Both are asked about; a yes saves them."""
    talk.say("tank one can hold fifty gallons", "poured forty gallons into tank one")
    assert talk.say("poured fifteen gallons into tank one").outcome == "asked"
    talk.say("no")
    talk.say("poured ten gallons into tank two")
    asked = talk.say("moved fifteen gallons from tank two into tank three")
    assert asked.text == "The book has 10 gal in tank 2. Take 15 gal: yes or no?"
    assert talk.say("yes").outcome == "saved"
    assert talk.say("how full is tank three").text == "Tank 3: 15 gal."


def test_a_level_read_shows_the_difference(talk: Talk) -> None:
    """By the notes 31 gallons, by the stick 25."""
    talk.say("poured thirty one gallons into tank one")
    assert (
        talk.say("tank one has twenty five gallons in it").text
        == "Tank 1: 25 gal. The book had 31 gal."
    )
    assert talk.say("tank one is at eleven inches").text.endswith(
        "Tell me what tank 1 holds and how deep it is, to make gallons of that."
    )


def test_mixing_as_trade_facts_work_it(talk: Talk) -> None:
    """YLD-07: 10 gal at 2.0 and 15 at 2.6 are 2.36 Brix."""
    talk.say("poured ten gallons into tank one", "tank one tests two percent")
    talk.say("poured fifteen gallons into tank two", "tank two tests two point six percent")
    assert "2.36 % sugar" in talk.say("can i pour tank two into tank one").text
    talk.say("pour tank two into tank one")
    # 25 gal of 2.36 % are 25 / 36.7 gal of syrup.
    assert "0.68 gal" in talk.say("how much syrup will tank one make").text


def test_yield_hours_and_fuel_as_trade_facts_work_them(
    talk_with: Callable[..., Talk],
) -> None:
    """EVP-01: 30 gal of 2 % on 6 ft² make 0.69 gal in 4.9 h; 22 gal of syrup a cord: 0.031 cord,
    4 cubic feet: what a wheelbarrow holds."""
    talk = talk_with(Settings(pan_ft2=6))
    talk.say("poured thirty gallons into tank one", "tank one tests two percent")
    assert "0.69 gal" in talk.say("how much syrup will tank one make").text
    assert talk.say("how long to boil tank one").text.startswith("About 5 hours at the boil.")
    assert "a wheelbarrow of split wood" in talk.say("how much wood to boil tank one").text


def test_ice_as_trade_facts_work_it(talk: Talk) -> None:
    """ICE-02: a quarter of 2.0 Brix thrown out as ice of 0.5 leaves 2.5."""
    talk.say("poured twenty gallons into tank one", "tank one tests two percent")
    talk.say("took five gallons of ice out of tank one")
    assert "From 2.5 % sugar" in talk.say("how much syrup will tank one make").text


class TestTheBoil:
    def boil(self, talk: Talk) -> None:
        talk.say("poured thirty gallons into tank one", "tank one tests two percent")
        talk.say("lit the arch", "boiling tank one")
        talk.wait(minutes=24)
        talk.say("the pan is rolling")
        talk.wait(hours=3)
        talk.say("drew off two and a half quarts at two nineteen")
        talk.wait(minutes=40)
        talk.say("stopped boiling", "burned a quarter of a cord")

    def test_expected_against_actual_and_the_rate_learnt(self, talk: Talk) -> None:
        """29.3 gal of water in 3 h 40 min at the boil are 8.0 gal an hour; 0.625 of 0.69 gal."""
        self.boil(talk)
        told = talk.say("how did the boil go").text
        assert told.startswith("Boil 1, March 5, 9:10 am to 1:10 pm: 30 gal from tank 1; 8 gal an")
        assert "90 % of 2.8 qt expected" in told
        assert talk.say("how fast does my pan boil").text == (
            "Your pan boils off 8 gal an hour, by your last boil."
        )

    def test_wood_by_ones_own_boils(self, talk: Talk) -> None:
        """A quarter cord for 30 gal is a third for 40."""
        self.boil(talk)
        assert talk.say("how much wood to boil forty gallons").text.startswith(
            "About 0.3 cords of wood for 40 gal of sap, by your own boils."
        )

    def test_fuel_for_a_few_gallons_is_told_of_sap_and_of_syrup(self, talk: Talk) -> None:
        """A gallon of syrup takes 9 to 15 gal of propane (handbook: propane-amount)."""
        told = talk.say("how much propane for a gallon").text
        assert told.startswith("About 0.3 gal of propane. That is for 1 gal of sap")
        assert told.endswith("For so much syrup: about 11 gal of propane.")

    def test_butter_is_asked_for_and_told_of(self, talk: Talk) -> None:
        talk.say("poured thirty gallons into tank one", "boiling tank one")
        assert talk.say("knocked the foam down").text == "What with?"
        assert "allergen" in talk.say("butter").text
        talk.say("drew off a quart")
        assert "milk" in talk.say("packed two pints at one eighty five").text
        assert "2 pints" in talk.say("which jars have butter in them").text

    def test_a_recall_names_the_lots(self, talk: Talk) -> None:
        """Sap of tank one went into the pints; of tank nine into nothing."""
        self.boil(talk)
        talk.say("packed five pints of amber at one eighty six", "sold two pints")
        told = talk.say("which jars have sap from tank one").text
        assert told == (
            "Lot 27064-1314: 5 pints of amber, sap of March 5. 2 of them have left the pantry."
        )
        assert talk.say("which jars have sap from tank nine").text.startswith("No lot")

    def test_stock_goes_down(self, talk: Talk) -> None:
        """Six pints, two sold and one eaten are three; more than there are is asked about."""
        talk.say("packed six pints of amber at one eighty five")
        assert talk.say("sold two pints of amber").text.endswith("4 pints left.")
        talk.say("ate a pint")
        assert talk.say("how much syrup do we have").text == "3 pints amber, 1.5 qt in all."
        assert talk.say("sold ten pints").outcome == "asked"

    def test_where_it_went(self, talk: Talk) -> None:
        """Every gallon that came in is somewhere."""
        self.boil(talk)
        talk.say("poured ten gallons into tank two", "dump tank two", "yes")
        assert talk.say("where did the sap go").text == (
            "Of 40 gal that came in: 30 gal boiled and 10 gal dumped."
        )

    def test_the_draw_goes_by_todays_water(self, talk: Talk) -> None:
        """Water at 210.5: 66 Brix boils 7.1 °F above (density chart's sheet)."""
        talk.say("water is boiling at two ten and a half")
        assert "217.6" in talk.say("what temperature do i draw off at").text
        assert talk.say("drew off a quart at two fourteen").findings[0].level == "care"


ASKED = [
    "what is due", "can it wait another day",
    "what should i boil today", "and then what", "i have got till noon", "i have two hours",
    "can i wait till monday", "when must i start", "how much wood do i need",
    "how many jars will i need", "how did the boil go", "how fast does my pan boil",
    "where did the sap go", "how much sap do i need to start", "how much syrup do we have",
    "can i pour tank two into tank one", "which lots are there", "how is the season going",
]  # fmt: skip


def test_every_answer_is_spoken_within_twenty_seconds(talk: Talk) -> None:
    """By the bundled voice, with six tanks, a cloudy and a sour one, and a run ahead."""
    voice = default_voice()
    for tank, sap in enumerate(["clear", "cloudy", "sour", "hazy", "frozen", "clear"], start=1):
        talk.say(f"poured 30 gallons of {sap} sap into tank {tank}")
        talk.wait(hours=5)
    talk.say("low of twenty five and high of forty four tomorrow")
    talk.say("packed six pints of amber at one eighty five")
    for question in ASKED:
        reply = talk.say(question)
        assert reply.outcome == "answered", question
        assert voice.render(reply.text).duration_s <= 20, reply.text


def test_what_a_tank_holds_is_its_size_while_nobody_knows_it(talk: Talk) -> None:
    """Said of a tank not known yet it is the size, and not asked; in use it is the level."""
    assert talk.say("tank one holds a hundred gallons").outcome == "saved"
    assert talk.notes == [{"act": "vessel", "vessel": "tank 1", "capacity_gal": 100.0}]
    assert talk.say("tank one holds forty gallons").outcome == "saved"
    assert talk.notes[-1] == {"act": "reading", "vessel": "tank 1", "volume_gal": 40.0}


def test_the_pan_is_taken_and_said_to_be_until_its_size_is_told(talk: Talk) -> None:
    """Three by five feet boil 15 gal an hour: 40 gal at 2 % take 2.6 h."""
    talk.say("poured forty gallons into tank one")
    assert (
        "I took 8 square feet of pan; tell me yours." in talk.say("what should i boil today").text
    )
    talk.say("we have a three by five pan")
    assert "tell me yours" not in talk.say("what should i boil today").text
    assert talk.say("how long will it take").text.startswith("About 2.5 hours at the boil.")


def test_sap_poured_counts_where_no_gathering_is_noted(talk: Talk) -> None:
    """It is told as what it is."""
    talk.say("poured forty gallons into tank two")
    assert talk.say("how much sap did we collect today").text == (
        "40 gal into tank 2; no gathering is noted."
    )
