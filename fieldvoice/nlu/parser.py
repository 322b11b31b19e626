"""The search: words through the grammar's networks, the cheapest ways first.

Every rule is a small network that calls others. A call is answered once for each place in the
sentence and remembered, so the work grows with the grammar's text and not with the number of
sentences it allows. On the way the search may pass over a word, supply a small one, or take a word
for one near to it, each at a price (see ``prices``); it keeps the few cheapest ways that differ in
meaning.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from fieldvoice.grammar.network import ANY_WORD, beginning, first_words_of, silent_reach
from fieldvoice.nlu import costs
from fieldvoice.nlu.normalise import BREAK

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from fieldvoice.grammar.network import Beginning, Marks, Network
    from fieldvoice.grammar.tags import Mark

    #: For each state of a rule: (end, cost, marks, word).
    Supplies = tuple[tuple[tuple[int, float, Marks, str], ...], ...]

#: How many ways that differ in meaning are kept at each state.
WIDTH = 4

# The grammar of single numbers: "four, five" are two.
_ONE_NUMBER = "numbers."
_QUESTIONS = ("asks.", "follow_ups.")
_SEVERAL = "fieldvoice.several"
_LISTS = ("things.list", "things.plain_list", "things.bare_list")

# Where these may stand, any number may.
_COUNTING = frozenset({"one", "two"})

# Where no word is supplied: "the tank" is the only one, but "tank" alone has lost its number.
# Numbers and hours are what was said, and "little" is not "a little". What gear it is was said, and
# how free words are opened. Yes, no and other commands are a word or two.
_AS_SAID = (
    "notes.on_the_fire", "notes.make_note", "notes.observed", "things.vessel",
    "things.known_vessel", "things.gear", "things.nearly", "numbers.", "times.",
    "commands.confirm", "commands.deny", "commands.repeat", "commands.finish_round",
    "commands.quiet",
)  # fmt: skip

# Where a noun is supplied and nothing else: "emptied nine" is bucket nine, but "one tree eleven" is
# not the one on tree eleven.
_NOUN_SUPPLIED = ("things.bucket_tree",)

# Between "tank" and its number, between the numbers of several trees, in a number and in a name,
# nothing is passed over but sounds: "tote has two hundred" is no tote 2, and "three came to twenty"
# no three to twenty.
_NUMBERED = (
    "things.tree", "things.bucket_tree", "things.numbered_vessel", "things.vessel",
    "things.known_vessel", "things.range", "things.list", "things.plain_list", "things.bare_",
    "things.two", "things.between", "things.from_to", "notes.gear_number", "numbers.",
    "talk.usual_name",
)  # fmt: skip

# What happened at a step: the kinds of payload.
SAID, SKIPPED, SUPPLIED, NEAR, ANY, CALLED, SILENT = range(7)


class Way(NamedTuple):
    """A way through the network so far: a chain of steps back to its start."""

    cost: float
    meaning: int  # a hash of the marks passed, to tell ways of different meaning apart
    resting: bool  # whether the last step passed over a word, after which a rule may not end
    before: Way | None
    marks: Marks
    kind: int
    # A word, (heard, taken for), the Way through a called rule, or at its start the rule's name.
    payload: object


@dataclass(frozen=True, slots=True)
class Sentence:
    """The words of one utterance with what may be done to each.

    ``skip`` is the price of passing over a word; ``near`` other words it may have been meant for,
    with their distance; ``same`` other words it says as well ("'s" is "is"); ``asides`` the lengths
    of the phrases beginning there that carry nothing ("let me see"); ``inside`` the places between
    two words of a number, where none is supplied: "sixty six" is not "sixty at six"; ``joined``
    those between tens and ones, where no list of trees goes on: "seventy seven" is one; ``telling``
    the places of words that say what is asked, which no question in unforeseen words leaves out;
    ``firm`` those within a number in figures, which is never parted.
    """

    words: tuple[str, ...]
    skip: tuple[float, ...]
    near: tuple[Mapping[str, float], ...]
    same: tuple[tuple[str, ...], ...]
    asides: tuple[tuple[int, ...], ...]
    inside: frozenset[int] = frozenset()
    joined: frozenset[int] = frozenset()
    telling: frozenset[int] = frozenset()
    firm: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class SmallWords:
    """Words that the grammar names because the search treats them apart.

    ``missing`` may go unsaid; of these, ``articles`` announce a noun, the ``counting`` ones say how
    many as well, and ``nouns`` are nouns themselves. ``openers`` make a question of a sentence.
    """

    missing: frozenset[str]
    articles: frozenset[str]
    counting: frozenset[str]
    nouns: frozenset[str]
    openers: frozenset[str]


class Networks:
    """The networks with what the search looks up in them again and again."""

    def __init__(self, networks: Mapping[str, Network], small: SmallWords) -> None:
        self._take(networks, small, {}, {})

    def _take(
        self,
        networks: Mapping[str, Network],
        small: SmallWords,
        beginnings: Mapping[str, Beginning],
        supplied: Mapping[str, Supplies],
    ) -> None:
        self.by_rule = networks
        self.small = small
        self._beginnings = {
            rule: beginnings.get(rule) or beginning(network, self._missing_at_head(rule))
            for rule, network in networks.items()
        }
        self._supplied = dict(supplied)
        self._starting: dict[str, set[str]] = defaultdict(set)
        for rule, words in first_words_of(self._beginnings).items():
            for word in words:
                self._starting[word].add(rule)

    def with_others(self, others: Mapping[str, Network]) -> Networks:
        """Return these networks with ``others`` in the place of those of the same name.

        What was worked out for the rest is kept: a book's names change two rules of a thousand.
        """
        kept = Networks.__new__(Networks)
        kept._take(
            {**self.by_rule, **others},
            self.small,
            {rule: found for rule, found in self._beginnings.items() if rule not in others},
            {rule: found for rule, found in self._supplied.items() if rule not in others},
        )
        return kept

    def supplies(self, rule: str) -> Supplies:
        """For each state of a rule, the steps over small words that may go unsaid."""
        if rule not in self._supplied:
            self._supplied[rule] = self._supplies(rule, self.by_rule[rule])
        return self._supplied[rule]

    def starting(self, words: Iterator[str]) -> set[str]:
        """Return the rules that can begin with one of ``words``."""
        rules: set[str] = set(self._starting.get(ANY_WORD, ()))
        for word in words:
            rules |= self._starting.get(word, set())
        return rules

    def _missing_at_head(self, rule: str) -> frozenset[str]:
        """Return the small words that may go unsaid at the head of a rule.

        The word that makes a question of a sentence is not supplied: "tank two has gone off" does
        not ask. Nor is a noun, there or later: it may be what is asked about. Nothing is supplied
        where a few words tell everything.
        """
        if rule.startswith(_AS_SAID):
            return frozenset()
        if rule.startswith(_NOUN_SUPPLIED):
            return self.small.nouns
        if rule.startswith(_QUESTIONS):
            return self.small.missing - self.small.openers - self.small.nouns
        return self.small.missing

    def _supplies(self, rule: str, network: Network) -> Supplies:
        """See ``supplies``.

        An article that counts ("a tap" beside "one tap") is not supplied: nobody said how many.
        """
        heads = silent_reach(network, network.start)
        at_head = self._missing_at_head(rule)
        is_strict = rule.startswith(_AS_SAID + _NOUN_SUPPLIED)
        missing = at_head if is_strict else self.small.missing
        if rule.startswith(_QUESTIONS):
            missing -= self.small.nouns
        return tuple(
            tuple(
                (end, cost, marks, word)
                for word in sorted(steps.keys() & (at_head if state in heads else missing))
                if not (word in self.small.counting and _counts(network, state))
                for end, cost, marks in steps[word]
            )
            for state, steps in enumerate(network.words)
        )


def search(networks: Networks, top: str, sentence: Sentence) -> list[Way]:
    """Return the cheapest ways through rule ``top`` over all of ``sentence``, best first.

    Ways dearer than ``costs.FIRST_LOOK`` are looked for only where no good one is found.
    """
    near = _ways_within(costs.FIRST_LOOK, networks, top, sentence)
    if near and near[0].cost <= costs.FIRST_LOOK - costs.RIVALS_WITHIN:
        return near
    return _ways_within(costs.MOST, networks, top, sentence)


def exact_ways(
    networks: Networks,
    rules: Iterable[str],
    words: tuple[str, ...],
    may_begin: Callable[[str, int], bool] = lambda rule, at: True,
) -> Iterator[tuple[str, int, int, Way]]:
    """Yield (rule, start, end, way) for every place where a rule fits, with no liberty taken.

    Where ``may_begin`` says no a rule is not tried.
    """
    nothing: tuple[tuple[str, ...], ...] = ((),) * len(words)
    sentence = Sentence(
        words,
        skip=tuple(0.0 if word == BREAK else costs.NEVER for word in words),
        near=({},) * len(words),
        same=nothing,
        asides=((),) * len(words),
        inside=frozenset(range(len(words))),
    )
    searching = _Search(networks, "", sentence, costs.KNOWN)
    for rule in rules:
        for at in range(len(words)):
            if rule in searching.callable_at(at) and may_begin(rule, at):
                for end, way in searching.ways(rule, at):
                    yield rule, at, end, way


def _ways_within(ceiling: float, networks: Networks, top: str, sentence: Sentence) -> list[Way]:
    found = _Search(networks, top, sentence, ceiling).ways(top, 0)
    whole = [way for end, way in found if end == len(sentence.words)]
    return sorted(whole, key=lambda way: way.cost)


def _counts(network: Network, state: int) -> bool:
    """Whether a number may stand at a state, so that an article there is one."""
    calls = (call[0] for call in network.calls[state])
    return bool(network.words[state].keys() & _COUNTING) or any(
        rule.startswith(_ONE_NUMBER) for rule in calls
    )


class _Search:
    """One sentence's search. ``_found`` remembers what each rule gave at each place."""

    def __init__(self, networks: Networks, top: str, sentence: Sentence, ceiling: float) -> None:
        self._ceiling = ceiling
        self._networks = networks
        self._top = top
        self._sentence = sentence
        self._size = len(sentence.words)
        self._found: dict[tuple[str, int], list[tuple[int, Way]]] = {}
        self._callable = [
            networks.starting(iter((word, *near, *same)))
            for word, near, same in zip(sentence.words, sentence.near, sentence.same, strict=True)
        ]
        self._callable.append(set())

    def callable_at(self, at: int) -> set[str]:
        """Return the rules that may begin at a word."""
        return self._callable[at]

    def ways(self, rule: str, at: int) -> list[tuple[int, Way]]:
        """Return (end, way) for the cheapest ways through ``rule`` from word ``at``."""
        key = (rule, at)
        if key not in self._found:
            self._found[key] = self._explore(rule, at)
        return self._found[key]

    def _explore(self, rule: str, at: int) -> list[tuple[int, Way]]:
        here = _Region(
            rule,
            self._networks.by_rule[rule],
            at,
            is_top=rule == self._top,
            is_number=rule.startswith(_ONE_NUMBER),
            is_numbered=rule.startswith(_NUMBERED),
            is_question=rule.startswith(_QUESTIONS),
            is_list=rule.startswith(_LISTS),
        )
        start = Way(0.0, hash(rule), False, None, (), SILENT, rule)
        ahead: dict[int, list[tuple[int, Way]]] = {at: [(here.network.start, start)]}
        ended: list[tuple[int, Way]] = []
        while ahead:
            place = min(ahead)
            column = self._column(here, place, ahead)
            finals = column.get(here.network.final, ())
            ended += [(place, way) for way in finals if here.is_top or not way.resting]
        return ended

    def _column(
        self, here: _Region, place: int, ahead: dict[int, list[tuple[int, Way]]]
    ) -> dict[int, list[Way]]:
        """Return the ways to each state at word ``place``; what leads on joins ``ahead``."""
        column: dict[int, list[Way]] = {}
        waiting = ahead.pop(place)
        while waiting:
            state, way = waiting.pop()
            if not _keep(column, state, way):
                continue
            for there, end, step in self._steps(here, place, state, way):
                if step.cost > self._ceiling:
                    continue
                if there == place:
                    waiting.append((end, step))
                else:
                    ahead.setdefault(there, []).append((end, step))
        return column

    def _steps(
        self, here: _Region, place: int, state: int, way: Way
    ) -> Iterator[tuple[int, int, Way]]:
        """Yield (place, state, way) for every step from ``state`` at word ``place``."""
        for end, cost, marks in here.network.jumps[state]:
            yield place, end, _onward(way, cost, marks, SILENT, None, way.resting)
        if place == self._size:
            return
        if here.network.words[state]:
            yield from self._word_steps(here, place, state, way)
        parting = here.rule == _SEVERAL and place > here.at and place in self._sentence.inside
        amid = here.is_list and place > here.at and place in self._sentence.joined
        for called, end, cost, marks in () if amid else here.network.calls[state]:
            cost += costs.KNOWN * parting
            if called in self._callable[place]:
                for there, inner in self.ways(called, place):
                    if there in self._sentence.firm and not here.is_number:
                        continue
                    yield there, end, _onward(way, cost + inner.cost, marks, CALLED, inner)
        # A word before a rule begins is its caller's to pass over.
        if here.is_top or place > here.at or state != here.network.start:
            yield from self._passing_over(here, place, state, way)

    def _passing_over(
        self, here: _Region, place: int, state: int, way: Way
    ) -> Iterator[tuple[int, int, Way]]:
        word, price = self._sentence.words[place], self._sentence.skip[place]
        if here.is_question:
            telling = place in self._sentence.telling
            price = max(price, costs.DOUBTFUL) if telling else price * costs.IN_QUESTION
        if word == BREAK and here.is_number:
            return
        if here.is_numbered and price > costs.FILLER:
            return
        if way.cost + price <= self._ceiling:
            yield place + 1, state, _onward(way, price, (), SKIPPED, word, True)
        for length in self._sentence.asides[place]:
            said = " ".join(self._sentence.words[place : place + length])
            yield (
                place + length,
                state,
                _onward(way, costs.FILLER, (), SKIPPED, said, True),
            )

    def _is_aside(self, place: int) -> bool:
        """Whether a word is a filler elsewhere: in a text of somebody's own it is one of its words.

        "Call the wood man on Monday".
        """
        return self._sentence.skip[place] <= costs.FILLER

    def _word_steps(
        self, here: _Region, place: int, state: int, way: Way
    ) -> Iterator[tuple[int, int, Way]]:
        word = self._sentence.words[place]
        steps = here.network.words[state]
        for end, cost, marks in steps.get(word, ()):
            yield place + 1, end, _onward(way, cost, marks, SAID, word)
        for other in self._sentence.same[place]:
            for end, cost, marks in steps.get(other, ()):
                yield place + 1, end, _onward(way, cost + costs.FILLER, marks, SAID, word)
        for end, cost, marks in steps.get(ANY_WORD, ()) if word != BREAK else ():
            free = costs.FILLER * (1.5 if word in HALTS else 0.5 if self._is_aside(place) else 1)
            yield place + 1, end, _onward(way, cost + free, marks, ANY, word)
        for other, gap in self._sentence.near[place].items():
            price = costs.SMALL + costs.PER_DISTANCE * gap
            for end, cost, marks in steps.get(other, ()):
                yield place + 1, end, _onward(way, cost + price, marks, NEAR, (word, other))
        if place in self._sentence.inside:
            return
        # What was lost after an article ("threw the out of tree six") may have been anything.
        small_words = self._networks.small
        lost = place > 0 and self._sentence.words[place - 1] in small_words.articles
        for end, cost, marks, small in self._networks.supplies(here.rule)[state]:
            if lost and small in small_words.nouns:
                continue
            yield place, end, _onward(way, cost + costs.SUPPLY, marks, SUPPLIED, small)


#: These tell nothing in a text of somebody's own either.
HALTS = frozenset("uh um er ah hmm mm please ok okay thanks".split())


class _Region(NamedTuple):
    """One rule being searched from one place."""

    rule: str
    network: Network
    at: int
    is_top: bool
    is_number: bool
    is_numbered: bool
    is_question: bool
    is_list: bool


def _onward(
    way: Way, cost: float, marks: Marks, kind: int, payload: object, resting: bool = False
) -> Way:
    meaning = way.meaning
    if marks:
        meaning = hash((meaning, marks))
    if kind == CALLED and isinstance(payload, Way):
        meaning = hash((meaning, payload.meaning))
    return Way(way.cost + cost, meaning, resting, way, marks, kind, payload)


def _keep(column: dict[int, list[Way]], state: int, way: Way) -> bool:
    """Add ``way`` to its state unless ways as good are there already."""
    ways = column.get(state)
    if ways is None:
        column[state] = [way]
        return True
    for at, other in enumerate(ways):
        if other.meaning == way.meaning and other.resting == way.resting:
            if other.cost <= way.cost:
                return False
            ways[at] = way
            return True
    if len(ways) < WIDTH:
        ways.append(way)
        return True
    dearest = max(range(len(ways)), key=lambda at: ways[at].cost)
    if ways[dearest].cost <= way.cost:
        return False
    ways[dearest] = way
    return True


def trace(way: Way) -> Iterator[tuple[Marks, int, object]]:
    """Yield (marks, kind, payload) along a way from its start, called rules included.

    The first of each rule's steps is silent and has the rule's name.
    """
    chain: list[Way] = []
    here: Way | None = way
    while here is not None:
        chain.append(here)
        here = here.before
    for step in reversed(chain):
        if step.kind == CALLED and isinstance(step.payload, Way):
            yield step.marks, CALLED, None
            yield from trace(step.payload)
        else:
            yield step.marks, step.kind, step.payload


def bill_of(way: Way) -> Iterator[tuple[str, float]]:
    """Yield what each liberty taken along a way cost, and last what its rules are rare by."""
    rare = 0.0
    for kind, payload, cost in reversed(list(_charged(way))):
        if kind == NEAR and isinstance(payload, tuple):
            yield f"{payload[0]} taken for {payload[1]}", cost
        elif kind in _CHARGED and payload != BREAK:
            yield f"{payload} {_CHARGED[kind]}", cost
        else:
            rare += cost
    yield "rarely said", rare


#: What is written beside the price of a step.
_CHARGED = {SKIPPED: "passed over", SUPPLIED: "supplied", ANY: "taken as free text"}


def _charged(way: Way) -> Iterator[tuple[int, object, float]]:
    """Yield (kind, payload, cost) of all steps of a way, from its end."""
    here: Way | None = way
    while here is not None:
        cost = here.cost - (here.before.cost if here.before is not None else 0.0)
        if here.kind == CALLED and isinstance(here.payload, Way):
            yield here.kind, None, cost - here.payload.cost
            yield from _charged(here.payload)
        else:
            yield here.kind, here.payload, cost
        here = here.before


def marks_of(way: Way) -> Iterator[Mark | str]:
    """Yield the marks along a way, and the words said between them."""
    for marks, kind, payload in trace(way):
        yield from marks
        if kind in (SAID, ANY) and isinstance(payload, str):
            yield payload
