"""Answers that spread the season's sap over taps, trees and days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import Answered, answer, answers, told_gal
from fieldvoice.dialogue.sums import totals
from fieldvoice.schema.asks.sap import SapAverage, SapDays
from fieldvoice.segments import Count, Day, fact, listed, parts

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext

NO_SAP_YET = "No sap is in the book yet"


@answers(SapAverage)
def _sap_average(ask: SapAverage, moment: TurnContext) -> Answered:
    whole = totals(moment.season)
    if not whole.sap_gal:
        return answer(NO_SAP_YET)
    taps = sum(tree.taps_in for tree in moment.season.standing)
    days = sum(gathered > 0 for gathered in moment.season.gathered_by_day.values())
    counts = [(taps, "tap"), (whole.trees, "tree"), (days, "day")]
    shares = (parts(told_gal(whole.sap_gal / count), "a", one) for count, one in counts if count)
    of = (Count(count, one) for count, one in counts if count)
    return answer(listed(shares), ":", told_gal(whole.sap_gal), "from", listed(of))


@answers(SapDays)
def _sap_days(ask: SapDays, moment: TurnContext) -> Answered:
    by_day = {day: gal for day, gal in moment.season.gathered_by_day.items() if gal > 0}
    if not by_day:
        return answer(NO_SAP_YET)
    best = max(by_day, key=by_day.__getitem__)
    most = fact("Best day:", Day(best), ",", told_gal(by_day[best]))
    if len(by_day) == 1:
        return Answered((most,))
    first, last = min(by_day), max(by_day)
    ran = fact(
        "Sap came in on", Count(len(by_day), "day"), ", first", Day(first), ", last", Day(last)
    )
    return Answered((most, ran))
