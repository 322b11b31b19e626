"""The talk with the season book: focus, open questions, decisions, corrections and answers.

It neither hears nor speaks: it takes ``Heard`` and gives ``Reply``, and calls rules with facts
from the book.
"""

from fieldvoice.conversation.conversation import Conversation
from fieldvoice.conversation.settings import Settings

__all__ = ["Conversation", "Settings"]
