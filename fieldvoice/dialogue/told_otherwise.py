"""Notes in the words of a yard, said in those of the grammar: one table, line by line.

A way is only words: it counts where the exact reader knows it word for word.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.dialogue.numbers_said import NUMBER
from fieldvoice.schema.acts import Hang

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.schema import Act

_UNIT = r"(?:gallons?|gals?|quarts?|qts?|pints?|lit(?:re|er)s?|l)"
_MUCH = rf"(?:about |around |almost )?(?:half an? |{NUMBER} )(?:and (?:a half|a quarter) )?{_UNIT}"
_ALL_TODAY = r"(?:today|in all|all told|altogether|all together|total|in total)"
_THE_REST = (
    r"(?:all (?:of )?the (?:rest|others|other ones)|the other (?:ones|trees)|everything else"
    r"|every other one|everyone else)"
)
_HUNG = r"(?:(?:i |we )?(?:hung|hooked|put)(?: up)? )?"
_ITEM = r"(bucket|pail|bag|jug|can)"
#: A call to somebody, and no name: "call 2 people about the jars".
_NO_NAME = (
    r"\b(?:people|men|gallons?|quarts?|pints?|jars?|today|tomorrow|tonight|later|back|again|now|times?"
    r"|about|at|for|when|if|in|on|and|to)\b"
)
_TICKS = r"(?:minutes?|mins?|seconds?|hours?|hrs?)"
_JAR = r"(?:half )?(?:pint|quart|gallon)s?"
_GALLON = r"(?:gallons?|gals?)"
_TABLE = (
    # what is to be thought of
    (
        rf"(?:set |start )?(?:an? |the )?(timer|alarm)[,:]? ({NUMBER} {_TICKS}|half an hour"
        r"|an hour and a half|a quarter of an hour)(?:,? please)?",
        r"set a \1 for \2",
    ),
    (
        rf"({NUMBER}|half|an) ({_TICKS}) (timer|alarm)(?:,? please)?",
        r"set a \3 for \1 \2",
    ),
    # names
    (
        rf"(?:call|name) (?:number )?(\d+) (?!.*{_NO_NAME})((?:the )?(?:\w+ ?){{1,3}})",
        r"call tree \1 \2",
    ),
    # sap on its way
    (
        rf"(.*\b{NUMBER} {_UNIT}|(?:\w+ed|sold|gave|took|put|ate|got|drew|ran|lost|broke)"
        rf" .*\b{NUMBER}) of (?:it|that|this|them|those)\b(.*)",
        r"\1\2",
    ),
    (
        r"(?:i |we )?(?:threw|chucked|tossed|stuck|dumped|got|ran|sent|hauled) "
        r"(?:it|that|them|those|it all|all of it|everything|the lot|the whole lot|that lot)"
        r" (?:all )?(?:in|into|in to) (.+?)",
        r"poured it into \1",
    ),
    (rf"(?:just )?(got|gathered|collected|brought in) ({_MUCH},? {_ALL_TODAY})", r"we \1 \2"),
    (rf"({_MUCH}),? {_ALL_TODAY}(?: today)?", r"we got \1 in all"),
    (rf"(?:and )?{_THE_REST},?(?: (?:is|are|was|were|'s|had|looked))? (.+?)", r"the rest are \1"),
    (
        r"(?:that|it|this|they|those)(?:'s| is| was)? all (?:went|going|goes|gone)"
        r" (?:in|into|in to) (.+?)",
        r"poured it all into \1",
    ),
    (
        r"all of (?:it|that|them)(?:'s| is| was| are| went)?(?: now)? in(?:to)? (.+?)",
        r"it's all in \1",
    ),
    (
        rf"({_MUCH}) (?:gathered|collected|brought in|hauled)(?: today)?,? (?:in|into|in to) (.+?)",
        r"gathered \1 total into \2",
    ),
    (
        rf"({_MUCH}),? {_ALL_TODAY},? (?:it |that |it's |it is )?(?:all |went |all went )+"
        r"(?:in|into|in to) (.+?)",
        r"gathered \1 total into \2",
    ),
    (
        rf"(?:trees? )?({NUMBER})(?: to | through | thru | till |\s*[-–]\s*)({NUMBER}),?"
        rf" (?:gave |had |made )?({_MUCH}),? (?:{_ALL_TODAY}|together|between them)",
        r"gathered \3 from trees \1 to \2",
    ),
    (
        r"(?:i |we )?(?:chucked|tossed|dumped|threw|took|pulled|fished|broke)"
        r" (?:the |some |all the )?ice (?:out|off|away)",
        "threw the ice out",
    ),
    # every one of them
    (
        r"(?:every|each)(?: single)? (bucket|pail|bag|tree)(?:'s| is| was) (.+?)"
        r"(?: again)?(?: today)?",
        r"all the \1s are \2",
    ),
    # numbers that begin a line are trees
    (
        rf"(?:number )?({NUMBER}) ((?:is|was|'s|has|had|gave|got|made|looks|looked|smells|smelled"
        r"|needs|lost|tested|tests) .+)",
        r"tree \1 \2",
    ),
    (
        rf"({NUMBER} (?:and|to|through|thru) {NUMBER}"
        r" (?:are|were|have|had|look|looked|smell) .+)",
        r"trees \1",
    ),
    (r"(trees? .+? (?:is|are)) (?:up|down|over|out) ((?:on|in|by|at) .+)", r"\1 \2"),
    (
        r"(?:it |that |it's |that's )?(?:all |all of it )?"
        r"(?:poured|dumped|emptied|went straight|tipped) (?:in|into|in to) (the .+?)",
        r"poured it all into \1",
    ),
    (
        rf"(?:nothing|none|not a drop)(?: at all)? (?:in|from|out of) ({NUMBER}) (?:or|and|nor)"
        rf" ({NUMBER})",
        r"trees \1 and \2 are empty",
    ),
    (
        r"(?:took|lifted|skimmed|broke) (?:the|an inch of|some|a sheet of|\w+ inches of) ice off"
        r"(?: the top| it)?",
        "threw the ice out",
    ),
    (
        r"(?:the )?sap (?:tested|tests|is testing|measured) (?:at )?([\d.]+)(?: ?%| percent)?",
        r"tests \1 percent",
    ),
    # who did it, and where
    (
        r"(?:he|she|dad|mom|mum|my (?:wife|husband|son|daughter|brother|sister|father|mother))"
        r" ((?:pulled|tapped|gathered|collected|poured|washed|dumped|skipped|boiled|drew|packed"
        r"|sold|gave|lit|started|hung) .+)",
        r"\1",
    ),
    (
        r"(?:pulled|took out|took) (?:everything|all of them|all the (?:taps|spiles|ones)|every one"
        r"|the taps|every (?:tap|spile))(?: out)?(?: up| down| over)? (?:on|in|along|by|of|off)"
        r" (the .+)",
        r"pulled the spiles on \1",
    ),
    (
        rf"(?:tree |number )?({NUMBER}),? (?:has )?no (bucket|pail|bag)"
        r"(?: (?:on it|there|any ?more))*",
        r"the \2 on tree \1 is gone",
    ),
    (
        rf"no (bucket|pail|bag) (?:on|at) (?:tree |number )?({NUMBER})(?: any ?more)?",
        r"the \1 on tree \2 is gone",
    ),
    # at the pan
    (
        r"(?:i |we )?shut (?:it |her |everything |the pan )?down (at .+|around .+|by .+)",
        r"stopped boiling \1",
    ),
    (
        r"(?:i |we )?(?:finished(?: off| up)?|used(?: up)?|emptied|poured|put|ran|boiled(?: down)?)"
        r" (?:the last of|the rest of|what(?:'s| is| was) left (?:of|in)|all of) (.+?)"
        r" (?:in|into|on|onto|through|down in) the (?:pan|evaporator|pot)",
        r"put the last of \1 in the pan",
    ),
    (r"((?:started |now )?boil(?:ing|ed)) (?:off|down|up) (.+?)(?: first)?", r"\1 \2"),
    (
        r"(?:i |we )?(?:turned|shut|switched|put) (?:the (?:burner|stove|propane|gas|heat|fire"
        r"|fryer|pan|flame|cooker|evaporator)) (?:off|out)(?: again)?(| at .+)",
        r"stopped boiling\1",
    ),
    (r"(?:the )?fire(?:'s| is| was| went)? out (?:at |by )?(.*\d.*)", r"stopped boiling at \1"),
    (r"(?:the )?pan (?:level|depth)(?::| is| at)? (.+?)", r"the pan is at \1"),
    (
        r"(?:just |now )?(?:lit|lighting|firing up|fired up|starting up|started up) (?:the |our )?"
        r"(?:evaporator|arch|pan|stove|burner|fryer|rig)(?: now)?",
        "lit the fire",
    ),
    (
        r"(?:the )?(?:first|second|third|fourth|next|last) (?:draw|draw off)(?: of the day)?,?"
        r"(?: was| gave)? (.+?)",
        r"drew off \1",
    ),
    (
        r"(?:the )?(?:fire|pan|boil|stove|burner)(?:'s| is| has)?(?: been)?"
        r" (?:on|going|lit|boiling)"
        r" since (.+?)",
        r"started boiling at \1",
    ),
    (r"(?:we've |we have |i've )?been boiling since (.+?)", r"started boiling at \1"),
    (rf"draw (?:number )?{NUMBER}(?:[:,]| was) (.+?)", r"drew off \1"),
    (
        r"(?:the )?foam (?:came|rose|climbed|was coming) up,? (?:so |and |but )*(?:an? )?"
        r"(?:dab|bit|drop|splash|little|knob|spoon)(?: of)? (\w+) (?:took care of it"
        r"|knocked it down|settled it|fixed it|took it down|brought it down|did it)",
        r"knocked the foam down with a drop of \1",
    ),
    # weather
    (r"((?:it's |it is )?minus \d+ this morning)", r"it was \1"),
    (
        r"(?:(?:they|it)(?:'re| are|'s| is)? )?"
        r"(?:(?:call(?:ing)?|forecasting|saying)(?: for)?|(?:supposed to|should) (?:hit|reach"
        r"|get(?: up)? to)|forecast(?: is| says)?)"
        r" (?:a high of |plus )?(\d+)(?: degrees)?(?: today)?",
        r"high of \1",
    ),
    # thrown away, and why
    (
        r"(?:dumped|threw out|tossed)(?: out)? (?:the (?:bag|bucket|pail|sap) (?:on|of|from|in) )?"
        rf"(?:tree )?({NUMBER}),? (?:it )?(?:was|smelled|smelt|looked) (.+?)",
        r"dumped tree \1, it was \2",
    ),
    # jars
    (
        rf"({NUMBER}) (?:bottles?|jars?|of them) (?:went|gone|sold) to (.+?) (?:for|at) (.+?)",
        r"sold \1 to \2 for \3",
    ),
    (
        rf"(?:dropped|took|brought|left|handed)(?: off| over)? ({NUMBER} {_JAR})(?: off| over)?"
        r" (?:at|with|to|for) (.+?)(?:'s)?(?: place| house)?",
        r"gave \1 to \2",
    ),
    (
        r"(.+?)(?: (?:came|stopped|dropped|swung) (?:by|over|in|round))?(?:,? and)?"
        rf" (?:bought|took) ({NUMBER}(?: {_JAR})?),? (?:for )?(\w+(?: \w+)?)"
        r" (?:dollars|bucks)",
        r"sold \2 to \1 for \3 dollars",
    ),
    (
        rf"(?:broke|smashed|cracked) ({NUMBER}(?: {_JAR})?)(?: jars?| bottles?)?"
        r"(?: (?:in|on) .+?)?",
        r"\1 broke",
    ),
    # what hangs
    (
        rf"{_HUNG}(?:an? )?new {_ITEM} on (?:tree |number )?({NUMBER})",
        r"a new \1 hangs on tree \2",
    ),
    (
        rf"{_HUNG}(?:an? )?(?:new )?({NUMBER})[ -]?{_GALLON} {_ITEM} on (?:tree |number )?"
        rf"({NUMBER})",
        r"a \1 gallon \2 hangs on tree \3",
    ),
    (
        rf"{_HUNG}(?:an? )?(?:new )?{_ITEM} on (?:tree |number )?({NUMBER}),? (?:an? )?"
        rf"({NUMBER})[ -]?{_GALLON}(?: one)?",
        r"a \3 gallon \1 hangs on tree \2",
    ),
    # the walk
    (
        r"(?:i'?m |i am |we'?re |we are )?"
        r"(?:doing|starting(?: on)?|off to do|(?:heading|going) out to (?:do|empty|gather))"
        r" (?:the |our |all the )?(?:bags|buckets|pails|trees|rounds?)(?: now| again| today)?",
        "starting a round",
    ),
    (r"(?:the |our )?round(?:'s| is| has)? (?:started|begun|on|under way)", "starting a round"),
    (
        r"(?:i |we )?(?:couldn't|can't|didn't|could not|did not) (?:get|make it|go|walk)"
        rf"(?: up| over| out| back)? (?:to|by|near) (?:tree |number )?({NUMBER})(?: today)?",
        r"skipped tree \1",
    ),
)  # fmt: skip
_ROWS = [(re.compile(rf"{says}[\s.!]*", re.IGNORECASE), told) for says, told in _TABLE]
_OF_ALL = re.compile(
    rf"(?:just )?(?:got |gathered |collected |brought in )?{_MUCH},? {_ALL_TODAY}(?: today)?"
    r"[\s.!]*",
    re.IGNORECASE,
)
_TURNED_OFF = re.compile(
    r"(?:i |we )?(?:turned|shut|switched|put) it (?:off|out)(?: again)?(| at .+?)[\s.!]*",
    re.IGNORECASE,
)
_LID_BACK = re.compile(
    r"(?:i |we )?(?:(?:put|got|set|stuck) (?:it|the lid|that) back(?: on)?|(?:it|the lid)(?: is|'s)"
    r" back on|found (?:it|the lid))[\s.!]*",
    re.IGNORECASE,
)


def is_of_all(text: str) -> bool:
    """Whether an amount without a tree is all that came in: "got six gallons today"."""
    return _OF_ALL.fullmatch(text) is not None


def has_no_rule(text: str) -> bool:
    """Whether words that the table has told are the second reader's: who got jars."""
    return _NO_RULE.match(text) is not None


_NO_RULE = re.compile(rf"(?:sold|gave) {NUMBER} {_JAR} to .", re.IGNORECASE)
_OVER = re.compile(
    rf"(?:i |we )?(?:pumped|moved|poured|ran|shifted|carried|put)"
    rf" ({_MUCH}|half|all of it|everything) (?:over|across) (?:to|into|in) (.+?)[\s.!]*",
    re.IGNORECASE,
)


def told_otherwise(text: str, last: Act | None, vessel: str | None) -> Iterator[str]:
    """Yield ``text`` in the words of the grammar, ``last`` the note before it.

    ``vessel`` is the one in hand.
    """
    if vessel is not None and (found := _OVER.fullmatch(text)):
        yield f"moved {found[1]} from {vessel} into {found[2]}"
    for says, told in _ROWS:
        if found := says.fullmatch(text):
            yield found.expand(told)
    at_the_pan = last is not None and last.spec.at_the_pan
    if at_the_pan and (found := _TURNED_OFF.fullmatch(text)):
        yield f"stopped boiling{found[1]}"
    is_open = isinstance(last, Hang) and last.lid == "off" and last.tree is not None
    if isinstance(last, Hang) and is_open and _LID_BACK.fullmatch(text):
        yield f"the lid is on tree {last.tree}"
