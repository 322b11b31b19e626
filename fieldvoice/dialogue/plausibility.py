"""What is so unlikely that it is asked about before it is saved, and what it adds to the price.

What is likely stands in the rules; here is which field of which note it goes by. Nothing is
refused: a yes saves it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.book.rounds import trees_in
from fieldvoice.dialogue.book_units import with_degrees
from fieldvoice.dialogue.context import by_rule
from fieldvoice.dialogue.fields import changed
from fieldvoice.dialogue.ledger_doubts import doubt_about_movement
from fieldvoice.dialogue.policy import Confirmation
from fieldvoice.dialogue.round import cut_down
from fieldvoice.rules.plausible import Plausibility, sound_alike, unlikely, vessel_alike
from fieldvoice.rules.sap import spoils_others
from fieldvoice.schema import Act, Ask, meaning_from
from fieldvoice.schema.acts import Dump, Gather, Inspect, Name, Reading, Vessel, Weather
from fieldvoice.schema.asks.season import Said
from fieldvoice.schema.slot import slots_of
from fieldvoice.segments import Quantity, TreeRef, VesselRef, fact, parts, prompt

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.book import Season
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.rules.finding import Finding
    from fieldvoice.schema import Meaning

# What the book finds odd is put on top of the price of the words. It decides between hearings that
# are nearly as good as each other and must not push a clear sentence into a crooked reading.

#: A tree that the book does not know, where it knows its trees.
UNKNOWN_TREE = 0.2

# What "three" before the number of a tree is worth.
_THREE_HUNDRED = 300
#: A value outside its likely range.
UNLIKELY = 0.25
#: The size of a vessel told when it is known, or when the vessel is in use: its level is meant.
KNOWN_SIZE = 0.3
#: A level told of a vessel that the book does not know, where its size may be meant.
NEW_LEVEL = 0.2
#: Jars or a draw in one breath with a tree's bucket, which hangs far from the pan.
FAR_APART = 0.4
#: A note that lacks something, when another reading lacks nothing.
LACKING = 0.1
#: Words looked for in the notes, where they may name a thing: "about the big maple".
BY_WORDS = 0.5
#: A bucket with less in it than earlier in the round, though nobody emptied it.
FELL = 0.1
#: Sap at a tree whose spiles are pulled, or tapping out of season.
OUT_OF_TIME = 0.15
#: Months in which no maple is tapped or gathered from (common practice: the sap runs between the
#: first thaw and the buds, and a little in late autumn).
_NO_SAP = (6, 7, 8, 9)
#: The likely range for one tree allows for two buckets.
_TAPS_A_BUCKET_LOT = 2


def doubt_about(act: Act, index: int, moment: TurnContext) -> Confirmation | None:
    """Return the question to ask before saving ``act``: it is unlikely, or throws sap away.

    A tree that the inventory lacks, and a name, are asked about when they were heard: what was
    typed is clear.
    """
    if isinstance(act, Dump):
        return _thrown_away(act, index, moment)
    if standing_no_more := _felled(act, index, moment):
        return standing_no_more
    if isinstance(act, Weather) and (turned := _turned_round(act, index)):
        return turned
    speaks_against = doubt_about_movement(act, index, moment)
    if speaks_against is not None:
        return speaks_against
    for name, value, judged in _judgements(act, moment):
        if judged.findings:
            told = (by_rule(judged.findings[0]),)
            degrees = _both_degrees(act, value, judged)
            values = _both(judged, value)
            return Confirmation(told, index, slot=name, values=values, degrees=degrees)
    return None if moment.source == "typed" else _misheard(act, index, moment)


def doubt_about_question(ask: Ask, index: int, moment: TurnContext) -> Confirmation | None:
    """Return the question to ask before ``ask`` is answered: a number in it is unlikely."""
    for name, value, judged in _judgements(ask, moment):
        if judged.findings:
            told = (by_rule(judged.findings[0]),)
            return Confirmation(told, index, slot=name, values=_both(judged, value))
    return None


def _turned_round(act: Weather, index: int) -> Confirmation | None:
    """Return the question where the low is told above the high."""
    if act.low_f is None or act.high_f is None or act.low_f <= act.high_f:
        return None
    low, high = Quantity(act.low_f, "°F", 0), Quantity(act.high_f, "°F", 0)
    return Confirmation((prompt("A low of", low, "over a high of", high),), index)


def unlikely_value(act: Act, moment: TurnContext) -> Finding | None:
    """Return what the rules find odd in a note's own values, whatever the book says; else None."""
    found = (judged.findings for _, _, judged in _judgements(act, moment))
    return next((findings[0] for findings in found if findings), None)


def out_of_season(act: Act, month: int) -> bool:
    """Whether a note is of work that nobody does in a month: no sap runs then."""
    return act.spec.in_season and month in _NO_SAP


def _judgements(act: Act | Ask, moment: TurnContext) -> Iterator[tuple[str, float, Plausibility]]:
    """Yield each number in a note or question with its slot and what the rules hold of it."""
    for name in slots_of(type(act)):
        value = getattr(act, name)
        if not isinstance(value, bool) and isinstance(value, int | float):
            yield name, value, _unlikely(act, name, value, moment)


def _both(judged: Plausibility, value: float) -> tuple[float, ...]:
    """Return the two numbers between which one has to choose; none where just one is in doubt."""
    return () if judged.twin is None else (judged.twin, value)


def _both_degrees(act: Act, value: float, judged: Plausibility) -> tuple[Meaning, ...]:
    """Return a note with all its temperatures as Celsius and as Fahrenheit, where that is asked."""
    if judged.degrees is None:
        return ()
    if abs(value - judged.degrees[0]) < 0.1:  # a metric book took it as Celsius
        return act, with_degrees(act, lambda temp_f: round((temp_f - 32) / 1.8, 1))
    return with_degrees(act, lambda temp_f: temp_f * 1.8 + 32), act


def _misheard(act: Act, index: int, moment: TurnContext) -> Confirmation | None:
    if isinstance(act, Name):
        about = act.subject() if not act.new else "this new tree"
        return Confirmation((), index, does=parts("call", about, act.name))
    strangers = new_trees((act,), moment.season)
    if len(strangers) == 1:
        return Confirmation(
            (fact(TreeRef(strangers), "is new"), prompt("add it")), index, slot="tree"
        )
    if strangers:
        return Confirmation((fact(TreeRef(strangers), "are new"), prompt("add them")), index)
    return None


def _unlikely(act: Act | Ask, name: str, value: float, moment: TurnContext) -> Plausibility:
    if isinstance(act, Gather) and name == "volume_gal":
        return _gathered(act, value, moment)
    field = slots_of(type(act))[name].likely
    return _judged(moment, **({field: value} if field else {}))


def _judged(moment: TurnContext, **values: float) -> Plausibility:
    return unlikely(metric=moment.settings.metric, unit_said=moment.degrees_named, **values)


def strangeness(meanings: tuple[Meaning, ...], moment: TurnContext) -> float:
    """Return the price of what the book finds odd in a reading."""
    price = UNKNOWN_TREE * strangers(meanings, moment.season)
    for index, meaning in enumerate(meanings):
        if isinstance(meaning, Said) and meaning.words is not None:
            price += BY_WORDS
        if not isinstance(meaning, Act):
            continue
        price += _at_odds(meaning, moment)
        doubt = doubt_about(meaning, index, moment)
        if doubt is not None and doubt.slot not in (None, "tree"):
            price += UNLIKELY
    return price + (FAR_APART if is_far_apart(meanings) else 0.0)


def is_far_apart(meanings: tuple[Meaning, ...]) -> bool:
    """Whether a breath tells of a tree's bucket and of jars or a draw: likely one was misread."""
    acts = [one for one in meanings if isinstance(one, Act)]
    return any(one.spec.at_the_pan for one in acts) and any(trees_in(one) for one in acts)


def _felled(act: Act, index: int, moment: TurnContext) -> Confirmation | None:
    """Return the question before a note of a tree that was cut down, as of one at its bucket."""
    if not act.spec.visits:
        return None
    for name in trees_in(act):
        tree = moment.season.trees.get(name)
        gone = cut_down(tree, moment.now) if tree is not None else None
        if gone is not None:
            return Confirmation((fact(*gone),), index, does=parts("note it all the same"))
    return None


def _at_odds(act: Act, moment: TurnContext) -> float:
    """Return the price of what does not fit the time or what was seen before; never a question."""
    if isinstance(act, Vessel) and act.capacity_gal is not None:
        known_as = moment.season.vessels.get(act.vessel or "")
        # "Tank one holds fifty gallons" said of a tank in use is what it holds now.
        return KNOWN_SIZE if known_as and (known_as.capacity_gal or known_as.parcels) else 0.0
    if isinstance(act, Reading) and act.volume_gal is not None:
        # Said of a tank that nobody told of, it is more likely what it holds when full.
        return 0.0 if act.vessel in moment.season.vessels else NEW_LEVEL
    if out_of_season(act, moment.now.month):
        return OUT_OF_TIME
    tree = moment.season.trees.get(getattr(act, "tree", None) or "")
    if tree is None or act.act not in ("inspect", "gather"):
        return 0.0
    if tree.pulled:
        return OUT_OF_TIME
    fill = act.fill if isinstance(act, Inspect) else None
    return FELL if fill is not None and tree.fill is not None and fill < tree.fill else 0.0


def strangers(meanings: tuple[Meaning, ...], season: Season) -> int:
    """Return how many trees and vessels of a reading the book does not know.

    A vessel counts where one is known that sounds like it: any other may well be new.
    """
    vessels = {meaning.json_fields().get("vessel") for meaning in meanings}
    misheard = [
        vessel
        for vessel in vessels
        if isinstance(vessel, str)
        and vessel not in season.vessels
        and vessel_alike(vessel) in season.vessels
    ]
    return len(new_trees(meanings, season)) + len(misheard)


def new_trees(meanings: tuple[Meaning, ...], season: Season) -> tuple[int, ...]:
    """Return the tree numbers that a book with an inventory (trees tapped or measured) lacks.

    A note that itself taps, measures or names a tree makes it known.
    """
    if not has_inventory(season):
        return ()
    unknown: dict[int, None] = {}
    for meaning in meanings:
        if isinstance(meaning, Act) and meaning.spec.makes_known:
            continue
        fields = meaning.json_fields()
        for tree in (fields.get("tree"), *fields.get("trees", ())):
            if isinstance(tree, int) and tree not in season.trees:
                unknown[tree] = None
    return tuple(unknown)


def has_inventory(season: Season) -> bool:
    """Whether the book knows its trees: some were tapped or measured."""
    return any(tree.taps or tree.diameter_in for tree in season.trees.values())


def known_twin(meanings: tuple[Meaning, ...], season: Season) -> tuple[Meaning, ...] | None:
    """Return ``meanings`` with the tree that sounds alike in place of one that nobody knows.

    Heard "tree thirteen" where there is a tree 30 and no 13; None when it is not so.
    """
    for index, meaning in enumerate(meanings):
        tree = meaning.json_fields().get("tree")
        twin = _twin_of(tree) if isinstance(tree, int) else None
        if twin is None or not new_trees((meaning,), season) or twin not in season.trees:
            continue
        other = changed(meaning, {"tree": twin})
        if other is not None:
            return (*meanings[:index], other, *meanings[index + 1 :])
    return None


def _twin_of(tree: int) -> int | None:
    """Return the tree that sounds alike: "tree, tree twelve" is heard as "tree three twelve"."""
    twin = sound_alike(tree)
    if twin is not None:
        return int(twin)
    return tree - _THREE_HUNDRED if 0 < tree - _THREE_HUNDRED < 100 else None


def run_together(
    meanings: tuple[Meaning, ...], text: str, season: Season
) -> tuple[Meaning, ...] | None:
    """Return ``meanings`` with one tree in place of two whose numbers may be its digits.

    "Tree one oh four" is heard as "tree one and four" by some; whoever means two trees says
    "trees", and means two that the book knows, where it knows its trees.
    """
    if "trees" in text.split():
        return None
    for index, meaning in enumerate(meanings):
        trees = meaning.json_fields().get("trees", ())
        if len(trees) != 2 or not all(isinstance(one, int) and 0 < one < 10 for one in trees):
            continue
        whole = trees[0] * 100 + trees[1]
        if has_inventory(season) and whole not in season.trees:
            continue
        other = _with_tree(meaning, whole)
        if other is not None:
            return (*meanings[:index], other, *meanings[index + 1 :])
    return None


def _with_tree(meaning: Meaning, tree: int) -> Meaning | None:
    fields = {k: v for k, v in meaning.json_fields().items() if k != "trees"}
    try:
        return meaning_from({**fields, "tree": tree})
    except ValueError:
        return None


def _gathered(act: Gather, volume_gal: float, moment: TurnContext) -> Plausibility:
    """Judge a gathering by what one tree gave; a tree with more taps has more buckets."""
    trees = act.trees or ((act.tree,) if act.tree is not None else ())
    if not trees:
        return _judged(moment, vessel_gal=volume_gal)
    known = moment.season.trees
    taps = [known[tree].taps_in if tree in known else 0 for tree in trees]
    buckets = sum(max(1, count / _TAPS_A_BUCKET_LOT) for count in taps)
    each_gal = volume_gal / buckets
    judged = _judged(moment, bucket_gal=each_gal)
    if judged.likely or len(trees) == 1:
        return judged if judged.likely else _judged(moment, bucket_gal=volume_gal)
    return _judged(moment, vessel_gal=volume_gal, bucket_gal=each_gal)


def _thrown_away(act: Dump, index: int, moment: TurnContext) -> Confirmation | None:
    """Return the question before sap is written off, unless it is known to be spoilt, or none.

    One bucket on the ground is not asked about: it is small, people empty them on every round late
    in the season, and it can be taken back.
    """
    if act.vessel is None:
        if not act.trees:
            return None
        return Confirmation((), index, does=parts("dump the sap on", act.subject()))
    vessel = moment.season.vessels.get(act.vessel)
    is_spoilt = vessel is not None and spoils_others(vessel.sap)
    if act.volume_gal is not None:
        more = doubt_about_movement(act, index, moment)
        part = Quantity(act.volume_gal, "gal")
        does = parts("dump", part, "of", VesselRef(act.vessel))
        return more or (None if is_spoilt else Confirmation((), index, does=does))
    known_empty = vessel is not None and not vessel.parcels and vessel.volume_gal == 0
    if known_empty or is_spoilt:
        return None
    volume_gal = vessel.volume_gal if vessel else None
    held = parts(",", Quantity(volume_gal, "gal")) if volume_gal else None
    return Confirmation((), index, does=parts("dump", VesselRef(act.vessel), held))
