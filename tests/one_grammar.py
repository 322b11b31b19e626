"""The grammar that comes with fieldvoice, read and built once for all tests of a process."""

from __future__ import annotations

from fieldvoice.grammar import load_grammar

GRAMMAR = load_grammar()
