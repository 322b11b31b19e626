"""The tables behind the pictures, and the lines of text beside them: the same values in words."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.pantry import sorts
from fieldvoice.dialogue.boil_day import water_an_hour
from fieldvoice.dialogue.sums import TOLD_GAL, content, expected_gal, left_in
from fieldvoice.nlg.wording import exact_clock, species_name
from fieldvoice.paper import measures as m
from fieldvoice.paper.charts import flow_sides, tone
from fieldvoice.paper.jars import WAYS
from fieldvoice.paper.story import FREEZING_F
from fieldvoice.paper.warned import COMES_WITHIN
from fieldvoice.schema.acts.pantry import containers, dollars
from fieldvoice.segments import Quantity, TreeRef

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from fieldvoice.book import BoilState, Season
    from fieldvoice.paper.jars import Gone, LotRow
    from fieldvoice.paper.measures import Measures
    from fieldvoice.paper.sheet import Sheet
    from fieldvoice.paper.warned import Outcome


#: Kinds of notes that tell what came of a warning in a word.
_ENDINGS = frozenset({"dump", "boil", "gather"})
_NEVER, _NOT_YET = "nothing noted in two weeks", "nothing noted yet"


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its title, its columns with units, its rows, and a row of sums where there is one.

    ``words`` is how many of the first columns hold words; the others hold figures.
    """

    title: str
    columns: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    words: int = 1
    sums: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot traced back and forth, in words; ``tone`` is the class of its colour."""

    code: str
    what: str
    tone: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class WarnedTold:
    """One warning with its times; ``summed`` tells in a few words what came of them."""

    level: str
    text: str
    why: str
    source: str
    summed: str
    table: Table


def tiles(sheet: Sheet) -> list[tuple[str, str, str]]:
    """Return the season's main figures: name, figure, and a remark."""
    sums = sheet.sums
    if sums is None:
        return []
    told, whole = sheet.told, sums.totals
    found = []
    if whole.sap_gal:
        found.append(("Sap", told.gallons(whole.sap_gal), m.count(len(sums.sap_days), "day")))
    if whole.syrup_gal:
        ratio = f"{whole.sap_to_one} of sap to one" if whole.sap_to_one else ""
        found.append(("Syrup", told.gallons(whole.syrup_gal), ratio))
    if sums.brix is not None:
        share = f"{m.percent(sums.yield_share)} of it in syrup" if sums.yield_share else ""
        found.append(("Sugar", told.told(Quantity(sums.brix, "%", 1)), share))
    if sums.jars:
        found.append(("Jars", f"{sums.jars:,}", f"{sums.jars_left:,} left"))
    if whole.boils:
        found.append(("Boils", str(whole.boils), ""))
    if sums.cords:
        syrup = f"{told.whole(whole.syrup_gal / sums.cords)} of syrup a cord"
        cords = told.told(Quantity(sums.cords, "cord")).removesuffix(" of wood")
        found.append(("Wood", cords, syrup if whole.syrup_gal else ""))
    return found


def days(sheet: Sheet) -> Table:
    """Return the days with weather and sap."""
    told = sheet.told
    rows = [
        (
            m.day(row.day),
            told.amount(row.low_f, "°F"),
            told.amount(row.high_f, "°F"),
            "yes" if row.low_f is not None and row.low_f < FREEZING_F else "",
            told.gallons(row.sap_gal) if row.sap_gal else "",
        )
        for row in sheet.days
    ]
    sums = sheet.sums
    whole = told.gallons(sums.totals.sap_gal) if sums else ""
    frosts = f"{sums.frosts} of {sums.nights}" if sums and sums.nights else ""
    columns = ("Day", "Low", "High", "Below freezing", "Sap gathered")
    return Table("Sap and weather, day by day", columns, rows, 1, ("All", "", "", frosts, whole))


def trees(sheet: Sheet) -> Table:
    """Return the trees with what they gave and what they are."""
    told = sheet.told
    rows = [
        (
            told.tree(row.tree.id),
            species_name(row.tree.species or "") or "–",
            row.tree.condition or "–",
            {"best": "best", "slow": "slow"}.get(row.mark, ""),
            told.amount(row.tree.diameter_in, "in"),
            str(row.taps or "–"),
            "–" if row.limit is None else str(row.limit.taps),
            told.gallons(row.tree.gathered_gal) if row.tree.gathered_gal else "–",
            "–" if not row.a_tap_gal else told.gallons(row.a_tap_gal),
            told.amount(row.tree.brix, "%", 1),
        )
        for row in sheet.trees
    ]
    columns = (
        "Tree", "Kind", "Health", "Mark", "Across", "Taps", "Most taps", "Sap", "Sap a tap",
        "Sugar",
    )  # fmt: skip
    return Table("Trees, the best first", columns, rows, 4)


def flow(sheet: Sheet) -> Table:
    """Return both sides of the sap's account."""
    assert sheet.season is not None
    came, went = flow_sides(sheet.season.account)
    told = sheet.told
    rows = [("Came in", name, told.whole(gallons)) for name, gallons in came]
    rows.append(("Came in", "in all", told.whole(sum(gallons for _, gallons in came))))
    rows += [("Became", name, told.whole(gallons)) for name, gallons in went]
    rows.append(("Became", "in all", told.whole(sum(gallons for _, gallons in went))))
    return Table("Account of the sap", ("Side", "What", "Sap"), rows, 2)


def has_boils(sheet: Sheet) -> bool:
    """Whether anything is known of a boil that a picture could show."""
    if sheet.season is None:
        return False
    return any(
        boil.syrup_gal or boil.cords or water_an_hour(boil) is not None
        for boil in sheet.season.boilings
    )


def boils(sheet: Sheet) -> Table:
    """Return the boils."""
    assert sheet.season is not None
    rows = [_boil(boil, sheet.told) for boil in sheet.season.boilings]
    columns = (
        "Lit", "Sap", "Sugar", "At the boil", "Water an hour", "Syrup", "By its sugar", "Share",
        "Wood",
    )  # fmt: skip
    return Table("Boils", columns, rows)


def _boil(boil: BoilState, told: Measures) -> tuple[str, ...]:
    rate = water_an_hour(boil)
    hoped = expected_gal(boil) if boil.sap_gal else None
    share = m.percent(boil.syrup_gal / hoped) if hoped and boil.syrup_gal else "–"
    cords = told.amount(boil.cords, "cord").removesuffix(" of wood")
    return (
        m.moment(boil.started_at),
        told.whole(boil.sap_gal) if boil.sap_gal else "–",
        told.amount(boil.brix, "%", 1),
        "–" if boil.hours is None else f"{m.number(boil.hours)} h",
        told.amount(rate, "gal", 1),
        told.syrup(boil.syrup_gal) if boil.syrup_gal else "–",
        "–" if hoped is None else told.syrup(hoped),
        share,
        cords,
    )


def jars(sheet: Sheet) -> Table:
    """Return the lots with what became of their jars."""
    assert sheet.pantry is not None
    used = [why for why in WAYS if any(why in row.ways() for row in sheet.pantry.lots)]
    rows = []
    for row in sheet.pantry.lots:
        ways = row.ways()
        rows.append(
            (
                row.lot.code,
                m.day_of(row.lot.at.date(), sheet.year),
                sheet.told.told(containers(row.stood, row.lot.size)),
                row.lot.colour or "–",
                *(str(ways.get(why, "")) for why in used),
                str(row.left),
            )
        )
    columns = ("Lot", "Filled", "Jars", "Colour", *(WAYS[why] for why in used), "left")
    return Table("Lots", columns, rows, 4)


def colours(sheet: Sheet) -> list[tuple[str, str, str]]:
    """Return the syrup packed by colour: the class of the colour, its name, how much."""
    if sheet.pantry is None:
        return []
    found = sheet.pantry.gallons_by_colour()
    return [
        (tone(colour), colour or "colour not said", sheet.told.gallons(gallons))
        for colour, gallons in found.items()
        if gallons
    ]


def lots(sheet: Sheet) -> list[Lot]:
    """Return each lot traced from the jar to the trees, and to where its jars went."""
    if sheet.pantry is None:
        return []
    return [_lot(row, sheet) for row in sheet.pantry.lots]


def _lot(row: LotRow, sheet: Sheet) -> Lot:
    told = sheet.told
    lot = row.lot
    hot = f", at {told.amount(lot.temp_f, '°F')}" if lot.temp_f is not None else ""
    lines = [("Filled", f"{m.day_of(lot.at.date(), sheet.year)}, {exact_clock(lot.at)}{hot}")]
    if row.boil is not None:
        lines.append(("Boil", f"lit {m.moment(row.boil.started_at)}"))
    if lot.vessels:
        lines.append(("From", ", ".join(told.vessel(name) for name in lot.vessels)))
    if lot.gathered_from and lot.gathered_to:
        lines.append(("Sap of", m.days(lot.gathered_from, lot.gathered_to)))
    if lot.trees:
        lines.append(("Trees", told.told(TreeRef(lot.trees))))
    if lot.agents:
        lines.append(("Foam kept down with", ", ".join(lot.agents)))
    lines += [("Went", _gone(one, told)) for one in row.gone]
    what = f"{told.told(containers(row.stood, lot.size))} {lot.colour or ''}".strip()
    return Lot(lot.code, what, tone(lot.colour), (*lines, ("Left", str(row.left))))


def _gone(gone: Gone, told: Measures) -> str:
    to = f" to {gone.to}" if gone.to else ""
    price = f", for {told.told(*dollars(gone.price))} in all" if gone.price is not None else ""
    return f"{gone.count} {WAYS[gone.why]}{to} on {m.day(gone.at.date())}{price}"


def gone(sheet: Sheet) -> list[str]:
    """Return where the jars went, in sums, and what left that no lot has."""
    if sheet.pantry is None or sheet.season is None:
        return []
    pantry = sheet.pantry
    filled = sum(row.stood for row in pantry.lots[: pantry.filled])
    older = sum(row.stood for row in pantry.lots[pantry.filled :])
    ways = [f"{count} {WAYS[why]}" for why, count in pantry.ways().items()]
    ways.append(f"{sum(left_in(sheet.season.pantry).values())} left")
    told = [m.count(filled, "jar filled", "jars filled")]
    if older:
        told[0] += f", and {older} left of earlier seasons"
    told[0] += f": {', '.join(ways)}."
    told.append(_in_stock(sheet.season, sheet.told))
    short = sum(one.count for one in pantry.unplaced)
    if short:
        told.append(f"{m.count(short, 'jar')} more left by the notes than were packed.")
    return [one for one in told if one]


def _in_stock(season: Season, told: Measures) -> str:
    """Return what is left, as the spoken answer has it."""
    left = told.told(sorts(left_in(season.pantry)))
    gallons = sum(content(lot.left, lot.size) for lot in season.pantry)
    total = f", {told.gallons(gallons)} in all" if gallons else ""
    can = f" {told.gallons(season.can_gal)} drawn and not packed." if _has_can(season) else ""
    return f"Left: {left}{total}.{can}" if left else can.strip()


def _has_can(season: Season) -> bool:
    return season.can_gal > TOLD_GAL


def warned(sheet: Sheet, made_at: datetime) -> list[WarnedTold]:
    """Return what was warned about, with what came of each time up to ``made_at``."""
    found = []
    for one in sheet.warned:
        texts = one.texts
        several = len(texts) > 1
        rows = [_outcome(time, sheet.told, several, made_at) for time in one.times]
        columns = ("When", "Noted", *(("Warning",) if several else ()), "What came of it")
        back = sum(time.taken_back for time in one.times)
        acts = Counter(time.then[1].act for time in one.times if time.then is not None)
        still = sum(_is_waited_for(time, made_at) for time in one.times)
        never = len(one.times) - back - acts.total() - still
        counts = (
            (acts["dump"], "dumped"), (acts["boil"], "boiled"), (acts["gather"], "gathered"),
            (back, "put right or taken back"), (never, _NEVER), (still, _NOT_YET),
            (sum(acts[one] for one in acts.keys() - _ENDINGS), "followed by another note"),
        )  # fmt: skip
        alone = len(one.times) == 1
        summed = ", ".join(what if alone else f"{count} {what}" for count, what in counts if count)
        table = Table(f"{texts[0]} Each time", columns, rows, len(columns))
        times = "once" if alone else f"{len(one.times)} times"
        told = f"{times}: {summed}" if summed else times
        more = f" And {m.count(len(texts) - 1, 'more like it', 'more like it')}." if several else ""
        found.append(WarnedTold(one.level, texts[0] + more, one.why, one.source, told, table))
    return found


def _is_waited_for(time: Outcome, made_at: datetime) -> bool:
    """Whether nothing came of a warning, and something may still."""
    return time.then is None and not time.taken_back and made_at < time.at + COMES_WITHIN


def _outcome(time: Outcome, told: Measures, several: bool, made_at: datetime) -> tuple[str, ...]:
    if time.taken_back:
        came = "put right or taken back"
    elif time.then is None:
        came = _NOT_YET if _is_waited_for(time, made_at) else _NEVER
    else:
        at, act = time.then
        came = f"{told.act(act)} ({_later((at - time.at).total_seconds())})"
    text = (time.text,) if several else ()
    return m.moment(time.at), told.act(time.note), *text, came


def _later(seconds: float) -> str:
    if seconds < 5400:
        return f"{max(1, round(seconds / 60))} min later"
    if seconds < 36 * 3600:
        return f"{round(seconds / 3600)} h later"
    return f"{round(seconds / 86400)} days later"


def seasons(sheet: Sheet) -> Table:
    """Return the seasons side by side, one a column."""
    told = sheet.told
    all_ = sheet.seasons
    columns = ("", *(str(one.year) for one in all_))
    rows = [
        ("Sap", *(told.gallons(one.totals.sap_gal) for one in all_)),
        ("Trees with sap", *(str(one.totals.trees) for one in all_)),
        ("Days with sap", *(str(len(one.sap_days)) for one in all_)),
        ("First sap", *(m.day(one.sap_days[0][0]) if one.sap_days else "–" for one in all_)),
        ("Last sap", *(m.day(one.sap_days[-1][0]) if one.sap_days else "–" for one in all_)),
        ("Nights below freezing", *(str(one.frosts) if one.nights else "–" for one in all_)),
        ("Boils", *(str(one.totals.boils) for one in all_)),
        ("Sugar of what was boiled", *(told.amount(one.brix, "%", 1) for one in all_)),
        ("Syrup", *(told.gallons(one.totals.syrup_gal) for one in all_)),
        ("Sap to one of syrup", *(str(one.totals.sap_to_one or "–") for one in all_)),
        ("Share of its sugar", *(_share(one.yield_share) for one in all_)),
        ("Jars filled", *(str(one.jars) for one in all_)),
        ("Wood", *(told.amount(one.cords, "cord").removesuffix(" of wood") for one in all_)),
    ]
    return Table("All seasons", columns, rows)


def _share(share: float | None) -> str:
    return "–" if share is None else m.percent(share)
