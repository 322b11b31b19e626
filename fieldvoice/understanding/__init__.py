"""From words to ranked readings: one weighted search through the grammar."""

from fieldvoice.understanding.reading import Reading
from fieldvoice.understanding.understander import Understander

__all__ = ["Reading", "Understander"]
