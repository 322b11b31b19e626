"""The season book: what was heard, the notes that came of it, and what they add up to."""

from fieldvoice.book.book import Book
from fieldvoice.book.rounds import Round
from fieldvoice.book.rows import Entry, Source, Taken, Utterance
from fieldvoice.book.season import (
    Account,
    BoilState,
    DayWeather,
    Parcel,
    Season,
    StockLot,
    TapHole,
    ToRemind,
    TreeState,
    VesselState,
)
from fieldvoice.book.wordings import LearntWording, Taught
from fieldvoice.book.years import Years

__all__ = [
    "Account",
    "BoilState",
    "Book",
    "DayWeather",
    "Entry",
    "LearntWording",
    "Parcel",
    "Round",
    "Season",
    "Source",
    "StockLot",
    "Taken",
    "TapHole",
    "Taught",
    "ToRemind",
    "TreeState",
    "Utterance",
    "VesselState",
    "Years",
]
