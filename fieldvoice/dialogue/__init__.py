"""The talk with the season book: focus, open questions, decisions, corrections and answers.

It neither hears nor speaks: it takes ``Transcript`` and gives ``Reply``, and calls rules with facts
from the book.
"""

from fieldvoice.dialogue.conversation import Conversation
from fieldvoice.dialogue.settings import Settings

__all__ = ["Conversation", "Settings"]
