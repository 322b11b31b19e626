"""Read JSGF, the open grammar format, into a tree of expansions.

What is read: the self-identifying header, ``grammar``, ``import``, public and private rules,
sequences, alternatives with ``/weights/``, groups, ``[optional]`` parts, ``*`` and ``+``, tags in
braces, quoted tokens, ``<NULL>``, ``<VOID>`` and comments. A part in brackets may have a weight of
its own, ``[/0.3/ x]``: x is said 0.3 times as often as not. Recursion is refused, since a grammar
without it is a finite-state network, the one object that all its users share.

Source of the format: *JSpeech Grammar Format*, W3C Note, 5 June 2000.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fieldvoice.errors import GrammarError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class Token:
    """One word to be said."""

    text: str


@dataclass(frozen=True, slots=True)
class RuleRef:
    """A reference to a rule by its full name, ``grammar.rule``."""

    name: str


@dataclass(frozen=True, slots=True)
class Sequence:
    """Parts said one after another; none at all is silence."""

    parts: tuple[Expansion, ...]


@dataclass(frozen=True, slots=True)
class Alternatives:
    """A choice; ``weights`` stand beside ``choices`` and say how often each is said."""

    choices: tuple[Expansion, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Repeat:
    """A part said again and again: at least ``least`` times, once at most unless ``many``."""

    part: Expansion
    least: int
    many: bool


@dataclass(frozen=True, slots=True)
class Tagged:
    """A part with the tags that follow it, in order."""

    part: Expansion
    tags: tuple[str, ...]


Expansion = Token | RuleRef | Sequence | Alternatives | Repeat | Tagged

OPTIONAL = (0, False)

#: "what's" and "tree nine's" are two tokens, the second of them this.
CLITIC = "'s"

#: ``<NULL>``, which is said without a word, and ``<VOID>``, which can never be said (section 4.2).
SILENCE = Sequence(())
NOTHING = Alternatives((), ())
_SPECIAL: dict[str, Expansion] = {"NULL": SILENCE, "VOID": NOTHING}


@dataclass(frozen=True, slots=True)
class Rule:
    """A named rule. ``about`` is the documentation comment that stands before it."""

    name: str
    expansion: Expansion
    public: bool
    about: str


@dataclass(slots=True)
class GrammarFile:
    """One file as read: its rules by short name, and what it imports."""

    name: str
    rules: dict[str, Rule] = field(default_factory=dict)
    imports: list[str] = field(default_factory=list)


_LEXEME = re.compile(
    r"""
    (?P<about>/\*\*.*?\*/)
  | (?P<comment>//[^\n]*|/\*.*?\*/)
  | (?P<space>\s+)
  | (?P<weight>/\s*[0-9.]+\s*/)
  | (?P<rule><[^<>\n]+>)
  | (?P<tag>\{(?:[^{}\\]|\\.)*\})
  | (?P<quoted>"(?:[^"\\\n]|\\.)*")
  | (?P<sign>[=;|()\[\]*+])
  | (?P<word>[^\s=;|()\[\]*+<>{}"/]+)
    """,
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class _Lexeme:
    kind: str
    text: str
    at: int


def _lexemes(text: str, source: str) -> Iterator[_Lexeme]:
    at = 0
    while at < len(text):
        match = _LEXEME.match(text, at)
        if match is None:
            raise _error(text, source, at, "this cannot stand here")
        if match.lastgroup not in ("space", "comment"):
            yield _Lexeme(str(match.lastgroup), match.group(), at)
        at = match.end()
    yield _Lexeme("end", "", at)


def _error(text: str, source: str, at: int, message: str) -> GrammarError:
    line = text.count("\n", 0, at) + 1
    start = text.rfind("\n", 0, at) + 1
    shown = text[start:].split("\n", 1)[0]
    return GrammarError(f"{source}, line {line}: {message}: {shown.strip()!r}")


class _Reader:
    """A recursive-descent reader over the lexemes of one file."""

    def __init__(self, text: str, source: str) -> None:
        self._text = text
        self._source = source
        self._lexemes = list(_lexemes(text, source))
        self._place = 0

    def file(self) -> GrammarFile:
        self._header()
        self._expect("word", "grammar")
        result = GrammarFile(self._take("word").text.rsplit(".", 1)[-1])
        self._expect("sign", ";")
        while self._now.kind == "word" and self._now.text == "import":
            self._place += 1
            result.imports.append(self._take("rule").text[1:-1])
            self._expect("sign", ";")
        while self._now.kind != "end":
            rule = self._rule()
            if rule.name in result.rules:
                raise self._wrong(f"rule <{rule.name}> is defined twice")
            result.rules[rule.name] = rule
        return result

    @property
    def _now(self) -> _Lexeme:
        return self._lexemes[self._place]

    def _wrong(self, message: str) -> GrammarError:
        return _error(self._text, self._source, self._now.at, message)

    def _take(self, kind: str) -> _Lexeme:
        lexeme = self._now
        if lexeme.kind != kind:
            raise self._wrong(f"expected a {kind}, found {lexeme.text or 'the end of the file'!r}")
        self._place += 1
        return lexeme

    def _expect(self, kind: str, text: str) -> None:
        if self._now.kind != kind or self._now.text != text:
            raise self._wrong(f"expected {text!r}")
        self._place += 1

    def _header(self) -> None:
        if not self._now.text.startswith("#JSGF"):
            raise self._wrong("the file must begin with #JSGF V1.0;")
        while not (self._now.kind == "sign" and self._now.text == ";"):
            self._place += 1
        self._place += 1

    def _rule(self) -> Rule:
        about = ""
        while self._now.kind == "about":
            about = " ".join(self._now.text[3:-2].replace("*", " ").split())
            self._place += 1
        public = self._now.kind == "word" and self._now.text == "public"
        if public:
            self._place += 1
        name = self._take("rule").text[1:-1]
        self._expect("sign", "=")
        expansion = self._alternatives()
        self._expect("sign", ";")
        return Rule(name, expansion, public, about)

    def _alternatives(self, in_brackets: bool = False) -> Expansion:
        choices: list[Expansion] = []
        weights: list[float] = []
        is_weighted = self._now.kind == "weight"
        while True:
            weight = 1.0
            if self._now.kind == "weight":
                weight = float(self._take("weight").text.strip("/ "))
            choices.append(self._sequence())
            weights.append(weight)
            if self._now.text != "|" or self._now.kind != "sign":
                break
            self._place += 1
        if len(choices) == 1 and is_weighted and not in_brackets:
            raise self._wrong("a weight needs something to be weighed against")
        if in_brackets and not (len(choices) == 1 and is_weighted):
            return Repeat(_one_of(choices, weights), *OPTIONAL)
        if in_brackets:
            return Alternatives((choices[0], SILENCE), (weights[0], 1.0))
        return _one_of(choices, weights)

    def _sequence(self) -> Expansion:
        parts: list[Expansion] = []
        while self._now.kind in ("word", "quoted", "rule") or self._now.text in ("(", "["):
            parts.append(self._item())
        if not parts:
            raise self._wrong("expected something to say")
        return parts[0] if len(parts) == 1 else Sequence(tuple(parts))

    def _item(self) -> Expansion:
        item = self._atom()
        while self._now.kind == "sign" and self._now.text in "*+":
            item = Repeat(item, least=1 if self._now.text == "+" else 0, many=True)
            self._place += 1
        tags: list[str] = []
        while self._now.kind == "tag":
            tags.append(self._take("tag").text[1:-1].strip())
        return Tagged(item, tuple(tags)) if tags else item

    def _atom(self) -> Expansion:
        lexeme = self._now
        self._place += 1
        if lexeme.kind == "rule":
            name = lexeme.text[1:-1]
            return _SPECIAL.get(name) or RuleRef(name)
        if lexeme.kind in ("word", "quoted"):
            return _token(lexeme.text.strip('"').lower())
        inner = self._alternatives(in_brackets=lexeme.text == "[")
        self._expect("sign", ")" if lexeme.text == "(" else "]")
        return inner


def _token(text: str) -> Expansion:
    owner = text.removesuffix(CLITIC)
    return Token(text) if owner in ("", text) else Sequence((Token(owner), Token(CLITIC)))


def _one_of(choices: list[Expansion], weights: list[float]) -> Expansion:
    return choices[0] if len(choices) == 1 else Alternatives(tuple(choices), tuple(weights))


def read_file(text: str, source: str) -> GrammarFile:
    """Return the rules of one JSGF text; ``source`` names it in errors.

    Raises:
        GrammarError: naming the line, and what was expected there.
    """
    return _Reader(text, source).file()


def read_folder(folder: Path) -> dict[str, Rule]:
    """Return all rules of a folder's ``*.jsgf`` files by full name, ``grammar.rule``.

    Raises:
        GrammarError: for unreadable files, unknown references, or a rule that contains itself.
    """
    paths = sorted(folder.glob("*.jsgf"))
    if not paths:
        raise GrammarError(f"no grammar files (*.jsgf) in {folder}")
    files = [read_file(path.read_text(encoding="utf-8"), path.name) for path in paths]
    by_name = {file.name: file for file in files}
    rules: dict[str, Rule] = {}
    for file in files:
        scope = _scope(file, by_name)
        for rule in file.rules.values():
            expansion = _resolve(rule.expansion, scope, f"{file.name}.{rule.name}")
            full = f"{file.name}.{rule.name}"
            rules[full] = Rule(full, expansion, rule.public, rule.about)
    _refuse_recursion(rules)
    return rules


def _scope(file: GrammarFile, files: Mapping[str, GrammarFile]) -> dict[str, str]:
    """Return what each short rule name means inside ``file``."""
    scope: dict[str, str] = {}
    for imported in file.imports:
        grammar, _, name = imported.rpartition(".")
        grammar = grammar.rsplit(".", 1)[-1]
        if grammar not in files:
            raise GrammarError(f"{file.name} imports <{imported}>, but no grammar has that name")
        public = [rule.name for rule in files[grammar].rules.values() if rule.public]
        names = public if name == "*" else [name]
        if name != "*" and name not in public:
            raise GrammarError(f"{file.name} imports <{imported}>, which is not a public rule")
        scope.update({short: f"{grammar}.{short}" for short in names})
    scope.update({name: f"{file.name}.{name}" for name in file.rules})
    return scope


def _resolve(part: Expansion, scope: Mapping[str, str], where: str) -> Expansion:
    match part:
        case RuleRef(name):
            if name not in scope:
                raise GrammarError(f"<{where}> uses <{name}>, which is not defined or imported")
            return RuleRef(scope[name])
        case Sequence(parts):
            return Sequence(tuple(_resolve(inner, scope, where) for inner in parts))
        case Alternatives(choices, weights):
            return Alternatives(tuple(_resolve(one, scope, where) for one in choices), weights)
        case Repeat(inner, least, many):
            return Repeat(_resolve(inner, scope, where), least, many)
        case Tagged(inner, tags):
            return Tagged(_resolve(inner, scope, where), tags)
        case Token():
            return part


def children(part: Expansion) -> tuple[Expansion, ...]:
    """Return the direct parts of an expansion (none for words and rule references)."""
    match part:
        case Sequence(parts):
            return parts
        case Alternatives(choices, _):
            return choices
        case Repeat(inner, _, _) | Tagged(inner, _):
            return (inner,)
        case _:
            return ()


def without_void(rules: Mapping[str, Rule]) -> dict[str, Rule]:
    """Return ``rules`` without the choices that can never be said, and without void rules."""
    names: frozenset[str] = frozenset()
    while True:
        void = frozenset(name for name, rule in rules.items() if _is_void(rule.expansion, names))
        if void == names:
            break
        names = void
    return {
        name: Rule(name, _sayable(rule.expansion, names), rule.public, rule.about)
        for name, rule in rules.items()
        if name not in names
    }


def _is_void(part: Expansion, void: frozenset[str]) -> bool:
    match part:
        case RuleRef(name):
            return name in void
        case Sequence(parts):
            return any(_is_void(inner, void) for inner in parts)
        case Alternatives(choices, _):
            return all(_is_void(one, void) for one in choices)
        case Repeat(inner, least, _):
            return least > 0 and _is_void(inner, void)
        case Tagged(inner, _):
            return _is_void(inner, void)
        case Token():
            return False


def _sayable(part: Expansion, void: frozenset[str]) -> Expansion:
    match part:
        case Sequence(parts):
            return Sequence(tuple(_sayable(inner, void) for inner in parts))
        case Alternatives(choices, weights):
            kept = [
                (_sayable(one, void), weight)
                for one, weight in zip(choices, weights, strict=True)
                if not _is_void(one, void)
            ]
            return Alternatives(tuple(one for one, _ in kept), tuple(weight for _, weight in kept))
        case Repeat(inner, least, many):
            return SILENCE if _is_void(inner, void) else Repeat(_sayable(inner, void), least, many)
        case Tagged(inner, tags):
            return Tagged(_sayable(inner, void), tags)
        case _:
            return part


def _references(part: Expansion) -> Iterator[str]:
    if isinstance(part, RuleRef):
        yield part.name
    for inner in children(part):
        yield from _references(inner)


def _refuse_recursion(rules: Mapping[str, Rule]) -> None:
    done: set[str] = set()

    def visit(name: str, path: tuple[str, ...]) -> None:
        if name in path:
            cycle = " → ".join(f"<{step}>" for step in (*path[path.index(name) :], name))
            raise GrammarError(f"a rule may not contain itself: {cycle}")
        if name in done:
            return
        for inner in _references(rules[name].expansion):
            visit(inner, (*path, name))
        done.add(name)

    for name in rules:
        visit(name, ())
