"""Packing, against the Ontario ministry's hot-pack advice and arithmetic of volumes."""

from __future__ import annotations

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.packing import (
    COLDEST_AT_CAP_F,
    FILL_F,
    container_gal,
    containers_from,
    net_weight_lb,
    pack_check,
    shrink_share,
)


def test_eighty_two_degrees_celsius_is_just_too_cool():
    """PAC-01: 82.0 °C is 179.6 °F, and the line is 180."""
    assert COLDEST_AT_CAP_F == 180
    assert pack_check(temp_f=82.0 * 1.8 + 32).findings[0].rule == "pack-cool"


def test_fill_temperature_is_85_celsius():
    """PAC-02. Ontario ministry, Preventing mould in packed maple syrup, 2014: 85 °C."""
    assert pytest.approx(85 * 1.8 + 32) == FILL_F


@pytest.mark.outside(
    "pack-cool",
    "pack-hot",
    "pack-turn",
    by="Ontario 2014: 85 °C fill, 180 °F at the cap, on the side; sand above 195",
)
@pytest.mark.parametrize(
    ("temp_f", "rules"),
    [
        pytest.param(178, [("pack-cool", "stop")], id="PAC-03"),
        pytest.param(200, [("pack-hot", "care"), ("pack-turn", "note")], id="PAC-04"),
        pytest.param(185, [("pack-turn", "note")], id="right"),
        pytest.param(180, [("pack-turn", "note")], id="just-hot-enough"),
        pytest.param(195, [("pack-turn", "note")], id="just-not-too-hot"),
        pytest.param(None, [], id="not-said"),
    ],
)
def test_temperature_at_the_cap(temp_f, rules):
    assert [(f.rule, f.level) for f in pack_check(temp_f=temp_f).findings] == rules


@pytest.mark.outside("pack-count", by="exact definitions: 1 gal = 3.785411784 L = 4 qt = 8 pt")
@pytest.mark.parametrize(
    ("size", "gallons"),
    [
        # 1 gal = 4 qt = 8 pt = 3.785411784 l.
        ("half pint", 0.0625),
        ("pint", 0.125),
        ("pints", 0.125),
        ("quart", 0.25),
        ("half gallon", 0.5),
        ("half-gallon", 0.5),
        ("gallon", 1.0),
        ("1 litre", 0.264172),
        ("2 liters", 0.528344),
        ("250 ml", 0.0660430),
        ("500", 0.132086),
    ],
)
def test_sizes(size, gallons):
    assert container_gal(size) == pytest.approx(gallons, rel=1e-5)


@pytest.mark.parametrize("size", ["keg", "", "5 ml", "5 pounds"])
def test_unknown_size(size):
    with pytest.raises(RangeError, match=r"A size is|A container must be"):
        container_gal(size)


def test_count_and_size_give_volume_and_weight():
    """NBS C440 and the CRC table: a quart of 66 Brix weighs 2.76 lb."""
    packed = pack_check(count=6, size="quart")
    assert packed.volume_gal == 1.5
    assert packed.weight_lb == pytest.approx(6 * 2.76, abs=0.05)


def test_weight_of_five_gallons():
    """PAC-05."""
    assert net_weight_lb(5.0, 66.0) == pytest.approx(55.1, abs=0.1)


@pytest.mark.outside("pack-weight", by="NBS Circular C440 and the CRC table")
@pytest.mark.parametrize(
    ("size", "pounds"),
    [
        ("gallon", 11.03),
        ("half gallon", 5.51),
        ("quart", 2.76),
        ("pint", 1.38),
        ("half pint", 0.69),
    ],
)
def test_weights_of_containers(size, pounds):
    assert net_weight_lb(container_gal(size)) == pytest.approx(pounds, abs=0.006)


@pytest.mark.outside("pack-turn", by="density of syrup at 185 and 68 °F: 3.7 fl oz a gallon")
def test_shrink_of_a_gallon():
    """PAC-06: from 185 to 68 °F a gallon loses 3.7 fl oz."""
    assert 128 * shrink_share(185) == pytest.approx(3.7, abs=0.2)


@pytest.mark.outside("pack-count", by="a gallon is four quarts, eight pints")
@pytest.mark.parametrize(
    ("volume_gal", "size", "count", "text"),
    [
        (2.5, "pint", 20, "20 pints."),
        (0.3, "quart", 1, "1 quart."),
        (1.0, "500 ml", 7, "7 jars of 500 ml."),
        (0.0, "pint", 0, "0 pints."),
    ],
)
def test_containers_from_a_volume(volume_gal, size, count, text):
    filled = containers_from(volume_gal, size)
    assert (filled.count, filled.findings[0].text) == (count, text)
    assert count * container_gal(size) + filled.left_gal == pytest.approx(volume_gal)
