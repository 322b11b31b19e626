"""The price of every liberty the search may take with the words, in one place.

The unit is an ordinary word passed over. What a price leads to (save, ask, keep) is decided in
the conversation; here it only orders the readings.
"""

from __future__ import annotations

# ---- the prices ----------------------------------------------------------------------------------

#: "Uh" and "okay" passed over (declared in the grammar); and what is hardly a liberty: "'s" for
#: "is", a number for a small word of its sound ("for pints"), a word of free text, so that a remark
#: leaves what has a meaning of its own to that meaning.
FILLER = 0.03
#: A word passed over that carries nothing by itself ("the", "of"), and one taken for another (and
#: more by their distance).
SMALL = 0.25
#: A small word supplied that was not said; a question without a word that says what is asked.
SUPPLY = 0.35
#: "It", "this year" passed over (declared in the grammar), and what is added to the distance of a
#: typed word that is a word in its own right.
LIGHT = 0.45
#: A sentence that ends in an article; and by so much a bare answer is cheaper, when a question is
#: open.
OPEN = 0.6
#: A word passed over that is none of the grammar's at all.
UNKNOWN = 0.9
#: A word passed over that is the grammar's, for it was said for a reason; a noun that is lost
#: ("a and a half"), a note that begins amid a number (in "at one eighty five half" the five is no
#: tree); a tree that may be a tank ("the sap in two", "threw seventy").
KNOWN = 1.3
#: What makes a reading doubtful by itself. A word passed over that may weaken or deny the value
#: after it, or that says what is asked. A note that names nothing and may be of something else
#: ("the sky is clear"), or of which the one word there is was mended; free words that are not
#: opened as the grammar has it; a number that may be another thing ("off at two nineteen" is no
#: tree 219); a contradiction, and a later note that may stand for an earlier; two words heard
#: together that do not go together ("a pints").
DOUBTFUL = 1.6
#: "Not", "if", a number passed over: that would turn the sentence round.
NEVER = 6.0
#: What the distance between two words (0 to 1) is worth where one is taken for the other.
PER_DISTANCE = 2.0
#: In a question what is passed over costs less: a wrong answer is noticed.
IN_QUESTION = 0.7
#: One unit of a hearing's log likelihood against the best hearing's, for n-best lists.
PER_HEARING_SCORE = 0.05

# ---- how far is looked ---------------------------------------------------------------------------

#: Dearer readings are not looked for: the conversation keeps cheaper ones for review already.
MOST = 3.2
#: Most sentences are read well within this, three times as quickly as by looking as far as MOST.
FIRST_LOOK = 1.2
#: What the conversation may put on a reading's price before it weighs it against others: a reading
#: this much cheaper than the ceiling has no rival beyond it.
RIVALS_WITHIN = 0.6
#: A hearing this much dearer than a reading of a likelier one is not searched: the widest margin of
#: the conversation is 3, and an open question makes a reading cheaper. (Of 100 spoken field
#: sentences that spares three quarters of the work of reading.)
NO_RIVAL = 4.5
