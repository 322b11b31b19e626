"""Sap on its way: gathered, carried, poured, boiled, dumped; every gallon noted where it goes.

Sap gathered without a word on where it went is carried: the next pour takes from it, or a level
read that is above what the notes come to. So a pour tells where gathered sap went and is not
counted twice. What nobody placed stays carried until the next pour, level or fire; what is older
than a day by then is lost from sight, for it went some other way.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from fieldvoice.book.ledger import VesselLedger, amount
from fieldvoice.book.lots import A_DROP_GAL, Lot, Mixture
from fieldvoice.book.season import SAP_STAYS, Account, VesselState, stays
from fieldvoice.book.sugarhouse import Sugarhouse
from fieldvoice.rules.sap import sap_noticed
from fieldvoice.schema import acts

#: How long gathered sap counts as carried: over the night it stands in a vessel.
CARRIED_LASTS = timedelta(hours=18)
#: How the carried sap is named.
CARRIED = "gathered sap"
#: What the pan is called as a vessel.
PAN = "pan"


@dataclass(slots=True)
class Flows:
    """The sums behind ``Account``, in gallons."""

    gathered_gal: float = 0.0
    poured_gal: float = 0.0
    rain_gal: float = 0.0
    adjusted_gal: float = 0.0
    dumped_gal: float = 0.0
    iced_gal: float = 0.0
    lost_gal: float = 0.0


@dataclass(slots=True)
class Movements:
    """All vessels, what is carried, and the sugarhouse, kept up note by note in order of time."""

    vessels: dict[str, VesselLedger] = field(default_factory=dict)
    carried: Mixture = field(default_factory=Mixture)
    sugarhouse: Sugarhouse = field(default_factory=Sugarhouse)
    flows: Flows = field(default_factory=Flows)
    capacities: dict[str, float] = field(default_factory=dict)

    def vessel(self, name: str) -> VesselLedger:
        """Return the ledger of a vessel, opened when it is first named."""
        if name not in self.vessels:
            self.vessels[name] = VesselLedger(name, self.capacities.get(name))
        return self.vessels[name]

    def gathered(self, lot: Lot, vessel: str | None) -> None:
        """Take in what was gathered, into a vessel or carried on."""
        if lot.volume_gal is not None:
            self.flows.gathered_gal += lot.volume_gal
        if vessel is not None:
            self._into(lot.at, vessel, [lot])
        elif lot.volume_gal:
            self.carried.add([lot])

    def pour_carried(self, at: datetime, vessel: str, volume_gal: float) -> None:
        """Pour so much into a vessel of what is carried, and no more than that."""
        self._into(at, vessel, self.carried.take(min(volume_gal, self.carried.known_gal())))

    def store(self, at: datetime, act: acts.Store) -> None:
        """Pour into a vessel: the sap carried first, beyond it sap that nobody noted."""
        if act.vessel is None:
            return
        self._into(at, act.vessel, self._fetched(at, amount(act.volume_gal), act.sap))

    def transfer(self, at: datetime, act: acts.Transfer) -> None:
        """Move sap from vessel to vessel, its lots in proportion."""
        if act.vessel is None or act.into is None or act.vessel == act.into:
            return
        vessel, volume_gal = self.vessel(act.vessel), amount(act.volume_gal)
        if volume_gal is not None:
            lots = self._out_of(at, vessel, volume_gal)
        else:
            lots = vessel.take_share(1.0 if act.fill is None else act.fill)
        self._into(at, act.into, lots)

    def read(self, at: datetime, act: acts.Reading | acts.Inspect) -> None:
        """Take down what was read; a gain in level is the sap carried, if there is any."""
        if act.vessel is None:
            return
        vessel = self.vessel(act.vessel)
        said_gal = amount(act.volume_gal) if isinstance(act, acts.Reading) else None
        depth_in = act.depth_in if isinstance(act, acts.Reading) else None
        volume_gal = vessel.volume_of(said_gal, act.fill, depth_in)
        if volume_gal:
            self._place_carried(at, vessel, volume_gal)
        before, adjusted = vessel.held.known_gal(), vessel.adjusted_gal
        sap = sap_noticed(act.sap, act.smell) if isinstance(act, acts.Inspect) else act.sap
        vessel.read(at, volume_gal=volume_gal, fill=act.fill, sap=sap)
        adjusted = vessel.adjusted_gal - adjusted
        self.flows.adjusted_gal += adjusted
        self.flows.poured_gal += vessel.held.known_gal() - before - adjusted
        if isinstance(act, acts.Reading) and act.temp_f is not None:
            vessel.warm(at, act.temp_f)

    def dump(self, at: datetime, act: acts.Dump) -> None:
        """Throw away what is in a vessel, or so much of it."""
        if act.vessel is None:
            return
        vessel, volume_gal = self.vessel(act.vessel), amount(act.volume_gal)
        lots = vessel.empty() if volume_gal is None else self._out_of(at, vessel, volume_gal)
        self.flows.dumped_gal += Mixture(lots).known_gal()

    def ice_out(self, at: datetime, act: acts.IceOut) -> None:
        """Take ice out of a vessel."""
        if act.vessel is None:
            return
        vessel = self.vessel(act.vessel)
        volume_gal = amount(act.volume_gal)
        if volume_gal is None and act.fill is not None:
            volume_gal = act.fill * vessel.held.known_gal()
        if volume_gal:
            self.flows.iced_gal += vessel.ice_out(at, volume_gal)

    def rain_in(self, at: datetime, act: acts.RainIn) -> None:
        """Let rain into a vessel."""
        volume_gal = amount(act.volume_gal)
        if act.vessel is None or not volume_gal:
            return
        self.flows.rain_gal += volume_gal
        self.vessel(act.vessel).add([Lot(at, volume_gal, None, 0.0, rain=True)])

    def set_up(self, act: acts.Vessel) -> None:
        """Take down what a vessel is."""
        if act.vessel is None:
            return
        vessel = self.vessel(act.vessel)
        for name in ("capacity_gal", "depth_in", "material", "food_grade", "place", "insulated"):
            said = getattr(act, name)
            if said is not None:
                setattr(vessel, name, said)

    def boil(self, at: datetime, act: acts.Boil) -> None:
        """Take sap out of the vessel boiled from, into the pan.

        A start without an amount empties it. A stop with an amount settles what the boil took in
        all, so the rest goes back; a stop without one leaves what its start took.
        """
        name, volume_gal = self._boiled_from(at, act), amount(act.volume_gal)
        if act.phase == "start":
            self._lapse(at)
            self.sugarhouse.light(at)
            if PAN in self.vessels:  # what was read to stand in the pan is on the fire now
                self.sugarhouse.feed(at, PAN, self.vessels[PAN].empty())
        if name is None:
            if volume_gal and act.phase != "stop":
                self.sugarhouse.feed(at, CARRIED, self._fetched(at, volume_gal, None))
        elif act.phase != "stop" or not self._is_on(at, name):
            self._feed(at, name, volume_gal)
        elif volume_gal is not None:
            self.vessel(name).put_back(self.sugarhouse.unfeed(name))
            self._feed(at, name, volume_gal)
        if act.phase == "stop":
            self.sugarhouse.end(at)

    def new_season(self, year: int) -> None:
        """Begin a season: last year's sap is gone but for the newest, the vessels stay."""
        for vessel in self.vessels.values():
            vessel.adjusted_gal = 0.0
            if not stays(vessel.held.newest_at(), year, SAP_STAYS):
                vessel.empty()
                vessel.temps = []
        if not stays(self.carried.newest_at(), year, SAP_STAYS):
            self.carried = Mixture()
        held = sum(vessel.held.known_gal() for vessel in self.vessels.values())
        self.flows = Flows(poured_gal=held + self.carried.known_gal())
        self.sugarhouse.new_season()

    def carried_state(self) -> VesselState | None:
        """Return the sap carried as if it stood in a vessel; None when there is none."""
        if not self.carried.lots:
            return None
        held = VesselLedger(CARRIED, held=Mixture(list(self.carried.lots)))
        return held.state()

    def account(self) -> Account:
        """Return where the sap went."""
        boiled = sum(
            Mixture(lots).known_gal()
            for boil in self.sugarhouse.boils
            for lots in boil.taken.values()
        )
        held = sum(vessel.held.known_gal() for vessel in self.vessels.values())
        return Account(
            gathered_gal=self.flows.gathered_gal,
            poured_gal=self.flows.poured_gal,
            rain_gal=self.flows.rain_gal,
            adjusted_gal=self.flows.adjusted_gal,
            held_gal=held + self.carried.known_gal(),
            boiled_gal=boiled,
            dumped_gal=self.flows.dumped_gal,
            iced_gal=self.flows.iced_gal,
            lost_gal=self.flows.lost_gal,
        )

    def _into(self, at: datetime, name: str, lots: list[Lot]) -> None:
        if name == PAN:
            self.sugarhouse.feed(at, CARRIED, lots)
        else:
            self.vessel(name).add(lots)

    def _feed(self, at: datetime, name: str, volume_gal: float | None) -> None:
        vessel = self.vessel(name)
        lots = vessel.empty() if volume_gal is None else self._out_of(at, vessel, volume_gal)
        self.sugarhouse.feed(at, name, lots)

    def _is_on(self, at: datetime, name: str) -> bool:
        going = self.sugarhouse.open_boil(at)
        return going is not None and name in going.taken

    def _boiled_from(self, at: datetime, act: acts.Boil) -> str | None:
        """Return the vessel named, or for a stop that names none the only one on the fire."""
        if act.vessel is not None:
            return None if act.vessel == PAN else act.vessel
        going = self.sugarhouse.open_boil(at)
        if act.phase != "stop" or going is None or len(going.taken) != 1:
            return None
        return next(iter(going.taken))

    def _fetched(self, at: datetime, volume_gal: float | None, sap: str | None) -> list[Lot]:
        """Return sap poured by hand: what was carried, and what nobody noted."""
        if volume_gal is None:
            self._lapse(at)
            return [Lot(at, None, sap)]
        lots = self._taken(at, volume_gal)
        if sap is not None:
            Mixture(lots).worsen(at, sap)
        more = volume_gal - Mixture(lots).known_gal()
        if more > A_DROP_GAL:
            self.flows.poured_gal += more
            lots.append(Lot(at, more, sap))
        return lots

    def _taken(self, at: datetime, volume_gal: float) -> list[Lot]:
        """Take sap carried: today's alone where that is enough, else what stood over night too."""
        fresh = Mixture([lot for lot in self.carried.lots if at - lot.at <= CARRIED_LASTS])
        if volume_gal <= fresh.known_gal() + A_DROP_GAL:
            self._lapse(at)
        lots = self.carried.take(volume_gal)
        self._lapse(at)
        return lots

    def _place_carried(self, at: datetime, vessel: VesselLedger, volume_gal: float) -> None:
        gain = volume_gal - vessel.held.known_gal()
        if gain > 0 and vessel.held.is_all_known() and self.carried.lots:
            vessel.add(self._taken(at, gain))
        else:
            self._lapse(at)

    def _out_of(self, at: datetime, vessel: VesselLedger, volume_gal: float) -> list[Lot]:
        """Take sap out of a vessel: what is said was there, whatever the notes know of."""
        level = vessel.level_gal()
        oldest_at = min((lot.at for lot in vessel.held.lots), default=at)
        if level is not None and level < volume_gal:
            was = vessel.adjusted_gal
            vessel.read(at, volume_gal=volume_gal)
            adjusted = vessel.adjusted_gal - was
            self.flows.adjusted_gal += adjusted
            self.flows.poured_gal += volume_gal - level - adjusted
        lots = vessel.take(volume_gal)
        missing = volume_gal - Mixture(lots).known_gal()
        if missing > A_DROP_GAL:
            self.flows.poured_gal += missing
            lots.append(Lot(oldest_at, missing, vessel.held.worst(), through=(vessel.name,)))
        return lots

    def _lapse(self, at: datetime) -> None:
        """Lose from sight what was carried too long ago to be carried still."""
        gone = [lot for lot in self.carried.lots if at - lot.at > CARRIED_LASTS]
        if gone:
            self.flows.lost_gal += Mixture(gone).known_gal()
            self.carried.lots = [lot for lot in self.carried.lots if lot not in gone]
