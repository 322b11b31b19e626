"""From typed text to the words the grammar knows.

The grammar is written in words as they are said. What people type (digits, fractions, signs,
shortened units) is spelled out here, so that one grammar serves voice and keyboard.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
).split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()

_PARTS = {
    "1/2": "a half", "1/3": "one third", "2/3": "two thirds", "1/4": "a quarter",
    "3/4": "three quarters", "1/8": "one eighth", "3/8": "three eighths", "5/8": "five eighths",
    "7/8": "seven eighths", "3/16": "three sixteenths", "5/16": "five sixteenths",
    "7/16": "seven sixteenths", "9/16": "nine sixteenths",
}  # fmt: skip

# How units are written, beside how they are said.
_WRITTEN = {
    "gal": "gallons", "gals": "gallons", "g": "gallons", "qt": "quarts", "qts": "quarts",
    "pt": "pints", "pts": "pints", "l": "liters", "ltr": "liters", "ml": "milliliters",
    "cm": "centimeters", "mm": "millimeters", "ft": "feet", "°": "degrees", "°f": "degrees",
    "°c": "degrees celsius", "f": "degrees", "deg": "degrees", "degf": "degrees",
    "degc": "degrees celsius", "c": "degrees celsius", "%": "percent", "pct": "percent",
    "bx": "brix", "°bx": "brix", "oz": "ounces", "inhg": "inches of mercury", "temp": "temperature",
    "min": "minutes", "mins": "minutes", "hr": "hour", "hrs": "hours",
    "ok": "okay", "clr": "clear", "cldy": "cloudy", "bkt": "bucket", "bkts": "buckets",
    "mon": "monday", "tue": "tuesday", "tues": "tuesday", "wed": "wednesday", "thu": "thursday",
    "thur": "thursday", "thurs": "thursday", "fri": "friday",
    "emty": "empty", "mt": "empty", "tmrw": "tomorrow", "hp": "half pints",
    "dbh": "diameter", "gonna": "going to", "gotta": "have to",
    "bout": "about", "abt": "about", "outta": "out of", "tonite": "tonight", "nite": "night",
    "mornin": "morning", "yest": "yesterday", "whats": "what 's", "hows": "how 's",
    "wheres": "where 's", "whos": "who 's", "whens": "when 's",
    "&": "and", "+": "and", "=": "is", "w/": "with", "t": "tree", "gallon's": "gallons",
}  # fmt: skip
_AFTER_NUMBER = {"g", "l", "f", "c", "t", "+"}
_SHORT = {
    "n": "north", "s": "south", "e": "east", "w": "west",
    "minus": "minus", "attached": "inches", "owner": "'s",
}  # fmt: skip

# Typed alone they answer a question.
_ANSWERS = {"y": "yes", "n": "no"}

# Shortened words, written out where the grammar has only the long form.
_SHORTENED = {
    "can't": "can not", "won't": "will not", "n't": " not", "'re": " are",
    "'ve": " have", "'ll": " will", "'m": " am", "what'd": "what did", "'d": " would",
}  # fmt: skip

#: Kinds of what is typed in figures; two of them in a row are two numbers.
_NUMERALS = frozenset({"number", "decimal", "mixed", "fraction", "thousands"})

#: What a comma or full stop becomes: no word, but two numbers on either side of it are two.
BREAK = ","

_LEXEME = re.compile(
    r"""
    (?P<mixed>(?<![t\#])(?<!tree\s)(?:\d+\s+\d/\d+ | \d+-\d/\d{1,2}(?!\d)))
  | (?P<date>\d+/\d+/\d+ | \d{4}-\d\d?-\d\d?(?!\d))
  | (?P<fraction>\d+/\d+)
  | (?P<decimal>\d*\.\d+)
  | (?P<range>(?:\d+[-–]|(?<=trees\s)\d+\s*[-–]\s*)\d+(?![\d/.]))
  | (?P<minus>(?<!\S)[-−](?=\d))
  | (?P<half_of_day>(?<![\d.])(?:1[0-2]|0?[1-9]):?(?:[0-5]\d)?\s?[ap]\.?m\b\.?)
  | (?P<clock>\d{1,2}:\d\d)
  | (?P<thousands>\d{1,3},\d{3}(?![\d,]))
  | (?P<number>\d+)
  | (?P<attached>(?<=\d)in\b | (?<=\d\s)in\b(?=\s*$|\s+(?:across|around|wide|deep|up)))
  | (?P<owner>(?<=\d)'s\b)
  | (?P<side>\b[nsew](?=\s+side\b))
  | (?P<word>[^\W\d_]+(?:'[^\W\d_]+)*'?)
  | (?P<sign>°\s?(?:bx|[fc])?\b|°|%|"|''|&|\+|=|w/|\#)
  | (?P<break>[,;:.!?\n])
    """,
    re.VERBOSE,
)


def spell(number: int) -> str:
    """Return a whole number from 0 to 9,999 in words, as the grammar has them."""
    if number < 20:
        return _ONES[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return _TENS[tens - 2] + (f" {_ONES[ones]}" if ones else "")
    size, name = (1000, "thousand") if number >= 1000 else (100, "hundred")
    count, rest = divmod(number, size)
    return f"{_ONES[count]} {name}" + (f" {spell(rest)}" if rest else "")


def text_of(words: Iterable[str]) -> str:
    """Return words of ``words_of`` as a text again: it gives the same words.

    >>> text_of(("tree", "nine", "'s", "dry"))
    "tree nine's dry"
    """
    return " ".join(words).replace(" 's", "'s")


def words_of(
    text: str, vocabulary: Collection[str] = (), *, breaks: bool = False
) -> tuple[str, ...]:
    """Return ``text`` as words in lower case, numbers and signs spelled out.

    Shortened words are written out ("we've") unless ``vocabulary`` has the short form; ``'s``
    becomes a word of its own, for "tree nine's dry" and "tree nine's bucket". A number beyond 9,999
    stays in digits, so that it is never taken for something else. With ``breaks`` a comma or full
    stop between words becomes ``BREAK``.
    """
    words = [word for _, said in _pieces(text, vocabulary, breaks=breaks) for word in said]
    if words and words[-1] == BREAK:
        words.pop()
    if len(words) == 1:
        words = [_ANSWERS.get(words[0], words[0])]
    return tuple(words)


def within_figures(text: str, vocabulary: Collection[str] = ()) -> frozenset[int]:
    """Return the places in ``words_of(text, vocabulary, breaks=True)`` within a number in figures.

    "Tree 21 quart" is said of no tree twenty, and "tree 122 pints" of no tree one hundred.
    """
    places: set[int] = set()
    at = 0
    for kind, said in _pieces(text, vocabulary, breaks=True):
        if kind in ("number", "thousands"):
            places.update(range(at + 1, at + len(said)))
        at += len(said)
    return frozenset(places)


def _pieces(
    text: str, vocabulary: Collection[str], *, breaks: bool
) -> Iterator[tuple[str, list[str]]]:
    """Yield each sign, figure and word of a text by its kind, with the words that say it."""
    before, last = "", ""
    for match in _LEXEME.finditer(_plain(text)):
        kind, piece = str(match.lastgroup), match.group()
        # "T30 1.25 gal" has two numbers, and so has "11 to 20 two quarts each".
        are_two = kind in _NUMERALS and before in _NUMERALS
        are_two = are_two or (before == "number" and last in _TENS and piece in _ONES[1:10])
        if breaks and last not in ("", BREAK) and (kind == "break" or are_two):
            yield "break", [BREAK]
            last = BREAK
        if kind != "break":
            said = _spelled(kind, piece, before, vocabulary).split()
            yield kind, said
            last = said[-1] if said else last
        before = kind


#: How thumbs and other countries write: "2,5 litres", "at 6.30", "@ 715", "t26 n t27".
_UNITS_AFTER = (
    r"(?!\s*(?:gal|qt|quart|pt|pint|l\b|lit|ml|cm|in\b|inch|f[te]|feet|met|m\b|deg|[cf]\b|°|%|per|brix"
    r"|dollar|buck|[ap]\.?m\b))"
)
_WRITTEN_OTHERWISE = (
    (re.compile(r"\bt(\d+)\s*[-–]\s*t?(\d+)\b"), r"trees \1-\2"),
    (re.compile(r"(?<=\d) n (?=t?\d)"), " and "),
    (
        re.compile(
            r"(?<![\d,.#])(?<!tree )(?<!trees )(?<!tank )(?<!tote )(?<!barrel )(?<!\bt)(?<!and )"
            r"(\d+),(\d{1,2})(?=\s*(?:l\b|lit(?:er|re)|cm|mm|deg|°|%|percent|brix))"
        ),
        r"\1.\2",
    ),
    (re.compile(r"\s*@\s*"), " at "),
    (re.compile(r"\b(mrs?|ms|dr)\.(?=\s)"), r"\1"),
    # "the second tank", but not "a second tank": that one is new.
    *(
        (
            re.compile(rf"(?<!\ba )(?:\b(?:the|our|my) )?\b{nth} (tank|barrel|tote|drum)\b"),
            rf"\1 {number}",
        )
        for number, nth in enumerate(("first", "second", "third", "fourth", "fifth"), 1)
    ),
    (re.compile(r"\$\s?(\d[\d.,]*\d|\d)(?! ?(?:dollars?|bucks?)\b)"), r"\1 dollars"),
    # The sides of a pan: "2x6", "2 x 6".
    (re.compile(r"(?<=\d)\s*[x×]\s*(?=\d+(?![\d.]*\s*(?:gal|q|pt|pint|l\b|lit|oz|jar)))"), " by "),
    # An hour, where the figures can be neither sugar nor heat.
    (re.compile(rf"(?<=\bat )([5-9]|1\d|2[0-3])\.([0-5][05])(?!\d){_UNITS_AFTER}"), r"\1:\2"),
    (re.compile(rf"(?<=\bat )([5-9]|1\d|2[0-3])([0-5]\d)(?![\d.,:/]){_UNITS_AFTER}"), r"\1:\2"),
)


def _plain(text: str) -> str:
    text = re.sub(r"(?<=\d)\s*([½¼¾⅓⅔⅛⅜⅝⅞])", r" \1", text)
    text = "".join(_fraction(sign) for sign in text).lower()
    for written, usual in _WRITTEN_OTHERWISE:
        text = written.sub(usual, text)
    text = text.translate(_QUOTES)
    # Three feet are 3'; where a quotation begins with the mark, it ends with it.
    text = text if _QUOTED_SINGLY.search(text) else _FEET.sub(" feet ", text)
    return _without_quotes(text)


#: Marks of quotation, and those of inches, as one sign; those of feet, and apostrophes, as another.
_QUOTES = str.maketrans({**dict.fromkeys("“”„″", '"'), **dict.fromkeys("‘’′", "'")})
_FEET = re.compile(r"(?<=\d)'(?!['a-z])")
_QUOTED_SINGLY = re.compile(r"(?<!\S)'\S")
_MARK = re.compile(r'(?P<opening>(?<!\S)"(?=\S))|(?P<figure>(?<=\d)"|(?<=\d )")|"')


def _without_quotes(text: str) -> str:
    """Leave of the marks those that are inches: after a figure, and closing no quotation.

    >>> _without_quotes('"the big one" is 20" across; "tree 7"')
    'the big one is 20" across; tree 7'
    """
    marks = list(_MARK.finditer(text))
    kept: set[int] = set()
    is_open = False
    for nth, mark in enumerate(marks):
        later = (one for one in marks[nth + 1 :] if one.lastgroup != "figure")
        follows = next(later, None)
        closes = is_open and (follows is None or follows.lastgroup == "opening")
        if mark.lastgroup == "figure" and not closes:
            kept.add(mark.start())
        else:
            is_open = mark.lastgroup == "opening"
    return "".join(sign for at, sign in enumerate(text) if sign != '"' or at in kept)


def _fraction(sign: str) -> str:
    if unicodedata.category(sign) != "No":
        return sign
    decomposed = unicodedata.normalize("NFKD", sign).replace("\u2044", "/")
    return decomposed if decomposed.isascii() else " "


def _spelled(kind: str, piece: str, before: str, vocabulary: Collection[str]) -> str:
    match kind:
        case "number" | "thousands":
            return _number(piece.replace(",", ""))
        case "decimal":
            whole, _, digits = piece.partition(".")
            return f"{_number(whole) if whole else ''} point {' '.join(map(_number, digits))}"
        case "fraction":
            return _PARTS.get(piece, piece)
        case "mixed":
            whole, part = re.split(r"[\s-]+", piece)
            return f"{_number(whole)} and {_PARTS.get(part, part)}"
        case "range":
            low, high = re.split(r"\s*[-–]\s*", piece)
            return f"{_number(low)} through {_number(high)}"
        case "clock":
            return _clock(piece)
        case "half_of_day":
            return _hour(piece)
        case "minus" | "attached" | "owner" | "side":
            return _SHORT[piece if kind == "side" else kind]
        case "sign":
            return _sign(piece.replace(" ", ""), before)
        case _:
            return _word(piece, before, vocabulary)


def _clock(piece: str) -> str:
    """Return "6:30" as it is said; "16:30" is half past four."""
    hours, minutes = piece.split(":")
    if 12 < int(hours) < 24:
        return f"{_at(str(int(hours) - 12), minutes)} p m"
    return _at(hours, minutes)


#: Minutes that are said after the hour alone; "two seventeen" may be another number.
_AFTER_THE_HOUR = frozenset({"10", "15", "20", "30", "40", "45"})


def _at(hours: str, minutes: str) -> str:
    if minutes == "00":
        return _number(hours)
    if minutes in _AFTER_THE_HOUR:
        return f"{_number(hours)} {_number(minutes)}"
    return f"{_number(str(int(minutes)))} minutes past {_number(hours)}"


def _hour(piece: str) -> str:
    """Return "630am" as it is said; "216 am" may be no hour at all."""
    figures, half = re.sub(r"[^\d]", "", piece), "a" if "a" in piece else "p"
    hours, minutes = (figures[:-2], figures[-2:]) if len(figures) > 2 else (figures, "00")
    if ":" in piece:
        return f"{_at(hours, minutes)} {half} m"
    return f"{_number(hours)} {'' if minutes == '00' else _number(minutes)} {half} m"


def _number(digits: str) -> str:
    return spell(int(digits)) if len(digits) < 9 and int(digits) < 10_000 else digits


def _sign(piece: str, before: str) -> str:
    if piece in ('"', "''"):
        return {"fraction": "inch", "mixed": "inches"}.get(before, "inches" if before else "")
    if piece == "#":
        return ""
    return _WRITTEN.get(piece, "")


def _word(piece: str, before: str, vocabulary: Collection[str]) -> str:
    piece = piece.strip("'")
    if piece.endswith("'s"):
        return piece.removesuffix("'s") + " 's"
    if piece in _WRITTEN and (piece not in _AFTER_NUMBER or before in ("number", "decimal")):
        return _WRITTEN[piece]
    if piece == "t" and before != "number":
        return "tree"
    return piece if piece in vocabulary else _written_out(piece)


def _written_out(piece: str) -> str:
    for short, long in _SHORTENED.items():
        if piece.endswith(short):
            return piece.removesuffix(short) + long
    return piece
