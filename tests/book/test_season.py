"""What notes add up to: trees, vessels, the walk. Tables of notes and what they make of a thing."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from fieldvoice.book import Entry, Parcel, Season, TapHole, TreeState
from fieldvoice.book.fold import fold
from fieldvoice.schema import Act, meaning_from

START = datetime(2026, 3, 14, 9, tzinfo=UTC)


def hour(number: int) -> datetime:
    return START + timedelta(hours=number)


def season(*notes: dict[str, Any], capacities: dict[str, float] | None = None) -> Season:
    """Return the season of notes taken one an hour, the first at hour 0."""
    entries = []
    for number, note in enumerate(notes):
        act = meaning_from(note)
        assert isinstance(act, Act)
        at = datetime.fromisoformat(act.at) if act.at else hour(number)
        entries.append(Entry(f"e{number + 1}", f"u{number + 1}", at, act))
    return fold(entries, capacities)


def inspect(tree: int | str = 12, **fields: Any) -> dict[str, Any]:
    return {"act": "inspect", "tree": tree, **fields}


def gather(volume_gal: float | None = None, **fields: Any) -> dict[str, Any]:
    return {"act": "gather", "vessel": "tank 1", "volume_gal": volume_gal, **fields}


def store(volume_gal: float | None = None, **fields: Any) -> dict[str, Any]:
    return {"act": "store", "vessel": "tank 1", "volume_gal": volume_gal, **fields}


def reading(**fields: Any) -> dict[str, Any]:
    return {"act": "reading", "vessel": "tank 1", **fields}


def boil(
    phase: str | None = None, volume_gal: float | None = None, **fields: Any
) -> dict[str, Any]:
    return {"act": "boil", "vessel": "tank 1", "phase": phase, "volume_gal": volume_gal, **fields}


DUMP = {"act": "dump", "vessel": "tank 1"}
LOOK = {"act": "inspect", "vessel": "tank 1"}


def test_no_notes_no_season():
    """An empty book is an empty season."""
    assert season() == Season()


class TestTree:
    def test_all_that_is_said_of_a_tree_comes_together(self):
        """Every field of the state, and the history with each note."""
        notes = (
            {"act": "measure", "tree": 12, "diameter_in": 19.5},
            {"act": "measure", "tree": 12, "species": "sugar maple"},
            {"act": "health", "tree": 12, "condition": "sound"},
            {
                "act": "tap",
                "tree": 12,
                "side": "south",
                "height_ft": 3.0,
                "depth_in": 1.5,
                "bit_in": 0.3125,
                "shavings": "white",
            },
            {"act": "sweetness", "tree": 12, "brix": 2.3},
            gather(1.5, tree=12),
            inspect(fill=0.9, sap="cloudy"),
        )
        assert season(*notes).trees == {
            12: TreeState(
                id=12,
                diameter_in=19.5,
                species="sugar maple",
                condition="sound",
                taps=(TapHole(hour(3), 1, "south", 3.0, 1.5, 0.3125, "white"),),
                fill=0.9,
                sap="cloudy",
                last_seen=hour(6),
                last_emptied=hour(5),
                gathered_gal=1.5,
                brix=2.3,
                has_bucket=True,
                history=tuple((hour(n), meaning_from(note)) for n, note in enumerate(notes)),
            )
        }

    @pytest.mark.parametrize(
        "emptying", [gather(2.0, tree=12), gather(tree=12), {"act": "dump", "tree": 12}]
    )
    def test_gathering_and_dumping_empty_the_bucket(self, emptying):
        """Full and cloudy before; empty and of no condition after, and when is known."""
        tree = season(inspect(fill=1.0, sap="cloudy"), emptying).trees[12]
        assert (tree.fill, tree.sap, tree.last_emptied) == (0.0, None, hour(1))

    def test_a_total_over_the_yard_is_no_trees(self):
        """Forty gallons in all: two of them are tree nine's, and no tree is credited or emptied."""
        whole = {"act": "gather", "all": True, "volume_gal": 40.0}
        told = season(inspect(fill=1.0), gather(2.0, tree=9), whole)
        assert sum(told.gathered_by_day.values()) == 40.0
        assert told.trees[12].fill == 1.0
        assert {tree.id: tree.gathered_gal for tree in told.trees.values()} == {12: 0.0, 9: 2.0}

    def test_taps_pulled_in_a_part_of_the_woods_are_its_trees(self):
        """The trees that are known to stand there have no taps any more, and no others."""
        tapped = {"act": "tap", "trees": [1, 2, 3]}
        there = {"act": "stand", "trees": [1, 2], "site": "hill"}
        told = season(tapped, there, {"act": "pull", "site": "hill"})
        assert {tree.id: tree.taps_in for tree in told.trees.values()} == {1: 0, 2: 0, 3: 1}

    def test_a_second_total_of_a_day_is_beside_the_first(self):
        """Twenty in the morning, fifteen more in the afternoon, of which one tree gave two."""
        whole = {"act": "gather", "all": True}
        told = season(
            {**whole, "volume_gal": 20.0}, gather(2.0, tree=9), {**whole, "volume_gal": 15.0}
        )
        assert sum(told.gathered_by_day.values()) == 35.0

    def test_a_total_poured_takes_along_what_was_told_apart(self):
        """Tree nine's two gallons went into the tank with the other thirty eight."""
        whole = {"act": "gather", "all": True, "volume_gal": 40.0, "vessel": "tank 1"}
        told = season(gather(2.0, tree=9), whole)
        assert told.vessels["tank 1"].volume_gal == 40.0
        assert told.carried is None or not told.carried.volume_gal

    def test_a_look_that_names_one_thing_leaves_the_other(self):
        """The condition seen in the morning holds when only the level is said at noon."""
        tree = season(inspect(fill=0.25, sap="hazy"), inspect(fill=0.75)).trees[12]
        assert (tree.fill, tree.sap) == (0.75, "hazy")

    def test_a_bucket_seen_empty_has_no_condition(self):
        """What was hazy in it is gone, whoever took it."""
        tree = season(inspect(fill=0.25, sap="hazy"), inspect(fill=0.0)).trees[12]
        assert (tree.fill, tree.sap, tree.last_emptied) == (0.0, None, None)

    def test_several_trees_in_one_note(self):
        """Each is seen and emptied; the volume is shared out evenly, named twice or not."""
        result = season(gather(6.0, trees=[10, 11, 12], tree=12))
        assert {name: tree.gathered_gal for name, tree in result.trees.items()} == {
            10: pytest.approx(2.0),
            11: pytest.approx(2.0),
            12: pytest.approx(2.0),
        }
        assert result.vessels["tank 1"].volume_gal == 6.0
        assert all(tree.last_emptied == hour(0) for tree in result.trees.values())

    def test_numbers_and_names_are_different_trees(self):
        """Tree 12 is not a tree that somebody called "12"."""
        assert list(season(inspect(12), inspect("12"), inspect("old tom")).trees) == [
            12,
            "12",
            "old tom",
        ]

    @pytest.mark.parametrize(
        ("pulls", "pulled", "taps_in"),
        [
            ([], False, 3),
            ([{"tree": 12, "count": 1}], False, 2),
            ([{"tree": 12, "count": 1}, {"tree": 12, "count": 2}], True, 0),
            ([{"tree": 12}], True, 0),
            ([{"tree": 12, "count": 9}], True, 0),
            ([{"all": True}], True, 0),
            ([{"tree": 13}], False, 3),
            ([{"site": "north bush"}], False, 3),
        ],
    )
    def test_pulled_when_none_is_left(self, pulls, pulled, taps_in):
        """Of three spiles set, by count, by tree and everywhere."""
        notes = [
            {"act": "tap", "tree": 12, "count": 2},
            {"act": "tap", "tree": 12},
            *({"act": "pull", **pull} for pull in pulls),
        ]
        tree = season(*notes).trees[12]
        assert (tree.pulled, tree.taps_in) == (pulled, taps_in)

    def test_tapped_again_after_pulling(self):
        """The old holes stay on record; one spile is in."""
        tap, pull = {"act": "tap", "tree": 12}, {"act": "pull", "tree": 12}
        tree = season(tap, pull, tap).trees[12]
        assert (tree.pulled, tree.taps_in, len(tree.taps)) == (False, 1, 2)

    def test_pulled_though_its_tapping_was_never_noted(self):
        """And tapping it afterwards puts one spile in."""
        tap, pull = {"act": "tap", "tree": 12}, {"act": "pull", "tree": 12}
        assert season(pull).trees[12].pulled
        tree = season(pull, tap).trees[12]
        assert (tree.pulled, tree.taps_in) == (False, 1)


class TestWalk:
    def test_the_order_of_the_last_round(self):
        """A round begun again goes the way of the one before, as far as it has come."""
        start = {"act": "round", "phase": "start"}
        first = [inspect(tree) for tree in (1, 2, 3, 4)]
        assert season(*first, start, inspect(1), inspect(2)).walk == (1, 2, 3, 4)
        assert season(*first, start, inspect(4), inspect(1)).walk == (4, 1, 2, 3)

    def test_a_list_of_trees_is_walked_in_its_order(self):
        """Trees ten to twelve, said at once."""
        assert season(gather(1.0, trees=[11, 10, 12])).walk == (11, 10, 12)

    def test_pulling_everywhere_is_no_visit(self):
        """It changes neither the walk nor when a tree was last seen."""
        result = season(inspect(1), inspect(2), {"act": "pull", "all": True})
        assert result.walk == (1, 2)
        assert result.trees[1].last_seen == hour(0)

    def test_a_remark_about_a_tree_is_a_visit(self):
        """Somebody stood there."""
        result = season(inspect(1), {"act": "remark", "tree": 2, "text": "split limb"})
        assert result.walk == (1, 2)


#: Notes about tank 1, and its level after them (US gallons; None is not known).
LEVELS = [
    ([LOOK], None),
    ([store(5.0)], 5.0),
    ([store(5.0), gather(2.5, tree=1)], 7.5),
    ([store(5.0), {"act": "store", "vessel": "tank 2", "volume_gal": 9.0}], 5.0),
    ([store(5.0), reading(temp_f=38.0)], 5.0),
    ([store(5.0), reading(volume_gal=8.0)], 8.0),
    ([store(5.0), reading(volume_gal=0.0)], 0.0),
    ([store(5.0), reading(fill=0.0)], 0.0),
    ([store(5.0), {**LOOK, "fill": 0.0}], 0.0),
    ([store(5.0), reading(fill=0.5)], 5.0),
    ([reading(fill=0.5)], None),
    ([reading(volume_gal=30.0), store(5.0)], 35.0),
    ([store()], None),
    ([store(5.0), gather(tree=1)], None),
    ([store(5.0), gather(tree=1), reading(volume_gal=9.0)], 9.0),
    ([store(5.0), gather(tree=1), store(1.0)], None),
    ([store(5.0), gather(tree=1), DUMP], 0.0),
    ([store(5.0), DUMP, store(1.0)], 1.0),
    ([store(0.0)], None),
    ([store(5.0), store(-2.0)], None),
    ([store(5.0), {"act": "clean", "vessel": "tank 1"}], 5.0),
    # Boiling.
    ([store(20.0), boil("start", 12.0)], 8.0),
    ([store(20.0), boil("start", 25.0)], 0.0),
    ([store(20.0), boil("start")], 0.0),
    ([store(20.0), boil("stop")], 0.0),
    ([store(20.0), boil("stop", 12.0)], 8.0),
    ([store(20.0), boil(None, 3.0), boil(None, 4.0)], 13.0),
    ([store(20.0), boil()], 0.0),
    ([store(20.0), boil("start"), boil("stop", 12.0)], 8.0),
    ([store(20.0), boil("start"), boil("stop", 12.0, vessel=None)], 8.0),
    ([store(20.0), boil("start"), boil("stop")], 0.0),
    ([store(20.0), boil("start", 12.0), boil("stop")], 8.0),
    ([store(20.0), boil("start", 12.0), boil("stop", 12.0)], 8.0),
    ([store(20.0), boil("start", 12.0), boil("stop", 15.0)], 5.0),
    ([store(20.0), boil("start", 5.0), boil(None, 5.0), boil("stop", 11.0)], 9.0),
    ([store(20.0), boil("start"), store(4.0), boil("stop")], 4.0),
    ([store(20.0), boil("start"), store(4.0), boil("stop", 12.0)], 12.0),
    ([store(20.0), boil("start", vessel=None)], 20.0),
    ([store(20.0), boil("stop", vessel=None)], 20.0),
    ([LOOK, boil("start", 5.0)], None),
    ([store(), boil("start", 5.0)], None),
    ([store(4.0), store(), boil("start", 9.0), reading(volume_gal=3.0)], 3.0),
]  # fmt: skip


@pytest.mark.parametrize(("notes", "level"), LEVELS)
def test_level_of_a_vessel(notes, level):
    """What went in, came out and was read, in order."""
    assert season(*notes).vessels["tank 1"].volume_gal == (
        None if level is None else pytest.approx(level, abs=1e-9)
    )


#: Notes about tank 1, its parcels as (hour, gallons, sap) and its worst condition.
PARCELS = [
    (
        [store(5.0, sap="clear"), store(3.0, sap="hazy")],
        [(0, 5.0, "clear"), (1, 3.0, "hazy")],
        "hazy",
    ),
    ([store(6.0), store(2.0), reading(volume_gal=4.0)], [(0, 3.0, None), (1, 1.0, None)], None),
    ([store(6.0), store(2.0), boil("start", 4.0)], [(0, 3.0, None), (1, 1.0, None)], None),
    ([store(6.0), DUMP, store(2.0)], [(2, 2.0, None)], None),
    ([store(6.0, sap="sour"), DUMP], [], None),
    ([reading(volume_gal=7.0, sap="hazy")], [(0, 7.0, "hazy")], "hazy"),
    ([reading(fill=0.5)], [(0, 0.0, None)], None),
    # The amount not said is what is read beyond the amounts said.
    ([store(6.0), store(), reading(volume_gal=8.0)], [(0, 6.0, None), (1, 2.0, None)], None),
    ([store(6.0), store(), reading(volume_gal=3.0)], [(0, 3.0, None), (1, 0.0, None)], None),
    # A look judges all that is in it; sap gets worse but never better, only ice melts.
    ([store(6.0, sap="clear"), {**LOOK, "sap": "cloudy"}], [(0, 6.0, "cloudy")], "cloudy"),
    ([store(6.0, sap="cloudy"), reading(sap="clear")], [(0, 6.0, "cloudy")], "cloudy"),
    ([store(6.0, sap="frozen"), reading(sap="clear")], [(0, 6.0, "clear")], "clear"),
    ([store(6.0, sap="hazy"), reading(sap="frozen")], [(0, 6.0, "hazy")], "hazy"),
    ([reading(sap="ropey")], [(0, 0.0, "ropey")], "ropey"),
    # What was seen in the bucket goes along into the tank.
    ([inspect(12, sap="cloudy"), gather(1.0, tree=12)], [(1, 1.0, "cloudy")], "cloudy"),
    ([inspect(12, sap="cloudy"), gather(1.0, tree=12, sap="hazy")], [(1, 1.0, "hazy")], "hazy"),
    (
        [inspect(12, sap="hazy"), inspect(13, sap="sour"), gather(1.0, trees=[12, 13])],
        [(2, 1.0, "sour")],
        "sour",
    ),
    # More taken than was ever said to be in it: the rest of it is the amount not said.
    (
        [store(4.0), store(), boil("start", 9.0), reading(volume_gal=3.0)],
        [(0, 0.0, None), (1, 3.0, None)],
        None,
    ),
    # A tenth and two tenths are three tenths, whatever binary fractions make of them.
    ([store(0.1), store(0.2), boil("start", 0.3)], [], None),
    # What comes back after a boil is as old as it was.
    ([store(6.0), boil("start"), boil("stop", 2.0)], [(0, 4.0, None)], None),
    (
        [store(6.0), boil("start", 3.0), store(1.0), boil("stop", 2.0)],
        [(0, 6.0 * 5 / 7, None), (2, 1.0 * 5 / 7, None)],
        None,
    ),
]  # fmt: skip


@pytest.mark.parametrize(("notes", "parcels", "sap"), PARCELS)
def test_parcels_in_a_vessel(notes, parcels, sap):
    """Each with its age and condition; oldest, newest and worst follow from them."""
    vessel = season(*notes).vessels["tank 1"]
    assert vessel.parcels == tuple(
        Parcel(hour(number), pytest.approx(gal), condition) for number, gal, condition in parcels
    )
    hours = [hour(number) for number, *_ in parcels]
    assert (vessel.oldest_at, vessel.newest_at) == (
        min(hours, default=None),
        max(hours, default=None),
    )
    assert vessel.sap == sap


@pytest.mark.parametrize(
    ("notes", "capacity", "fill", "level"),
    [
        ([reading(fill=0.5)], None, 0.5, None),
        ([reading(fill=0.5)], 40.0, 0.5, 20.0),
        ([store(10.0)], None, None, 10.0),
        ([store(10.0)], 40.0, 0.25, 10.0),
        ([store(50.0)], 40.0, 1.0, 50.0),
        ([reading(fill=0.5), store(10.0)], None, None, None),
        ([reading(fill=0.5), store(10.0)], 40.0, 0.75, 30.0),
        ([reading(fill=0.5), DUMP], None, 0.0, 0.0),
        ([reading(fill=0.5), boil("start", 10.0)], 40.0, 0.25, 10.0),
        ([reading(fill=0.5, volume_gal=18.0)], 40.0, 0.5, 18.0),
        ([store(10.0)], 0.0, None, 10.0),
    ],
)
def test_part_filled_and_capacity(notes, capacity, fill, level):
    """A part filled gives gallons only where the capacity is known; a stale one is dropped."""
    capacities = {} if capacity is None else {"tank 1": capacity}
    vessel = season(*notes, capacities=capacities).vessels["tank 1"]
    assert vessel.capacity_gal == capacity
    assert vessel.fill == pytest.approx(fill)
    assert vessel.volume_gal == pytest.approx(level)


def test_temperatures_sweetness_and_washing():
    """All temperatures stay in order; the sweetness goes with the sap; washing has its time."""
    notes = [
        reading(temp_f=36.0),
        reading(temp_f=41.5, volume_gal=5.0),
        {"act": "sweetness", "vessel": "tank 1", "brix": 2.4},
        {"act": "clean", "vessel": "tank 1"},
        {"act": "clean", "item": "strainer"},
    ]
    result = season(*notes)
    vessel = result.vessels["tank 1"]
    assert vessel.temps == ((hour(0), 36.0), (hour(1), 41.5))
    assert vessel.brix == 2.4
    assert vessel.cleaned_at == hour(3)
    assert result.cleaned == {"strainer": hour(4)}
    assert season(*notes, DUMP).vessels["tank 1"].brix is None


def test_weather_has_a_day_once():
    """Low and high may be said apart; a later word on the same day corrects an earlier."""
    result = season(
        {"act": "weather", "high_f": 48.0},
        {"act": "weather", "low_f": 25.0, "day": "2026-03-13"},
        {"act": "weather", "low_f": 28.0},
        {"act": "weather", "high_f": 50.0},
    )
    assert result.weather == (
        (date(2026, 3, 13), 25.0, None),
        (date(2026, 3, 14), 28.0, 50.0),
    )


def test_lists_of_what_was_done_keep_time_and_note():
    """Gathers, stores, boils, draws, packs, equipment and sweetness, each with its time."""
    notes = [
        gather(5.0, site="north bush"),
        store(5.0),
        boil("start"),
        {"act": "draw", "syrup_gal": 0.5, "temp_f": 219.0},
        {"act": "pack", "count": 3, "size": "pint"},
        {"act": "equipment", "item": "pan", "solder": True},
        {"act": "sweetness", "site": "north bush", "brix": 2.0},
    ]
    result = season(*notes)
    names = ("gathers", "stores", "boils", "draws", "packs", "equipment", "sweetness")
    for number, (name, note) in enumerate(zip(names, notes, strict=True)):
        assert getattr(result, name) == ((hour(number), meaning_from(note)),)


def test_notes_told_late_take_their_place_in_time():
    """Yesterday's pouring, told after today's level was read, does not raise the level."""
    late = {**store(10.0), "at": hour(-24).isoformat()}
    vessel = season(reading(volume_gal=12.0), late).vessels["tank 1"]
    assert vessel.volume_gal == 12.0
    assert vessel.oldest_at == hour(-24)
    tree = season(inspect(fill=0.5), {**inspect(fill=1.0), "at": hour(-2).isoformat()}).trees[12]
    assert (tree.fill, tree.last_seen) == (0.5, hour(0))


def test_a_telling_smell_counts_as_the_condition_of_the_sap():
    vessel = season(store(10.0), inspect(tree=None, vessel="tank 1", smell="sour")).vessels[
        "tank 1"
    ]
    assert vessel.sap == "sour"
    tree = season(inspect(sap="clear", smell="buddy")).trees[12]
    assert tree.sap == "buddy"
    assert season(inspect(sap="cloudy"), inspect(smell="fine")).trees[12].sap == "cloudy"
    into = season(inspect(smell="vinegar"), gather(2.0, tree=12)).vessels["tank 1"]
    assert into.sap == "sour"
