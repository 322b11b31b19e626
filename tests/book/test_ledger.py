"""The sap ledger: whatever is moved about, volume, sugar and lots are neither made nor lost.

Mass balances are arithmetic; the numbers of single cases are worked by hand beside them.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.book import Entry, Season
from fieldvoice.book.fold import fold
from fieldvoice.book.lots import Lot, Mixture
from fieldvoice.rules.sugar import density_kg_m3
from fieldvoice.schema import Act, meaning_from

START = datetime(2027, 3, 5, 9, tzinfo=UTC)


def season(*notes: dict[str, Any], capacities: dict[str, float] | None = None) -> Season:
    """Return the season of notes taken one an hour, unless one says ``hours``."""
    entries = []
    for number, note in enumerate(notes):
        hours = note.get("hours", number)
        act = meaning_from({key: value for key, value in note.items() if key != "hours"})
        assert isinstance(act, Act)
        at = START + timedelta(hours=hours)
        entries.append(Entry(f"e{number + 1}", f"u{number + 1}", at, act))
    return fold(entries, capacities)


def gather(volume_gal: float, tree: int = 1, **fields: Any) -> dict[str, Any]:
    return {"act": "gather", "tree": tree, "volume_gal": volume_gal, **fields}


def store(vessel: str, volume_gal: float, **fields: Any) -> dict[str, Any]:
    return {"act": "store", "vessel": vessel, "volume_gal": volume_gal, **fields}


def transfer(vessel: str, into: str, **fields: Any) -> dict[str, Any]:
    return {"act": "transfer", "vessel": vessel, "into": into, **fields}


def sweet(vessel: str, brix: float) -> dict[str, Any]:
    return {"act": "sweetness", "vessel": vessel, "brix": brix}


class TestMoving:
    def test_a_part_moved_takes_of_every_lot(self):
        """10 gal of tree 1 and 30 of tree 2, half moved: 5 and 15 on either side."""
        result = season(
            gather(10, 1, vessel="tank 1"),
            gather(30, 2, vessel="tank 1"),
            transfer("tank 1", "tank 2", fill=0.5),
        )
        for name in ("tank 1", "tank 2"):
            lots = {parcel.trees: parcel.volume_gal for parcel in result.vessels[name].parcels}
            assert lots == {(1,): pytest.approx(5), (2,): pytest.approx(15)}

    def test_age_and_trees_go_along(self):
        """Poured from tank to tank, sap is as old as it was, and has been in both."""
        result = season(
            gather(10, 1, vessel="tank 1"), transfer("tank 1", "tank 2"), store("tank 2", 5)
        )
        tank = result.vessels["tank 2"]
        assert tank.oldest_at == START
        assert tank.parcels[0].through == ("tank 1", "tank 2")
        assert result.vessels["tank 1"].volume_gal == 0

    def test_cloudy_sap_taints_what_it_joins(self):
        """The vessel is as bad as the worst in it."""
        result = season(
            store("tank 1", 20, sap="clear"), store("tank 2", 5, sap="cloudy"),
            transfer("tank 2", "tank 1", volume_gal=1),
        )  # fmt: skip
        assert result.vessels["tank 1"].sap == "cloudy"
        assert result.vessels["tank 1"].volume_gal == pytest.approx(21)

    def test_what_two_tanks_mixed_test(self):
        """Trade facts, YLD-07: 10 gal at 2.0 and 15 at 2.6 are 2.36 Brix together."""
        result = season(
            store("tank 1", 10), sweet("tank 1", 2.0), store("tank 2", 15), sweet("tank 2", 2.6),
            transfer("tank 2", "tank 1"),
        )  # fmt: skip
        assert result.vessels["tank 1"].brix == pytest.approx(2.36, abs=0.01)

    def test_ice_out_leaves_sweeter_sap(self):
        """Trade facts, ICE-02: a quarter of 2.0 Brix out as ice of 0.5 leaves 2.5."""
        result = season(
            store("tank 1", 20), sweet("tank 1", 2.0),
            {"act": "ice_out", "vessel": "tank 1", "fill": 0.25},
        )  # fmt: skip
        assert result.vessels["tank 1"].volume_gal == pytest.approx(15)
        assert result.vessels["tank 1"].brix == pytest.approx(2.5, abs=0.02)

    def test_rain_thins(self):
        """20 gal at 2 % and 5 of rain are 25 at 1.6, all by weight nearly."""
        result = season(
            store("tank 1", 20), sweet("tank 1", 2.0),
            {"act": "rain_in", "vessel": "tank 1", "volume_gal": 5},
        )  # fmt: skip
        assert result.vessels["tank 1"].volume_gal == pytest.approx(25)
        assert result.vessels["tank 1"].brix == pytest.approx(1.6, abs=0.01)

    def test_a_reading_goes_with_the_sap_it_was_taken_of(self):
        """Tank 2's 41 °F is in the history of its sap also after it was poured into tank 1."""
        result = season(
            store("tank 2", 5), {"act": "reading", "vessel": "tank 2", "temp_f": 41},
            transfer("tank 2", "tank 1"), {"act": "reading", "vessel": "tank 1", "temp_f": 36},
        )  # fmt: skip
        (parcel,) = result.vessels["tank 1"].parcels
        assert [temp_f for _, temp_f in parcel.temps] == [41, 36]


class TestCarried:
    def test_a_pour_takes_what_was_gathered(self):
        """Two trees' gallons, poured: they are in the tank with their trees, and only once."""
        result = season(gather(2, 1), gather(3, 2), store("tank 1", 5))
        tank = result.vessels["tank 1"]
        assert tank.volume_gal == pytest.approx(5)
        assert tank.oldest_at == START
        assert {parcel.trees for parcel in tank.parcels} == {(1,), (2,)}
        assert result.carried is None

    def test_more_poured_than_gathered_is_sap_nobody_noted(self):
        """11 poured of 5 gathered: 6 came from elsewhere."""
        result = season(gather(5), store("tank 1", 11))
        assert result.vessels["tank 1"].volume_gal == pytest.approx(11)
        assert result.account.poured_gal == pytest.approx(6)

    def test_less_poured_than_gathered_leaves_the_rest_carried(self):
        result = season(gather(12), store("tank 1", 10))
        assert result.carried is not None
        assert result.carried.volume_gal == pytest.approx(2)

    def test_a_level_above_the_notes_is_what_was_carried(self):
        """10 in the tank, 8 gathered, level 18: clear without a word."""
        result = season(
            store("tank 1", 10), gather(8, 4),
            {"act": "reading", "vessel": "tank 1", "volume_gal": 18},
        )  # fmt: skip
        assert {parcel.trees for parcel in result.vessels["tank 1"].parcels} == {(), (4,)}
        assert result.vessels["tank 1"].adjusted_gal == 0
        assert result.carried is None

    def test_what_nobody_placed_is_lost_from_sight_the_next_day(self):
        """Two gallons gathered and two poured: yesterday's pail was not among them."""
        result = season(gather(5), gather(2, hours=24), store("tank 1", 2, hours=25))
        assert result.account.lost_gal == pytest.approx(5)
        assert result.account.poured_gal == 0

    def test_what_stood_over_night_is_poured_where_the_amount_says_so(self):
        """Five yesterday and two today, seven poured: all of it, as old as it is."""
        result = season(gather(5), gather(2, hours=24), store("tank 1", 7, hours=25))
        assert result.account.lost_gal == result.account.poured_gal == 0
        assert result.vessels["tank 1"].oldest_at == START

    def test_what_nobody_placed_is_carried_until_something_is_poured_or_boiled(self):
        """A pail a day and never a word of a tank: all of it stands somewhere, as old as it is."""
        pails = [gather(5), gather(2, hours=24), gather(3, hours=48)]
        carried = season(*pails).carried
        assert carried is not None
        assert carried.volume_gal == pytest.approx(10)
        assert carried.oldest_at == START
        lit = season(*pails, {"act": "boil", "phase": "start", "hours": 50})
        assert lit.carried is not None
        assert lit.carried.volume_gal == pytest.approx(3)


class TestPuttingRight:
    def test_a_level_read_below_the_notes(self):
        """31 by the notes, 25 by the stick: six less."""
        result = season(
            store("tank 1", 31), {"act": "reading", "vessel": "tank 1", "volume_gal": 25}
        )
        assert result.vessels["tank 1"].volume_gal == pytest.approx(25)
        assert result.vessels["tank 1"].adjusted_gal == pytest.approx(-6)

    def test_more_taken_than_there_was(self):
        """The tank had 12 by the notes; 20 were taken: it had held 20."""
        result = season(store("tank 1", 12), transfer("tank 1", "tank 2", volume_gal=20))
        assert result.vessels["tank 2"].volume_gal == pytest.approx(20)
        assert result.vessels["tank 1"].volume_gal == 0
        assert result.account.adjusted_gal == pytest.approx(8)

    @pytest.mark.parametrize(("depth_in", "gallons"), [(20, 25), (40, 50), (0, 0)])
    def test_inches_where_the_vessel_is_known(self, depth_in, gallons):
        """A tank of 50 gal, 40 in deep, holds a gallon and a quarter an inch."""
        result = season(
            {"act": "vessel", "vessel": "tank 1", "capacity_gal": 50, "depth_in": 40},
            store("tank 1", 3),
            {"act": "reading", "vessel": "tank 1", "depth_in": depth_in},
        )
        assert result.vessels["tank 1"].volume_gal == pytest.approx(gallons)


class TestPantry:
    NOTES = (
        gather(40, 7, vessel="tank 2"),
        {"act": "boil", "vessel": "tank 2", "phase": "start"},
        {"act": "defoam", "agent": "butter"},
        {"act": "draw", "syrup_gal": 1.0, "temp_f": 219},
        {"act": "boil", "phase": "stop"},
        {"act": "pack", "count": 6, "size": "pint", "colour": "amber", "temp_f": 185},
    )

    def test_a_lot_knows_its_trees_vessels_and_days(self):
        """For a recall; butter is milk on the label. 5 March is the 64th day of 2027."""
        (lot,) = season(*self.NOTES).pantry
        assert lot.code == "27064-1400"
        assert (lot.trees, lot.vessels, lot.agents) == ((7,), ("tank 2",), ("butter",))
        assert lot.gathered_from == lot.gathered_to == START.date()

    def test_what_leaves_is_of_the_oldest(self):
        """Six and four pints; seven sold leave none of the first and three of the second."""
        result = season(
            *self.NOTES, {"act": "pack", "count": 4, "size": "pint"},
            {"act": "stock_out", "count": 7, "size": "pint", "why": "sold"},
        )  # fmt: skip
        assert [lot.left for lot in result.pantry] == [0, 3]

    def test_the_boil_is_told(self):
        """40 gal from one o'clock (hour 1) to hour 4."""
        (boil,) = season(*self.NOTES).boilings
        assert boil.sap_gal == pytest.approx(40)
        assert boil.hours == pytest.approx(3)
        assert boil.syrup_gal == 1.0

    def test_a_new_year_is_a_new_season(self):
        """Vessels and jars stay; last year's sap, sums and spiles do not."""
        year = 365 * 24
        result = season(
            {"act": "tap", "tree": 7, "count": 2}, *self.NOTES, store("tank 1", 9),
            {"act": "measure", "tree": 7, "diameter_in": 20, "hours": year},
        )  # fmt: skip
        assert result.vessels["tank 1"].volume_gal == 0
        assert result.account.gathered_gal == 0
        assert result.trees[7].gathered_gal == 0
        assert result.trees[7].taps_in == 0
        assert len(result.trees[7].taps) == 1
        assert [lot.left for lot in result.pantry] == [6]
        assert result.boilings == ()

    def test_a_season_that_goes_on_over_new_year(self):
        """Sap and spiles of December are still there in January, those of March are not."""
        december, january = 271 * 24, 303 * 24
        notes = (
            {"act": "tap", "tree": 6}, store("tank 2", 5),
            {"act": "tap", "tree": 7, "count": 2, "hours": december},
            store("tank 1", 9, hours=december + 19 * 24),
        )  # fmt: skip
        looked_at = {"act": "measure", "tree": 7, "diameter_in": 20, "hours": january}
        for result in (season(*notes).at(2028), season(*notes, looked_at)):
            assert [result.vessels[name].volume_gal for name in ("tank 1", "tank 2")] == [9, 0]
            assert [result.trees[tree].taps_in for tree in (6, 7)] == [0, 2]
        account = season(*notes, looked_at).account
        assert account.poured_gal == account.held_gal == 9


# ---- balances over random histories ----------------------------------------------------------

VESSELS = ("tank 1", "tank 2", "tote 1")
GALLONS = st.one_of(st.sampled_from([0.1, 0.25, 1.0, 5.0]), st.floats(0.01, 300))
SHARE = st.floats(0.0, 1.0)
BRIX = st.floats(0.5, 8)
NOTE = st.one_of(
    st.builds(lambda v, t, into: gather(v, t, **({"vessel": into} if into else {})),
              GALLONS, st.integers(1, 9), st.sampled_from([*VESSELS, None])),
    st.builds(store, st.sampled_from(VESSELS), GALLONS),
    st.builds(lambda a, b, v: transfer(a, b, volume_gal=v),
              st.sampled_from(VESSELS), st.sampled_from([*VESSELS, "pan"]), GALLONS),
    st.builds(lambda a, b, s: transfer(a, b, fill=s),
              st.sampled_from(VESSELS), st.sampled_from(VESSELS), SHARE),
    st.builds(sweet, st.sampled_from(VESSELS), BRIX),
    st.builds(lambda n, v: {"act": "reading", "vessel": n, "volume_gal": v},
              st.sampled_from(VESSELS), st.one_of(st.just(0.0), GALLONS)),
    st.builds(lambda n, v: {"act": "ice_out", "vessel": n, "volume_gal": v},
              st.sampled_from(VESSELS), GALLONS),
    st.builds(lambda n, v: {"act": "rain_in", "vessel": n, "volume_gal": v},
              st.sampled_from(VESSELS), GALLONS),
    st.builds(lambda n: {"act": "dump", "vessel": n}, st.sampled_from(VESSELS)),
    st.builds(lambda n, p, v: {"act": "boil", "vessel": n, "phase": p, "volume_gal": v},
              st.sampled_from(VESSELS), st.sampled_from(["start", "stop", None]),
              st.one_of(st.none(), GALLONS)),
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.lists(NOTE, max_size=25))
def test_the_account_closes(notes):
    """What came in, and what levels read put right, is what is held, boiled, dumped or lost."""
    result = season(*notes)
    scale = 1 + result.account.gathered_gal + result.account.poured_gal
    assert abs(result.account.open_gal) <= 1e-9 * scale * (1 + len(notes))
    assert all(
        parcel.volume_gal >= 0 for vessel in result.vessels.values() for parcel in vessel.parcels
    )


@settings(max_examples=200, deadline=None)
@given(st.lists(NOTE, max_size=25))
def test_no_sap_is_younger_or_older_than_its_parts(notes):
    """Whatever moved: the ages in a vessel are ages at which something came in, never after now."""
    result = season(*notes)
    told = {START + timedelta(hours=number) for number in range(len(notes))}
    for vessel in result.vessels.values():
        ages = [parcel.at for parcel in vessel.parcels]
        assert set(ages) <= told
        if ages:
            assert (vessel.oldest_at, vessel.newest_at) == (min(ages), max(ages))


LOTS = st.lists(
    st.builds(lambda hour, gal, brix: Lot(START + timedelta(hours=hour), gal, None, brix, (hour,)),
              st.integers(0, 20), GALLONS, BRIX),
    min_size=1, max_size=8,
)  # fmt: skip


def _sugar(lots: list[Lot]) -> float:
    """Return the sugar in the lots, as the gallons of water that weigh as much."""
    return math.fsum(lot.volume_gal * density_kg_m3(lot.brix) * lot.brix / 100_000 for lot in lots)


@settings(max_examples=300, deadline=None)
@given(LOTS, st.lists(st.tuples(st.integers(0, 2), st.integers(0, 2), SHARE), max_size=12))
def test_moving_keeps_volume_sugar_and_lots(lots, moves):
    """Every gathering's gallons and the pounds of sugar are the same after any pouring about."""
    before = {lot.trees: 0.0 for lot in lots}
    for lot in lots:
        before[lot.trees] += lot.volume_gal
    sugar = _sugar(lots)
    vessels = [Mixture(), Mixture(), Mixture()]
    vessels[0].add(lots)
    for source, target, share in moves:
        if source != target:
            vessels[target].add(vessels[source].take(vessels[source].known_gal() * share))
    after = dict.fromkeys(before, 0.0)
    for vessel in vessels:
        for lot in vessel.lots:
            after[lot.trees] += lot.volume_gal
    assert after == {trees: pytest.approx(gal, rel=1e-9, abs=1e-5) for trees, gal in before.items()}
    everything = [lot for vessel in vessels for lot in vessel.lots]
    assert math.isclose(_sugar(everything), sugar, rel_tol=1e-9, abs_tol=1e-5)
