"""Read JSGF, the open grammar format, into a tree of expansions.

What is read: the self-identifying header, ``grammar``, ``import``, public and private rules,
sequences, alternatives with ``/weights/``, groups, ``[optional]`` parts, ``*`` and ``+``, tags in
braces, quoted tokens, ``<NULL>``, ``<VOID>`` and comments. A part in brackets may have a weight of
its own, ``[/0.3/ x]``: x is said 0.3 times as often as not. Recursion is refused, since a grammar
without it is a finite-state network, the one object that all its users share.

Source of the format: *JSpeech Grammar Format*, W3C Note, 5 June 2000.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from fieldvoice.errors import GrammarError
from fieldvoice.grammar.findings import (
    NO_SOURCE,
    NOWHERE,
    Finding,
    PlacedGrammarError,
    Source,
    Span,
)
from fieldvoice.grammar.tags import is_tag

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path


# Parts know where they stand; two that say the same are equal wherever that is.


@dataclass(frozen=True, slots=True)
class Token:
    """One word to be said."""

    text: str
    span: Span = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class RuleRef:
    """A reference to a rule by its full name, ``grammar.rule``."""

    name: str
    span: Span = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Sequence:
    """Parts said one after another; none at all is silence."""

    parts: tuple[Expansion, ...]
    span: Span = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Alternatives:
    """A choice; ``weights`` stand beside ``choices`` and say how often each is said.

    ``weighed`` are the places of the weights, NOWHERE of those that were not written.
    """

    choices: tuple[Expansion, ...]
    weights: tuple[float, ...]
    span: Span = field(default=NOWHERE, compare=False, repr=False)
    weighed: tuple[Span, ...] = field(default=(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Repeat:
    """A part said again and again: at least ``least`` times, once at most unless ``many``."""

    part: Expansion
    least: int
    many: bool
    span: Span = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Tagged:
    """A part with the tags that follow it, in order, and their places."""

    part: Expansion
    tags: tuple[str, ...]
    span: Span = field(default=NOWHERE, compare=False, repr=False)
    tagged: tuple[Span, ...] = field(default=(), compare=False, repr=False)


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
    source: Source = field(default=NO_SOURCE, compare=False, repr=False)
    span: Span = field(default=NOWHERE, compare=False, repr=False)

    @property
    def place(self) -> str:
        """Where it stands: ``notes.jsgf:12``."""
        return f"{self.source.name}:{self.source.place(self.span.start)[0]}"


@dataclass(slots=True)
class GrammarFile:
    """One file as read: its rules by short name, and what it imports, with the places."""

    name: str
    source: Source
    rules: dict[str, Rule] = field(default_factory=dict)
    imports: list[tuple[str, Span]] = field(default_factory=list)


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
class Lexeme:
    """The smallest piece of a grammar file; its ``kind`` is a group's name of ``_LEXEME``."""

    kind: str
    text: str
    at: int

    @property
    def span(self) -> Span:
        """Where it stands."""
        return Span(self.at, self.at + len(self.text))


#: What opens something that is closed by the other; a comment and a tag are lexemes of their own.
_CLOSING = {"(": ")", "[": "]", "{": "}", '"': '"', "<": ">", "/*": "*/"}

#: What may begin a part.
_BEGINNINGS = "a word, '<rule>', '(' or '['"


def lexemes(source: Source) -> Iterator[Lexeme]:
    """Yield the pieces of a file in order, spaces and comments included, then an ``end``.

    Raises:
        PlacedGrammarError: for a sign that begins nothing; a tag, quote or comment without its end.
    """
    at = 0
    while at < len(source.text):
        match = _LEXEME.match(source.text, at)
        if match is None:
            raise _stray(source, at)
        yield Lexeme(str(match.lastgroup), match.group(), at)
        at = match.end()
    yield Lexeme("end", "", at)


def _stray(source: Source, at: int) -> PlacedGrammarError:
    opened = next((sign for sign in ("/*", "{", '"', "<") if source.text.startswith(sign, at)), "")
    if opened:
        message = f"{opened!r} is never closed; expected {_CLOSING[opened]!r}"
        return PlacedGrammarError(Finding("unclosed", message, source, Span(at, at + len(opened))))
    message = f"found {source.text[at]!r}, which cannot stand here; expected {_BEGINNINGS}"
    return PlacedGrammarError(Finding("syntax", message, source, Span(at, at + 1)))


class _Reader:
    """A recursive-descent reader over the lexemes of one file."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._lexemes = [one for one in lexemes(source) if one.kind not in ("space", "comment")]
        self._place = 0

    def file(self) -> GrammarFile:
        self._header()
        self._expect("word", "grammar")
        name = self._take("word", "the grammar's name").text.rsplit(".", 1)[-1]
        result = GrammarFile(name, self._source)
        self._expect("sign", ";")
        while self._now.kind == "word" and self._now.text == "import":
            self._place += 1
            imported = self._take("rule", "'<grammar.rule>'")
            result.imports.append((imported.text[1:-1], imported.span))
            self._expect("sign", ";")
        while self._now.kind != "end":
            rule = self._rule()
            if rule.name in result.rules:
                first = _at(self._source, result.rules[rule.name].span)
                message = f"rule <{rule.name}> is defined twice: it stands at {first} too"
                raise PlacedGrammarError(Finding("double", message, self._source, rule.span))
            result.rules[rule.name] = rule
        return result

    @property
    def _now(self) -> Lexeme:
        return self._lexemes[self._place]

    def _wrong(self, expected: str) -> PlacedGrammarError:
        found = repr(self._now.text) if self._now.text else "the end of the file"
        after = f" after {self._lexemes[self._place - 1].text!r}" if self._place else ""
        message = f"found {found}{after}; expected {expected}"
        return PlacedGrammarError(Finding("syntax", message, self._source, self._now.span))

    def _unclosed(self, opened: Lexeme, expected: str) -> PlacedGrammarError:
        before = repr(self._now.text) if self._now.text else "the end of the file"
        sign = opened.text if opened.kind == "sign" else f"rule {opened.text}"
        told = repr(sign) if opened.kind == "sign" else sign
        message = (
            f"{told} of {_at(self._source, opened.span)} is never closed; "
            f"expected {expected} before {before}"
        )
        return PlacedGrammarError(Finding("unclosed", message, self._source, self._now.span))

    def _take(self, kind: str, expected: str) -> Lexeme:
        lexeme = self._now
        if lexeme.kind != kind:
            raise self._wrong(expected)
        self._place += 1
        return lexeme

    def _is(self, sign: str) -> bool:
        return self._now.kind == "sign" and self._now.text == sign

    def _expect(self, kind: str, text: str) -> None:
        if self._now.kind != kind or self._now.text != text:
            raise self._wrong(repr(text))
        self._place += 1

    def _header(self) -> None:
        if not self._now.text.startswith("#JSGF"):
            raise self._wrong("'#JSGF V1.0;': the file must begin with it")
        while not self._is(";"):
            if self._now.kind == "end":
                raise self._wrong("';'")
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
        name = self._take("rule", "'public' or '<rule>'")
        self._expect("sign", "=")
        expansion = self._alternatives()
        if self._now.kind == "end":
            raise self._unclosed(name, "';'")
        if not self._is(";"):
            raise self._wrong(f"{_BEGINNINGS}, '|' or ';'")
        self._place += 1
        return Rule(name.text[1:-1], expansion, public, about, self._source, name.span)

    def _alternatives(self, in_brackets: bool = False) -> Expansion:
        choices: list[Expansion] = []
        weights: list[float] = []
        places: list[Span] = []
        begins = self._now.at
        while True:
            weighed, weight = NOWHERE, 1.0
            if self._now.kind == "weight":
                weighed, weight = self._now.span, self._weight()
            choices.append(self._sequence())
            weights.append(weight)
            places.append(weighed)
            if not self._is("|"):
                break
            self._place += 1
        span = Span(begins, self._lexemes[self._place - 1].span.end)
        if len(choices) > 1 or not in_brackets:
            if len(choices) == 1 and places[0] is not NOWHERE:
                raise self._wrong("'|': a weight needs something to be weighed against")
            several = Alternatives(tuple(choices), tuple(weights), span, tuple(places))
            part = choices[0] if len(choices) == 1 else several
            return Repeat(part, *OPTIONAL, span) if in_brackets else part
        if places[0] is NOWHERE:
            return Repeat(choices[0], *OPTIONAL, span)
        return Alternatives((choices[0], SILENCE), (weights[0], 1.0), span, (places[0], NOWHERE))

    def _weight(self) -> float:
        try:
            weight = float(self._now.text.strip("/ "))
        except ValueError:
            raise self._wrong("a number between the slashes") from None
        self._place += 1
        return weight

    def _sequence(self) -> Expansion:
        parts: list[Expansion] = []
        begins = self._now.at
        while self._now.kind in ("word", "quoted", "rule") or self._is("(") or self._is("["):
            parts.append(self._item())
        if not parts:
            raise self._wrong(_BEGINNINGS)
        span = Span(begins, self._lexemes[self._place - 1].span.end)
        return parts[0] if len(parts) == 1 else Sequence(tuple(parts), span)

    def _item(self) -> Expansion:
        begins = self._now.at
        item = self._atom()
        while self._is("*") or self._is("+"):
            span = Span(begins, self._now.span.end)
            item = Repeat(item, least=1 if self._now.text == "+" else 0, many=True, span=span)
            self._place += 1
        tags: list[Lexeme] = []
        while self._now.kind == "tag":
            tags.append(self._tag())
        if not tags:
            return item
        told = tuple(tag.text[1:-1].strip() for tag in tags)
        return Tagged(item, told, Span(begins, tags[-1].span.end), tuple(tag.span for tag in tags))

    def _tag(self) -> Lexeme:
        if not is_tag(self._now.text[1:-1].strip()):
            raise self._wrong("a tag: {key=value}, {key}, {key+}, {+1}, {*1}, {/1} or {.1}")
        self._place += 1
        return self._lexemes[self._place - 1]

    def _atom(self) -> Expansion:
        lexeme = self._now
        self._place += 1
        if lexeme.kind == "rule":
            name = lexeme.text[1:-1]
            return _SPECIAL.get(name) or RuleRef(name, lexeme.span)
        if lexeme.kind in ("word", "quoted"):
            return _token(lexeme.text.strip('"').lower(), lexeme.span)
        inner = self._alternatives(in_brackets=lexeme.text == "[")
        closing = _CLOSING[lexeme.text]
        if not self._is(closing):
            raise self._unclosed(lexeme, f"{closing!r} or '|'")
        self._place += 1
        return inner


def _at(source: Source, span: Span) -> str:
    line, column = source.place(span.start)
    return f"{line}:{column}"


def _token(text: str, span: Span) -> Expansion:
    owner = text.removesuffix(CLITIC)
    if owner in ("", text):
        return Token(text, span)
    return Sequence((Token(owner, span), Token(CLITIC, span)), span)


def read_file(text: str, source: str) -> GrammarFile:
    """Return the rules of one JSGF text; ``source`` names it in errors.

    Raises:
        PlacedGrammarError: naming the place, what was found and what was expected there.
    """
    return _Reader(Source(source, text)).file()


def read_folder(folder: Path) -> dict[str, Rule]:
    """Return all rules of a folder's ``*.jsgf`` files by full name, ``grammar.rule``.

    Raises:
        GrammarError: for a folder without grammars.
        PlacedGrammarError: for the first thing wrong in them.
    """
    rules, wrong = link([read_file(*text_of(path)) for path in grammar_paths(folder)])
    for finding in wrong or recursions(rules):
        raise PlacedGrammarError(finding)
    return rules


def grammar_paths(folder: Path) -> list[Path]:
    """Return the grammar files of a folder in order.

    Raises:
        GrammarError: there are none.
    """
    paths = sorted(folder.glob("*.jsgf"))
    if not paths:
        raise GrammarError(f"no grammar files (*.jsgf) in {folder}")
    return paths


def text_of(path: Path) -> tuple[str, str]:
    """Return a grammar file's text and name.

    Raises:
        GrammarError: it cannot be read as text.
    """
    try:
        return path.read_text(encoding="utf-8"), path.name
    except (OSError, UnicodeDecodeError) as error:
        raise GrammarError(f"cannot read the grammar {path.name}: {error}") from error


def link(files: Iterable[GrammarFile]) -> tuple[dict[str, Rule], list[Finding]]:
    """Return all rules by full name, their references resolved, and which lead nowhere."""
    by_name = {file.name: file for file in files}
    rules: dict[str, Rule] = {}
    wrong: list[Finding] = []
    for file in by_name.values():
        scope = _scope(file, by_name, wrong)
        wrong += _undefined(file, scope)
        for rule in file.rules.values():
            full = f"{file.name}.{rule.name}"
            expansion = _resolve(rule.expansion, scope)
            rules[full] = replace(rule, name=full, expansion=expansion)
    return rules, wrong


def _scope(
    file: GrammarFile, files: Mapping[str, GrammarFile], wrong: list[Finding]
) -> dict[str, str]:
    """Return what each short rule name means inside ``file``; imports of nothing join ``wrong``."""
    scope: dict[str, str] = {}
    for imported, span in file.imports:
        grammar, _, name = imported.rpartition(".")
        grammar = grammar.rsplit(".", 1)[-1]
        known = files.get(grammar)
        public = [one.name for one in known.rules.values() if one.public] if known else []
        if known is None:
            message = f"<{imported}> is imported, but no grammar has that name"
            wrong.append(
                Finding("undefined-rule", message, file.source, span, tuple(files), grammar)
            )
        elif name not in ("*", *public):
            message = f"<{imported}> is imported, which is not a public rule of {grammar}"
            wrong.append(Finding("undefined-rule", message, file.source, span, tuple(public), name))
        names = public if name == "*" else [name]
        scope.update({short: f"{grammar}.{short}" for short in names})
    scope.update({name: f"{file.name}.{name}" for name in file.rules})
    return scope


def _undefined(file: GrammarFile, scope: Mapping[str, str]) -> Iterator[Finding]:
    for rule in file.rules.values():
        for part in parts_of(rule.expansion):
            if isinstance(part, RuleRef) and part.name not in scope:
                message = f"<{part.name}> is not defined in {file.source.name} or imported"
                near = difflib.get_close_matches(part.name, scope, n=1)
                message += f"; did you mean <{near[0]}>?" if near else ""
                yield Finding("undefined-rule", message, file.source, part.span)


def _resolve(part: Expansion, scope: Mapping[str, str]) -> Expansion:
    match part:
        case RuleRef(name):
            return replace(part, name=scope.get(name, name))
        case Sequence(parts):
            return replace(part, parts=tuple(_resolve(inner, scope) for inner in parts))
        case Alternatives(choices):
            return replace(part, choices=tuple(_resolve(one, scope) for one in choices))
        case Repeat(inner) | Tagged(inner):
            return replace(part, part=_resolve(inner, scope))
        case Token():
            return part


def children(part: Expansion) -> tuple[Expansion, ...]:
    """Return the direct parts of an expansion (none for words and rule references)."""
    match part:
        case Sequence(parts):
            return parts
        case Alternatives(choices):
            return choices
        case Repeat(inner) | Tagged(inner):
            return (inner,)
        case _:
            return ()


def parts_of(part: Expansion) -> Iterator[Expansion]:
    """Yield an expansion and all that is in it, in order."""
    yield part
    for inner in children(part):
        yield from parts_of(inner)


def without_void(rules: Mapping[str, Rule]) -> dict[str, Rule]:
    """Return ``rules`` without the choices that can never be said, and without void rules."""
    names: frozenset[str] = frozenset()
    while True:
        void = frozenset(name for name, rule in rules.items() if _is_void(rule.expansion, names))
        if void == names:
            break
        names = void
    return {
        name: replace(rule, expansion=_sayable(rule.expansion, names))
        for name, rule in rules.items()
        if name not in names
    }


def _is_void(part: Expansion, void: frozenset[str]) -> bool:
    match part:
        case RuleRef(name):
            return name in void
        case Sequence(parts):
            return any(_is_void(inner, void) for inner in parts)
        case Alternatives(choices):
            return all(_is_void(one, void) for one in choices)
        case Repeat(inner, least, _):
            return least > 0 and _is_void(inner, void)
        case Tagged(inner):
            return _is_void(inner, void)
        case Token():
            return False


def _sayable(part: Expansion, void: frozenset[str]) -> Expansion:
    match part:
        case Sequence(parts):
            return replace(part, parts=tuple(_sayable(inner, void) for inner in parts))
        case Alternatives(choices):
            kept = [at for at, one in enumerate(choices) if not _is_void(one, void)]
            return replace(
                part,
                choices=tuple(_sayable(choices[at], void) for at in kept),
                weights=tuple(part.weights[at] for at in kept),
                weighed=tuple(part.weighed[at] for at in kept) if part.weighed else (),
            )
        case Repeat(inner):
            return SILENCE if _is_void(inner, void) else replace(part, part=_sayable(inner, void))
        case Tagged(inner):
            return replace(part, part=_sayable(inner, void))
        case _:
            return part


def recursions(rules: Mapping[str, Rule]) -> Iterator[Finding]:
    """Yield each rule that leads back to itself, once a circle."""
    done: set[str] = set()

    def visit(name: str, path: tuple[str, ...]) -> Iterator[Finding]:
        if name in path:
            circle = " → ".join(f"<{step}>" for step in (*path[path.index(name) :], name))
            rule = rules[name]
            message = f"a rule may not contain itself: {circle}"
            yield Finding("recursion", message, rule.source, rule.span)
            return
        if name in done:
            return
        for part in parts_of(rules[name].expansion):
            if isinstance(part, RuleRef):
                yield from visit(part.name, (*path, name))
        done.add(name)

    for name in rules:
        yield from visit(name, ())


def silences(rule: Rule) -> Iterator[Finding]:
    """Yield what a rule can say without a word: all of it, or a part that is repeated."""
    if _is_silent(rule.expansion):
        yield Finding("silent", f"<{rule.name}> can be said with no word", rule.source, rule.span)
    for part in parts_of(rule.expansion):
        if isinstance(part, Repeat) and part.many and _is_silent(part.part):
            message = f"a repeated part of <{rule.name}> can be said with no word"
            yield Finding("silent", message, rule.source, part.span)


def _is_silent(part: Expansion) -> bool:
    """Whether a part can be said without a word; a rule that it refers to never can."""
    match part:
        case Sequence(parts):
            return all(map(_is_silent, parts))
        case Alternatives(choices):
            return any(map(_is_silent, choices))
        case Repeat(inner, least):
            return least == 0 or _is_silent(inner)
        case Tagged(inner):
            return _is_silent(inner)
        case _:
            return False
