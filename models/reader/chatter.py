"""What is said among the words of a note and is nothing to it."""

from __future__ import annotations

#: Said among the words of a note, and nothing to it.
CHATTER = tuple(
    "uh|um|well|so|okay|hey|look|let's see|right|now then|anyway|honey|i think|i guess|looks like|"
    "by the way|right now|over here|this morning|my hands are cold|the dog is barking|"
    "man it's cold|"
    "put down|write down|log|for the book|please|can you note|just so you know|as i said|yeah|boy|"
    "lord|no idea why|thank goodness|there we are|here goes|hang on|where was i|oh and".split("|")
)
