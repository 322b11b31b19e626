"""The price of every liberty the search may take with the words, in one place.

The unit is an ordinary word passed over. What a price leads to (save, ask, keep) is decided in
the conversation; here it only orders the readings.
"""

from __future__ import annotations

# Passing over a word.
SKIP_FILLER = 0.02  # "uh", "okay": declared in the grammar
SKIP_SMALL = 0.25  # "the", "of": carries nothing by itself
SKIP_LIGHT = 0.45  # "it", "this year": declared in the grammar
SKIP_UNKNOWN = 0.9  # not a word of the grammar at all
SKIP_KNOWN = 1.3  # a word of the grammar was said for a reason
SKIP_BEFORE_VALUE = 1.6  # right before "cloudy" or "full": it may weaken or deny it
SKIP_NEVER = 6.0  # "not", "if", a number: passing it over would turn the sentence round

# In a question, by what passing over a word that is not of the grammar, or says little, costs in a
# note: a wrong answer is noticed.
IN_QUESTION = 0.7
# In a question, a word that says what is asked.
SKIP_TELLING = 1.6

# A word that says another as well: "'s" for "is".
SAME = 0.01

# Words passed over in a note that names no tree, vessel or gear: it may be about something else
# ("the sky is clear").
STRANGER_IN_BARE_NOTE = 1.5

# A sentence that ends in an article, and one that has lost a noun after one: "a and a half".
ENDS_OPEN = 0.6
LOST_NOUN = 1.3

# Free words ("a note: …", a name) that are not opened as the grammar has it.
FREE_BADLY_OPENED = 1.5

# A number that may be another thing than it was taken for: "off at two nineteen" is no tree 219.
NUMBER_OF_SOMETHING_ELSE = 1.5

# A note that begins amid a number: in "at one eighty five half" the five is no tree.
PARTS_NUMBER = 1.2

# "The sap in two": tree two or tank two. And the only word there is, mended.
EITHER_TREE_OR_VESSEL = 1.1
ONE_WORD_MENDED = 1.5

# A question that passes over a word that says what is asked.
UNTOLD = 0.3

# Sap thrown away from a number that nobody called a tree: "threw seventy" may be "tree seventy".
THROWN_FROM_A_NUMBER = 1.0

# Two levels or two conditions of the same bucket in one breath.
CONTRADICTION = 1.5

# Several notes with "hang on" passed over between them: the later may stand for the earlier.
TAKEN_BACK = 1.5

# A word of free text, so that a remark leaves what has a meaning of its own to that meaning.
FREE_WORD = 0.03

# Supplying a small word that was not said.
SUPPLY = 0.35

# Taking a word for another: a fixed part, and a part by distance (0 to 1).
NEAR = 0.25
NEAR_PER_DISTANCE = 2.0
# Added to the distance of a number that was heard ("smells four" is "foul", or "sour").
NUMBER_MENDED = 0.05
# Added to the distance of a typed word that is a word in its own right.
OTHER_WORD = 0.4

#: Dearer readings are not looked for: the conversation keeps cheaper ones for review already.
MOST = 3.2

#: Most sentences are read well within this, three times as quickly as by looking as far as MOST.
FIRST_LOOK = 1.2
#: What the conversation may put on a reading's price before it weighs it against others: a reading
#: this much cheaper than the ceiling has no rival beyond it.
RIVALS_WITHIN = 0.6

# One unit of a hearing's log likelihood against the best hearing's, for n-best lists.
PER_HEARING_SCORE = 0.05

#: A hearing this much dearer than a reading of a likelier one is not searched: the widest margin of
#: the conversation is 3, and an open question makes a reading cheaper by ``ANSWER_DISCOUNT``. (Of
#: 100 spoken field sentences that spares three quarters of the work of reading.)
NO_RIVAL = 4.5

# A number in place of a small word that sounds the same ("for pints").
SAME_SOUND = 0.02

# Two words heard together that do not go together ("a pints"): it was "eight pints", or "four".
ONE_OF_MANY = 1.5

#: A bare answer is cheaper when a question is open.
ANSWER_DISCOUNT = 0.6
