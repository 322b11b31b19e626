"""What a note about sap or syrup may hold at most: choices, held against the trade's figures."""

from __future__ import annotations

import pytest

from fieldvoice.rules.movements import (
    most_from_taps_gal,
    most_packed_gal,
    most_syrup_gal,
    usual_gal,
)


def test_a_good_day_is_never_doubted():
    """One to two gallons a tap are a good day, as the trade's leaflets have it."""
    assert most_from_taps_gal(1, 24) >= 2
    assert most_from_taps_gal(1, 30 * 365.25 * 24) > 0  # a clock that stood thirty years
    assert most_from_taps_gal(10, 24) == pytest.approx(10 * most_from_taps_gal(1, 24))


@pytest.mark.parametrize(("hours", "gal"), [(0, 0.25), (1, 0.75), (8, 4.25), (48, 8.25)])
def test_what_a_tap_gives_at_most(hours, gal):
    assert most_from_taps_gal(1, hours) == pytest.approx(gal)


@pytest.mark.parametrize(("sap_gal", "brix", "usual_gal_"), [(40, 2, 0.92), (100, 2.2, 2.54)])
def test_what_sap_makes_is_never_doubted(sap_gal, brix, usual_gal_):
    """Both by 86 divided by the sugar, less one in a hundred."""
    assert usual_gal_ < most_syrup_gal(sap_gal, brix, 66.0) < usual_gal_ * 1.35


def test_untested_sap_may_be_sweet():
    assert most_syrup_gal(40, None, 66.0) > most_syrup_gal(40, 2, 66.0)


def test_jars_may_run_over_a_little():
    assert most_packed_gal(2) == pytest.approx(2.2)


def test_a_tank_has_no_usual_size():
    assert usual_gal("tank") is None
    assert usual_gal("barrel") == 55
