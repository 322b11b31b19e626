"""A sheet for the round: the trees in walking order, to tick in pencil."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.pdfbase.pdfmetrics import stringWidth

from fieldvoice.paper.print_page import GREY, PALE, PLAIN, Box, fitting

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.paper.measures import Measures
    from fieldvoice.paper.print_page import Paper
    from fieldvoice.schema import TreeId

_ROW, _HEAD = 19.0, 74.0
_NAME_POINTS = 10.5
#: Where the columns begin, as parts of the width, and what stands over them.
_LEVELS = ("0", "¼", "½", "¾", "1")
_SAP = ("clear", "cloudy", "yellow")
_LEVELS_FROM, _SAP_FROM, _VOLUME_FROM, _REMARK_FROM = 0.27, 0.46, 0.66, 0.77


def round_sheet(paper: Paper, walk: Sequence[TreeId], told: Measures) -> None:
    """Print the sheet, on as many pages as it takes."""
    most = int((paper.room.height - _HEAD) / _ROW)
    for begin in range(0, len(walk), most):
        some = walk[begin : begin + most]
        _head(paper, told)
        for index, tree in enumerate(some):
            _row(paper, paper.room.top - _HEAD - index * _ROW, told.tree(tree), index)
        paper.end_page()


def _head(paper: Paper, told: Measures) -> None:
    room = paper.room
    paper.write("Round", room.x, room.top - 18, 18, bold=True)
    blanks = ("Day", "Begun", "Low", "High", "By")
    x = room.x + 80
    for name in blanks:
        paper.write(name, x, room.top - 18, 9, grey=GREY)
        width = 30 if name in ("Low", "High") else 56
        begin = x + stringWidth(name, PLAIN, 9) + 4
        paper.line(begin, room.top - 20, begin + width, room.top - 20, grey=GREY)
        x = begin + width + 14
    y = room.top - _HEAD + 12
    paper.write("Tree", room.x + 18, y, 8, bold=True)
    paper.write("How full", room.x + _LEVELS_FROM * room.width, y + 11, 8, bold=True)
    for index, name in enumerate(_LEVELS):
        paper.write(name, _x(room, _LEVELS_FROM) + index * 19 + 4.5, y, 8, anchor="middle")
    paper.write("Sap", _x(room, _SAP_FROM), y + 11, 8, bold=True)
    for index, name in enumerate(_SAP):
        paper.write(name, _x(room, _SAP_FROM) + index * 34 + 4.5, y, 7, anchor="middle")
    paper.write(f"Sap ({told.volume.sign})", _x(room, _VOLUME_FROM), y, 8, bold=True)
    paper.write("Remark", _x(room, _REMARK_FROM), y, 8, bold=True)
    paper.line(room.x, y - 5, room.right, y - 5, width=1)


def _row(paper: Paper, top: float, name: str, index: int) -> None:
    room = paper.room
    base = top - _ROW + 6
    if index % 2:
        paper.canvas.setFillGray(0.95)
        paper.canvas.rect(room.x, top - _ROW, room.width, _ROW, stroke=0, fill=1)
    paper.tick_box(room.x + 2, base - 1.5)
    width = (_LEVELS_FROM - 0.01) * room.width - 18
    words = fitting(name, PLAIN, _NAME_POINTS, width)
    paper.write(words, room.x + 18, base, _NAME_POINTS)
    for place in range(len(_LEVELS)):
        paper.tick_box(_x(room, _LEVELS_FROM) + place * 19, base - 1.5)
    for place in range(len(_SAP)):
        paper.tick_box(_x(room, _SAP_FROM) + place * 34, base - 1.5)
    for begin, end in ((_VOLUME_FROM, _REMARK_FROM - 0.015), (_REMARK_FROM, 1.0)):
        paper.line(_x(room, begin), base - 2, _x(room, end), base - 2, grey=GREY)
    paper.line(room.x, top - _ROW, room.right, top - _ROW, grey=PALE)


def _x(room: Box, share: float) -> float:
    return room.x + share * room.width
