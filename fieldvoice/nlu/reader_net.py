"""The net of the second reader: what a sentence is, and what each word in it is."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu.wordpiece import WordPieces

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import numpy as np

#: How labels of kinds begin; the others are states.
KINDS = ("act=", "ask=", "do=", "card=", "mention")

#: Pieces of a sentence that the net looks at; what follows is not read.
LONGEST = 96


@dataclass(frozen=True, slots=True)
class Guess:
    """What the net makes of a sentence.

    ``labels`` has the chance (0 to 1) of each kind ("act=gather", "card=foam-over") and state
    ("boil.phase=start"); ``roles`` for each word the logarithm of the chance of each role
    ("gather.tree", "X" for a number that counts for nothing, "O"). ``vector`` is the sentence among
    others: the product of two tells how near they are in meaning (1 is the same).
    """

    labels: dict[str, float]
    roles: tuple[dict[str, float], ...]
    vector: np.ndarray

    def kinds(self) -> list[tuple[str, float]]:
        """Return the kinds, likeliest first, with their chances."""
        kinds = [one for one in self.labels.items() if one[0].startswith(KINDS)]
        return sorted(kinds, key=lambda one: -one[1])


class ReaderNet:
    """The net from a folder that holds ``reader.onnx``, ``labels.json`` and ``vocab.txt``.

    Raises:
        OSError, ValueError: when used, for a file that is missing or damaged.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @cached_property
    def _labels(self) -> dict[str, Any]:
        labels = json.loads((self._folder / "labels.json").read_text("utf-8"))
        if not isinstance(labels, dict) or not labels.keys() >= {"sentence", "roles", "pieces"}:
            raise ValueError("labels.json is none of a reader")
        return labels

    @cached_property
    def _pieces(self) -> WordPieces:
        pieces = (self._folder / "vocab.txt").read_text("utf-8").splitlines()
        if len(pieces) != self._labels["pieces"]:  # every word would be taken for another
            raise ValueError("vocab.txt is not the one that the net was taught with")
        return WordPieces(pieces)

    @cached_property
    def _session(self) -> Any:
        from fieldvoice.onnx_session import on_one_core

        try:
            return on_one_core(self._folder / "reader.onnx", keeps_memory=False)
        except ImportError:
            raise
        except Exception as fault:  # the runtime's errors have no class in common
            raise ValueError("reader.onnx cannot be read") from fault

    @cached_property
    def size(self) -> int:
        """How many numbers a vector has."""
        *_, vector = self._session.get_outputs()
        return int(vector.shape[-1])

    def guess(self, words: Sequence[str]) -> Guess:
        """Return what the net makes of ``words``, as they are after ``words_of``."""
        import numpy as np

        ids, first = self._ids(words)
        sentence, role, vector = self._session.run(None, {"ids": np.array([ids], dtype=np.int64)})
        chances = 1 / (1 + np.exp(-sentence[0].astype(np.float64)))
        labels = dict(zip(self._labels["sentence"], chances.tolist(), strict=True))
        roles = _log_softmax(role[0].astype(np.float64))
        names = self._labels["roles"]
        told = tuple(dict(zip(names, roles[at].tolist(), strict=True)) for at in first)
        return Guess(labels, told, vector[0])

    def _ids(self, words: Sequence[str]) -> tuple[list[int], list[int]]:
        """Return the pieces of a sentence, and where each word begins among them."""
        ids, first = [self._pieces.begin], []
        for word in words:
            first.append(len(ids))
            ids.extend(self._pieces.ids(word))
        ids = [*ids[: LONGEST - 1], self._pieces.end]
        return ids, [min(at, len(ids) - 1) for at in first]


def _log_softmax(scores: np.ndarray) -> np.ndarray:
    import numpy as np

    shifted = scores - scores.max(axis=-1, keepdims=True)
    lowered: np.ndarray = shifted - np.log(np.exp(shifted).sum(axis=-1, keepdims=True))
    return lowered
