"""The engine of the natural voice, made to need less memory for the same sound.

Its dictionaries are kept as text (``tables.py``), and its network takes memory for one sentence at
a time, in place of keeping what every length of sentence needed. The engine cannot be asked for
that, so its parts are exchanged; what a later version calls otherwise stays as it is there.
"""

from __future__ import annotations

import gzip
import importlib
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.onnx_session import on_one_core
from fieldvoice.tts.tables import table, tables

if TYPE_CHECKING:
    from collections.abc import Iterator

# The dictionaries that are kept as text, by the first word of their names: words with their
# sounds, and the weights of what tells parts of speech.
_READERS = {"lexicon": table, "tagger": tables}


def lighten(engine: Any) -> None:
    """Exchange the parts of an engine (package hibari) that has not spoken yet."""
    if hasattr(engine, "sess") and hasattr(engine, "model_path"):
        engine.sess = None  # given back before the other is made
        engine.sess = on_one_core(engine.model_path, keeps_memory=False)
    with _dictionaries_as_text():
        # They are read when they are first asked for.
        _ = getattr(engine, "g2p", None)


@contextmanager
def _dictionaries_as_text() -> Iterator[None]:
    try:
        package: Any = importlib.import_module("hibari.g2p")
        usual, folder = package._load_json, Path(package.ASSETS)
    except (ImportError, AttributeError):
        yield
        return

    def read(name: str) -> Any:
        reader = _READERS.get(name.partition("_")[0].partition(".")[0])
        if reader is None or not name.endswith(".gz"):
            return usual(name)
        with gzip.open(folder / name) as file:
            try:
                return reader(file.read())
            except ValueError:
                return usual(name)

    package._load_json = read
    try:
        yield
    finally:
        package._load_json = usual
