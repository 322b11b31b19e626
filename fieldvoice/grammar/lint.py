"""Checks grammar files and says what is wrong, where, and what was expected.

    python -m fieldvoice.grammar.lint grammars/
    python -m fieldvoice.grammar.lint --warnings grammars/

It ends with 1 where there is an error, so that the build stops. Warnings are counted, and shown
where that is asked for. What cannot be read is said first and alone: the rest needs whole files.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.errors import GrammarError
from fieldvoice.grammar.findings import Finding, PlacedGrammarError
from fieldvoice.grammar.frames import Frames, known_frames, rules_by_slots
from fieldvoice.grammar.grammar import TOP
from fieldvoice.grammar.jsgf import (
    GrammarFile,
    grammar_paths,
    link,
    read_file,
    recursions,
    text_of,
    without_void,
)
from fieldvoice.grammar.pronunciations import TRADE_WORDS, words_in
from fieldvoice.grammar.reading_check import reading_findings
from fieldvoice.grammar.structure_check import long_lines, structure_findings, unheard
from fieldvoice.grammar.tag_check import tag_findings

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(frozen=True, slots=True)
class Known:
    """What grammars are checked by: the frames that there are, and the words that can be heard.

    ``rules`` are those that the program goes by, so that no other rule need use them. Without
    ``words`` it is not looked at whether words can be heard.
    """

    frames: Frames
    words: frozenset[str] | None = None
    rules: frozenset[str] = frozenset()


def findings(folder: Path, known: Known) -> list[Finding]:
    """Return all that is wrong in a folder of grammars.

    Raises:
        GrammarError: there are none, or one cannot be opened.
    """
    files: list[GrammarFile] = []
    damaged: list[Finding] = []
    for path in grammar_paths(folder):
        try:
            files.append(read_file(*text_of(path)))
        except PlacedGrammarError as error:
            damaged.append(error.finding)
    if damaged:
        return damaged
    rules, undefined = link(files)
    circles = [] if undefined else list(recursions(rules))
    return undefined or circles or list(_of_whole(files, known))


def _of_whole(files: list[GrammarFile], known: Known) -> Iterator[Finding]:
    for file in files:
        yield from long_lines(file.source)
    rules, _ = link(files)
    structure = list(structure_findings(rules, known.rules))
    yield from structure
    sayable = without_void(rules)
    yield from tag_findings(sayable, known.frames)
    if known.words is not None:
        yield from unheard(sayable.values(), known.words)
    # Networks are made only of what is never silent.
    if TOP in sayable and not any(one.code == "silent" for one in structure):
        yield from reading_findings(sayable, TOP, known.frames)


def _known_words(folder: Path) -> frozenset[str]:
    """Return the words that the recogniser's dictionary and the trade's have."""
    from pocketsphinx import get_model_path

    dictionary = Path(get_model_path("en-us/cmudict-en-us.dict"))
    return words_in(dictionary) | words_in(folder / TRADE_WORDS)


def main(arguments: list[str] | None = None) -> int:
    """Check the grammars of a folder; return how the program ends."""
    parser = argparse.ArgumentParser(prog="python -m fieldvoice.grammar.lint")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--warnings", action="store_true", help="show the warnings as well")
    chosen = parser.parse_args(arguments)
    try:
        known = Known(known_frames(), _known_words(chosen.folder), rules_by_slots())
        found = findings(chosen.folder, known)
    except GrammarError as error:
        print(error, file=sys.stderr)
        return 1
    warnings = sum(one.is_warning for one in found)
    for finding in found:
        if chosen.warnings or not finding.is_warning:
            print(finding)
    hint = "" if chosen.warnings or not warnings else " (shown with --warnings)"
    print(f"{len(found) - warnings} errors, {warnings} warnings{hint}: {chosen.folder}")
    return 1 if len(found) > warnings else 0


if __name__ == "__main__":
    sys.exit(main())
