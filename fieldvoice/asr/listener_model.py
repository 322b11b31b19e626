"""The small listener that comes along: what it writes, and what it thinks of given words.

It does what a Whisper model does (``whisper_model``), from which it was made, but needs nothing
that fieldvoice does not, and its cost goes by the length of what was said.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr.free_listener import Written
from fieldvoice.asr.held import Held
from fieldvoice.asr.listener_net import LONGEST_TEXT, PLACE_S, ListenerNet
from fieldvoice.asr.prompt import sentences_to_expect
from fieldvoice.asr.tokens import END, NO_TIMES, PROMPT, START, Tokens
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.transcript import Word

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from fieldvoice.asr.audio import Samples
    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.ahead import Beginning

    Floats = NDArray[np.float32]

#: The prompt's length in tokens.
PROMPT_TOKENS = 60
#: Texts that are followed side by side.
BEAM = 5
#: And where they are held to a grammar: more of them die.
HELD_BEAM = 8
#: Tokens to a second of sound, at most, and beside that: nobody speaks quicker.
TOKENS_A_S, TOKENS_BESIDE = 9, 12
#: Texts that are scored side by side: more are hardly quicker, and take more memory.
SCORED = 4
# The longest text, in tokens.
_MOST = LONGEST_TEXT - 2 * PROMPT_TOKENS - 3
_STOPS = ".,?!"


@dataclass(frozen=True, slots=True, eq=False)
class Opened:
    """A sound as the encoder has it, and the decoder's state and log chances after the prompt."""

    sound: Floats
    past: Floats
    first: NDArray[np.float64]


class Listener:
    """The listener in ``folder``, expecting the sentences of ``grammar``.

    It is opened by ``open``, or when something is first heard. See ``FreeListener``.
    """

    name = "listener"
    #: Of 59 strings of digits by people 46 are right with 15, 51 with 20, 52 with 25, 53 with 30
    #: (41 by the first alone); one of 58 single words is lost from 25 on.
    weight = 25.0

    def __init__(self, grammar: Grammar, folder: Path) -> None:
        self._grammar = grammar
        self._folder = folder
        self._net = ListenerNet(folder)
        self._names = EntityNames()

    def open(self) -> None:
        """Open the model now: the first note then waits no longer than others.

        Raises:
            RecogniserError: a file is missing or damaged.
        """
        count = self._net.open()
        try:
            is_whole = self._tokens.special(NO_TIMES) == count - 1
        except (OSError, ValueError) as error:
            raise RecogniserError(f"{self._folder} has no list of tokens") from error
        if not is_whole:
            raise RecogniserError(f"the list of tokens in {self._folder} is not whole")
        _ = self._begin  # drawing the prompt from the grammar takes longer than a note

    def learn(self, names: EntityNames) -> None:
        """Expect the given names too, these and no others, from now on."""
        if names != self._names:
            self._names = names
            self.__dict__.pop("_begin", None)

    def listen(self, samples: Samples) -> Opened:
        """Return ``samples`` (16 kHz mono, at most 30 s) as the model takes them in.

        Raises:
            RecogniserError: the model cannot be used.
        """
        sound = self._net.hear(samples)
        scores, past = self._net.write([self._begin], self._net.nothing_before(1), sound)
        return Opened(sound, past, _logs(scores[0, -1]))

    def write(self, opened: Opened, most: int = 1) -> list[Written]:
        """Return up to ``most`` different texts for a sound, the likeliest first; none if none."""
        end = self._tokens.special(END)
        width = max(BEAM, most)
        sound, past, logs = opened.sound, opened.past, opened.first[None]
        open_: list[tuple[tuple[int, ...], float]] = [((), 0.0)]
        done: list[tuple[tuple[int, ...], float]] = []
        room = min(_MOST, round(sound.shape[2] * PLACE_S * TOKENS_A_S) + TOKENS_BESIDE)
        for _ in range(room):
            sums = logs + np.array([log for _, log in open_])[:, None]
            best = np.argpartition(-sums.ravel(), 2 * width)[: 2 * width]
            best = best[np.argsort(-sums.ravel()[best])]
            going, rows = list[tuple[tuple[int, ...], float]](), list[int]()
            for row, token in zip(*np.unravel_index(best, sums.shape), strict=True):
                text, log = open_[row][0], float(sums[row, token])
                if token == end:
                    done.append((text, log))
                elif token < end and len(going) < width:
                    going.append(((*text, int(token)), log))
                    rows.append(row)
            done = sorted(done, key=_worth, reverse=True)[:width]
            open_ = going
            # what goes on is worth less by and by, or nearly so
            if len(done) == width and _worth(done[-1]) >= max(map(_worth, open_)):
                break
            past = past[:, rows]
            scores, past = self._net.write([[text[-1]] for text, _ in open_], past, sound)
            logs = _logs(scores[:, -1])
        written: dict[str, Written] = {}
        for tokens, log in done[:most]:
            text = self._tokens.text(tokens).strip()
            if text:
                written.setdefault(text, Written(text, tokens, log))
        return list(written.values())

    def write_held(self, opened: Opened, beginning: Beginning, most: int) -> list[str]:
        """Return up to ``most`` sentences of a grammar for a sound, the likeliest first.

        ``beginning`` is where all of them begin. None may be found in free speech.
        """
        sound, past, logs = opened.sound, opened.past, opened.first[None]
        open_ = [Held(beginning)]
        done: dict[tuple[str, ...], float] = {}
        for _ in range(_MOST):
            for row, held in enumerate(open_):
                if held.is_whole:
                    log = held.log + float(np.logaddexp.reduce(logs[row, self._ends]))
                    done[held.said] = max(log, done.get(held.said, log))
            least = sorted(done.values())[-most] if len(done) >= most else -np.inf
            going = [
                (one, row)
                for row, held in enumerate(open_)
                for one in held.onward(logs[row], self._tokens.of)
                if one.log > least
            ]
            going = sorted(going, key=lambda one: -one[0].log)[:HELD_BEAM]
            if not going:
                break
            open_, rows = [one for one, _ in going], [row for _, row in going]
            scores, past = self._net.write([[one.token] for one in open_], past[:, rows], sound)
            logs = _logs(scores[:, -1])
        return [" ".join(said) for said in sorted(done, key=lambda said: -done[said])[:most]]

    def log_likelihoods(self, opened: Opened, texts: Sequence[str]) -> list[float]:
        """Return the natural-log likelihood of each of ``texts`` and no more being said."""
        told = [self._tokens.of(text)[:_MOST] for text in texts]
        found: list[float] = []
        for at in range(0, len(told), SCORED):
            some = told[at : at + SCORED]
            longest = max(map(len, some))
            rows = [tokens + [0] * (longest - len(tokens)) for tokens in some]
            past = np.repeat(opened.past, len(rows), axis=1)
            scores, _ = self._net.write(rows, past, opened.sound)
            found += [
                self._log_likelihood(tokens, opened.first, after)
                for tokens, after in zip(some, scores, strict=True)
            ]
        return found

    def words(self, opened: Opened, text: str, seconds: float) -> tuple[Word, ...]:
        """Return the words of ``text`` with their places in a sound of ``seconds``."""
        words = text.split()
        of_words = [self._tokens.of(word) for word in words]
        told = [token for tokens in of_words for token in tokens][:_MOST]
        scores, where = self._net.where([*self._begin, *told], opened.sound)
        at = len(self._begin) - 1
        logs = _logs(scores[at : at + len(told)])
        starts = _places(where[at : at + len(told) + 1])
        found, token = [], 0
        for word, tokens in zip(words, of_words, strict=True):
            if token + len(tokens) > len(told):
                break
            begin, end = (
                round(min(starts[at] * PLACE_S, seconds), 2) for at in (token, token + len(tokens))
            )
            sure = [logs[token + n, one] for n, one in enumerate(tokens)]
            found.append(Word(word, begin, end, float(np.exp(np.mean(sure)))))
            token += len(tokens)
        return tuple(found)

    @cached_property
    def _tokens(self) -> Tokens:
        return Tokens(self._folder / "tokens.txt")

    @cached_property
    def _begin(self) -> list[int]:
        """The tokens before those of the text: the prompt, and that here the text begins."""
        special = self._tokens.special
        names = sorted(self._names.trees | self._names.vessels)
        expected = [*names, *self._sentences]
        prompt = [token for text in expected for token in self._tokens.of(f"{text}.")]
        told = [special(PROMPT), *prompt[-2 * PROMPT_TOKENS :]] if prompt else []
        return [*told, special(START), special(NO_TIMES)]

    @cached_property
    def _sentences(self) -> list[str]:
        return sentences_to_expect(
            self._grammar, PROMPT_TOKENS, lambda text: len(self._tokens.of(f"{text}."))
        )

    def _log_likelihood(
        self, tokens: list[int], begin: NDArray[np.float64], scores: Floats
    ) -> float:
        """Return the log likelihood of ``tokens`` and an end, after the scores that begin them."""
        logs = np.concatenate([begin[None], _logs(scores[: len(tokens)])])
        said = logs[np.arange(len(tokens)), tokens].sum()
        return float(said + np.logaddexp.reduce(logs[len(tokens), self._ends]))

    @cached_property
    def _ends(self) -> list[int]:
        """An utterance may be closed by a stop before it ends."""
        stops = (self._tokens.of_piece(stop) for stop in _STOPS)
        return [self._tokens.special(END), *stops]


def _worth(one: tuple[tuple[int, ...], float]) -> float:
    return one[1] / (len(one[0]) + 1)


def _logs(scores: Floats) -> NDArray[np.float64]:
    wide = scores.astype(np.float64)
    wide -= wide.max(axis=-1, keepdims=True)
    logs: NDArray[np.float64] = wide - np.log(np.exp(wide).sum(axis=-1, keepdims=True))
    return logs


def _places(where: Floats) -> list[int]:
    """Return the place at which each token begins: the path along which most is looked at.

    Dynamic time warping, over attention freed of what every token looks at.
    """
    sharp = (where - where.mean(axis=0)) / (where.std(axis=0) + 1e-6)
    rows, columns = sharp.shape
    best = np.full((rows + 1, columns + 1), -np.inf)
    best[0, 0] = 0.0
    for row in range(1, rows + 1):
        from_above = best[row - 1]
        for column in range(1, columns + 1):
            best[row, column] = sharp[row - 1, column - 1] + max(
                from_above[column - 1], best[row, column - 1]
            )
    starts, column = [0] * rows, columns
    for row in range(rows, 0, -1):
        while column > 1 and best[row, column - 1] >= best[row - 1, column - 1]:
            column -= 1
        starts[row - 1] = column - 1
        column = max(1, column - 1)
    return starts
