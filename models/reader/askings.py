"""The vectors of the handbook's askings: ``python -m models.reader.askings FOLDER``.

The net lies in FOLDER; they are written there as ``askings.npz``, so that nobody waits for them.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from fieldvoice.grammar import load_grammar
from fieldvoice.handbook.loader import handbook_folder, load
from fieldvoice.nlu.asking_vectors import AskingVectors
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.reader_net import ReaderNet

#: Half of the net's axes: with all of them no more is found, and the file is twice as large.
AXES = 192


def main(folder: Path) -> None:
    """Write the vectors."""
    net, vocabulary = ReaderNet(folder), load_grammar().words
    askings = [asking for card in load(handbook_folder()).cards for asking in card.asked]
    split = (words_of(asking, vocabulary, breaks=True) or (asking,) for asking in askings)
    vectors = np.array([net.guess(words).vector for words in split])
    AskingVectors.along(vectors, askings, AXES).write(folder / "askings.npz")
    print(len(askings), "askings")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
