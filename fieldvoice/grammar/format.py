"""Lays grammar files out, always in the same way: at most 100 columns, a long alternative a line.

    python -m fieldvoice.grammar.format grammars/             writes the files anew
    python -m fieldvoice.grammar.format --check grammars/     says which would be changed
    python -m fieldvoice.grammar.format --weights grammars/   rounds weights to their tiers as well

A rule that fits on a line stands on one. Else each of its alternatives begins a line, short ones
side by side, and what is too long for one goes on below, further in. Comments and remarks stay
where they are; long ones are broken up. Nothing of what a grammar means is changed, but for its
weights where that is asked for.
"""

from __future__ import annotations

import argparse
import re
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from fieldvoice.errors import GrammarError
from fieldvoice.grammar.findings import Source
from fieldvoice.grammar.jsgf import Lexeme, grammar_paths, lexemes, read_file, text_of
from fieldvoice.grammar.weights import as_written, nearest

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

#: Columns in a line.
WIDTH = 100
_STEP = 4
# A line is broken before a "|" if one stands beyond this column, and anywhere else if none does.
_LATE = 50
#: Alternatives of at most so many columns share a line.
_SHORT = 34
_RULER = re.compile(r"// *[-=]{4,}.*[-=]{4,}")


@dataclass(slots=True)
class _Group:
    """Alternatives in brackets with the tags and signs after them."""

    opening: str
    choices: list[list[_Node]]
    closing: str = ""
    after: str = ""


_Node = str | _Group


@dataclass(slots=True)
class _Statement:
    """A rule, an import or the header: its pieces up to the semicolon, and a comment after it."""

    pieces: list[Lexeme]
    remark: str


def formatted(text: str, name: str, *, to_tiers: bool = False) -> str:
    """Return a grammar's text laid out anew, ``to_tiers`` with its weights rounded to tiers.

    Raises:
        PlacedGrammarError: the text is no grammar.
    """
    read_file(text, name)
    items: list[str | _Statement] = list(_items(Source(name, text)))
    if to_tiers:
        for item in items:
            if isinstance(item, _Statement):
                item.pieces = [_rounded(piece) for piece in item.pieces]
    return "\n".join(line for block in _blocks(items) for line in block) + "\n"


def _rounded(piece: Lexeme) -> Lexeme:
    if piece.kind != "weight":
        return piece
    return replace(piece, text=f"/{as_written(nearest(float(piece.text.strip('/ '))))}/")


def _items(source: Source) -> Iterator[str | _Statement]:
    """Yield comments, statements, and "" for a blank line between them, in order."""
    pieces = list(lexemes(source))
    here: list[Lexeme] = []
    remark: Lexeme | None = None
    for at, piece in enumerate(pieces):
        if piece.kind == "end" or piece is remark:
            continue
        if here or piece.kind not in ("space", "comment", "about"):
            here += [piece] if piece.kind != "space" else []
        elif piece.kind != "space":
            yield piece.text
        elif piece.text.count("\n") > 1:
            yield ""
        if here and (piece.kind, piece.text) == ("sign", ";"):
            remark = _beside(pieces[at + 1 : at + 3])
            yield _Statement(here, remark.text if remark else "")
            here = []


def _beside(following: list[Lexeme]) -> Lexeme | None:
    """Return the comment that stands on the same line as what it follows."""
    near = [one for one in following if one.kind != "space" or "\n" in one.text][:1]
    return near[0] if near and near[0].kind == "comment" else None


def _blocks(items: list[str | _Statement]) -> Iterator[list[str]]:
    """Yield the lines of each item; comments that follow each other are broken up as one."""
    run: list[str] = []
    for at, item in enumerate(items):
        if isinstance(item, str) and item.startswith("//"):
            run.append(item)
            continue
        yield _comment(run)
        run = []
        if isinstance(item, _Statement):
            yield _statement(item)
        elif item:
            yield _remark(item)
        elif 0 < at < len(items) - 1:
            yield [""]
    yield _comment(run)


def _comment(lines: list[str]) -> list[str]:
    """Return comment lines, filled anew if one of them is too long; a ruler is only cut."""
    cut = [line[:WIDTH] if _RULER.fullmatch(line) else line for line in lines]
    if all(len(line) <= WIDTH for line in cut):
        return cut
    told = " ".join(line.removeprefix("//").strip() for line in cut)
    return [f"// {line}" for line in wrap(told, WIDTH - 3, break_long_words=False)]


def _remark(text: str) -> list[str]:
    """Return a comment between signs, filled anew if it does not fit on a line."""
    opening = "/**" if text.startswith("/**") else "/*"
    inside = re.sub(r"(?m)^\s*\*", " ", text.removeprefix(opening)[:-2])
    told = " ".join(inside.split())
    line = f"{opening} {told} */"
    if len(line) <= WIDTH:
        return [line]
    first, *others = wrap(told, WIDTH - len(opening) - 4, break_long_words=False)
    return [f"{opening} {first}", *(f" * {one}" for one in others[:-1]), f" * {others[-1]} */"]


def _statement(statement: _Statement) -> list[str]:
    pieces = statement.pieces
    at = next((n for n, piece in enumerate(pieces) if piece.text == "="), len(pieces) - 1)
    head = " ".join(piece.text for piece in pieces[:at])
    if pieces[at].text != "=":
        lines = [f"{head};"]
    else:
        choices, _ = _choices(pieces[at + 1 : -1], 0)
        lines = _rule(f"{head} =", choices)
    if statement.remark and len(lines[-1]) + len(statement.remark) + 2 <= WIDTH:
        lines[-1] += f"  {statement.remark}"
    elif statement.remark:
        lines.insert(0, statement.remark)
    return lines


def _choices(pieces: Sequence[Lexeme], at: int) -> tuple[list[list[_Node]], int]:
    """Return the alternatives that stand at ``at``, and where they end."""
    choices: list[list[_Node]] = [[]]
    while at < len(pieces):
        piece = pieces[at]
        sign = piece.text if piece.kind == "sign" else ""
        if sign in (")", "]"):
            break
        if sign == "|":
            choices.append([])
        elif piece.kind == "comment" and not choices[-1] and len(choices) > 1:
            choices[-2].append(piece.text)
        elif sign in ("(", "["):
            inner, at = _choices(pieces, at + 1)
            choices[-1].append(_Group(piece.text, inner, pieces[at].text))
        elif sign in ("*", "+") or piece.kind == "tag":
            _attach(choices[-1], piece)
        else:
            choices[-1].append(piece.text)
        at += 1
    return choices, at


def _attach(nodes: list[_Node], piece: Lexeme) -> None:
    """Put a tag or sign behind what it belongs to, over a comment between them."""
    at = next(n for n in range(len(nodes) - 1, -1, -1) if not _is_comment(nodes[n]))
    text = piece.text if piece.kind == "sign" else f" {piece.text}"
    node = nodes[at]
    if isinstance(node, _Group):
        node.after += text
    else:
        nodes[at] = f"{node}{text}"


def _rule(head: str, choices: list[list[_Node]]) -> list[str]:
    whole = _joined(_told(choices))
    if whole is not None and len(head) + len(whole) + 2 <= WIDTH:
        return [f"{head} {whole};"]
    return [head, *_listed(choices, _STEP, ";")]


def _listed(choices: list[list[_Node]], indent: int, after: str) -> list[str]:
    """Return alternatives: short ones side by side, each other from a line of its own on."""
    lines: list[str] = []
    beside = False
    for number, choice in enumerate(choices):
        end = after if number == len(choices) - 1 else ""
        told = _choice(choice, indent, "| " if number else "", end)
        short = len(told) == 1 and len(told[0]) - indent <= _SHORT
        if short and beside and len(lines[-1]) + len(told[0]) - indent < WIDTH:
            lines[-1] += f" {told[0].strip()}"
        else:
            lines += told
        beside = short
    return lines


def _choice(choice: list[_Node], indent: int, before: str, after: str) -> list[str]:
    """Return the lines of one alternative; one that is a group alone is listed in its turn."""
    blank = " " * indent
    whole = _joined(_units(choice))
    if whole is not None and indent + len(before + whole + after) <= WIDTH:
        return [f"{blank}{before}{whole}{after}"]
    weight = [node for node in choice[:1] if isinstance(node, str) and node.startswith("/")]
    rest = choice[len(weight) :]
    group = rest[0] if len(rest) == 1 else None
    if isinstance(group, _Group) and len(group.choices) > 1:
        opening = " ".join([*map(str, weight), group.opening])
        inner = _listed(group.choices, indent + _STEP, "")
        closing = f"{group.closing}{group.after}{after}"
        return [f"{blank}{before}{opening}", *inner, f"{blank}{closing}"]
    return _filled(_units(choice), indent, before, after)


def _filled(units: Iterable[str], indent: int, before: str, after: str) -> list[str]:
    """Return units of text in lines, broken before a "|" where one stands late enough."""
    lines: list[list[str]] = [[]]
    margin = indent + len(before)
    for unit in units:
        line = lines[-1]
        taken = margin + sum(len(one) + 1 for one in line)
        if line and (_is_comment(unit) or _is_comment(line[-1])):
            lines.append([unit])
        elif line and taken + len(unit) + len(after) > WIDTH:
            late = [n for n, one in enumerate(line) if n and one.startswith("| ")]
            column = margin + sum(len(one) + 1 for one in line[: late[-1]]) if late else 0
            kept = late[-1] if column > _LATE else len(line)
            lines[-1:] = [line[:kept], [*line[kept:], unit]]
        else:
            line.append(unit)
        margin = indent + (len(before) if len(lines) == 1 else 2 * _STEP)
    first, *others = (" ".join(line) for line in lines)
    told = [" " * indent + before + first, *(" " * (indent + 2 * _STEP) + one for one in others)]
    if _is_comment(lines[-1][-1]):
        return [*told, " " * indent + after] if after else told
    return [*told[:-1], told[-1] + after]


def _is_comment(node: _Node) -> bool:
    return isinstance(node, str) and node.startswith(("//", "/*"))


def _joined(units: list[str]) -> str | None:
    """Return units in one line; None where a comment is among them."""
    return None if any(map(_is_comment, units)) else " ".join(units)


def _told(choices: list[list[_Node]]) -> list[str]:
    """Return the units of alternatives; each sign stands with the word that it belongs to."""
    units: list[str] = []
    for number, choice in enumerate(choices):
        own = _units(choice)
        units += [f"| {own[0]}", *own[1:]] if number else own
    return units


def _units(choice: list[_Node]) -> list[str]:
    units: list[str] = []
    for node in choice:
        own = [node] if isinstance(node, str) else _of_group(node)
        if units and not _is_comment(node) and re.fullmatch(r"/[^/*]*/", units[-1]):
            own = [f"{units.pop()} {own[0]}", *own[1:]]
        units += own
    return units


def _of_group(group: _Group) -> list[str]:
    inner = _told(group.choices)
    blank = " " if group.opening == "(" else ""
    if any(map(_is_comment, inner)):
        return [group.opening, *inner, f"{group.closing}{group.after}"]
    inner[0] = f"{group.opening}{blank}{inner[0]}"
    inner[-1] = f"{inner[-1]}{blank}{group.closing}{group.after}"
    return inner


def main(arguments: list[str] | None = None) -> int:
    """Lay out the grammars of a folder; return how the program ends."""
    parser = argparse.ArgumentParser(prog="python -m fieldvoice.grammar.format")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--check", action="store_true", help="write nothing, name what differs")
    parser.add_argument("--weights", action="store_true", help="round weights to their tiers")
    chosen = parser.parse_args(arguments)
    differing = 0
    try:
        for path in grammar_paths(chosen.folder):
            text, name = text_of(path)
            laid_out = formatted(text, name, to_tiers=chosen.weights)
            if laid_out == text:
                continue
            differing += 1
            print(f"{'would be' if chosen.check else 'is'} laid out anew: {path}")
            if not chosen.check:
                path.write_text(laid_out, encoding="utf-8")
    except GrammarError as error:
        print(error, file=sys.stderr)
        return 1
    return 1 if chosen.check and differing else 0


if __name__ == "__main__":
    sys.exit(main())
