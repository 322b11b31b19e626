"""The grammar as its users see it: words, sentences, network, and a fingerprint."""

from __future__ import annotations

import hashlib
import logging
import random
from contextlib import suppress
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.errors import GrammarError
from fieldvoice.grammar import network_file
from fieldvoice.grammar.jsgf import CLITIC
from fieldvoice.grammar.network import ANY_WORD
from fieldvoice.whole_files import with_sum, without_sum, write_whole

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fieldvoice.grammar.jsgf import Rule
    from fieldvoice.grammar.network import Network
    from fieldvoice.grammar.sentences import Sample

_LOG = logging.getLogger(__name__)

#: The rule that holds everything that can be said.
TOP = "fieldvoice.utterance"
#: The file that it stands in.
TOP_FILE = "fieldvoice.jsgf"

# Raised when the stored network's form changes, so that an old cache is not read.
NETWORK_FORMAT = 1


def grammar_folder() -> Path:
    """Return the folder of the grammars: inside an installed package, or beside it in a clone."""
    package = Path(__file__).parent.parent
    installed = package / "_grammars"
    return installed if installed.is_dir() else package.parent / "grammars"


class Grammar:
    """All that is derived from one folder of grammar files.

    Reading is put off until something is asked for, and the network is kept in ``cache`` (a
    folder, or None) under the fingerprint of the files it was made from. ``is_own``, it is the one
    that comes with fieldvoice: whoever hears its words hears cries for help and own words as well,
    which are no grammar. Of any other nothing is heard but its sentences.
    """

    def __init__(self, folder: Path, cache: Path | None = None, *, is_own: bool = False) -> None:
        self.folder = folder
        self._cache = cache
        self.is_own = is_own

    @cached_property
    def fingerprint(self) -> str:
        """A hash of the grammar files' content."""
        digest = hashlib.sha256(f"network {NETWORK_FORMAT}".encode())
        paths = sorted([*self.folder.glob("*.jsgf"), *self.folder.glob("*.dict")])
        if not paths:
            raise GrammarError(f"no grammar files in {self.folder}")
        for path in paths:
            digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
        return digest.hexdigest()[:16]

    @cached_property
    def rules(self) -> dict[str, Rule]:
        """All rules by full name."""
        from fieldvoice.grammar.jsgf import read_folder

        rules = read_folder(self.folder)
        for name, rule in rules.items():
            # Another domain's grammar may go by any name; its file and its rule are what is told.
            if rule.source.name == TOP_FILE and name.endswith(".utterance"):
                return {**rules, TOP: rule}
        raise GrammarError(f"{self.folder} has no rule <utterance> in its {TOP_FILE}")

    @cached_property
    def networks(self) -> dict[str, Network]:
        """The finite-state network of each rule, by the rule's full name."""
        stored = self._stored_networks()
        if stored is not None:
            return stored
        from fieldvoice.grammar.network import build_networks

        networks = build_networks(self.rules)
        self._store(networks)
        return networks

    @cached_property
    def words(self) -> frozenset[str]:
        """Every word that can be said by itself, in lower case."""
        return self.words_of(TOP)

    def words_of(self, rule: str) -> frozenset[str]:
        """Return the words in one rule (full name) and the rules it uses."""
        words: set[str] = set()
        seen = {rule}
        waiting = [rule]
        while waiting:
            network = self.networks[waiting.pop()]
            words.update(*network.words)
            called = {call[0] for calls in network.calls for call in calls}
            waiting += called - seen
            seen |= called
        return frozenset(words) - {ANY_WORD, CLITIC}

    def phrases_of(self, rule: str) -> frozenset[tuple[str, ...]]:
        """Return everything that one rule (full name) without repeated parts can say."""
        from fieldvoice.grammar.sentences import every_phrase

        return frozenset(every_phrase(self.networks, rule))

    def sentences(
        self, count: int, seed: int = 0, *, with_slots: bool = False
    ) -> Iterator[tuple[str, ...]]:
        """Yield ``count`` sentences, each as often as its like is said; repeatable by ``seed``.

        ``with_slots`` they have a word of their own (``SLOTS``) where a given name may be said.
        """
        if not with_slots:
            return (tuple(sample.words) for sample in self.samples(count, seed))
        from fieldvoice.grammar.entity_names import slot_rules
        from fieldvoice.grammar.sentences import Drawing

        drawing = Drawing({**self.rules, **slot_rules()}, random.Random(seed))
        return (tuple(drawing.draw(TOP).words) for _ in range(count))

    def samples(self, count: int, seed: int = 0, top: str = TOP) -> Iterator[Sample]:
        """Yield ``count`` sentences with the marks that give their meaning."""
        from fieldvoice.grammar.sentences import Drawing

        drawing = Drawing(self.sayable_rules, random.Random(seed))
        return (drawing.draw(top) for _ in range(count))

    @cached_property
    def sayable_rules(self) -> dict[str, Rule]:
        """The rules without what can never be said."""
        from fieldvoice.grammar.jsgf import without_void

        return without_void(self.rules)

    def kept(self, name: str, make: Callable[[], list[str]]) -> list[str]:
        """Return lines that take long to ``make`` of the grammar: from the cache where they are."""
        path = self._cache / f"{name}-{self.fingerprint}.v1.txt" if self._cache else None
        if path is None:
            return make()
        with suppress(OSError):
            body = without_sum(path.read_bytes())
            if body is not None:
                return body.decode().splitlines()
        lines = make()
        with suppress(OSError):  # a cache that cannot be written only costs time
            write_whole(path, with_sum("\n".join(lines).encode()))
        return lines

    def _stored_networks(self) -> dict[str, Network] | None:
        path = self._path()
        if path is None or not path.exists():
            return None
        try:
            return network_file.read(path.read_bytes())
        except (OSError, network_file.DamagedFileError):
            _LOG.warning("The stored grammar %s was damaged; it is made anew.", path)
            return None

    def _store(self, networks: dict[str, Network]) -> None:
        path = self._path()
        if path is None:
            return
        with suppress(OSError):  # a cache that cannot be written only costs time
            write_whole(path, network_file.written(networks))

    def _path(self) -> Path | None:
        name = f"networks-{self.fingerprint}.{network_file.FORM}"
        return self._cache / name if self._cache else None


def load_grammar(folder: Path | None = None, cache: Path | None = None) -> Grammar:
    """Return the grammar in ``folder`` (left out: the one that comes with fieldvoice, with cries).

    Raises:
        GrammarError: when first used, for files that break the rules of JSGF.
    """
    return Grammar(folder or grammar_folder(), cache, is_own=folder is None)
