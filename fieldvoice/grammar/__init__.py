"""What can be said: reads ``grammars/`` and gives words, sentences and a network."""

from fieldvoice.grammar.grammar import Grammar, grammar_folder, load_grammar

__all__ = ["Grammar", "grammar_folder", "load_grammar"]
