"""Sets hearing up: the engine, and how words sound for the search to mend what was misheard."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.cli.desk import cache_folder
from fieldvoice.cli.faults import say_aside

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.pronunciations import Pronunciations
    from fieldvoice.hearing import Recogniser

#: Names the folder of a Vosk model; with it, that engine hears instead of the bundled one.
VOSK_MODEL = "FIELDVOICE_VOSK_MODEL"


def ears(grammar: Grammar) -> Recogniser:
    """Return the recogniser that this machine is set up for, telling when it takes a while.

    Raises:
        RecogniserError: the engine or its model cannot be used.
        MissingPronunciationError: naming words of the grammar that cannot be heard.
    """
    from fieldvoice.hearing import choose_recogniser
    from fieldvoice.hearing.model_files import are_made

    model = os.environ.get(VOSK_MODEL)
    if model is None and not are_made(grammar, cache_folder()):
        say_aside("Making the language model from the grammar (once, about 15 seconds) …")
    return choose_recogniser(grammar, cache_folder(), Path(model) if model else None)


def sound_of_words(grammar: Grammar) -> Callable[[str], tuple[str, ...] | None]:
    """Return what gives the phones of a word of the grammar.

    The dictionary is read when the first word is asked for, not before anything was heard.
    """

    @cache
    def known() -> Pronunciations:
        from fieldvoice.hearing.model_files import pronunciations

        return pronunciations(grammar)

    return lambda word: known().phones(word)
