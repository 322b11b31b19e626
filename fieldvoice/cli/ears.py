"""Sets hearing up: the engine, and how words sound for the search to mend what was misheard."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from platformdirs import user_data_path

from fieldvoice.cli.desk import cache_folder
from fieldvoice.cli.faults import say_aside

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.pronunciations import Pronunciations
    from fieldvoice.hearing import Recogniser
    from fieldvoice.hearing.model_files import Acoustic
    from fieldvoice.hearing.models import ModelStore

#: Names the folder of a Vosk model; with it, that engine hears instead of the bundled one.
VOSK_MODEL = "FIELDVOICE_VOSK_MODEL"
#: Set to ``bundled``, the recogniser's own acoustic model hears instead of the field model.
ACOUSTIC = "FIELDVOICE_ACOUSTIC"


@dataclass(frozen=True, slots=True)
class Choice:
    """Which engine hears: the Vosk model's folder, None for the bundled one; and why in a line."""

    vosk_model: Path | None
    why: str


def model_store() -> ModelStore:
    """Return the models that the user has added."""
    from fieldvoice.hearing.models import ModelStore

    return ModelStore(user_data_path("fieldvoice", appauthor=False) / "models")


def choice() -> Choice:
    """Return which engine hears on this machine: the model named, an added one, or the bundled."""
    from fieldvoice.hearing.models import KNOWS_ENOUGH

    named = os.environ.get(VOSK_MODEL)
    if named:
        return Choice(Path(named), f"Hearing with Vosk: {VOSK_MODEL} names the model.")
    vosk = [one for one in model_store().models() if one.kind == "vosk"]
    if not vosk:
        return Choice(None, "Hearing with the bundled recogniser; no Vosk model has been added.")
    best = max(vosk, key=lambda one: one.knows or 0.0)
    bundled = "Hearing with the bundled recogniser: "
    if find_spec("vosk") is None:
        return Choice(None, f'{bundled}for {best.name}, pip install "fieldvoice[vosk]".')
    if best.knows is None:
        return Choice(None, f"{bundled}nobody tried {best.name}; remove it and add it again.")
    if best.knows < KNOWS_ENOUGH:
        return Choice(
            None, f"{bundled}{best.name} knows {100 * best.knows:.0f} % of the words needed."
        )
    return Choice(best.folder, f"Hearing with Vosk: {best.name} is the model that was added.")


def ears(grammar: Grammar) -> Recogniser:
    """Return the recogniser that this machine is set up for, telling when it takes a while.

    Raises:
        RecogniserError: the engine or its model cannot be used.
        MissingPronunciationError: naming words of the grammar that cannot be heard.
    """
    from fieldvoice.hearing import choose_recogniser
    from fieldvoice.hearing.model_files import are_made

    model = choice().vosk_model
    if model is None and not are_made(grammar, cache_folder()):
        say_aside("Making the language model from the grammar (once, about 15 seconds) …")
    acoustic: Acoustic = "bundled" if os.environ.get(ACOUSTIC) == "bundled" else "field"
    return choose_recogniser(grammar, cache_folder(), model, acoustic)


def sound_of_words(grammar: Grammar) -> Callable[[str], tuple[str, ...] | None]:
    """Return what gives the phones of a word of the grammar.

    The dictionary is read when the first word is asked for, not before anything was heard.
    """

    @cache
    def known() -> Pronunciations:
        from fieldvoice.hearing.model_files import pronunciations

        return pronunciations(grammar)

    return lambda word: known().phones(word)
