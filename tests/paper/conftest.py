"""Books made of notes, and pages read as a browser would."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Settings
from fieldvoice.paper.page import page
from fieldvoice.paper.sheet import sheet_of
from fieldvoice.schema import Act, meaning_from
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from fieldvoice.paper.sheet import Sheet

LOCAL = timezone(timedelta(hours=-5))
FIRST = datetime(2027, 3, 1, 9, tzinfo=LOCAL)
_VOID = frozenset({"meta", "br", "img", "link", "input", "hr"})


def on(day: float, act: str, **fields: Any) -> tuple[datetime, dict[str, Any]]:
    """Return a note so many days after the first."""
    return FIRST + timedelta(days=day), {"act": act, **fields}


def write(book: Book, *notes: tuple[datetime, dict[str, Any]], **more: Any) -> list[str]:
    """Write notes, each said by itself; return their ids."""
    records: list[str] = []
    for at, fields in notes:
        act = meaning_from(fields)
        assert isinstance(act, Act)
        taken = book.take(
            at=at, source="typed", heard=typed("words"), outcome="saved", meanings=[act],
            reply="", notes=[act], **more,
        )  # fmt: skip
        records += taken.records
    return records


@dataclass
class Read(HTMLParser):
    """A page taken apart: its elements with their attributes, its text, and tags left open."""

    elements: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    open_tags: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in _VOID:
            self.open_tags.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open_tags, f"</{tag}> closes nothing"
        assert self.open_tags.pop() == tag, f"</{tag}> closes another"

    def handle_data(self, data):
        if self.open_tags and self.open_tags[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        """All words of the page, with single spaces."""
        return " ".join(" ".join(self.words).split())

    def tags(self) -> set[str]:
        """The names of the elements."""
        return {tag for tag, _ in self.elements}


def read(html: str) -> Read:
    """Take a page apart; every element has to be closed."""
    reader = Read()
    reader.feed(html)
    reader.close()
    assert not reader.open_tags
    return reader


@pytest.fixture
def looked_back() -> Callable[..., Any]:
    """Give the sheet of a book made of notes."""

    @contextmanager
    def looking(
        *notes: tuple[datetime, dict[str, Any]], settings: Settings | None = None,
        year: int = 2027, kept: Path | None = None,
    ) -> Iterator[tuple[Sheet, Book]]:  # fmt: skip
        with Book.in_memory_copy() as book:
            write(book, *notes)
            with book.years({}, kept) as years:
                sheet = sheet_of(years, year, settings or Settings())
            yield sheet, book

    return looking


@pytest.fixture
def page_of(looked_back) -> Callable[..., Read]:
    """Give the page of a book made of notes, taken apart."""

    def making(*notes: tuple[datetime, dict[str, Any]], **options: Any) -> Read:
        with looked_back(*notes, **options) as (sheet, _):
            return read(page(sheet, FIRST))

    return making


#: A short season with everything in it.
SEASON = (
    on(0, "tap", tree=1, count=1, side="south", height_ft=3),
    on(0, "tap", tree=2, count=2, side="west"),
    on(0, "tap", tree=3, count=1),
    on(0, "tap", tree=4, count=1),
    on(0.01, "measure", tree=1, diameter_in=16, species="sugar"),
    on(0.01, "measure", tree=2, diameter_in=22),
    on(0.01, "health", tree=3, condition="damaged"),
    on(1, "weather", low_f=22, high_f=44),
    on(2, "weather", low_f=35, high_f=50),
    on(1.2, "gather", tree=1, volume_gal=3, vessel="tank 1"),
    on(1.2, "gather", tree=2, volume_gal=5.5, vessel="tank 1"),
    on(1.2, "gather", tree=3, volume_gal=0.75, vessel="tank 1"),
    on(1.2, "gather", tree=4, volume_gal=2.5, vessel="tank 1"),
    on(2.2, "store", vessel="tank 2", volume_gal=20),
    on(2.3, "rain_in", vessel="tank 2", volume_gal=1),
    on(2.4, "reading", vessel="tank 2", volume_gal=19.5),
    on(2.5, "sweetness", vessel="tank 1", brix=2.4),
    on(3, "boil", vessel="tank 1", phase="start"),
    on(3.02, "pan", boiling=True),
    on(3.3, "draw", syrup_gal=0.4, temp_f=219),
    on(3.31, "boil", phase="stop"),
    on(3.32, "fuel", cords=0.05),
    on(3.35, "pack", count=3, size="pint", colour="amber", temp_f=186),
    on(3.35, "pack", count=1, size="half pint", colour="amber"),
    on(4, "stock_out", count=2, size="pint", why="given", to="the neighbors"),
    on(5, "dump", vessel="tank 2"),
)  # fmt: skip
