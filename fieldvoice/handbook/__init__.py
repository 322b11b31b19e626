"""The cards of the handbook: what people ask about the trade, what is told, why, and by whom.

Pure but for reading the folder once: no clock, no book.
"""

from fieldvoice.handbook.card import Card, CardLevel
from fieldvoice.handbook.loader import Fault, Handbook, handbook_folder, load
from fieldvoice.handbook.nearest import Finder, Found

__all__ = [
    "Card", "CardLevel", "Fault", "Finder", "Found", "Handbook", "handbook_folder", "load",
]  # fmt: skip
