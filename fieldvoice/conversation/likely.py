"""What is so unlikely that it is asked about before it is saved, and what it adds to the price.

What is likely stands in the rules; here is which field of which note it goes by. Nothing is
refused: a yes saves it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.conversation import wording as w
from fieldvoice.conversation.decision import ASK_BEFORE_DUMPING_A_BUCKET, Doubt
from fieldvoice.conversation.readback import subject
from fieldvoice.meaning import Act
from fieldvoice.meaning.acts import Dump, Gather, Reading
from fieldvoice.rules.plausible import Plausibility, unlikely

if TYPE_CHECKING:
    from fieldvoice.book import Season
    from fieldvoice.conversation.settings import Settings
    from fieldvoice.meaning import Meaning

#: What a field of an act is to the rule: its name there.
_FIELDS: dict[tuple[str, str], str] = {
    ("reading", "temp_f"): "sap_temp_f",
    ("sweetness", "brix"): "sap_brix",
    ("sweetness", "temp_f"): "sap_temp_f",
    ("measure", "diameter_in"): "diameter_in",
    ("tap", "count"): "taps",
    ("tap", "height_ft"): "height_ft",
    ("tap", "depth_in"): "depth_in",
    ("tap", "bit_in"): "bit_in",
    ("store", "volume_gal"): "vessel_gal",
    ("reading", "volume_gal"): "vessel_gal",
    ("boil", "volume_gal"): "vessel_gal",
    ("draw", "syrup_gal"): "syrup_gal",
    ("draw", "temp_f"): "syrup_temp_f",
    ("draw", "brix"): "syrup_brix",
    ("pack", "count"): "containers",
    ("pack", "temp_f"): "pack_temp_f",
    ("weather", "low_f"): "low_f",
    ("weather", "high_f"): "high_f",
}

# What the book finds odd is put on top of the price of the words. It decides between hearings that
# are nearly as good as each other and must not push a clear sentence into a crooked reading.

#: A tree that the book does not know, where it knows its trees.
UNKNOWN_TREE = 0.2
#: A value outside its likely range.
UNLIKELY = 0.25
#: A note that lacks something, when another reading lacks nothing.
LACKING = 0.1
#: The likely range for one tree allows for two buckets.
_TAPS_A_BUCKET_LOT = 2


def doubt_about(act: Act, index: int, season: Season, settings: Settings) -> Doubt | None:
    """Return the question to ask before saving ``act``, if it is unlikely or throws sap away."""
    if isinstance(act, Dump):
        return _thrown_away(act, index, season, settings.metric)
    for name, value in act.json_fields().items():
        if isinstance(value, bool) or not isinstance(value, int | float):
            continue
        findings = _unlikely(act, name, value, season, settings).findings
        if findings:
            return Doubt(findings[0].text, index, slot=name)
    return None


def _unlikely(
    act: Act, name: str, value: float, season: Season, settings: Settings
) -> Plausibility:
    if isinstance(act, Gather) and name == "volume_gal":
        return _gathered(act, value, season)
    holds_gal = settings.capacities_gal.get(getattr(act, "vessel", None) or "")
    if holds_gal is not None and isinstance(act, Reading) and name == "volume_gal":
        return unlikely(holds_gal=holds_gal, volume_gal=value)
    field = _FIELDS.get((act.act, name))
    return unlikely(**({field: value} if field else {}))


def strangeness(meanings: tuple[Meaning, ...], season: Season, settings: Settings) -> float:
    """Return the price of what the book finds odd in a reading."""
    price = UNKNOWN_TREE * len(new_trees(meanings, season))
    for index, meaning in enumerate(meanings):
        doubt = doubt_about(meaning, index, season, settings) if isinstance(meaning, Act) else None
        if doubt is not None and doubt.slot is not None:
            price += UNLIKELY
    return price


def new_trees(meanings: tuple[Meaning, ...], season: Season) -> tuple[int, ...]:
    """Return the tree numbers that a book with an inventory (trees tapped or measured) lacks.

    A note that itself taps or measures a tree makes it known.
    """
    if not any(tree.taps or tree.diameter_in for tree in season.trees.values()):
        return ()
    unknown: dict[int, None] = {}
    for meaning in meanings:
        fields = meaning.json_fields()
        if fields.get("act") in ("tap", "measure"):
            continue
        for tree in (fields.get("tree"), *fields.get("trees", ())):
            if isinstance(tree, int) and tree not in season.trees:
                unknown[tree] = None
    return tuple(unknown)


def _gathered(act: Gather, volume_gal: float, season: Season) -> Plausibility:
    """Judge a gathering by what one tree gave; a tree with more taps has more buckets."""
    trees = act.trees or ((act.tree,) if act.tree is not None else ())
    if not trees:
        return unlikely(vessel_gal=volume_gal)
    taps = [season.trees[tree].taps_in if tree in season.trees else 0 for tree in trees]
    buckets = sum(max(1, count / _TAPS_A_BUCKET_LOT) for count in taps)
    each_gal = volume_gal / buckets
    judged = unlikely(bucket_gal=each_gal)
    if judged.likely or len(trees) == 1:
        return judged if judged.likely else unlikely(bucket_gal=volume_gal)
    return unlikely(vessel_gal=volume_gal, bucket_gal=each_gal)


def _thrown_away(act: Dump, index: int, season: Season, metric: bool) -> Doubt | None:
    """Return the question before a vessel's sap is written off, unless it is known to be empty."""
    if act.vessel is None:
        if not ASK_BEFORE_DUMPING_A_BUCKET and not act.trees:
            return None
        return Doubt(f"Dump the sap on {subject(act)}: yes or no?", index)
    vessel = season.vessels.get(act.vessel)
    known_empty = vessel is not None and not vessel.parcels and vessel.volume_gal == 0
    if known_empty:
        return None
    held = f", {w.volume(vessel.volume_gal, metric)}" if vessel and vessel.volume_gal else ""
    return Doubt(f"Dump {act.vessel}{held}: yes or no?", index)
