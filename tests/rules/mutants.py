"""The rules with one number changed: whether a check would notice.

Every number in the code of ``fieldvoice/rules`` is one constant. It is changed, by a tenth or by
one, in the statement that holds it, and the functions and values made anew stand in place of the
old ones while marked checks are called as they are. Left out are numbers that say nothing of the
trade: places in a row, digits shown, bounds of what is refused, the 0 and 1 of plain logic. Choices
of this house, which a comment or their rule names as such, are counted apart.
"""

from __future__ import annotations
import __future__

import ast
import itertools
import re
import sys
import types
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import fieldvoice.rules
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import pytest

FOLDER = Path(fieldvoice.rules.__file__).parent
CHECKS = Path(__file__).parent

#: Modules without numbers of the trade: sources, forms of values, words for amounts, a solver.
_NOT_TRADE = (
    "__init__", "sources", "finding", "rule", "registry", "limits", "inverse", "measures",
    "schedule",
)  # fmt: skip
#: What is not printed but gone by: both need no check from outside, and are told as such.
OF_THIS_HOUSE = ("design choice", "common practice")
#: Calls whose numbers are bounds, digits shown, or places in a row.
_BOUNDS = ("within", "RangeError", "round", "range", "enumerate", "few", "plain", "inverse")
#: Words of a comment or docstring that make the numbers below them this house's own.
_FUTURE = __future__.annotations.compiler_flag
_CHOICE = re.compile(r"\bchoice|design choice|common practice|\bround|from memory|words? for", re.I)


@dataclass(frozen=True, slots=True)
class Constant:
    """One number in a module's code: where it stands, and what it belongs to."""

    module: str
    line: int
    column: int
    value: float
    within: str
    is_choice: bool

    def __str__(self) -> str:
        return f"{self.module}.py:{self.line} {self.within} {self.value:g}"


@dataclass(frozen=True, slots=True, eq=False)
class Check:
    """One marked test: the rules that it checks, by whom, and every call of it."""

    name: str
    rules: tuple[str, ...]
    by: str
    kind: str
    function: Callable[..., None]
    calls: tuple[dict[str, Any], ...]

    def passes(self) -> bool:
        """Whether the rules come out as the source has them."""
        try:
            for call in self.calls:
                self.function(**call)
        except Exception:
            return False
        return True


@cache
def modules() -> dict[str, types.ModuleType]:
    """Return the modules of the rules that have numbers of the trade."""
    names = [path.stem for path in sorted(FOLDER.glob("*.py")) if path.stem not in _NOT_TRADE]
    return {name: import_module(f"fieldvoice.rules.{name}") for name in names}


@cache
def constants(module: str) -> tuple[Constant, ...]:
    """Return the numbers of a module that say something of the trade."""
    source = (FOLDER / f"{module}.py").read_text("utf-8")
    tree, lines = ast.parse(source), source.splitlines()
    parents = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Constant) or not isinstance(node.value, int | float):
            continue
        if isinstance(node.value, bool):
            continue
        above = list(_above(node, parents))
        if _is_plain_logic(node, above):
            continue
        top = next(one for one in reversed(above) if not isinstance(one, ast.Module))
        within = _name_of(above)
        is_choice = _is_choice(top, above, lines) or _of_a_choice(module, within)
        found.append(Constant(module, node.lineno, node.col_offset, node.value, within, is_choice))
    return tuple(sorted(found, key=lambda one: (one.line, one.column)))


def _above(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> Iterator[ast.AST]:
    while node in parents:
        node = parents[node]
        yield node


def _is_plain_logic(node: ast.Constant, above: list[ast.AST]) -> bool:
    """Whether a number is a place, a digit shown, a bound, or the 0 and 1 of logic."""
    parent = above[0]
    if isinstance(parent, ast.Subscript | ast.Slice | ast.FormattedValue):
        return True
    calls = [one for one in above if isinstance(one, ast.Call)]
    names = {getattr(one.func, "id", getattr(one.func, "attr", "")) for one in calls}
    if names & set(_BOUNDS):
        return True
    if any(isinstance(one, ast.JoinedStr | ast.Raise | ast.Assert) for one in above):
        return True
    if any(isinstance(one, ast.FunctionDef) and _returns_words(one) for one in above):
        return True
    if isinstance(node.value, float) and 0 < node.value < 1e-6:
        return True
    is_small = node.value in (0, 1, -1)
    return is_small and not any(isinstance(one, ast.Tuple | ast.Dict) for one in above[:3])


def _returns_words(function: ast.FunctionDef) -> bool:
    """Whether a function only puts a value into words: its numbers are digits shown."""
    return function.returns is not None and ast.unparse(function.returns) == "str"


def _name_of(above: list[ast.AST]) -> str:
    for one in above:
        if isinstance(one, ast.FunctionDef | ast.ClassDef):
            return one.name
        if isinstance(one, ast.AnnAssign) and isinstance(one.target, ast.Name):
            return one.target.id
        if isinstance(one, ast.Assign):
            return ", ".join(ast.unparse(target) for target in one.targets)
    return "module"


def _is_choice(top: ast.AST, above: list[ast.AST], lines: list[str]) -> bool:
    """Whether the comment above a statement, or a function's own words, call it a choice."""
    statement = next(one for one in above if isinstance(one, ast.stmt))
    for one in (top, statement):
        at = one.lineno - 2  # type: ignore[attr-defined]
        while at >= 0 and lines[at].strip().startswith("#"):
            if _CHOICE.search(lines[at]):
                return True
            at -= 1
    functions = [one for one in above if isinstance(one, ast.FunctionDef)]
    return any("choice" in (ast.get_docstring(one) or "") for one in functions)


@cache
def _chosen(module: str) -> frozenset[str]:
    """Return the functions of a module that speak for rules of this house's choice alone."""
    rules = {
        name: value for name, value in vars(modules()[module]).items() if isinstance(value, Rule)
    }
    chosen = set()
    for node in ast.walk(ast.Module(list(_statements(module)), [])):
        if isinstance(node, ast.FunctionDef):
            used = {one.id for one in ast.walk(node) if isinstance(one, ast.Name)} & set(rules)
            if used and all(rules[name].certainty in OF_THIS_HOUSE for name in used):
                chosen.add(node.name)
    return frozenset(chosen)


@cache
def _is_of_this_house(module: str) -> bool:
    """Whether all of a module is a choice: it says so, or all rules made in it are."""
    statements = ast.Module(list(_statements(module)), [])
    if "choices of this house" in (ast.get_docstring(statements) or ""):
        return True
    made = [
        target.id
        for one in statements.body
        if isinstance(one, ast.Assign) and isinstance(one.value, ast.Call)
        for target in one.targets
        if isinstance(target, ast.Name) and ast.unparse(one.value.func) in ("Rule", "_practice")
    ]
    rules = [vars(modules()[module])[name] for name in made]
    return bool(rules) and all(rule.certainty in OF_THIS_HOUSE for rule in rules)


def _of_a_choice(module: str, within: str) -> bool:
    return _is_of_this_house(module) or within in _chosen(module)


@cache
def _statements(module: str) -> tuple[ast.stmt, ...]:
    return tuple(ast.parse((FOLDER / f"{module}.py").read_text("utf-8")).body)


@cache
def touching(module: str) -> list[Check]:
    """Return the checks that call something of a module; what caught last is asked first."""
    found = [check for check, touched in _touched().items() if module in touched]
    return sorted(found, key=lambda check: len(check.calls))


@cache
def _touched() -> dict[Check, frozenset[str]]:
    """Return for each check that passes which modules of the rules it runs through."""
    found = {}
    for check in checks():
        seen: set[str] = set()

        def watch(frame: types.FrameType, event: str, _: object, seen: set[str] = seen) -> None:
            path = frame.f_code.co_filename
            if event == "call" and path.startswith(str(FOLDER)):
                seen.add(Path(path).stem)

        sys.setprofile(watch)
        try:
            passes = check.passes()
        finally:
            sys.setprofile(None)
        if passes:
            found[check] = frozenset(seen)
    return found


def looks_at_a_value(check: Check) -> bool:
    """Whether some number of the rules, changed, makes a check fail; or some sum turned round.

    A formula such as a mixing rule has no number of its own: there a plus for a minus must show.
    """
    touched = sorted(_touched().get(check, frozenset()) & modules().keys())
    mutants = [
        changed(constant, to)
        for module in touched
        for constant in constants(module)
        for to in changes(constant.value)
    ]
    mutants += [turned(module, place) for module in touched for place in operators(module)]
    for mutant in mutants:
        try:
            with mutant:
                if not check.passes():
                    return True
        except (ValueError, TypeError):
            continue
    return False


def caught_by(constant: Constant) -> str | None:
    """Return the name of a check that notices the number changed, more or less; or None."""
    asked = touching(constant.module)
    for to in changes(constant.value):
        try:
            with changed(constant, to):
                for place, check in enumerate(asked):
                    if not check.passes():
                        asked.insert(0, asked.pop(place))
                        return check.name
        except (ValueError, TypeError):
            return "the code itself"  # it does not run with another number
    return None


@contextmanager
def changed(constant: Constant, to: float) -> Iterator[None]:
    """Run the rules with one number changed, and put everything back after.

    Only the statement that holds it is made anew; what others had worked out of it stays.
    """
    statement = _statement_at(constant.module, constant.line)
    (node,) = (
        one
        for one in ast.walk(statement)
        if isinstance(one, ast.Constant)
        and (one.lineno, one.col_offset) == (constant.line, constant.column)
        and type(one.value) in (int, float)
    )
    was, node.value = node.value, to
    try:
        code = _compiled(constant.module, statement)
    finally:
        node.value = was
    with _running(constant.module, code):
        yield


@contextmanager
def turned(module: str, place: ast.BinOp) -> Iterator[None]:
    """Run the rules with a plus for a minus, or a times for a division, or the other way."""
    statement = _statement_at(module, place.lineno)
    was, place.op = place.op, _OTHER[type(place.op)]()
    try:
        code = _compiled(module, statement)
    finally:
        place.op = was
    with _running(module, code):
        yield


_OTHER: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
}  # fmt: skip


def operators(module: str) -> list[ast.BinOp]:
    """Return the sums, differences, products and quotients of a module."""
    whole = ast.Module(list(_statements(module)), [])
    return [one for one in ast.walk(whole) if isinstance(one, ast.BinOp) and type(one.op) in _OTHER]


def _statement_at(module: str, line: int) -> ast.stmt:
    return next(
        one
        for one in _statements(module)
        if _decorated_from(one) <= line <= (one.end_lineno or one.lineno)
    )


def _compiled(module: str, statement: ast.stmt) -> types.CodeType:
    name = str(modules()[module].__file__)
    code: types.CodeType = compile(ast.Module([statement], []), name, "exec", _FUTURE)
    return code


@contextmanager
def _running(name: str, code: types.CodeType) -> Iterator[None]:
    module = modules()[name]
    made = dict(vars(module))
    exec(code, made)
    undo: list[Callable[[], None]] = []
    try:
        new = {key: value for key, value in made.items() if vars(module).get(key) is not value}
        _put_in(vars(module), new, undo)
        yield
    finally:
        for one in reversed(undo):
            one()


def _decorated_from(statement: ast.stmt) -> int:
    decorators = getattr(statement, "decorator_list", [])
    first: int = min([statement.lineno, *(one.lineno for one in decorators)])
    return first


def _put_in(here: dict[str, Any], new: dict[str, Any], undo: list[Callable[[], None]]) -> None:
    for name, value in new.items():
        old = here.get(name)
        if isinstance(value, types.FunctionType) and isinstance(old, types.FunctionType):
            if value.__module__ == here["__name__"]:
                _swap_code(old, value, undo)
        elif isinstance(value, type) and isinstance(old, type):
            if value.__module__ == here["__name__"]:
                _swap_methods(old, value, undo)
        elif _is_value(name, value) and repr(old) != repr(value):
            _swap_value(name, old, value, undo)


def _is_value(name: str, value: object) -> bool:
    return not isinstance(value, types.ModuleType | Rule) and not name.startswith("__")


def _swap_code(
    old: types.FunctionType, new: types.FunctionType, undo: list[Callable[[], None]]
) -> None:
    code, defaults, named = old.__code__, old.__defaults__, old.__kwdefaults__
    if code.co_freevars or new.__code__.co_freevars:
        return

    def back() -> None:
        old.__code__, old.__defaults__, old.__kwdefaults__ = code, defaults, named

    old.__code__, old.__defaults__, old.__kwdefaults__ = (
        new.__code__, new.__defaults__, new.__kwdefaults__,
    )  # fmt: skip
    undo.append(back)


def _swap_methods(old: type, new: type, undo: list[Callable[[], None]]) -> None:
    for name, value in vars(new).items():
        mine = vars(old).get(name)
        if isinstance(value, property) and isinstance(mine, property):
            assert isinstance(value.fget, types.FunctionType)
            assert isinstance(mine.fget, types.FunctionType)
            _swap_code(mine.fget, value.fget, undo)
        elif isinstance(value, types.FunctionType) and isinstance(mine, types.FunctionType):
            _swap_code(mine, value, undo)


def _swap_value(name: str, old: object, value: object, undo: list[Callable[[], None]]) -> None:
    """Put a value in place of another wherever the rules have it by this name."""
    everywhere = [
        module
        for key, module in sys.modules.items()
        if key.startswith(("fieldvoice.rules", "tests.rules"))
    ]
    for module in everywhere:
        if vars(module).get(name) is old:
            setattr(module, name, value)
            undo.append(lambda module=module: setattr(module, name, old))  # type: ignore[misc]


def changes(value: float) -> tuple[float, float]:
    """Return a number a tenth more and a tenth less; a small whole one, one more and one less."""
    if isinstance(value, int) and abs(value) < 10:
        return value + 1, value - 1
    if isinstance(value, int):
        step = max(1, round(abs(value) * 0.1))
        return value + step, value - step
    return (value * 1.1, value * 0.9) if value else (0.1, -0.1)


@cache
def checks() -> tuple[Check, ...]:
    """Return every test marked as a check from outside, ready to be called."""
    found = []
    for path in sorted(CHECKS.glob("test_*.py")):
        module = import_module(f"tests.rules.{path.stem}")
        for name, function in vars(module).items():
            marks = getattr(function, "pytestmark", [])
            outside = [mark for mark in marks if mark.name == "outside"]
            if name.startswith("test_") and outside and function.__module__ == module.__name__:
                rules = tuple(rule for mark in outside for rule in mark.args)
                kinds = {mark.kwargs.get("kind", "print") for mark in outside}
                by = "; ".join(mark.kwargs["by"] for mark in outside)
                called = tuple(_calls([mark for mark in marks if mark.name == "parametrize"]))
                found.append(
                    Check(
                        f"{path.stem}::{name}", rules, by, "".join(sorted(kinds)), function, called
                    )
                )
    return tuple(found)


def _calls(parametrized: list[pytest.Mark]) -> Iterator[dict[str, Any]]:
    """Yield the arguments of each call of a parametrized test."""
    sets = []
    for mark in parametrized:
        names, rows = mark.args[0], mark.args[1]
        names = [one.strip() for one in names.split(",")] if isinstance(names, str) else names
        rows = [row.values if hasattr(row, "id") else row for row in rows]
        sets.append(
            [dict(zip(names, row if len(names) > 1 else _single(row), strict=True)) for row in rows]
        )
    for chosen in itertools.product(*sets):
        yield {key: value for one in chosen for key, value in one.items()}


def _single(row: Any) -> tuple[Any, ...]:
    return row if isinstance(row, tuple) and len(row) == 1 else (row,)
