"""Letters three lines high, to be read from across a room, out of half-block characters."""

from __future__ import annotations

#: Each letter as five rows of three, a bit a square, top row first.
_GLYPHS = {
    "A": "757755", "B": "656656", "C": "344443", "D": "655556", "E": "746447", "F": "746444",
    "G": "345553", "H": "557555", "I": "722227", "J": "111153", "K": "556655", "L": "444447",
    "M": "577555", "N": "755555", "O": "255552", "P": "656444", "Q": "255563", "R": "656655",
    "S": "342116", "T": "722222", "U": "555557", "V": "555522", "W": "555775", "X": "552255",
    "Y": "552222", "Z": "712447", "0": "755557", "1": "262227", "2": "612447", "3": "612116",
    "4": "557111", "5": "746116", "6": "346557", "7": "711222", "8": "757557", "9": "757116",
    " ": "000000", "-": "000700", ".": "000002", "'": "220000",
}  # fmt: skip
_ROWS = 6
#: Columns that a letter takes, with the gap after it.
WIDTH = 4


def big(text: str) -> list[str]:
    """Return ``text`` as three lines of blocks; what has no letter is left out."""
    glyphs = [_GLYPHS[sign] for sign in text.upper() if sign in _GLYPHS]
    lines = []
    for row in range(0, _ROWS, 2):
        parts = []
        for glyph in glyphs:
            above, below = int(glyph[row]), int(glyph[row + 1])
            parts.append("".join(_square(above, below, bit) for bit in (4, 2, 1)) + " ")
        lines.append("".join(parts).rstrip())
    return lines


def _square(above: int, below: int, bit: int) -> str:
    return " ▀▄█"[bool(above & bit) + 2 * bool(below & bit)]
