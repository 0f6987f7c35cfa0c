"""What W1 to W9 allow, reckoned from outside: an independent, simple model.

It shares no code with the firmware's decisions. It knows true time, every
reading the board was shown, every run of a pump, and the settings in force, all
as plain numbers; amounts are exact fractions of a millilitre, not counts of the
firmware's. `wrong` collects what was broken, one line each.

What each rule means here, precisely:

W1  a pump is asked to run for no longer than `pulse_max_ms`.
W2  each pulse counts in full with the fastest flow its settings allow, whether it
    ran to its end or not. In any 24 h of true time (a little less, for the wall of
    one tick) a pot gets at most `day_ml`, all pots together `rig_day_ml`.
    Tray: a pulse stays unproven until the probe of its pot has read higher than it
    did before, and even then only as far as that rise goes where it is slight. The
    unproven pulses since the tray was last emptied, less what may dry up in true
    time, never exceed `tray_headroom_ml`. (Water the firmware can't know of, poured by
    people or by a siphon, is not in this account: the rehearsals judge that.)
W3  when a pump starts, flash holds an intent at least as long. An intent found open
    after a reset is counted in W2 though the pump may never have run.
W4  of pulses steered by the probe, no more than `unproven_max` come in a row without a
    reading higher than before them, whatever water it rose with, or than should have lifted the pot by 60 pm,
    whichever is more. Half of what the board holds the plant to drink may have hidden a rise, and a quarter of what
    any stretch of pulses should have done shows that they arrive: half, in a pot that is known to show but half. A
    press of the button, a new acknowledgement number or a new calibration starts the row anew (and what is known of the
    battery's sag), and so does a lost memory. A held pot is tried once a day, not within six hours of its last
    pulse, in which that water may still show, with whole pulses until they should have lifted it by 120 pm, by a
    reading that can be believed: at its refill point only where pulses did not show, else where a dose could be due.
W5  none is steered by a reading at a rail, with wild samples, as dry as air, or fallen
    further at once than any plant drinks. Rations: at most two in 24 h, each at most
    `ration_ml` and what fills the tube.
W6  no pulse at an unknown battery voltage, below `battery_stop_mv`, where the sag of the
    last pulse would end below it, or clearly below `battery_reserve_pm`. Two days after the last
    pulse one may be tried where half of that sag would not.
W7  only settings that were written whole and valid are ever in force.
W9  a lost memory counts as a day's water for every pot and a full tray. One that could not be used for a
    while (it speaks of another number of channels) and is found again as it was, with no pulse since, was not lost.
"""

from collections import deque
from fractions import Fraction

HOUR_MS = 3600000
DAY_MS = 24 * HOUR_MS
TENDED, RATIONED, HELD = range(3)

# Rails: a hundredth of the range at either end.
RAILS_RAW = (655, 64880)
WILD_RAW = 3000
AIR_PM = 80
WETTER_THAN_WATER_PM = 1350

# No plant empties half of its pot within the hour.
FALL_PM, FALL_MS = 500, HOUR_MS

# A probe that stands still for so long says nothing of where its pot was.
STUCK_READINGS = 11

# Water from above spreads out for so long, and the probe may give its rise back (proven time, and a little more).
SPREADS_MS = 6 * HOUR_MS + HOUR_MS // 4

# An average over a few readings may lag so far behind.
AVERAGED_PM = 40

# The probe has risen when it reads this much higher; the firmware asks for more.
RISE_PM = 8
# A pot that creeps up by less than this may take two pulses for one rise.
SURE_RISE_PM = 12

# No dose is due nearer to the fill mark than this.
LEAST_LIFT_PM = 50

# So much should any probe have seen; a held pot is tried with as much.
ENOUGH_PM = 60
TRIAL_PM = 120

# A refused battery may be tried again after so long (proven time, and a second for its rounding).
TRIAL_MS = 2 * DAY_MS - 1000

# Open-circuit volts of a lithium cell and the charge they mean at the very most, in
# pm: the figures of PyBaMM's Chen2020 cell, with 30 pm to spare.
LITHIUM = ((3109, 80), (3296, 130), (3485, 230), (3581, 330), (3667, 430), (3751, 530))


def median_and_spread(samples):
    """Median, and the span without the lowest and the highest sample."""
    ordered = sorted(samples)
    return ordered[len(ordered) // 2], ordered[-2] - ordered[1]


class PotModel:
    """What is known of one channel from outside."""

    def __init__(self):
        self.charges = deque()  # (true ms, ml) of W2
        self.rations = deque()  # (true ms, ml)
        self.readings = deque()  # (true ms, pm, what pulses should have done until then in pm) of the last day
        self.raw = self.spread = 0
        self.same = 0  # the very same count again, so many times
        self.pm = None
        self.good = None  # last reading with nothing wrong: (true ms, pm)
        self.fallen = False
        self.row = 0  # W4: pulses without a rise
        self.row_ml = Fraction(0)  # W4: what they likely brought
        self.row_ms = 0  # W4: when the row began
        self.drinks_pm_h = 0  # W4: what the plant drank at the most since, as the board has it
        self.told_pm = Fraction(0)  # W4: what all pulses should have done
        self.trial_ms = None  # W4: proven ms when the last trial of a held pot began
        self.trial_ml = Fraction(0)
        self.trial_showed = False
        self.before = None  # W4: reading the next rise is measured against
        self.since = []  # W4: readings since the last pulse
        self.pulse_ms = None  # proven ms of the last pulse

    def forget_row(self):
        """A person has looked."""
        self.risen()
        self.before = None
        self.good = None

    def risen(self):
        """The row ends: its water showed. What showed counts against no later trial."""
        self.row = 0
        self.trial_showed = True
        self.row_ml = Fraction(0)
        self.drinks_pm_h = 0

    def hidden_pm(self, now_ms, told_pm):
        """What of a rise a plant may have hidden since the row began."""
        return min(told_pm, self.drinks_pm_h * Fraction(now_ms - self.row_ms, 2 * HOUR_MS))

    def shows(self, pm, now_ms, holds_ml):
        """Whether a reading shows that the pulses of the row arrive."""
        if self.before is None:
            return False
        row_pm = self.row_ml * 1000 / holds_ml
        if pm + self.hidden_pm(now_ms, row_pm) >= self.before + RISE_PM:
            return True
        for _, lower, told_before in self.readings:
            if told_before == self.told_pm:
                # No pulse since this reading, nor since any later one.
                break
            told = self.told_pm - told_before
            if pm >= lower + RISE_PM and (pm - lower + self.hidden_pm(now_ms, told / 4)) * 4 >= told:
                return True
        return False


class Doubtful:
    """One pulse on the tray's account."""

    def __init__(self, t_ms, pot, ml, holds_ml, lowest_pm):
        self.t_ms, self.pot, self.ml = t_ms, pot, ml
        self.holds_ml, self.lowest_pm = holds_ml, lowest_pm
        self.highest_pm = None

    def unproven_ml(self):
        if self.pot is None or self.highest_pm is None or self.lowest_pm is None:
            return self.ml
        rise = self.highest_pm - self.lowest_pm
        if rise >= RISE_PM:
            return Fraction(0)
        return max(Fraction(0), self.ml - max(Fraction(0), (rise + 3) * self.holds_ml * 16 / 10000))


class Model:
    """Tell it what happens; read `wrong`."""

    def __init__(self):
        self.now_ms = self.proven_ms = 0
        self.settings = None
        self.pots = [PotModel() for _ in range(4)]
        self.tray = []
        self.battery_mv = 0
        self.sag_mv = 0
        self.wrong = []
        self.pulses = 0
        self.lost = None  # W9: (the ledger that can't be used, pulses until then, what was known before)

    def say(self, rule, text):
        self.wrong.append(f"{rule} at {self.now_ms / HOUR_MS:.2f} h: {text}")

    # ---- what happens ----------------------------------------------------------------

    def passed(self, ms, proven_ms):
        """True time passes; so much of it the board can prove."""
        self.now_ms += ms
        self.proven_ms += proven_ms

    def runs_with(self, settings):
        """These settings are in force from now on."""
        before = self.settings
        self.settings = settings
        if before is None:
            return
        for index, (old, new) in enumerate(zip(before["channels"], settings["channels"], strict=False)):
            if old["curve"] != new["curve"]:
                pot = self.pots[index]
                pot.forget_row()
                pot.readings.clear()
                pot.since = []
                for entry in self.tray:
                    if entry.pot is pot:
                        # What a changed calibration may show is not this account's to judge.
                        entry.ml = Fraction(0)

    def saw(self, index, samples, drinks_pm_h):
        """The board was shown these samples, and holds the plant to drink so much."""
        pot = self.pots[index]
        pot.drinks_pm_h = max(pot.drinks_pm_h, drinks_pm_h)
        raw, spread = median_and_spread(samples)
        pot.same = pot.same + 1 if raw == pot.raw and spread == 0 else 0
        pot.raw, pot.spread = raw, spread
        curve = self.settings["channels"][index]["curve"]
        if not curve:
            pot.pm = None
            return
        (x0, y0), (x1, y1) = curve[0], curve[-1]
        pm = y0 + Fraction((raw - x0) * (y1 - y0), x1 - x0)
        pot.pm = pm
        pot.fallen = self._fell(pot, pm)
        if not self._unbelievable(pot) and pot.same < STUCK_READINGS:
            pot.good = (self.now_ms, pm)
        if pot.shows(pm, self.now_ms, self.settings["channels"][index]["holds_ml"]):
            pot.risen()
        pot.readings.append((self.now_ms, pm, pot.told_pm))
        while pot.readings[0][0] < self.now_ms - DAY_MS:
            pot.readings.popleft()
        pot.since = (pot.since + [pm])[-8:]
        for entry in self.tray:
            if entry.pot is pot and (entry.highest_pm is None or pm > entry.highest_pm):
                entry.highest_pm = pm

    def _fell(self, pot, pm):
        if pot.good is None:
            return False
        if pot.pulse_ms is not None and self.proven_ms - pot.pulse_ms < SPREADS_MS:
            return False
        t_ms, before = pot.good
        return self.now_ms - t_ms <= FALL_MS and pm < before - FALL_PM

    def _unbelievable(self, pot):
        if not RAILS_RAW[0] < pot.raw < RAILS_RAW[1]:
            return "at a rail"
        if pot.spread > WILD_RAW:
            return "with wild samples"
        if pot.pm is None or pot.pm < AIR_PM:
            return "as dry as air"
        if pot.pm > WETTER_THAN_WATER_PM:
            return "wetter than water"
        if pot.fallen:
            return "fallen further than any plant drinks"
        return ""

    def battery(self, mv):
        """The board was shown this voltage at rest."""
        if self.battery_mv and self.settings and mv - self.battery_mv >= 150 * self.settings["battery_cells"]:
            self.sag_mv = 0
        self.battery_mv = mv

    def pulled_down(self, under_mv):
        """What a pump pulled the battery down to, seen by the board in a pulse that it noted to its end."""
        if self.battery_mv and under_mv:
            self.sag_mv = self.battery_mv - under_mv

    def acknowledged(self):
        """A person pressed the button or raised the acknowledgement number."""
        for pot in self.pots:
            pot.forget_row()
        self.sag_mv = 0

    def looked_at(self):
        """Someone has just seen to the rig: what the probes show next needs no past."""
        for pot in self.pots:
            pot.good = None

    def tray_emptied(self):
        """A person said so, by ending a service hold."""
        self.tray = []

    def memory_lost(self, channels, boot_ms, on_flash):
        """The ledger is gone, or speaks of another number of channels.

        boot_ms: when the board last started; it gave nothing since. on_flash: the bytes of the ledger.
        """
        if self.lost is None or self.lost[:2] != (on_flash, self.pulses):
            rows = [(pot.row, pot.row_ml, pot.row_ms, pot.before, pot.trial_ms) for pot in self.pots]
            self.lost = (on_flash, self.pulses, [list(pot.charges) for pot in self.pots], list(self.tray), rows)
        self.sag_mv = 0
        for index in range(channels):
            pot = self.pots[index]
            day_ml = Fraction(self.settings["channels"][index]["day_ml"])
            pot.charges.append((boot_ms, max(Fraction(0), day_ml - self._last_day(pot.charges))))
        for pot in self.pots:
            pot.forget_row()
            pot.trial_ms = None
        self.tray = [Doubtful(boot_ms, None, Fraction(self.settings["tray_headroom_ml"]), 0, None)]

    def memory_found(self, on_flash):
        """The ledger can be used. Where it is the one that could not be, and no pulse ran since, nothing was lost."""
        if self.lost and on_flash and self.lost[:2] == (on_flash, self.pulses):
            _, _, charges, self.tray, rows = self.lost
            for pot, given, row in zip(self.pots, charges, rows, strict=True):
                pot.charges = deque(given)
                pot.row, pot.row_ml, pot.row_ms, pot.before, pot.trial_ms = row
        self.lost = None

    def found_open(self, index, ms):
        """A reset found an intent on flash whose pump had not run yet."""
        self._book(index, ms, self._fastest_ml(index, ms))

    def forget_sag(self):
        """What the last pulse did to the battery never came to be on flash."""
        self.sag_mv = 0

    # ---- the pulse -------------------------------------------------------------------

    def pulse(self, index, ms, on_flash_ms, stands, drinks_pm_h):
        """A pump starts; everything that must hold now is checked.

        stands: (rung of its pot, whether it is there because pulses did not show).
        """
        rung, no_rise = stands
        self.pulses += 1
        channel = self.settings["channels"][index]
        pot = self.pots[index]
        if ms > channel["pulse_max_ms"]:
            self.say("W1", f"pot {index} asked for {ms} ms, limit {channel['pulse_max_ms']}")
        if on_flash_ms is None or on_flash_ms < ms:
            self.say("W3", f"pot {index} runs {ms} ms with {on_flash_ms} on flash")
        self._check_battery(index)
        ml = self._fastest_ml(index, ms)
        self._book(index, ms, ml)
        self._check_caps(index)
        likely_ml = self._likely_ml(index, ms)
        if rung == TENDED:
            self._check_steered(index, likely_ml, drinks_pm_h)
        elif rung == RATIONED:
            self._check_ration(index, ml)
        else:
            self._check_trial(index, ms, likely_ml, no_rise)
        pot.told_pm += likely_ml * 1000 / channel["holds_ml"]
        pot.pulse_ms = self.proven_ms
        self._wait_for_a_rise(pot)

    def _fastest_ml(self, index, ms):
        channel = self.settings["channels"][index]
        return Fraction(ms * channel["pump_ul_s"] * (1000 + channel["pump_spread_pm"]), 10**9)

    def _likely_ml(self, index, ms):
        """What a pulse likely brings, its tube taken as empty if it does not stay full for a day."""
        channel = self.settings["channels"][index]
        fills_ms = channel["prime_ms"] if channel["tube_full_h"] < 24 else 0
        return Fraction(max(0, ms - fills_ms) * channel["pump_ul_s"], 10**6)

    def _book(self, index, ms, ml):
        pot = self.pots[index]
        pot.charges.append((self.now_ms, ml))
        lowest = min((pm for _, pm, _ in pot.readings), default=None)
        self.tray.append(Doubtful(self.now_ms, pot, ml, self.settings["channels"][index]["holds_ml"], lowest))

    def _last_day(self, entries):
        while entries and entries[0][0] <= self.now_ms - DAY_MS:
            entries.popleft()
        return sum((ml for _, ml in entries), Fraction(0))

    def _check_caps(self, index):
        settings = self.settings
        given = [self._last_day(pot.charges) for pot in self.pots]
        day_ml = settings["channels"][index]["day_ml"]
        if given[index] > day_ml:
            self.say("W2", f"pot {index}: {float(given[index]):.3f} ml in 24 h, cap {day_ml}")
        if sum(given) > settings["rig_day_ml"]:
            self.say("W2", f"rig: {float(sum(given)):.3f} ml in 24 h, cap {settings['rig_day_ml']}")
        tray = self.tray_ml()
        if tray > settings["tray_headroom_ml"]:
            self.say("W2", f"tray: {float(tray):.3f} ml unproven, headroom {settings['tray_headroom_ml']}")

    def tray_ml(self):
        """The least that must be reckoned to stand in the tray."""
        rate = Fraction(self.settings["tray_area_cm2"] * self.settings["tray_dry_um_day"], 10000 * DAY_MS)
        level, t_ms = Fraction(0), 0
        for entry in self.tray:
            level = max(Fraction(0), level - rate * (entry.t_ms - t_ms)) + entry.unproven_ml()
            t_ms = entry.t_ms
        return max(Fraction(0), level - rate * (self.now_ms - t_ms))

    def _check_steered(self, index, likely_ml, drinks_pm_h):
        pot = self.pots[index]
        channel = self.settings["channels"][index]
        why = self._unbelievable(pot)
        if why:
            self.say("W5", f"pot {index} steered by a reading {why} (raw {pot.raw}, spread {pot.spread})")
        if pot.row == 0:
            pot.row_ms = self.now_ms
        pot.row += 1
        most = channel["unproven_max"]
        if pot.row > most and pot.row_ml * 1000 >= ENOUGH_PM * channel["holds_ml"]:
            self.say("W4", f"pot {index}: pulse {pot.row} in a row without a rise, limit {most}")
        pot.row_ml += likely_ml
        pot.drinks_pm_h = max(pot.drinks_pm_h, drinks_pm_h)

    def _check_trial(self, index, ms, likely_ml, no_rise):
        """A pulse to a held pot."""
        pot = self.pots[index]
        channel = self.settings["channels"][index]
        why = self._unbelievable(pot)
        if why:
            self.say("W5", f"pot {index} tried by a reading {why} (raw {pot.raw}, spread {pot.spread})")
        enough_ml = Fraction(TRIAL_PM * channel["holds_ml"], 1000)
        # A pot that showed no rise may have been too full to: it is tried at its refill point, or, by night, where a
        # whole trial may still show. Any other is tried where a dose would be due.
        most_pm = channel["fill_pm"] - LEAST_LIFT_PM
        if no_rise:
            refill_pm = 1000 - (1000 - channel["wilting_pm"]) * channel["depletion_pm"] // 1000
            most_pm = max(refill_pm, channel["fill_pm"] - TRIAL_PM)
        if pot.pm is not None and pot.pm > most_pm + AVERAGED_PM:
            self.say("W4", f"pot {index} is held at {float(pot.pm):.0f} pm, to be tried at {most_pm}, and tried")
        if Fraction(ms * channel["pump_ul_s"], 10**6) < min(channel["pulse_ml"], enough_ml):
            self.say("W4", f"pot {index}: a trial of {ms} ms is no whole pulse")
        whole = pot.trial_ml >= enough_ml
        if pot.trial_ms is None or self.proven_ms - pot.trial_ms >= DAY_MS - 1000 or whole and pot.trial_showed:
            if pot.pulse_ms is not None and self.proven_ms - pot.pulse_ms < 6 * HOUR_MS - 1000:
                self.say("W4", f"pot {index}: tried {(self.proven_ms - pot.pulse_ms) / HOUR_MS:.2f} h after a pulse")
            pot.trial_ms, pot.trial_ml = self.proven_ms, Fraction(0)
            pot.trial_showed = False
        elif whole:
            self.say("W4", f"pot {index}: tried again {(self.proven_ms - pot.trial_ms) / HOUR_MS:.2f} h after a trial")
        pot.trial_ml += likely_ml

    def _wait_for_a_rise(self, pot):
        """The lowest reading since the row began, or since the last rise, is what the next must be above."""
        lowest = min(pot.since, default=None)
        sure = pot.before is None or max(pot.since, default=pot.before) >= pot.before + SURE_RISE_PM
        if sure or (lowest is not None and lowest < pot.before):
            pot.before = lowest
        pot.since = []

    def _check_ration(self, index, ml):
        pot = self.pots[index]
        channel = self.settings["channels"][index]
        pot.rations.append((self.now_ms, ml))
        self._last_day(pot.rations)
        primed_ml = self._fastest_ml(index, channel["prime_ms"] + 1)
        one = channel["ration_ml"] * Fraction(1000 + channel["pump_spread_pm"], 1000) + primed_ml
        if len(pot.rations) > 2 or ml > one:
            self.say(
                "W5", f"pot {index}: ration {len(pot.rations)} in 24 h, {float(ml):.1f} ml, one may be {float(one):.1f}"
            )

    def _check_battery(self, index):
        settings = self.settings
        mv = self.battery_mv
        if mv <= 0:
            self.say("W6", f"pot {index} watered at an unknown battery voltage")
            return
        last_ms = [pot.pulse_ms for pot in self.pots if pot.pulse_ms is not None]
        # Half of it may be forgotten with each TRIAL_MS since a pulse could teach it.
        since_ms = self.proven_ms - max(last_ms, default=0)
        if mv - (self.sag_mv >> since_ms // TRIAL_MS) < settings["battery_stop_mv"]:
            self.say("W6", f"pot {index} watered at {mv} mv, sag {self.sag_mv}, stop {settings['battery_stop_mv']}")
        if settings["battery_kind"] == "lithium":
            for cell_mv, most_pm in LITHIUM:
                if mv <= cell_mv * settings["battery_cells"] and most_pm < settings["battery_reserve_pm"]:
                    self.say("W6", f"pot {index} watered at {mv} mv, below the reserve")
                    break
