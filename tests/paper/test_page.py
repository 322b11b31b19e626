"""The season's page: whole, by itself, safe, and in agreement with itself whatever is missing."""

from __future__ import annotations

import re

import pytest

from fieldvoice.dialogue import Settings
from fieldvoice.paper.charts import flow_sides
from fieldvoice.paper.page import page
from tests.paper.conftest import FIRST, SEASON, on, read

NASTY = "<script>alert(1)</script><b x=\"1\" onload='x'>& ]]> --> </style>"


class TestWhole:
    def test_every_part_is_there(self, page_of):
        """A section for each thing that the book knows something of, and a way to it."""
        known = page_of(*SEASON, on(-400, "gather", tree=1, volume_gal=2))
        sections = {fields["id"] for tag, fields in known.elements if tag == "section"}
        assert sections == {"runs", "trees", "flow", "boils", "jars", "seasons", "trunks"}
        links = {fields["href"] for tag, fields in known.elements if tag == "a"}
        assert links == {f"#{name}" for name in sections}

    def test_it_needs_nothing_from_elsewhere(self, page_of):
        """No script, no font, no picture and no style sheet is fetched."""
        known = page_of(*SEASON)
        assert known.tags().isdisjoint({"script", "link", "img", "iframe", "object", "base"})
        for tag, fields in known.elements:
            for name, value in fields.items():
                assert name not in ("src", "srcset", "action"), tag
                assert not name.startswith("on"), tag
                if "href" in name:
                    assert value.startswith("#")

    def test_every_picture_has_words_and_a_table(self, page_of):
        """Whoever does not see a picture hears what it shows, and may read its figures."""
        known = page_of(*SEASON)
        pictures = [fields for tag, fields in known.elements if tag == "svg"]
        assert pictures
        assert all(fields["role"] == "img" and fields["aria-label"] for fields in pictures)
        figures = sum(tag == "figure" for tag, _ in known.elements)
        trunks = sum(fields.get("id") == "trunks" for _, fields in known.elements)
        assert sum(tag == "caption" for tag, _ in known.elements) == figures + trunks

    def test_it_tells_the_season_in_a_paragraph(self, page_of):
        """Sap, days, sugar against syrup, wood, jars and nights, as they follow from the notes."""
        told = page_of(*SEASON).text
        assert "On March 2, 4 trees gave 11.8 gal of sap." in told
        assert "What was boiled tested 2.4 % sugar" in told
        assert "1 boil made 0.4 gal of syrup and burned 0.05 cords of wood, 8 gal" in told
        assert "4 jars were filled; 2 left of them." in told
        assert "Of 2 nights noted, 1 was below freezing." in told


class TestSafe:
    @pytest.mark.parametrize(
        "notes",
        [
            [on(0, "name", tree=1, name=NASTY), on(1, "gather", tree=1, volume_gal=2)],
            [on(0, "name", vessel="tank 1", name=NASTY),
             on(1, "store", vessel="tank 1", volume_gal=9),
             on(1.1, "boil", vessel="tank 1", phase="start"), on(1.2, "draw", syrup_gal=1),
             on(1.3, "pack", count=1, size="pint")],
            [on(0, "tap", tree=NASTY), on(1, "gather", tree=NASTY, volume_gal=2)],
            [on(0, "tap", tree=1), on(1, "remark", tree=1, text=NASTY)],
            [on(0, "pack", count=2, size=NASTY), on(1, "stock_out", count=1, to=NASTY)],
            [on(0, "boil", phase="start"), on(0.1, "defoam", agent=NASTY), on(0.2, "draw",
             syrup_gal=1), on(0.3, "pack", count=1, size="pint")],
            [on(0, "gather", site=NASTY, volume_gal=2, vessel="pan"), on(0.1, "draw", syrup_gal=1),
             on(0.2, "pack", count=1, size="pint")],
        ],
    )  # fmt: skip
    def test_markup_in_words_is_shown_and_never_run(self, page_of, notes):
        """Whatever was said stands on the page as text."""
        known = page_of(*notes)
        assert "script" not in known.tags()
        assert "b" not in {tag for tag, fields in known.elements if "onload" in fields}
        assert not any("onload" in fields for _, fields in known.elements)
        assert "alert(1)" in known.text

    def test_the_nasty_name_is_whole_in_a_table(self, page_of):
        """Pictures may cut a long name; the table has all of it."""
        known = page_of(on(0, "tap", tree=NASTY), on(1, "gather", tree=NASTY, volume_gal=2))
        assert " ".join(NASTY.split())[1:] in known.text


class TestWhatIsMissing:
    def test_an_empty_book(self, page_of):
        """The page says so, and holds no picture."""
        known = page_of()
        assert "The book has no note of 2027." in known.text
        assert "svg" not in known.tags()

    @pytest.mark.parametrize(
        "note",
        [
            on(0, "gather", tree=1, volume_gal=2), on(0, "gather", tree=1, volume_gal=0),
            on(0, "gather", all=True, volume_gal=2), on(0, "inspect", tree=1, fill=0.5),
            on(0, "store", vessel="tank 1", volume_gal=3), on(0, "boil", phase="start"),
            on(0, "draw", syrup_gal=1), on(0, "draw"), on(0, "pack", count=1, size="pint"),
            on(0, "pack", count=0, size="pint"), on(0, "stock_out", count=2, size="pint"),
            on(0, "weather", low_f=20), on(0, "weather", high_f=40), on(0, "fuel", cords=1),
            on(0, "measure", tree=1, diameter_in=400), on(0, "tap", tree=1, side="north"),
            on(0, "health", tree=1, condition="dying"), on(0, "remark", text="the gate"),
            on(0, "round", phase="start"), on(0, "dump", vessel="tank 1"),
            on(0, "sweetness", tree=1, brix=2.2), on(0, "reading", vessel="tank 1", temp_f=40),
        ],
        ids=lambda note: note[1]["act"],
    )  # fmt: skip
    def test_one_note(self, page_of, note):
        """Any note by itself makes a page; no value that nobody knows is shown as a number."""
        known = page_of(note)
        assert "Season 2027" in known.text
        assert not re.search(r"\b(nan|None|inf)\b", known.text)

    def test_a_season_with_gaps(self, page_of):
        """Years without notes are left out; those with a note and no sap have none."""
        known = page_of(
            on(-800, "gather", tree=1, volume_gal=4), on(-400, "inspect", tree=1, fill=0.5),
            on(0, "gather", tree=1, volume_gal=2), on(40, "gather", tree=1, volume_gal=3),
        )  # fmt: skip
        assert "From March 1 to April 10, 1 tree gave 5 gal of sap on 2 days" in known.text
        assert "Sap 4 gal 0 gal 5 gal" in known.text

    def test_an_earlier_season(self, page_of):
        """The page of a year tells what the book knew at its end, and of other years beside it."""
        known = page_of(
            on(-400, "gather", tree=1, volume_gal=4),
            on(0, "gather", tree=1, volume_gal=2),
            year=2026,
        )
        assert "Season 2026" in known.text
        assert "1 tree gave 4 gal of sap" in known.text
        assert "Sap 4 gal 2 gal" in known.text


def test_metric(page_of):
    """A book in metric has litres, centimetres and degrees Celsius on text and axes alike."""
    known = page_of(*SEASON, settings=Settings(metric=True))
    assert "4 trees gave 44 L of sap" in known.text
    assert "Sap gathered, L a day" in known.text
    assert "40.6 cm" in known.text
    assert not re.search(r"\d (gal|°F|in)\b", known.text)


class TestFlow:
    def test_both_sides_are_the_same(self, looked_back):
        """What came in is what it became, to the last drop, levels read included."""
        with looked_back(*SEASON) as (sheet, _):
            came, went = flow_sides(sheet.season.account)
        assert sum(gallons for _, gallons in came) == pytest.approx(
            sum(gallons for _, gallons in went), abs=1e-9
        )
        assert dict(came) == pytest.approx(
            {"gathered": 11.75, "poured, not gathered": 20.0, "rain": 1.0}
        )
        assert dict(went) == pytest.approx(
            {"boiled": 11.75, "dumped": 19.5, "levels read lower": 1.5}
        )

    def test_levels_read_higher_come_in(self, looked_back):
        """Sap that nobody noted is on the side of what came."""
        notes = (on(0, "store", vessel="tank 1", volume_gal=5), on(1, "reading", vessel="tank 1",
                                                                   volume_gal=8))  # fmt: skip
        with looked_back(*notes) as (sheet, _):
            came, went = flow_sides(sheet.season.account)
        assert dict(came)["levels read higher"] == pytest.approx(3)
        assert dict(went) == pytest.approx({"in store": 8.0})


def test_the_same_book_makes_the_same_page(looked_back):
    """Made twice at the same time it is the same to the last sign."""
    with looked_back(*SEASON) as (first, _), looked_back(*SEASON) as (second, _):
        assert page(first, FIRST) == page(second, FIRST)
        assert read(page(first, FIRST)).text
