"""Would one belief per pot tell sooner whether its water arrives? A prototype, in floats, that waters nothing.

A filter (Kalman 1960, from memory) holds three numbers of a pot with their covariance: moisture, water that is still
on its way to the probe, and what the plant uses per um of demand. As a dose begins the belief splits: in one half the
water came, in the other it did not. A sequential test (Wald 1945, from memory) weighs the two reading by reading, and
ends with one of them at error rates stated beforehand.

It reads the records of drawn rigs, so it sees what the firmware saw. Beside it stands the firmware's own word: the
first wake in which it held the pot for want of a rise.
"""

import math

from potreeve.logic import demand, dosing, record, watch
from potreeve.logic.state import RATIONED

# Stated beforehand: a dose that came is condemned once in 100,000, for a pot gets hundreds in a season, and one that
# did not come is believed once in 1,000.
CAME_ABOVE = math.log(1e3)
VAIN_BELOW = -math.log(1e5)

# Set before the first run that counted, but for ODDS_MOST, which was 4 until a dose could not be told by one clear
# reading (all common practice, no source): what a dose lifts its probe by, against what its volume says; how fast
# water gets there; what a pot does by itself in an hour, and what a plant drinks otherwise than it did; the reading's
# own error; and the most that one reading may say, for it may be a spike.
GAIN_SD = 0.35
SPREADS_S = 7200.0
WANDERS_PM = 2.0
DRINKS_SD = 0.35
USE_SD_DAY = 0.05
READS_PM = 6.0
ODDS_MOST = 8.0

HOUR_S, DAY_S = 3600.0, 86400.0


class Belief:
    """What is believed of one pot. `at` is [moisture in pm, water on its way in pm, use in pm per um], `spread` its
    covariance."""

    def __init__(self, pm, use):
        self.at = [float(pm), 0.0, use]
        self.spread = [[100.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, (use / 2) ** 2]]

    def copy(self):
        """A belief of its own."""
        other = Belief(0, 0.0)
        other.at, other.spread = self.at[:], [row[:] for row in self.spread]
        return other

    def water(self, told_pm):
        """Water was given that should lift the pot by so much."""
        self.at[1] += told_pm
        self.spread[1][1] += (GAIN_SD * told_pm) ** 2

    def pass_time(self, seconds, um):
        """Let time pass, with so much demand."""
        moisture, coming, use = self.at
        share = 1.0 - math.exp(-seconds / SPREADS_S)
        step = ((1.0, share, -um), (0.0, 1.0 - share, 0.0), (0.0, 0.0, 1.0))
        self.at = [moisture + share * coming - use * um, (1.0 - share) * coming, use]
        half = [[sum(row[k] * self.spread[k][j] for k in range(3)) for j in range(3)] for row in step]
        self.spread = [[sum(row[k] * step[j][k] for k in range(3)) for j in range(3)] for row in half]
        late = (0.3 * share * coming) ** 2
        self.spread[0][0] += WANDERS_PM**2 * seconds / HOUR_S + (DRINKS_SD * use * um) ** 2 + late
        self.spread[1][1] += late
        self.spread[0][1] -= late
        self.spread[1][0] -= late
        self.spread[2][2] += (USE_SD_DAY * use) ** 2 * seconds / DAY_S

    def read(self, pm):
        """Take a reading; returns the logarithm of how likely it was, but for a constant."""
        variance = self.spread[0][0] + READS_PM**2
        error = pm - self.at[0]
        gain = [self.spread[row][0] / variance for row in range(3)]
        first = self.spread[0][:]
        self.at = [value + part * error for value, part in zip(self.at, gain, strict=True)]
        self.at[2] = max(self.at[2], 1e-6)
        self.spread = [[self.spread[i][j] - gain[i] * first[j] for j in range(3)] for i in range(3)]
        return -(error**2 / variance + math.log(variance)) / 2


class Dose:
    """A dose under test. verdict: True it came, False it did not, None nobody knows yet."""

    def __init__(self, started_s):
        self.started_s, self.ended_s, self.verdict, self.odds = started_s, None, None, 0.0


def doses(rows, index, channel):
    """Every dose of a pot, tested: a list of Dose. rows: (time in s, head, pots) of each record, as
    `recorded.decode` gives them; channel: its settings."""
    found = []
    came = vain = None
    last_s = pulse_s = None
    rate = 0
    for t_s, head, pots in rows:
        pot = pots[index]
        before, rate = rate, _rate(head)
        if vain is None:
            use = watch.implied_ul_mm(channel) / (channel["holds_ml"] * 1000.0)
            vain, last_s = Belief(pot["pm"], 1.65 * use), t_s
        um = demand.over_um((before + rate) // 2, int(min(t_s - last_s, 4 * HOUR_S)))
        for belief in filter(None, (came, vain)):
            belief.pass_time(t_s - last_s, um)
        last_s = t_s
        if pot["ladder"] != RATIONED:
            odds = -vain.read(pot["pm"]) + (came.read(pot["pm"]) if came else 0.0)
            if came:
                came, vain = _weigh(found[-1], odds, came, vain, t_s)
        if pot["pulse_ms"]:
            idle_s = dosing.NEVER_S if pulse_s is None else int(t_s - pulse_s)
            pulse_s = t_s
            if not came:
                came = vain.copy()
                found.append(Dose(t_s))
            likely_ul = dosing.likely_ul(pot["pulse_ms"], idle_s, channel, head["battery_mv"])
            came.water(likely_ul / channel["holds_ml"])
    return found


def _weigh(dose, odds, came, vain, t_s):
    """One reading more for a dose: the two beliefs, or (None, the one that is left)."""
    dose.odds += max(-ODDS_MOST, min(ODDS_MOST, odds))
    if VAIN_BELOW < dose.odds < CAME_ABOVE:
        return came, vain
    dose.verdict, dose.ended_s = dose.odds > 0, t_s
    return None, came if dose.verdict else vain


def _rate(head):
    """Demand by a record, in um per hour, as the firmware reckons it."""
    if head["temp_cdeg"] in (None, record.NO_TEMP) or head["rh_pm"] in (None, record.NO_RH):
        return 60
    light = -1 if head["lx"] is None else head["lx"]
    return demand.rate_um_h(demand.deficit_pa(head["temp_cdeg"], head["rh_pm"]), light, 20)
