"""Sets a conversation up: the book, the settings beside it, the grammar and the clock."""

from __future__ import annotations

import os
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from platformdirs import user_cache_path, user_data_path

from fieldvoice.cli.environment import CACHE
from fieldvoice.grammar import load_grammar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from fieldvoice.book import Book
    from fieldvoice.dialogue import Conversation
    from fieldvoice.grammar import Grammar
    from fieldvoice.nlu import Interpreter
    from fieldvoice.nlu.second_reader import SecondReader

    Phones = Callable[[str], tuple[str, ...] | None]


@dataclass(frozen=True, slots=True)
class AppContext:
    """A conversation and what it works with."""

    clock: Callable[[], datetime]
    conversation: Conversation
    book: Book
    grammar: Grammar
    understander: Interpreter


def default_book() -> Path:
    """Return where the user's own book is kept."""
    return user_data_path("fieldvoice", appauthor=False) / "season.db"


def cache_folder() -> Path:
    """Return where files made from the grammar are kept, to be made anew at need."""
    named = os.environ.get(CACHE)
    return Path(named) if named else user_cache_path("fieldvoice", appauthor=False)


def the_grammar() -> Grammar:
    """Return the grammar, its network kept ready in the user's cache folder."""
    return _grammar_kept_in(cache_folder())


@cache
def _grammar_kept_in(folder: Path) -> Grammar:
    return load_grammar(cache=folder)


@cache
def _keep_setting(path: Path, field: str, value: bool) -> None:
    """Write a setting that was said into the file; it is told where that cannot be done."""
    from fieldvoice.cli.faults import complain
    from fieldvoice.cli.settings_file import SettingsError, write_setting
    from fieldvoice.dialogue.settings import CHOICES

    choice = next(one for one in CHOICES if one.field == field)
    try:
        write_setting(path, choice, value, said=True)
    except SettingsError as fault:
        complain(str(fault))


def _second_reader(grammar: Grammar) -> SecondReader:
    from fieldvoice.handbook.loader import shipped
    from fieldvoice.nlu.second_reader import SecondReader

    return SecondReader(grammar.words, lambda: shipped().cards)


def is_english(word: str) -> bool:
    """Tell whether a word is in the recogniser's dictionary, which is read when first asked."""
    from fieldvoice.asr.model_files import english_words

    return word in english_words()


@contextmanager
def conversation(
    book: Path | None,
    clock: Callable[[], datetime],
    *,
    dry_run: bool = False,
    phones: Callable[[Grammar], Phones] | None = None,
    name: str | None = None,
) -> Iterator[AppContext]:
    """Open the book (left out: the user's own) and yield the conversation with it.

    ``name`` is what the conversation is called; left out, each terminal has its own.

    With ``dry_run`` it is a copy in memory, and nothing is saved. ``phones`` gives what tells how
    a word of the grammar sounds, for spoken utterances.

    Raises:
        BookError: the book cannot be used.
        SettingsError: the settings beside it cannot be read.
    """
    # Here, for the ear's own process needs the grammar and none of this.
    from fieldvoice.book import Book
    from fieldvoice.book.backups import DailyBackups
    from fieldvoice.cli.faults import complain
    from fieldvoice.cli.options import own_conversation
    from fieldvoice.cli.progress import Progress
    from fieldvoice.cli.settings_file import read_settings
    from fieldvoice.dialogue import Conversation
    from fieldvoice.nlu import Interpreter
    from fieldvoice.nlu.wordings import come_along

    path = book or default_book()
    settings = read_settings(path.with_suffix(".toml"))
    grammar = the_grammar()
    sounds = phones(grammar) if phones else None
    understander = Interpreter(grammar, sounds, is_english, _second_reader(grammar), come_along)
    with Book.in_memory_copy(path) if dry_run else Book.open(path) as opened:
        opened.on_bad_row = complain
        if opened.damage is not None:
            complain(opened.damage)
        if not dry_run:
            backups = DailyBackups(path, settings.backups_in, complain)
            opened.before_notes = lambda: backups.see_to(clock().date())
        with Progress("Going through the notes") as progress:  # once, after many have come in
            opened.season(settings.capacities_gal, clock(), tell=progress)
        talk = Conversation(
            opened, understander, settings, clock=clock, name=name or own_conversation(),
            keep=None if dry_run else partial(_keep_setting, path.with_suffix(".toml")),
        )  # fmt: skip
        yield AppContext(clock, talk, opened, grammar, understander)
