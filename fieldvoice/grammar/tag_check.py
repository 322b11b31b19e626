"""What the tags of a grammar set, checked against the frames that there are.

For every part the frames are found that it can set, and for each of them the slots that it may set
and those that it sets whatever is said. Alternatives are kept apart by their frame alone, so the
work grows with the grammar and not with the sentences it allows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING

from fieldvoice.grammar.findings import Finding, Source, Span
from fieldvoice.grammar.frames import KINDS, OTHER_NAMES, PARTS, Frame, FrameKey, Frames
from fieldvoice.grammar.jsgf import (
    Alternatives,
    Repeat,
    Rule,
    RuleRef,
    Sequence,
    Tagged,
    Token,
    children,
    parts_of,
)
from fieldvoice.grammar.tags import CLOSE, SET, enclosing

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from fieldvoice.grammar.jsgf import Expansion

_MEANING = "meaning"
_GIVES = re.compile(r"@gives ([a-z ]+)")


@dataclass(frozen=True, eq=False)
class Setting:
    """A tag that sets a key: to a value, or (``is_counted``) to that of the words before it."""

    key: str
    value: object
    is_counted: bool
    unit: str
    rule: Rule
    span: Span

    @property
    def source(self) -> Source:
        """The file it stands in."""
        return self.rule.source

    @property
    def tag(self) -> str:
        """The tag as it is written."""
        return self.source.text[self.span.start : self.span.end]

    @property
    def place(self) -> str:
        """The rule and place: ``<at_hour> 102:12``."""
        line, column = self.source.place(self.span.start)
        return f"<{_short(self.rule)}> {line}:{column}"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a part sets: the tags that may set each key, and the keys that it always sets."""

    may: Mapping[str, frozenset[Setting]] = field(default_factory=dict)
    must: frozenset[str] = frozenset()
    frame: Setting | None = None


#: What a part can set, by the frame; under None what sets no frame.
Outcomes = dict[FrameKey | None, Outcome]

_NOTHING: Outcomes = {None: Outcome()}


def tag_findings(rules: Mapping[str, Rule], frames: Frames) -> list[Finding]:
    """Return what is wrong with the tags of rules that can be said, each thing once."""
    check = _Check(rules, frames)
    for name in rules:
        check.of_rule(name)
    found = dict.fromkeys(check.findings)
    return sorted(found, key=lambda one: (one.source.name, one.span, one.message))


def _short(rule: Rule) -> str:
    return rule.name.partition(".")[2]


class _Check:
    def __init__(self, rules: Mapping[str, Rule], frames: Frames) -> None:
        self._rules = rules
        self._frames = frames
        self._known: dict[str, Outcomes] = {}
        self._units: dict[str, frozenset[str]] = {}
        self.findings: list[Finding] = []

    def of_rule(self, name: str) -> Outcomes:
        """Return what a rule can set."""
        if name not in self._known:
            rule = self._rules[name]
            self._known[name] = self._of(rule.expansion, rule)
        return self._known[name]

    def _of(self, part: Expansion, rule: Rule) -> Outcomes:
        match part:
            case Token():
                return _NOTHING
            case RuleRef(name):
                return self.of_rule(name)
            case Sequence(parts):
                found = _NOTHING
                for inner in parts:
                    found = self._then(found, self._of(inner, rule), rule)
                return found
            case Alternatives(choices):
                return _either([self._of(choice, rule) for choice in choices])
            case Repeat(inner, least, many):
                once = self._of(inner, rule)
                if many:
                    self._then(once, once, rule)
                return once if least else _either([once, _NOTHING])
            case Tagged():
                return self._tagged(part, rule)

    def _tagged(self, part: Tagged, rule: Rule) -> Outcomes:
        found = self._of(part.part, rule)
        for tag, span in zip(part.tags, part.tagged, strict=True):
            for kind, key, value in enclosing((tag,))[1]:
                if kind == SET:
                    setting = Setting(key, value, False, "", rule, span)
                    found = self._then(found, self._setting(setting), rule)
                elif kind == CLOSE:
                    self._close(key.rstrip("+"), found, part.part, rule)
                    units = self._units_of(part.part)
                    unit = next(iter(units)) if len(units) == 1 else ""
                    counted = Setting(key, None, True, unit, rule, span)
                    found = {None: Outcome({key: frozenset({counted})}, frozenset({key}))}
        return found

    def _setting(self, setting: Setting) -> Outcomes:
        key, value = setting.key, setting.value
        if key not in KINDS:
            return {None: Outcome({key: frozenset({setting})}, frozenset({key}))}
        frame = (key, "" if key == "mention" else str(value))
        if frame not in self._frames:
            names = tuple(name for kind, name in self._frames if kind == key)
            self._wrong("unknown-frame", f"no {KINDS[key]} {frame[1]!r}", setting, names, frame[1])
        return {frame: Outcome(frame=setting)}

    def _wrong(
        self,
        code: str,
        message: str,
        at: Setting,
        expected: tuple[str, ...] = (),
        found: str = "",
        is_warning: bool = False,
    ) -> None:
        inside = at.span
        if code in ("unknown-slot", "unknown-frame", "wrong-value"):
            word = found or at.key
            offset = max(0, at.tag.rfind(word))
            inside = Span(at.span.start + offset, at.span.start + offset + len(word))
        self.findings.append(Finding(code, message, at.source, inside, expected, found, is_warning))

    # ---- one after another, one or the other ----

    def _then(self, first: Outcomes, second: Outcomes, rule: Rule) -> Outcomes:
        if first is _NOTHING or second is _NOTHING:
            return second if first is _NOTHING else first
        found: list[Outcomes] = []
        for (one, before), (two, after) in product(first.items(), second.items()):
            if one is not None and two is not None and one != two:
                self._two_frames(before, after, rule)
                continue
            may = dict(before.may)
            for key, settings in after.may.items():
                if key in may:
                    self._twice(key, before, after)
                may[key] = may.get(key, frozenset()) | settings
            frame = before.frame or after.frame
            found.append({one or two: Outcome(may, before.must | after.must, frame)})
        return _either(found)

    def _two_frames(self, before: Outcome, after: Outcome, rule: Rule) -> None:
        if before.frame and after.frame:
            message = f"this alternative of {_told(rule)} sets {before.frame.tag} and "
            self._wrong("two-frames", message + after.frame.tag, after.frame)

    def _twice(self, key: str, before: Outcome, after: Outcome) -> None:
        """Report a key that one path sets twice; the same value twice does no harm."""
        one, two = _first(before.may[key]), _first(after.may[key])
        values = {(each.value, each.is_counted) for each in before.may[key] | after.may[key]}
        if key.endswith("+") or (len(values) == 1 and not one.is_counted):
            return
        always = key in before.must & after.must
        message = (
            f"{{{key}}} {'is' if always else 'can be'} set twice: {one.place} and {two.place}; "
            "expected one, or a rule that joins them"
        )
        self._wrong("two-values", message, two, is_warning=not always)

    # ---- what a tag encloses ----

    def _close(self, key: str, inner: Outcomes, part: Expansion, rule: Rule) -> None:
        if key == _MEANING:
            self._meaning(inner, part, rule)
        elif key in PARTS:
            for outcome in inner.values():
                for inside, settings in outcome.may.items():
                    if inside.rstrip("+") not in PARTS[key]:
                        names = tuple(sorted(PARTS[key]))
                        message = f"{{{key}}} has no part {inside!r}"
                        for at in settings:
                            self._wrong("unknown-slot", message, at, names, inside)

    def _meaning(self, inner: Outcomes, part: Expansion, rule: Rule) -> None:
        for key, outcome in inner.items():
            frame = self._frames.get(key) if key else None
            if frame is not None:
                self._frame(frame, outcome)
        if None in inner:
            for of, place in self._frameless(part, rule):
                message = f"this alternative of {_told(of)} sets no {{act=…}}"
                self.findings.append(Finding("no-frame", message, of.source, place))

    def _frame(self, frame: Frame, outcome: Outcome) -> None:
        for key, settings in outcome.may.items():
            name = OTHER_NAMES.get(key, key.rstrip("+"))
            if not name:
                continue
            for at in settings:
                if name not in frame.slots:
                    names = tuple(sorted(frame.slots))
                    message = f"{frame.told} has no slot {name!r}{self._way(outcome, at)}"
                    self._wrong("unknown-slot", message, at, names, name)
                elif key == name:
                    self._value(frame, name, at)
        self._needs(frame, outcome)

    def _way(self, outcome: Outcome, at: Setting) -> str:
        """Return how a frame's rule leads to a tag in another: " (by <a> → <b> → <c>)"."""
        start = outcome.frame.rule if outcome.frame else at.rule
        waiting: list[tuple[Rule, ...]] = [(start,)]
        seen = {start.name}
        while waiting:
            path = waiting.pop(0)
            if path[-1].name == at.rule.name:
                steps = " → ".join(f"<{_short(rule)}>" for rule in path)
                return f" (by {steps})" if len(path) > 1 else ""
            for part in parts_of(path[-1].expansion):
                if isinstance(part, RuleRef) and part.name not in seen:
                    seen.add(part.name)
                    waiting.append((*path, self._rules[part.name]))
        return ""

    def _value(self, frame: Frame, name: str, at: Setting) -> None:
        slot = frame.slots[name]
        if not at.is_counted and not slot.accepts(at.value):
            said = at.tag[1:-1].partition("=")[2].strip()
            message = f"{said!r} is no {name} of {frame.told}"
            self._wrong("wrong-value", message, at, slot.values, said)
        elif at.is_counted and at.unit and slot.unit and at.unit != slot.unit:
            names = tuple(f"<{_short(one)}>" for one in self._giving(slot.unit))
            message = f"{{{name}}} is put on words that give {at.unit}, and takes {slot.unit}"
            self._wrong("wrong-type", message, at, names)

    def _needs(self, frame: Frame, outcome: Outcome) -> None:
        if outcome.frame is None:
            return
        rule = outcome.frame.rule
        for group in frame.needs:
            choices = _choices(rule.expansion)
            without = sum(self._can_lack(choice, rule, group) for choice in choices)
            if without and not outcome.must.intersection(group):
                message = (
                    f"{without} of {len(choices)} alternatives of <{_short(rule)}> can end without "
                    f"{' or '.join(group)}: it will be asked for"
                )
                self.findings.append(
                    Finding("missing-need", message, rule.source, rule.span, is_warning=True)
                )

    def _can_lack(self, choice: Expansion, rule: Rule, group: tuple[str, ...]) -> bool:
        return not all(one.must.intersection(group) for one in self._of(choice, rule).values())

    def _frameless(self, part: Expansion, rule: Rule) -> Iterator[tuple[Rule, Span]]:
        """Yield the places of the alternatives in a part that set no frame."""
        match part:
            case RuleRef(name):
                inner = self._rules[name]
                if isinstance(inner.expansion, Token):
                    yield inner, inner.span
                else:
                    yield from self._frameless(inner.expansion, inner)
            case Alternatives(choices):
                for choice in choices:
                    if None in self._of(choice, rule):
                        yield from self._frameless(choice, rule)
            case _:
                yield rule, part.span

    # ---- units ----

    def _giving(self, unit: str) -> list[Rule]:
        return [
            rule for rule in self._rules.values()
            if (given := _GIVES.search(rule.about)) and given[1].strip() == unit
        ]  # fmt: skip

    def _units_of(self, part: Expansion) -> frozenset[str]:
        """Return the units that the number of a part is in, as far as rules tell them."""
        if isinstance(part, RuleRef):
            if part.name not in self._units:
                rule = self._rules[part.name]
                given = _GIVES.search(rule.about)
                units = frozenset({given[1].strip()}) if given else self._units_of(rule.expansion)
                self._units[part.name] = units
            return self._units[part.name]
        if isinstance(part, Tagged) and any(
            tag[0].isalpha() and "=" not in tag for tag in part.tags
        ):
            return frozenset()  # the number goes to that tag
        return frozenset(unit for inner in children(part) for unit in self._units_of(inner))


def _first(settings: frozenset[Setting]) -> Setting:
    return min(settings, key=lambda one: (one.source.name, one.span))


def _told(rule: Rule) -> str:
    return f"public <{_short(rule)}>" if rule.public else f"<{_short(rule)}>"


def _choices(part: Expansion) -> tuple[Expansion, ...]:
    """Return the alternatives of a rule's expansion, within its tags."""
    while isinstance(part, Tagged):
        part = part.part
    return part.choices if isinstance(part, Alternatives) else (part,)


def _either(several: list[Outcomes]) -> Outcomes:
    """Return what is set where one of several parts is said."""
    joined: dict[FrameKey | None, list[Outcome]] = {}
    for outcomes in several:
        for frame, outcome in outcomes.items():
            joined.setdefault(frame, []).append(outcome)
    return {frame: _merged(all_of) for frame, all_of in joined.items()}


def _merged(outcomes: list[Outcome]) -> Outcome:
    if len(outcomes) == 1:
        return outcomes[0]
    may: dict[str, frozenset[Setting]] = {}
    for outcome in outcomes:
        for key, settings in outcome.may.items():
            may[key] = may.get(key, frozenset()) | settings
    must = frozenset.intersection(*(outcome.must for outcome in outcomes))
    return Outcome(may, must, outcomes[0].frame)
