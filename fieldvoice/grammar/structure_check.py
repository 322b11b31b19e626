"""What is wrong with the shape of a grammar: what stands twice, or for nothing, or cannot be heard.

``unreachable`` goes by the grammar alone: a public rule may be used by the program.
"""

from __future__ import annotations

from itertools import accumulate, chain
from typing import TYPE_CHECKING

from fieldvoice.grammar.findings import NOWHERE, Finding, Span
from fieldvoice.grammar.format import WIDTH
from fieldvoice.grammar.jsgf import CLITIC, Alternatives, RuleRef, Token, parts_of, silences
from fieldvoice.grammar.network import ANY_WORD
from fieldvoice.grammar.pronunciations import TRADE_WORDS
from fieldvoice.grammar.weights import LEAST, TIERS, as_written

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from fieldvoice.grammar.findings import Source
    from fieldvoice.grammar.jsgf import Expansion, Rule


def structure_findings(
    rules: Mapping[str, Rule], named: frozenset[str] = frozenset()
) -> Iterator[Finding]:
    """Yield rules and alternatives that stand for nothing or twice, and weights of no tier.

    ``named`` are rules that the program goes by though no other rule does.
    """
    for rule in rules.values():
        yield from silences(rule)
        yield from _doubles(rule)
        yield from _weights(rule)
    yield from _unreachable(rules, named)


def _doubles(rule: Rule) -> Iterator[Finding]:
    """Yield alternatives that stand twice in a choice, those of choices within it included."""
    inner: set[int] = set()
    for part in parts_of(rule.expansion):
        if isinstance(part, Alternatives) and id(part) not in inner:
            first: dict[Expansion, Span] = {}
            for choice in _flat(part, inner):
                if choice in first and choice.span != NOWHERE:
                    yield _double(rule, first[choice], choice.span)
                first.setdefault(choice, choice.span)


def _flat(part: Alternatives, inner: set[int]) -> Iterator[Expansion]:
    for choice in part.choices:
        if isinstance(choice, Alternatives):
            inner.add(id(choice))
            yield from _flat(choice, inner)
        else:
            yield choice


def _double(rule: Rule, first: Span, again: Span) -> Finding:
    source = rule.source
    said = source.text[again.start : again.end]
    places = ", ".join(
        ":".join(map(str, source.place(span.start))) for span in sorted((first, again))
    )
    message = f"{said!r} stands twice in <{rule.name.partition('.')[2]}> ({places})"
    return Finding("double", message, source, again)


def _weights(rule: Rule) -> Iterator[Finding]:
    for part in parts_of(rule.expansion):
        if not isinstance(part, Alternatives):
            continue
        for weight, span in zip(part.weights, part.weighed, strict=False):
            if span == NOWHERE:
                continue
            if weight not in TIERS:
                message = f"weight {as_written(weight)} is no tier (run format with --weights)"
                tiers = tuple(map(as_written, TIERS))
                yield Finding("weight", message, rule.source, span, tiers)
            elif weight < LEAST:
                message = f"weight {as_written(weight)} is below {LEAST}: make it a saying"
                yield Finding("weight", message, rule.source, span, is_warning=True)


def _unreachable(rules: Mapping[str, Rule], named: frozenset[str]) -> Iterator[Finding]:
    used: set[str] = set()
    waiting = [name for name, rule in rules.items() if rule.public or name in named]
    while waiting:
        name = waiting.pop()
        if name not in used:
            used.add(name)
            parts = parts_of(rules[name].expansion)
            waiting += [part.name for part in parts if isinstance(part, RuleRef)]
    for name, rule in rules.items():
        if name not in used:
            message = f"<{name.partition('.')[2]}> is never used"
            yield Finding("unreachable", message, rule.source, rule.span)


def long_lines(source: Source) -> Iterator[Finding]:
    """Yield the lines with too many columns."""
    lines = source.text.splitlines(keepends=True)
    starts = chain([0], accumulate(map(len, lines)))
    for start, line in zip(starts, lines, strict=False):
        columns = len(line.rstrip("\n"))
        if columns > WIDTH:
            message = f"{columns:,} columns; at most {WIDTH} (run make format)"
            yield Finding("long-line", message, source, Span(start + WIDTH, start + columns))


def unheard(rules: Iterable[Rule], known: frozenset[str]) -> Iterator[Finding]:
    """Yield the words that no pronunciation is ``known`` of, each where it stands first."""
    told = {ANY_WORD, CLITIC}
    for rule in rules:
        for part in parts_of(rule.expansion):
            if isinstance(part, Token) and part.text not in known and part.text not in told:
                told.add(part.text)
                message = f'"{part.text}" has no pronunciation; add it to {TRADE_WORDS}'
                yield Finding("not-heard", message, rule.source, part.span)
