"""A second listener: what it thinks of what the first has heard, and of what it would write itself.

The first recogniser is held to the grammar, the second hears any words; they err in different
ways. Each hearing is scored by both, and the sum ranks them. Where both are sure of different ones,
neither falls behind, so that the conversation asks when they mean different things.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.asr.confidence import BOTH, with_confidence
from fieldvoice.asr.free_listener import LONGEST_S
from fieldvoice.asr.free_recogniser import numbers_of, said_once, with_tree
from fieldvoice.asr.recogniser import fitted, searched
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar.ahead import Beginning
from fieldvoice.grammar.expect import accepts, is_unfinished
from fieldvoice.grammar.grammar import TOP
from fieldvoice.grammar.remarks import RemarkOpenings
from fieldvoice.homophones import with_figures
from fieldvoice.transcript import Freely, NBestEntry

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from fieldvoice.asr.audio import Samples
    from fieldvoice.asr.free_listener import FreeListener, Written
    from fieldvoice.asr.recogniser import Recogniser, Unfitted
    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.transcript import Transcript

#: Hearings of the first listener that the second scores, and texts of its own beside them.
FROM_FIRST, OWN = 10, 2
#: Sentences of the grammar that the second may add, where it is held to one; and what share its
#: likelihoods count then. Of 33 sentences that people say, in quiet and in noise at 10 and 5 dB,
#: 32, 31 and 29 are right with 0.8, and 30, 31 and 29 with 1; of 33 strings of digits 30, 30 and 27
#: with either.
SENTENCES, HELD_WEIGHT = 5, 0.8
#: It is held to none where its own words begin a sentence and are likelier than the best whole one
#: by more than this for each of them: the rest is still to come. Of 42 sentences that people say,
#: in quiet and at 5 dB, 41 are below; of 84 halves of them 71 above.
NO_SENTENCE = 0.75

# The words that make a number.
_NUMBER_WORDS = "numbers.number_words"

#: The first's score for a text that it did not find: below the least likely one that it did, and so
#: far behind its best (in clear speech there may be no other).
NOT_FOUND = 10.0
FAR_BEHIND = 80.0
#: The first listener is sure of its favourite against a text that is this far behind for it.
SURE_BY = 10.0
#: Where both are sure, and of different texts, neither falls further behind than this: near enough
#: for a question when they mean different things.
DISAGREEMENT = 2.0
#: What the first heard falls no further behind a text that only the second heard: too far to be
#: saved unasked (26 in the conversation's prices), not too far to be asked about (52).
ASKABLE = 30.0
#: Where the second's own text has words that no sentence has, and is by so much a word likelier (in
#: natural logarithm) than all that the first heard, that was said: nothing of the first's is asked
#: about. Of 66 field sentences, in quiet and in noise, none is so; of 22 that people read about
#: other matters 12, and of 6 of the others both heard the same.
OTHER_SPEECH = 1.5
#: A text that each has found by itself was said, however badly noise made it fit: its least fit.
#: In quiet it is hardly ever more (of 50 field sentences 0.00025 at most), and is not asked for,
#: which would take a sixth of all work; in noise it may be 0.001.
FOUND_BY_BOTH = 0.0


@dataclass(frozen=True, slots=True)
class Opinion:
    """What the second listener makes of a sound by itself; ``sound`` is its own affair.

    ``sentences`` are those of the grammar, where it is held to one.
    """

    sound: Any
    seconds: float
    written: Sequence[Written]
    sentences: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Weighed:
    """What both heard, its confidence still to come; None where the first is left as it is."""

    heard: Transcript | None
    is_remark: bool = False
    is_found_by_both: bool = False

    def is_beyond_doubt(self, found: Unfitted) -> bool:
        """Whether the fit of what the first has ``found`` is still to come, and would say no more.

        So it is in quiet, where both found the same.
        """
        return self.is_found_by_both and found.frames is not None and found.allowance == 0.0

    def without_fit(self) -> Transcript:
        """Return what is beyond doubt with its confidence."""
        assert self.heard is not None
        return with_confidence(replace(self.heard, fit=FOUND_BY_BOTH), BOTH)

    def fitted(self, first: Transcript) -> Transcript:
        """Return it with its confidence, by the fit and confidence of what the ``first`` heard.

        How well a remark's sound fits the grammar says nothing.
        """
        if self.heard is None:
            return first
        if self.is_remark:
            return replace(self.heard, fit=None, confidence=first.confidence)
        fit = first.fit
        if fit is not None and self.is_found_by_both:
            fit = max(fit, FOUND_BY_BOTH)
        return with_confidence(replace(self.heard, fit=fit), BOTH)


class SecondListener:
    """Weighs what another has heard with a listener that hears any words.

    ``spoken`` gives the words, as the grammar has them, of a text as that writes it. Of a grammar
    that is not fieldvoice's own nobody reads own words: what is heard is one of its sentences, if
    it can be.
    """

    def __init__(
        self, listener: FreeListener, grammar: Grammar, spoken: Callable[[str], str]
    ) -> None:
        self.name = listener.name
        self._listener = listener
        self._spoken = spoken
        self._numbers = numbers_of(grammar)
        self._words = grammar.words
        self._openings = RemarkOpenings(grammar)
        has_numbers = _NUMBER_WORDS in grammar.networks
        self._number_words = grammar.words_of(_NUMBER_WORDS) if has_numbers else frozenset()
        self._grammar = grammar

    def learn(self, names: EntityNames) -> None:
        """Expect the given names of trees and vessels too."""
        self._listener.learn(names)

    def is_remark(self, text: str) -> bool:
        """Whether spoken words begin as a remark does, after which anything may be said."""
        return self._openings.words_in(text) > 0

    def listen(self, samples: Samples) -> Opinion | None:
        """Return what it makes of ``samples`` by itself; None for a sound too long for it.

        Raises:
            RecogniserError: the model cannot be used.
        """
        if len(samples) > LONGEST_S * SAMPLE_RATE:
            return None
        sound = self._listener.listen(samples)
        seconds = len(samples) / SAMPLE_RATE
        return Opinion(sound, seconds, self._listener.write(sound, OWN), self._sentences(sound))

    def _sentences(self, sound: Any) -> Sequence[str]:
        if self._grammar.is_own:
            return ()
        # Made anew: what it has come to know of the sound before is of no use for this one.
        beginning = Beginning(self._grammar.networks, TOP)
        return self._listener.write_held(sound, beginning, SENTENCES)

    def weigh(self, opinion: Opinion | None, heard: Transcript) -> Weighed:
        """Return ``heard``, which somebody else heard in the same sound, as both hear it.

        Raises:
            RecogniserError: the model cannot be used.
        """
        if opinion is None or not heard.text:
            return Weighed(None)
        written = opinion.written
        if written and self._is_same_remark(heard.text, written[0]):
            return Weighed(self._as_written(heard, opinion), is_remark=True)
        first = {one.text: one.score for one in heard.alternatives[:FROM_FIRST]}
        first.setdefault(heard.text, 0.0)
        own = self._own(written)
        texts = list(dict.fromkeys([*first, *opinion.sentences, *own]))
        likely = self._listener.log_likelihoods(opinion.sound, texts)
        second = dict(zip(texts, likely, strict=True))
        is_other = self._is_other_speech(own, [*first, *opinion.sentences], second)
        favourite, weight = heard.text, self._listener.weight
        if self._is_sentence(opinion.sentences, own, second):
            weight *= HELD_WEIGHT
            second = self._held(second)
            first = {text: first[text] for text in first if text in second}
            first = first or dict.fromkeys(second, 0.0)
            favourite = max(first, key=lambda text: first[text])
        alternatives = ranked_by_both(first, second, favourite, weight, askable=not is_other)
        best = alternatives[0].text
        words = heard.words
        if best != heard.text:
            words = self._listener.words(opinion.sound, best, opinion.seconds)
        weighed = replace(
            heard,
            text=best,
            words=words,
            alternatives=alternatives,
            freely=Freely(own[0], math.exp(written[0].per_token)) if own else None,
            recogniser=f"{heard.recogniser}+{self.name}",
        )
        return Weighed(weighed, is_found_by_both=_is_found_by_both(best, first, own))

    def _is_other_speech(
        self, own: Sequence[str], first: Iterable[str], second: Mapping[str, float]
    ) -> bool:
        """Whether words were said that no sentence has, and the first made others of them."""
        if not own or self._words.issuperset(own[0].split()):
            return False
        behind = second[own[0]] - max(second[text] for text in first)
        return behind > OTHER_SPEECH * len(own[0].split())

    def _is_sentence(
        self, sentences: Sequence[str], own: Sequence[str], second: Mapping[str, float]
    ) -> bool:
        """Whether what was said may be one of ``sentences``, the likeliest of the grammar."""
        if not sentences or not own:
            return bool(sentences)
        words = own[0].split()
        behind = second[own[0]] - second[sentences[0]]
        is_begun = is_unfinished(self._grammar.networks, TOP, words)
        return behind <= (NO_SENTENCE if is_begun else OTHER_SPEECH) * len(words)

    def _held(self, scored: Mapping[str, float]) -> dict[str, float]:
        """Return the texts that are sentences of the grammar."""
        networks = self._grammar.networks
        return {one: scored[one] for one in scored if accepts(networks, TOP, one.split())}

    def _own(self, written: Sequence[Written]) -> list[str]:
        once = (said_once(one.text) for one in written)
        texts = (text for one in once for text in with_tree(one, self._numbers))
        return [spoken for text in texts if (spoken := self._spoken(text))]

    def _is_same_remark(self, heard: str, written: Written) -> bool:
        """Whether both heard a remark, and the same numbers in it."""
        spoken = self._spoken(written.text)
        both = self.is_remark(heard) and self.is_remark(spoken)
        return both and self._numbers_in(heard) == self._numbers_in(spoken)

    def _numbers_in(self, text: str) -> list[str]:
        return [word for word in text.split() if word in self._number_words]

    def _as_written(self, heard: Transcript, opinion: Opinion) -> Transcript:
        """Return a remark in the second's words: free speech is nothing the first can hear."""
        text = said_once(opinion.written[0].text)
        others = (one for one in heard.alternatives if not self.is_remark(one.text))
        return replace(
            heard,
            text=text,
            words=self._listener.words(opinion.sound, text, opinion.seconds),
            alternatives=(NBestEntry(text, 0.0), *others),
            recogniser=f"{heard.recogniser}+{self.name}",
        )


def _is_found_by_both(best: str, first: Iterable[str], own: Sequence[str]) -> bool:
    """Whether each wrote the same by itself; words that sound the same are the same."""
    told = with_figures(best)
    return told in map(with_figures, first) and told in map(with_figures, own[:1])


class SystemCombination:
    """A recogniser of two: one that hears everything, and a second that weighs what it heard.

    ``live``, a second opinion that cannot be had is none; a memo can be heard again.
    """

    def __init__(self, first: Recogniser, second: SecondListener, *, live: bool) -> None:
        self.first = first
        self._second = second
        self._live = live

    @property
    def name(self) -> str:
        """See ``Recogniser``."""
        return f"{self.first.name}+{self._second.name}"

    def learn(self, names: EntityNames) -> None:
        """See ``Recogniser``."""
        self.first.learn(names)
        self._second.learn(names)

    def recognise(self, samples: Samples) -> Transcript:
        """See ``Recogniser``.

        Raises:
            RecogniserError: the second listener's model cannot be used for a memo.
        """
        found = searched(self.first, samples)
        weighed = Weighed(None)
        try:
            if found.heard.text:
                weighed = self._second.weigh(self._second.listen(samples), found.heard)
        except RecogniserError:
            if not self._live:
                raise
        if weighed.is_beyond_doubt(found):
            return weighed.without_fit()
        return weighed.fitted(fitted(self.first, found))


def ranked_by_both(
    first: Mapping[str, float],
    second: Mapping[str, float],
    favourite: str,
    weight: float,
    *,
    askable: bool = True,
) -> tuple[NBestEntry, ...]:
    """Return the texts of ``second`` by what both listeners think of them, the best first.

    ``first`` scores some of them in its own unit, ``second`` all in natural-log likelihood;
    each unit of which counts ``weight``; ``favourite`` is the first listener's. ``askable`` tells
    that what the first heard may be asked about, however much the second prefers its own.
    """
    unheard = min(min(first.values()) - NOT_FOUND, max(first.values()) - FAR_BEHIND)
    both = {text: first.get(text, unheard) + weight * log for text, log in second.items()}
    top = max(both.values())
    behind = {text: score - top for text, score in both.items()}
    for text, most in _held_near(first, second, behind, favourite, askable=askable):
        behind[text] = max(behind[text], -most)
    ranked = sorted(behind.items(), key=lambda item: -item[1])
    return tuple(NBestEntry(text, score) for text, score in ranked)


def _held_near(
    first: Mapping[str, float],
    second: Mapping[str, float],
    behind: Mapping[str, float],
    favourite: str,
    *,
    askable: bool,
) -> Iterator[tuple[str, float]]:
    """Yield texts that may not fall too far behind, and how far they may."""
    other = max(second, key=lambda text: second[text])
    if other in first and first[favourite] - first[other] >= SURE_BY:
        yield favourite, DISAGREEMENT
        yield other, DISAGREEMENT
    best = max(behind, key=lambda text: behind[text])
    if best not in first and askable:
        yield max(first, key=lambda text: behind[text]), ASKABLE
