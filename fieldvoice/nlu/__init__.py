"""From words to ranked readings: one weighted search through the grammar."""

from fieldvoice.nlu.hypothesis import Hypothesis
from fieldvoice.nlu.interpreter import Interpreter

__all__ = ["Hypothesis", "Interpreter"]
