"""Sets hearing up: the engines, and how words sound for the search to mend what was misheard."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from platformdirs import user_data_path

from fieldvoice.cli.app import cache_folder
from fieldvoice.cli.environment import SECOND_MODEL, VOSK_MODEL
from fieldvoice.cli.faults import say_aside
from fieldvoice.errors import RecogniserError

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Recogniser
    from fieldvoice.asr.free_listener import FreeListener
    from fieldvoice.asr.models import ModelStore
    from fieldvoice.asr.system_combination import SecondListener
    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.pronunciations import Pronunciations

#: The second listener that comes along.
LISTENER = Path(__file__).parents[1] / "asr" / "listener"

#: What hears memos: the first listener, with the second where there is one; or one of them alone.
Engine = Literal["both", "first", "whisper"]


@dataclass(frozen=True, slots=True)
class Choice:
    """Which engines hear: folders of models, None for the bundled one and for no second listener.

    ``why`` says it in a line.
    """

    vosk_model: Path | None
    second_model: Path | None
    why: str


def model_store() -> ModelStore:
    """Return the models that the user has added."""
    from fieldvoice.asr.models import ModelStore

    return ModelStore(user_data_path("fieldvoice", appauthor=False) / "models")


def choice() -> Choice:
    """Return which engines hear on this machine: models named, added ones, or the bundled."""
    from fieldvoice.asr.model_files import engine_is_there

    first, why = _first_model()
    second, why_second = _second_model()
    alone = first is None and second == LISTENER and not engine_is_there()
    return Choice(first, second, why if alone else f"{why} {why_second}".strip())


def ears(grammar: Grammar, engine: Engine = "both", *, live: bool = False) -> Recogniser:
    """Return the recogniser that this machine is set up for, telling when it takes a while.

    ``live``, a second listener that breaks is one line less to go by; a memo it stops.

    Raises:
        RecogniserError: the engine or its model cannot be used, or there is none of that kind.
        MissingPronunciationError: naming words of the grammar that cannot be heard.
    """
    from fieldvoice.asr.system_combination import SystemCombination

    if engine == "whisper":
        return _free(grammar, choice())
    first = first_ear(grammar)
    second = second_ear(grammar) if engine == "both" else None
    return first if second is None else SystemCombination(first, second, live=live)


def first_ear(grammar: Grammar) -> Recogniser:
    """Return the first listener, or the one that comes along, alone, where no other is there.

    Raises:
        RecogniserError: the engine or its model cannot be used.
        MissingPronunciationError: naming words of the grammar that cannot be heard.
    """
    chosen = choice()
    if _is_alone(chosen):
        say_aside("The recogniser (pocketsphinx) is not installed here: the listener hears alone.")
        return _free(grammar, replace(chosen, second_model=chosen.second_model or LISTENER))
    return _first(grammar, chosen)


def second_ear(grammar: Grammar) -> SecondListener | None:
    """Return the second listener; None where there is none, and a line tells why if one is lost."""
    chosen = choice()
    if chosen.second_model is None or _is_alone(chosen):
        return None
    return second_listener(chosen.second_model, grammar)


def _is_alone(chosen: Choice) -> bool:
    from fieldvoice.asr.model_files import engine_is_there

    return chosen.vosk_model is None and not engine_is_there()


def with_second(first: Recogniser, model: Path, grammar: Grammar, *, live: bool) -> Recogniser:
    """Return ``first`` with the model in a folder as the second listener.

    Without, and a line tells why, where the one that comes along cannot be opened.
    """
    from fieldvoice.asr.system_combination import SystemCombination

    second = second_listener(model, grammar)
    return first if second is None else SystemCombination(first, second, live=live)


def second_listener(model: Path, grammar: Grammar) -> SecondListener | None:
    """Return the model in a folder as a second listener.

    None, and a line tells why, where the one that comes along cannot be opened.
    """
    from fieldvoice.asr.system_combination import SecondListener
    from fieldvoice.nlu.normalise import text_of, words_of

    try:
        listener = free_listener(model, grammar)
    except RecogniserError as error:
        say_aside(f"{error}; hearing without a second listener.")
        return None
    return SecondListener(listener, grammar, lambda text: text_of(words_of(text, grammar.words)))


def free_listener(model: Path, grammar: Grammar) -> FreeListener:
    """Return what hears any words with the model in ``model``, which came along or was added.

    Raises:
        RecogniserError: the one that comes along cannot be opened; an added one tells later.
    """
    if model == LISTENER:
        from fieldvoice.asr.listener_model import Listener

        own = Listener(grammar, model)
        own.open()
        return own
    from fieldvoice.asr.whisper_model import Whisper

    return Whisper(model, grammar)


def tell_of_second(engine: Engine) -> None:
    """Say in a line beside the output that a second listener was added and hears too, if so."""
    if engine == "both" and choice().second_model not in (None, LISTENER):
        say_aside(choice().why)


def _first_model() -> tuple[Path | None, str]:
    """Return the folder of the Vosk model that hears, None for the bundled recogniser; and why."""
    from fieldvoice.asr.model_files import engine_is_there
    from fieldvoice.asr.models import KNOWS_ENOUGH

    named = os.environ.get(VOSK_MODEL)
    if named:
        return Path(named), f"Hearing with Vosk: {VOSK_MODEL} names the model."
    vosk = [one for one in model_store().models() if one.kind == "vosk"]
    hears = "bundled recogniser" if engine_is_there() else "listener that comes along, alone"
    if not vosk:
        return None, f"Hearing with the {hears}; no Vosk model has been added."
    best = max(vosk, key=lambda one: one.knows or 0.0)
    bundled = f"Hearing with the {hears}: "
    if find_spec("vosk") is None:
        return None, f'{bundled}for {best.name}, pip install "fieldvoice[vosk]".'
    if best.knows is None:
        return None, f"{bundled}nobody tried {best.name}; remove it and add it again."
    if best.knows < KNOWS_ENOUGH:
        return None, f"{bundled}{best.name} knows {100 * best.knows:.0f} % of the words needed."
    return best.folder, f"Hearing with Vosk: {best.name} is the model that was added."


def _second_model() -> tuple[Path | None, str]:
    """Return the folder of the second listener's model, None for no second listener; and why."""
    named = os.environ.get(SECOND_MODEL)
    if named == "none":
        return None, ""
    added = [one for one in model_store().models() if one.kind == "whisper"]
    if not named and not added:
        return LISTENER, "Second listener: the one that comes along."
    # the larger one hears better
    best = max(added, key=lambda one: one.megabytes) if not named else None
    name = best.name if best is not None else Path(str(named)).name
    if find_spec("faster_whisper") is None:
        return LISTENER, f'For {name} as a second listener, pip install "fieldvoice[second]".'
    folder = best.folder if best is not None else Path(str(named))
    return folder, f"Second listener: {name}, beside the first."


def _first(grammar: Grammar, chosen: Choice) -> Recogniser:
    from fieldvoice.asr import choose_recogniser
    from fieldvoice.asr.model_files import are_made

    if chosen.vosk_model is None and not are_made(grammar, cache_folder()):
        say_aside("Making the language model from the grammar (once, about 15 seconds) …")
        import multiprocessing
        from concurrent.futures import ProcessPoolExecutor

        # It takes more memory than hearing, which is given back whole where a process ends.
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as apart:
            apart.submit(_make_files, grammar).result()
    return choose_recogniser(grammar, cache_folder(), chosen.vosk_model)


def _make_files(grammar: Grammar) -> None:
    from fieldvoice.asr.model_files import model_files
    from fieldvoice.cli.progress import Progress

    with Progress("Learning what can be said", patience_s=0) as progress:
        model_files(grammar, cache_folder(), progress)


def _free(grammar: Grammar, chosen: Choice) -> Recogniser:
    from fieldvoice.asr.free_recogniser import FreeRecogniser

    if chosen.second_model is None:
        raise RecogniserError(f"there is no second listener: {SECOND_MODEL} says so")
    return FreeRecogniser(free_listener(chosen.second_model, grammar), grammar)


def sound_of_words(grammar: Grammar) -> Callable[[str], tuple[str, ...] | None]:
    """Return what gives the phones of a word of the grammar.

    The dictionary is read when the first word is asked for, not before anything was heard. Without
    the recogniser, whose dictionary it is, no word's phones are known.
    """

    @cache
    def known() -> Pronunciations | None:
        from fieldvoice.asr.model_files import engine_is_there, pronunciations

        return pronunciations(grammar) if engine_is_there() else None

    def phones(word: str) -> tuple[str, ...] | None:
        every = known()
        return every.phones(word) if every is not None else None

    return phones
