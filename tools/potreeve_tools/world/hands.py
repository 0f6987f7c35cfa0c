"""What an owner does by hand with a probe or a pot: hold it in the air, push it into a pot, weigh the pot.

Hands is the part of the World that owners use. What comes back is raw: bursts
of samples as the board would read them, grams as a kitchen scale would show.
The pot itself stays as it is: it is a like pot, dried, soaked or half-dry.
"""

from potreeve_tools.world import potcare
from potreeve_tools.world.probe import AIR_THETA, BURST

POT_G_PER_CM2 = 0.2
"""An empty plastic pot, by its floor (ours)."""
SOLID_G_ML = {"peat_mix": 0.12, "coir": 0.08, "coir_pellet": 0.08, "bark_mix": 0.22, "loam_mix": 1.0}
"""Dry bulk density. Peat .09-.16 (Univ. Arkansas teaching unit, V), nursery mixes .19-.70 (M); the others ours."""


class Hands:
    """Bursts (lists of 9 raw integers) by hand; needs from the World: channels, now_s, soil_c."""

    def _bursts(self, channel, theta, bursts):
        c = self.channels[channel]
        return [c.probe.burst(theta, self.soil_c, self.now_s) for _ in range(bursts)]

    def hands_air(self, channel, bursts=5):
        """The probe wiped dry and held in the air."""
        return self._bursts(channel, AIR_THETA, bursts)

    def hands_dry(self, channel, bursts=5):
        """The probe in air-dry mix of the same kind."""
        return self._bursts(channel, self.channels[channel].pot.theta_air_dry, bursts)

    def hands_soaked(self, channel, bursts=5):
        """The probe in its place in the pot, soaked and drained."""
        c = self.channels[channel]
        return self._bursts(channel, potcare.theta_cc_at(c.pot, c.probe_cm), bursts)

    def hands_at(self, channel, moisture_pm, bursts=5):
        """The probe in its place in the pot when that holds moisture_pm of what it can (known by weight) and has
        come to rest."""
        c = self.channels[channel]
        return self._bursts(channel, potcare.theta_at_rest(c.pot, c.probe_cm, moisture_pm), bursts)

    def hands_weight_g(self, channel, moisture_pm=None):
        """What a scale shows under the pot: as it is now, or at a share of what it holds (0 air-dry, 1000 soaked)."""
        pot = self.channels[channel].pot
        water_ml = pot.water_ml if moisture_pm is None else pot.air_dry_ml + moisture_pm / 1000.0 * pot.holds_ml
        return POT_G_PER_CM2 * pot.area_cm2 + SOLID_G_ML[pot.spec.substrate] * pot.volume_ml + water_ml

    def calibrate(self, channel, bursts=5):
        """Calibrate a probe in air-dry mix and in the soaked pot. Returns dict(dry_raw, wet_raw, spread_raw).

        Medians; spread_raw is the widest burst.
        """
        values, spread = [], 0
        for samples in (self.hands_dry(channel, bursts), self.hands_soaked(channel, bursts)):
            spread = max(spread, max(max(s) - min(s) for s in samples))
            values.append(sorted(x for s in samples for x in s)[bursts * BURST // 2])
        return {"dry_raw": values[0], "wet_raw": values[1], "spread_raw": spread}
