"""What the bundled recogniser needs of a grammar, on disk: its dictionary and language model.

Both are made once for a grammar and kept in a cache folder under a hash of all that went into
them, so that a later start only opens two files.
"""

from __future__ import annotations

import hashlib
import logging
import shutil
import tempfile
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.errors import RecogniserError
from fieldvoice.whole_files import is_sealed, own_folder, seal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from collections.abc import Set as AbstractSet

    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.pronunciations import Pronunciations
    from fieldvoice.telling import Tell

# Raised when the files' form or making changes, so that an old cache is not read.
MODEL_FORMAT = 6
#: Sentences drawn from the grammar to learn from: perplexity of trigrams on the development
#: sentences is 10.6 with 60,000 and 10.1 with 200,000; this many take about ten seconds, once.
SENTENCES = 120_000
SEED = 1
#: Cries for help among them, one to so many sentences: oftener than anybody cries, so that the few
#: are heard.
TO_A_CRY = 20
#: Each wording of people's own is said once more for so many sentences.
TO_OWN_WORDS = 60_000
#: Words in the longest n-grams. The search itself goes by three; the fourth tells apart what it has
#: found (see ``lattice``).
ORDER = 4

#: Folders whose files were looked through in this run.
_LOOKED_AT: set[Path] = set()
_LOG = logging.getLogger(__name__)
_DICTIONARY = "words.dict"
_LANGUAGE = "language.lm.bin"
_WITH_SLOTS = "language.arpa"
#: How much of the time has gone by, measured, when the sentences are drawn, the words' sounds are
#: read, the language model is trained and written.
_DRAWING, _READ, _TRAINED, _WRITTEN = 0.66, 0.72, 0.86, 0.95
_TOLD_EVERY = 500


@dataclass(frozen=True, slots=True)
class ModelFiles:
    """The folder of one grammar's model, and the files in it."""

    folder: Path

    @property
    def dictionary(self) -> Path:
        """The pronunciations of the grammar's words."""
        return self.folder / _DICTIONARY

    @property
    def language_model(self) -> Path:
        """The language model, in the recogniser's binary form."""
        return self.folder / _LANGUAGE

    @property
    def with_slots(self) -> Path:
        """The language model as text, with a word of its own where a given name may be said."""
        return self.folder / _WITH_SLOTS

    def discard(self) -> None:
        """Delete the files, so that they are made anew."""
        _LOOKED_AT.discard(self.folder)
        shutil.rmtree(self.folder, ignore_errors=True)


def engine_is_there() -> bool:
    """Return whether the bundled recogniser is installed: not every machine has a wheel of it."""
    return find_spec("pocketsphinx") is not None


def bundled_model(name: str) -> Path:
    """Return the path of a part of the English model inside the pocketsphinx package.

    Raises:
        RecogniserError: when the package or that part of it is missing.
    """
    try:
        from pocketsphinx import get_model_path
    except ImportError as error:
        raise RecogniserError("the recogniser (pocketsphinx) is not installed") from error
    path = Path(get_model_path("en-us")) / name
    if not path.exists():
        raise RecogniserError(f"the recogniser's model lacks {name}")
    return path


def model_files(grammar: Grammar, cache: Path, tell: Tell = lambda done, whole: None) -> ModelFiles:
    """Return the files for ``grammar`` in ``cache``, making them if they are not there.

    ``tell`` hears meanwhile how far it is, of how much.

    Raises:
        MissingPronunciationError: for words of the grammar that cannot be heard, by name.
        RecogniserError: when the files cannot be written.
    """
    files = ModelFiles(cache / f"hearing-{_key(grammar)}")
    made_whole(files.folder, lambda draft: _make(grammar, ModelFiles(draft), tell))
    return files


def made_whole(folder: Path, fill: Callable[[Path], None]) -> None:
    """Make ``folder`` with what ``fill`` writes into a folder, unless it is there already.

    It is filled as a draft and moved into place, so that it is never half there; files in it that
    are no longer what they were are made anew, with a line about it.

    Raises:
        RecogniserError: when the files cannot be written; and what ``fill`` raises.
    """
    if folder.is_dir():
        if folder in _LOOKED_AT or is_sealed(folder):
            _LOOKED_AT.add(folder)
            return
        _LOG.warning("The recogniser's files in %s were damaged; they are made anew.", folder)
        shutil.rmtree(folder, ignore_errors=True)
    cache = folder.parent
    try:
        own_folder(cache)
        with tempfile.TemporaryDirectory(dir=cache, prefix="draft-") as name:
            draft = Path(name) / "made"
            draft.mkdir()
            fill(draft)
            seal(draft)
            _moved(draft, folder)
    except OSError as error:
        raise RecogniserError(
            f"cannot write the recogniser's files to {cache}: {error.strerror}"
        ) from error


def _moved(draft: Path, folder: Path) -> None:
    try:
        draft.rename(folder)
    except OSError:
        # another run was quicker: its files are the same
        if not folder.is_dir():
            raise


def are_made(grammar: Grammar, cache: Path) -> bool:
    """Return whether the files for ``grammar`` are in ``cache`` already."""
    return ModelFiles(cache / f"hearing-{_key(grammar)}").folder.is_dir()


def pronunciations(grammar: Grammar, also: Iterable[str] = ()) -> Pronunciations:
    """Return how the words of ``grammar`` sound to the bundled recogniser, in all accents known.

    ``also`` are words put together from them: "nine's".

    Raises:
        MissingPronunciationError: for words of the grammar that cannot be heard, by name.
        RecogniserError: when the recogniser's own dictionary is missing.
    """
    from fieldvoice.grammar.accents import with_accents
    from fieldvoice.grammar.pronunciations import (
        TRADE_WORDS,
        Pronunciations,
        read_pronunciations,
    )

    known = read_pronunciations(
        grammar.words.union(also),
        bundled_model("cmudict-en-us.dict"),
        grammar.folder / TRADE_WORDS,
    )
    return Pronunciations(with_accents(known.variants))


@cache
def english_words() -> frozenset[str]:
    """Return the 125,000 words of the recogniser's own dictionary, in small letters.

    None without the recogniser.

    Raises:
        RecogniserError: when its model is not whole.
    """
    if not engine_is_there():
        return frozenset()
    text = bundled_model("cmudict-en-us.dict").read_text(encoding="utf-8")
    return frozenset(line.split(" ", 1)[0] for line in text.splitlines())


def sentences(
    grammar: Grammar,
    count: int,
    seed: int = SEED,
    *,
    with_slots: bool = False,
    tell: Callable[[int], None] = lambda drawn: None,
) -> list[tuple[str, ...]]:
    """Return what a recogniser of ``grammar`` learns from: its sentences, own words, and cries.

    ``tell`` hears now and then how many sentences have been drawn.

    Raises:
        HandbookError: the handbook or its cries cannot be read.
        RecogniserError: when the recogniser's own dictionary is missing.
    """
    drawn = []
    for sentence in grammar.sentences(count, seed, with_slots=with_slots):
        drawn.append(sentence)
        if not len(drawn) % _TOLD_EVERY:
            tell(len(drawn))
    if not grammar.is_own:
        return drawn
    from fieldvoice.asr.own_words import asked, told
    from fieldvoice.handbook.cries import cries
    from fieldvoice.handbook.loader import shipped

    own = told(grammar, max(1, count // TO_OWN_WORDS), seed, with_slots=with_slots)
    beside = chain(own, asked(shipped()), cries(count // TO_A_CRY, seed))
    return [*drawn, *_audible(grammar, beside)]


def _audible(grammar: Grammar, said: Iterable[tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    """Yield sentences, those left out with a word that no dictionary has: a slip of the pen."""
    from fieldvoice.grammar.pronunciations import TRADE_WORDS, words_in

    known = english_words() | words_in(grammar.folder / TRADE_WORDS)
    for sentence in said:
        full = tuple(in_full(word, known) for word in sentence)
        if known.issuperset(word.removesuffix("'s") for word in full if word[0] != "%"):
            yield full


def in_full(word: str, known: AbstractSet[str]) -> str:
    """Return a word with the apostrophe that was left out of it, by the words that are known.

    >>> in_full("cant", {"cant", "can't"}), in_full("hes", {"he's"}), in_full("its", {"its"})
    ("can't", "he's", 'its')
    """
    for cut in (1, 2):
        full = f"{word[:-cut]}'{word[-cut:]}"
        if full in known and (word not in known or full.endswith("n't") or full == "i'm"):
            return full
    return word


def _key(grammar: Grammar) -> str:
    dictionary = bundled_model("cmudict-en-us.dict")
    parts = (
        MODEL_FORMAT, SENTENCES, SEED, ORDER, TO_A_CRY, TO_OWN_WORDS, grammar.fingerprint,
        dictionary.stat().st_size, *(_beside() if grammar.is_own else ()),
    )  # fmt: skip
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:16]


def _beside() -> tuple[str, str]:
    from fieldvoice.asr import own_words
    from fieldvoice.handbook import cries
    from fieldvoice.handbook.loader import handbook_folder

    return cries.fingerprint(), own_words.fingerprint(handbook_folder())


def _make(grammar: Grammar, files: ModelFiles, tell: Tell) -> None:
    from fieldvoice.asr.names import tokens_of, write_filled
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.grammar.language_model import train

    def drawn(count: int) -> None:
        tell(_DRAWING * count / SENTENCES, 1.0)

    learnt = sentences(grammar, SENTENCES, with_slots=True, tell=drawn)
    said = {word for sentence in learnt for word in sentence if not word.startswith("%")}
    owners = {word.removesuffix("'s") for word in said}
    known = pronunciations(grammar, also=said | owners)
    tell(_READ, 1.0)
    model = train(learnt, ORDER, words=known.variants)
    tell(_TRAINED, 1.0)
    files.dictionary.write_text(known.dictionary(), encoding="utf-8")
    files.with_slots.write_text(model.arpa(), encoding="utf-8")
    tell(_WRITTEN, 1.0)
    nameless = files.folder / "nameless.arpa"
    write_filled(files.with_slots, nameless, tokens_of(EntityNames()))
    _to_binary(nameless, files.language_model)
    nameless.unlink()
    tell(1.0, 1.0)


def _to_binary(arpa: Path, binary: Path) -> None:
    from pocketsphinx import Config, LogMath, NGramModel

    try:
        NGramModel(Config(loglevel="FATAL"), LogMath(), str(arpa)).write(str(binary))
    except (RuntimeError, ValueError) as error:
        raise RecogniserError("cannot make the recogniser's language model") from error
