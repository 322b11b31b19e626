"""The price of every liberty the search may take with the words, in one place.

The unit is an ordinary word passed over. What a price leads to (save, ask, keep) is decided in
the conversation; here it only orders the readings.
"""

from __future__ import annotations

# Passing over a word.
SKIP_FILLER = 0.02  # "uh", "okay": declared in the grammar
SKIP_SMALL = 0.25  # "the", "of": carries nothing by itself
SKIP_UNKNOWN = 0.9  # not a word of the grammar at all
SKIP_KNOWN = 1.3  # a word of the grammar was said for a reason
SKIP_NEVER = 6.0  # "not", "if", a number: passing it over would turn the sentence round

# A word of free text, so that a remark leaves what has a meaning of its own to that meaning.
FREE_WORD = 0.03

# Supplying a small word that was not said.
SUPPLY = 0.35

# Taking a word for another: a fixed part, and a part by distance (0 to 1).
NEAR = 0.25
NEAR_PER_DISTANCE = 2.0

#: No reading dearer than this is worth having.
MOST = 4.5

# One unit of a hearing's log likelihood against the best hearing's, for n-best lists.
PER_HEARING_SCORE = 0.05

#: A bare answer is cheaper when a question is open.
ANSWER_DISCOUNT = 0.6
