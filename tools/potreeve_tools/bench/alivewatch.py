"""What `bench alive` looks at while a rig runs, and what its caretaker does.

Every hour the world's truth is taken, whoever waters; once a day the caretaker
fills the tub and, when told, brings a fresh battery.
"""

from dataclasses import dataclass

from potreeve.logic import reasons, recorded

HOUR_S = 3600.0
ROUND_H = 10  # the caretaker comes at ten
TUB_SHARE = 0.9

# In band: the roots lack no water (FAO-56 Ks = 1, that is, above the stress point of the day's own demand) and the
# pot holds no more than a twentieth above container capacity (what a just watered pot still lets go). More than that
# is not in band; whether it drowns is counted on its own.
BAND_TOP_PM = 1050.0
UNSTRESSED = 0.999

BATTERY_DAYS = 7


@dataclass
class PotHours:
    """Hours of one pot by the world's truth. A plant's hours after its death are neither in band nor dry."""

    hours: int = 0
    in_band: int = 0
    dry: int = 0
    over: int = 0
    soaked: int = 0
    died_s: float | None = None
    why: str = ""


class Watch:
    """Hours of every pot of a world, and its caretaker. told: () -> (days left or None, battery refused) as the last
    record says."""

    def __init__(self, world, told):
        self.world = world
        self.pots = [PotHours() for _ in world.channels]
        self.batteries = 0
        self._told = told
        self._hour = 0
        world.at(HOUR_S, self._look, None)

    def _look(self, world, _):
        self._hour += 1
        for hours, channel in zip(self.pots, world.channels, strict=True):
            _count(hours, channel.pot, world.now_s)
        if self._hour % 24 == ROUND_H:
            self._round()
        world.at(world.now_s + HOUR_S, self._look, None)

    def _round(self):
        world = self.world
        tub = world.reservoir
        fill_ml = TUB_SHARE * tub.capacity_ml - tub.water_ml
        if fill_ml > 0.0:
            tub.put(fill_ml)
            world.added_ml += fill_ml
        days, refused = self._told()
        if refused or (days is not None and days <= BATTERY_DAYS):
            battery = world.battery
            battery.left_mah = battery.capacity_mah
            self.batteries += 1
            # Out with the one, in with the other: the board starts anew.
            world.board_events.append((world.now_s, "reset", 0))


def _count(hours, pot, now_s):
    hours.hours += 1
    if not pot.alive:
        if hours.died_s is None:
            hours.died_s, hours.why = now_s, pot.plant.reason
        return
    dry = pot.stress < UNSTRESSED
    over = pot.moisture_pm > BAND_TOP_PM
    hours.dry += dry
    hours.over += over
    hours.soaked += pot.waterlogged
    hours.in_band += not dry and not over


def told_by(session):
    """What the last record of a session says of the battery: (days left, whether it was refused)."""

    def told():
        if not session.records:
            return None, False
        head, pots = recorded.decode(session.records[-1])
        return head["days_left"], any(pot["reason"] == reasons.BATTERY for pot in pots)

    return told
