"""What is printed for the woods and the pantry: cards, a sheet for the round, labels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, get_args

from fieldvoice.paper.field_card import field_card
from fieldvoice.paper.jar_labels import jar_labels
from fieldvoice.paper.print_page import Paper
from fieldvoice.paper.round_sheet import round_sheet
from fieldvoice.paper.tree_cards import tree_cards
from fieldvoice.paper.trees import place

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from fieldvoice.book import StockLot
    from fieldvoice.paper.print_page import Size
    from fieldvoice.paper.sheet import Sheet
    from fieldvoice.paper.trees import TreeRow

Part = Literal["trees", "field", "round", "labels"]
#: The parts in the order in which they are printed.
PARTS: tuple[Part, ...] = get_args(Part)


def cards(sheet: Sheet, parts: Collection[str], size: Size, now: datetime) -> bytes:
    """Return the chosen parts as one PDF; parts that the book has nothing for are left out.

    ``now`` tells which year the next hole is for.
    """
    paper = Paper(size, "Cards from the season book")
    rows = walking_order(sheet)
    if "trees" in parts:
        tree_cards(paper, rows, now.year, sheet.told)
    if "field" in parts:
        field_card(paper)
    if "round" in parts:
        round_sheet(paper, [row.tree.id for row in rows], sheet.told)
    if "labels" in parts and sheet.season is not None:
        jar_labels(paper, _to_label(sheet), sheet.told)
    return paper.made()


def has_something(sheet: Sheet, part: str) -> bool:
    """Whether the book has anything for a part."""
    if part == "field":
        return True
    if part == "labels":
        return bool(_to_label(sheet))
    return bool(sheet.trees)


def _to_label(sheet: Sheet) -> list[StockLot]:
    """Return the season's lots with jars left: older jars have been labelled."""
    lots = sheet.season.pantry if sheet.season else ()
    return [lot for lot in lots if lot.left and lot.at.year == sheet.year]


def walking_order(sheet: Sheet) -> list[TreeRow]:
    """Return the trees in the order of the rounds; those never come to follow by number."""
    walk = {tree: index for index, tree in enumerate(sheet.season.walk)} if sheet.season else {}
    return sorted(
        sheet.trees, key=lambda row: (walk.get(row.tree.id, len(walk)), place(row.tree.id))
    )
