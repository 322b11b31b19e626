"""Jars traced: to the trees they come from, and to where they went."""

from __future__ import annotations

from tests.paper.conftest import SEASON, on


def ways(row):
    """What left a lot, in short."""
    return [(gone.count, gone.why, gone.to) for gone in row.gone]


def test_a_lot_knows_its_boil_its_trees_and_who_has_it(looked_back):
    """From the jar back to the trees."""
    with looked_back(*SEASON) as (sheet, _):
        pints, small = sheet.pantry.lots
    assert (pints.stood, pints.left, ways(pints)) == (3, 1, [(2, "given", "the neighbors")])
    assert pints.lot.trees == (1, 2, 3, 4)
    assert pints.lot.vessels == ("tank 1",)
    assert pints.boil is not None
    assert pints.boil.started_at == on(3, "boil")[0]
    assert (small.stood, small.left, ways(small)) == (1, 1, [])


def test_the_oldest_that_fit_go_first(looked_back):
    """Two lots of a size: the first is emptied before the second is begun."""
    notes = (
        on(0, "pack", count=3, size="pint", colour="golden"),
        on(1, "pack", count=4, size="pint", colour="amber"),
        on(2, "stock_out", count=2, size="pint", why="sold", price=20),
        on(3, "stock_out", count=3, size="pint", why="eaten"),
        on(4, "stock_out", count=1, size="pint", colour="amber", why="given", to="grandma"),
    )
    with looked_back(*notes) as (sheet, book):
        first, second = sheet.pantry.lots
        season = book.season()
    assert ways(first) == [(2, "sold", None), (1, "eaten", None)]
    assert ways(second) == [(2, "eaten", None), (1, "given", "grandma")]
    assert [row.left for row in sheet.pantry.lots] == [lot.left for lot in season.pantry]
    assert sheet.pantry.ways() == {"sold": 2, "given": 1, "eaten": 3}


def test_more_gone_than_was_packed_is_told(looked_back):
    """Nothing is taken from a lot that is not there; the rest is told apart."""
    notes = (
        on(0, "pack", count=2, size="pint"), on(1, "stock_out", count=5, size="pint", why="sold"),
    )  # fmt: skip
    with looked_back(*notes) as (sheet, _):
        assert sheet.pantry.lots[0].left == 0
        assert [one.count for one in sheet.pantry.unplaced] == [3]


def test_jars_of_an_earlier_season(looked_back):
    """They stand after the season's own, with those that were left, and are not counted as made."""
    notes = (
        on(-400, "pack", count=6, size="pint", colour="dark"),
        on(-399, "stock_out", count=2, size="pint", why="sold"),
        on(0, "pack", count=1, size="quart", colour="amber"),
        on(1, "stock_out", count=1, size="pint", why="eaten"),
    )
    with looked_back(*notes) as (sheet, _):
        own, old = sheet.pantry.lots
    assert sheet.pantry.filled == 1
    assert (own.lot.size, old.stood, old.left) == ("quart", 4, 3)
    assert sheet.pantry.gallons_by_colour() == {"amber": 0.25}
    assert sheet.sums.jars_left == 1
