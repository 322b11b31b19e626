"""Numbers as people say or type them, as patterns: for what is put into other words, or doubted.

What a number is worth is read by the grammar alone; these only find where one stands.
"""

from __future__ import annotations

_ONES = r"one|two|three|four|five|six|seven|eight|nine"
_TEENS = r"ten|eleven|twelve|\w+teen"
_TENS = rf"(?:twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety)(?:[ -](?:{_ONES})\b)?"
#: Two or more of something: "two", "twelve", "31".
SEVERAL = rf"(?:[2-9]\b|[1-9]\d[\d./]*|(?!one\b)(?:{_ONES})|{_TEENS}|{_TENS})"
#: A whole number, or one in figures: "a", "two", "twenty five", "2.5", "1/2".
NUMBER = rf"(?:\d[\d./]*|an?|{_TENS}|{_TEENS}|{_ONES})"
#: The same, or a share of one: "half", "half an", "a couple".
NUMBER_OR_PART = rf"(?:a couple|half(?: an?\b)?|{NUMBER})"
#: A number with what may follow it: "half a", "a hundred and ten", "two and a quarter".
AMOUNT = (
    r"(?:\d[\d./]* \d/\d|(?:a|one|two|three) hundred(?: and)?(?: \w+(?:[ -]\w+)?)??"
    rf"|{NUMBER_OR_PART})(?: and (?:an? (?:half|quarter)|three quarters))?"
)
