"""The engines that are measured side by side, and what they have heard before.

Hearing takes most of the time of a run, so what an engine made of a piece of sound is kept in a
file, under a hash of the sound, the engine and everything that it was set up from.
"""

from __future__ import annotations

import hashlib
import json
import os
import time
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import fieldvoice.asr
import fieldvoice.grammar
from fieldvoice.asr import choose_recogniser
from fieldvoice.asr.free_recogniser import FreeRecogniser
from fieldvoice.cli.app import cache_folder
from fieldvoice.cli.environment import SECOND_MODEL, VOSK_MODEL
from fieldvoice.cli.recognisers import LISTENER, free_listener, with_second
from fieldvoice.grammar import load_grammar
from fieldvoice.handbook.cries import fingerprint as cries_fingerprint
from fieldvoice.transcript import Freely, NBestEntry, Transcript, Word

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Recogniser, Samples
    from fieldvoice.grammar import Grammar


def _first(grammar: Grammar) -> Recogniser:
    return choose_recogniser(grammar, cache_folder())


def _vosk(grammar: Grammar) -> Recogniser:
    return choose_recogniser(grammar, cache_folder(), Path(os.environ[VOSK_MODEL]))


def _free(grammar: Grammar) -> Recogniser:
    return FreeRecogniser(free_listener(LISTENER, grammar), grammar)


def _both(grammar: Grammar) -> Recogniser:
    return with_second(_first(grammar), LISTENER, grammar, live=False)


def _whisper(grammar: Grammar) -> Recogniser:
    return FreeRecogniser(free_listener(_named(), grammar), grammar)


def _with_whisper(grammar: Grammar) -> Recogniser:
    return with_second(_first(grammar), _named(), grammar, live=False)


def _named() -> Path:
    return Path(os.environ[SECOND_MODEL])


#: Engines by name: the bundled one; Vosk, whose model's folder is in FIELDVOICE_VOSK_MODEL; the
#: listener that comes along and Whisper, whose model's folder is in FIELDVOICE_SECOND_MODEL, each
#: alone and as the second listener.
ENGINES: dict[str, Callable[[Grammar], Recogniser]] = {
    "first": _first,
    "vosk": _vosk,
    "listener": _free,
    "first+listener": _both,
    "whisper": _whisper,
    "first+whisper": _with_whisper,
}


def usable() -> list[str]:
    """Return the engines whose models are named."""
    needs = {"vosk": VOSK_MODEL, "whisper": SECOND_MODEL, "first+whisper": SECOND_MODEL}
    return [name for name in ENGINES if name not in needs or needs[name] in os.environ]


@dataclass(frozen=True, slots=True)
class Timed:
    """What was heard, and the seconds of one core that it took."""

    heard: Transcript
    cpu_s: float


class Engine:
    """One engine on one grammar; what it has heard before is taken from ``folder``."""

    def __init__(self, name: str, grammar: Grammar, folder: Path) -> None:
        self.name = name
        self._grammar = grammar
        self._path = folder / f"heard-{_fingerprint(name, grammar)}.jsonl"
        self._recogniser: Recogniser | None = None
        self._known: dict[str, Timed] = {}
        if self._path.exists():
            for line in self._path.read_text(encoding="utf-8").splitlines():
                key, cpu_s, fields = json.loads(line)
                self._known[key] = Timed(_heard(fields), cpu_s)

    def hear(self, samples: Samples) -> Timed:
        """Return what the engine hears in ``samples``."""
        key = _key(samples)
        if key not in self._known:
            if self._recogniser is None:
                self._recogniser = ENGINES[self.name](self._grammar)
            before = time.process_time()
            heard = self._recogniser.recognise(samples)
            self._known[key] = Timed(heard, time.process_time() - before)
            self._keep(key, self._known[key])
        return self._known[key]

    def knows(self, samples: Samples) -> bool:
        """Return whether it has heard ``samples`` before."""
        return _key(samples) in self._known

    def _keep(self, key: str, timed: Timed) -> None:
        self._path.parent.mkdir(parents=True, exist_ok=True)
        with self._path.open("a", encoding="utf-8") as file:
            file.write(json.dumps([key, timed.cpu_s, asdict(timed.heard)]) + "\n")


def small_grammar(folder: Path, words: list[str], most: int) -> Grammar:
    """Return a grammar of up to ``most`` of ``words`` in any order, its file kept in ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    any_word = f"({' | '.join(words)})"
    some = any_word
    for _ in range(most - 1):
        some = f"{any_word} [{some}]"
    text = f"#JSGF V1.0;\ngrammar fieldvoice;\npublic <utterance> = {some};\n"
    (folder / "fieldvoice.jsgf").write_text(text, encoding="utf-8")
    (folder / "pronunciations.dict").write_text("", encoding="utf-8")
    return load_grammar(folder)


def _key(samples: Samples) -> str:
    return hashlib.sha256(samples.tobytes()).hexdigest()[:24]


def _fingerprint(name: str, grammar: Grammar) -> str:
    digest = hashlib.sha256(f"{name} {grammar.fingerprint} {version('pocketsphinx')}".encode())
    if grammar.is_own:
        digest.update(cries_fingerprint().encode())
    if name in ("whisper", "first+whisper"):
        digest.update(Path(os.environ[SECOND_MODEL], "model.bin").read_bytes())
    for package in (fieldvoice.asr, fieldvoice.grammar):
        for path in sorted(Path(package.__path__[0]).rglob("*")):
            if path.is_file() and path.suffix != ".pyc":
                digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()[:16]


def _heard(fields: dict[str, Any]) -> Transcript:
    words = tuple(Word(**word) for word in fields.pop("words"))
    alternatives = tuple(NBestEntry(**one) for one in fields.pop("alternatives"))
    freely = Freely(**fields.pop("freely")) if fields.get("freely") else None
    told = {"words": words, "alternatives": alternatives, "freely": freely}
    return Transcript(**{**fields, **told})
