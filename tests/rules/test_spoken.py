"""What is spoken: short, without false precision, and never calling anything safe."""

from __future__ import annotations

import re
from datetime import date

import pytest

from fieldvoice.rules import (
    JURISDICTIONS,
    SAP_CONDITIONS,
    SCHEDULES,
    Day,
    bud_outlook,
    container_advice,
    density_check,
    draw_check,
    draw_off,
    flow_outlook,
    growth_between,
    sap_advice,
    sap_sugar,
    storage_age,
    syrup_estimate,
    tap_limit,
    time_to_tap,
)
from fieldvoice.rules import sources as published
from fieldvoice.rules.adjusting import sap_needed, to_density
from fieldvoice.rules.boiling import boil_time
from fieldvoice.rules.cleaning import cleaning
from fieldvoice.rules.flavour import FAULTS, off_flavour
from fieldvoice.rules.fuel import FUELS, fuel_needed
from fieldvoice.rules.ice import ice_out
from fieldvoice.rules.packing import pack_check, weight_of
from fieldvoice.rules.products import PRODUCTS, product_target
from fieldvoice.rules.pulling import pull_advice
from fieldvoice.rules.registry import RULES
from fieldvoice.rules.season import time_to_stop
from fieldvoice.rules.species import SPECIES, species_advice
from fieldvoice.rules.supplies import supplies
from fieldvoice.rules.tapping_zone import tapping_zone

#: Odd values, so that a number passed on as it came shows all its figures.
ODD = (1.2345678, 2.3456789, 17.777777, 42.4242424)


def of_trees():
    """Yield findings on trees of odd sizes."""
    for size in (9.87654, 12.345678, 18.765432, 26.666667):
        for schedule in SCHEDULES:
            yield from tap_limit(size, schedule=schedule).findings
        yield from growth_between(size, size + 0.345678, 4.5).findings
        yield from tapping_zone(size, 2, 0.0654321).findings


def of_volumes():
    """Yield findings on odd volumes of sap, syrup and water."""
    for odd in ODD:
        yield from syrup_estimate(odd * 10, 2.2222222).findings
        yield from sap_needed(odd, 1.7654321).findings
        yield from boil_time(odd * 10, 2.3456789, 7.777777).findings
        yield from weight_of(odd).findings
        yield from cleaning(odd).findings
        yield from to_density(odd, 69.87654).findings
        yield from to_density(odd, 63.21234).findings
        for fuel in FUELS:
            yield from fuel_needed(odd * 10, 2.2, fuel).findings


def of_readings():
    """Yield findings on odd temperatures, pressures and readings."""
    for temp_f in (33.33333, 44.44444, 66.66666):
        yield from storage_age(51.23456, [(0, temp_f)]).findings
        yield from sap_sugar(2.123456, temp_f).findings
    for place in JURISDICTIONS:
        yield from draw_off(pressure_inhg=28.76543, jurisdiction_name=place).findings
        yield from draw_check(216.54321, 210.12345, jurisdiction_name=place).findings
        yield from density_check(59.98765, 193.4567, jurisdiction_name=place).findings
    for product in PRODUCTS:
        yield from product_target(product, 210.54321).findings


def of_names():
    """Yield findings on everything that goes by a name."""
    for name in SPECIES:
        yield from species_advice(name).findings
    for sap in SAP_CONDITIONS:
        for where in ("bucket", "vessel"):
            yield from sap_advice(sap, where=where).findings
    for fault in FAULTS.values():
        yield from off_flavour(fault.words[0]).findings


def of_the_rest():
    """Yield findings of the rules with one kind of answer."""
    yield from ice_out(2.2222222, 0.3456789).findings
    yield from pack_check(count=7, size="pint", temp_f=199.87654).findings
    yield from pull_advice(weeks_open=3.456789, share_of_neighbours=0.1234567).findings
    yield from time_to_stop(weeks_open=8.7654321).findings
    yield from flow_outlook([Day(24.56789, 42.34567)] * 3).findings
    yield from time_to_tap([Day(24.56789, 42.34567)], date(2027, 2, 20)).findings
    yield from bud_outlook([Day(40.1234, 66.789)] * 9, "red maple").findings
    yield from supplies(37).findings
    yield from container_advice("galvanized", rust=True, solder=True).findings


FINDINGS = tuple(
    dict.fromkeys(
        finding
        for kind in (of_trees, of_volumes, of_readings, of_names, of_the_rest)
        for finding in kind()
    )
)


def figures(number: str) -> int:
    """Return how many figures a number claims to know."""
    return len(number.replace(".", "").lstrip("0"))


def test_there_is_enough_to_judge():
    assert len({finding.rule for finding in FINDINGS}) >= 49
    assert {finding.rule for finding in FINDINGS} <= RULES.keys()


@pytest.mark.parametrize("finding", FINDINGS, ids=lambda one: one.rule)
def test_no_false_precision_is_spoken(finding):
    """At most three figures, and one decimal; boiling points near 200 °F have four."""
    for number in re.findall(r"(?<![\w-])\d+(?:\.\d+)?", finding.text):
        decimals = len(number.partition(".")[2])
        if finding.rule in ("tap-limit", "syrup-estimate", "jones-rule"):
            # Two decimals keep a trunk off a printed edge, and tell small volumes of syrup.
            assert decimals <= 2
            assert figures(number) <= 4
        else:
            assert decimals <= 1, finding.text
            assert figures(number) <= (4 if float(number) > 180 else 3), finding.text


@pytest.mark.parametrize("finding", FINDINGS, ids=lambda one: one.rule)
def test_what_is_spoken_is_short(finding):
    """One sentence or two, under ten seconds at two and a half words a second."""
    assert len(finding.text.split()) <= 25
    assert finding.text[-1] in ".?!"


@pytest.mark.parametrize("finding", FINDINGS, ids=lambda one: one.rule)
def test_nothing_is_ever_called_safe(finding):
    assert not re.search(r"\bsafe(ly)?\b", finding.text.lower())


@pytest.mark.parametrize("finding", FINDINGS, ids=lambda one: one.rule)
def test_a_reason_can_be_listened_to(finding):
    """Two or three sentences and the source in few words: under thirty seconds aloud."""
    source = published.spoken(finding.source)
    assert len(f"{finding.why} {source}".split()) <= 75


def test_every_source_has_a_name_for_the_ear():
    """Those of sources whose names are long; none longer than a dozen words."""
    named = {rule.source for rule in RULES.values()} | {one.source for one in SCHEDULES.values()}
    for source in named:
        assert source in published.SPOKEN, source
        assert len(published.spoken(source).split()) <= 12
