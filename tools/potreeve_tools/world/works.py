"""Water and time on the sill: what flows, drains, dries and is drunk between two moments.

Works is the part of the World that moves water. Steps are an hour at most, five
minutes in the hour after water moved, twenty seconds while it runs by itself.
Every drop is booked: see `balance_error_ml`.
"""

import random

from potreeve_tools.world import potcare
from potreeve_tools.world.channel import FLOOR, TRAY, Channel
from potreeve_tools.world.floats import TubSensor
from potreeve_tools.world.probe import Probe, converter_table
from potreeve_tools.world.water import Line, Reservoir, Tray, evaporation_mm_day

WET_WINDOW_S = 3600.0
CONTAINER_CAPACITY_PM = 1000
FLOW_STEP_S, WET_STEP_S, DRY_STEP_S = 20.0, 300.0, 3600.0
# The soil of a pot follows the air as one mass does, within some two hours (common practice, no source). The sun warms
# it through the air alone.
_SOIL_LAG_S = 7200.0


class Works(TubSensor):
    """Reservoir, lines, pots and tray of a World, and how time passes for them.

    Needs from the World: rig, board, seed, climate, battery, electronics,
    has_master, active_ma, least_mv.
    """

    def stream(self, name):
        """Return the random stream of one component."""
        return random.Random(f"{self.seed}/{name}")

    def _build_water(self, rig):
        tub, tray = rig.reservoir, rig.tray
        self.reservoir = Reservoir(
            tub["area_cm2"], tub["height_mm"], tub["base_mm"], tub["level_mm"], tub["inlet_mm"], tub["lid"]
        )
        self._build_tub_sensor(tub)
        self.tray = Tray(tray["area_cm2"], tray["wall_mm"], rig.footprint_cm2, tray["water_ml"])

    def _build_channels(self, rig, pins, adc):
        self.channels = []
        rp2 = self.board.get("mcu", "rp2040").startswith("rp2")
        table = converter_table(adc.get("bits", 12), rp2)
        for i, spec in enumerate(rig.pots):
            probe = Probe(
                pins.get("probe_kind", "analogue"),
                self.stream(f"probe {i}"),
                spec["probe_noise_mv"],
                spec["probe_drift_vwc_month"],
                spec["probe_tolerance"],
                vref_mv=adc.get("vref_mv", 3300),
                bits=adc.get("bits", 12),
                table=table,
                window_s=pins.get("probe_window_ms", 200) / 1000.0,
                substrate=spec["substrate"],
                build=self.stream(f"probe {i} as built"),
            )
            line = Line(
                self.stream(f"pump {i}"),
                spec["pump_kind"],
                spec["pump_ml_s"],
                spec["pump_nominal_mv"],
                spec["pump_ma"],
                spec["pump_start_times"],
                spec["pump_lift_mm"],
                spec["tube_mm"],
                spec["tube_id_mm"],
                spec["outlet_mm"],
                spec["check_valve"],
                spec["air_hole"],
            )
            line.lift_ref_mm = spec["outlet_mm"] - self.reservoir.surface_mm
            pot = potcare.make_pot(spec, self.stream(f"pot {i}"), soil=rig.rig["soil"])
            self.channels.append(Channel(i, spec, pot, probe, line))
            self.place_pot(self.channels[i], pot)

    def place_pot(self, c, pot):
        """Stand a pot at channel c's place; probe and tube are fixed to suit it."""
        c.pot = pot
        c.probe_cm = potcare.probe_depth_cm(c.spec, pot)
        c.line.outlet_mm = max(c.line.outlet_mm, 10.0 * pot.spec.height_cm + 10.0)

    def _build_ledger(self):
        self.added_ml = self.removed_ml = self.vapour_ml = self.floor_ml = 0.0
        self.deliveries = []
        self.floods_by_hand = 0
        self.initial_ml = self.held_ml()
        self._lag_s = 0.0
        self._flowing = False
        self._wet_until_s = -1.0
        self._stood_mm = 0.0
        self._soil_c = self.climate.at(0.0).temp_c

    @property
    def soil_c(self):
        """Temperature of the substrate, degC: it follows the air over some two hours."""
        return self._soil_c

    # ---- time passes -----------------------------------------------------------------------

    def _pass(self, end):
        while self.now_s < end:
            if self._flowing:
                limit = FLOW_STEP_S
            else:
                limit = WET_STEP_S if self.now_s < self._wet_until_s else DRY_STEP_S
            room = limit - self._lag_s
            if room <= 0.0:
                self._settle(False)
                continue
            left = end - self.now_s
            if left < room:
                self._lag_s += left
                self.now_s = end
            else:
                self._lag_s += room
                self.now_s += room
                self._settle(False)

    def settle(self):
        """Bring every part up to the present moment."""
        self._settle(True)

    def _settle(self, everything):
        dt = self._lag_s
        self._lag_s = 0.0
        if dt > 0.0:
            air = self.climate.at(self.now_s - 0.5 * dt)
            temp_c = air.temp_c
            self._soil_c += (temp_c - self._soil_c) * dt / (dt + _SOIL_LAG_S)
            self.battery.rest(dt, temp_c)
            self.tray.rest(dt)
            if self._flowing:
                self._flow(dt)
            reservoir = self.reservoir
            for c in self.channels:
                line = c.line
                if line.water_ml > 0.0:
                    if line.buried is not None:
                        self._suck_back(c, dt)
                    if not self._flowing or not (line.siphons(reservoir) or (line.welded and not self.has_master)):
                        self.floor_ml += reservoir.put(line.idle(dt))
            mm = evaporation_mm_day(temp_c, air.rh_pct) * dt / 86_400.0
            self.vapour_ml += reservoir.evaporate(mm) + self.tray.evaporate(mm)
            for c in self.channels:
                c.lag_s += dt
        elif not everything:
            return
        else:
            air = None
        now = self.now_s
        self._stood_mm = self.tray.level_mm - self.rig.tray["feet_mm"]
        for c in self.channels:
            lag = c.lag_s
            if lag > 0.0 and (everything or lag >= 1500.0 or c.wet_until_s > now):
                c.lag_s = 0.0
                self._step_pot(c, lag, air or self.climate.at(now - 0.5 * lag))

    def _step_pot(self, c, dt, air):
        stood = self._stood_mm
        if stood > 0.0 and c.present:
            flux = c.pot.step(dt, air, stood, self.tray.water_ml)
            if flux.uptake_ml > 0.0:
                self.tray.take(flux.uptake_ml)
        else:
            flux = c.pot.step(dt, air)
        c.transpired_ml += flux.transpired_ml
        c.evaporated_ml += flux.evaporated_ml
        self.vapour_ml += flux.transpired_ml + flux.evaporated_ml
        if flux.leachate_ml:
            self._drain(c, flux.leachate_ml)

    def _drain(self, c, ml):
        c.leachate_ml += ml
        if c.present:
            self.to_tray(ml)
        else:
            self.removed_ml += ml

    # ---- water -----------------------------------------------------------------------------

    def held_ml(self):
        """All water in reservoir, tubes, pots and tray."""
        return (
            self.reservoir.water_ml + self.tray.water_ml + sum(c.line.water_ml + c.pot.water_ml for c in self.channels)
        )

    def balance_error_ml(self):
        """Water that appeared from nowhere (0 but for rounding)."""
        self.settle()
        gone = self.vapour_ml + self.floor_ml + self.removed_ml
        return self.held_ml() + gone - self.initial_ml - self.added_ml

    def to_tray(self, ml, by_hand=False):
        """Let ml run into the tray; what runs over its wall goes to the floor, past the electronics."""
        floods = self.tray.floods
        over = self.tray.put(ml)
        if by_hand:
            self.floods_by_hand += self.tray.floods - floods
        if over > 0.0:
            self.floor_ml += over
            if self.electronics.height_mm <= self.tray.wall_mm:
                self.electronics.wet(self.now_s)

    def pour(self, c, ml, by_hand=False):
        """Pour ml on channel c's pot; what runs through goes to the tray."""
        if not c.present:
            self.to_tray(ml)
            return TRAY
        if by_hand:
            c.by_hand_ml += ml
        else:
            c.given_ml += ml
        if c.lag_s > 0.0:
            lag, c.lag_s = c.lag_s, 0.0
            self._step_pot(c, lag, self.climate.at(self.now_s - 0.5 * lag))
        c.wet_until_s = self._wet_until_s = self.now_s + WET_WINDOW_S
        through = c.pot.add_water(ml)
        standing = c.standing_marks if c.pot.moisture_pm > CONTAINER_CAPACITY_PM else []
        for fault in c.marks + standing:
            fault.bit += 1
        if through:
            self._drain(c, through)
        return c.index

    def _deliver(self, c, ml, cause):
        """Put what left the end of channel c's tube where that end lies; enter it in the deliveries."""
        if ml <= 0.0:
            return
        off = c.tube_off
        if off is not None:
            off.bit += 1
            where = off.params["where"]
            landed = TRAY if where == "tray" else FLOOR
            if where == "tray":
                self.to_tray(ml)
            else:
                self.floor_ml += ml
                if where == "electronics":
                    self.electronics.wet(self.now_s)
        else:
            landed = self.pour(self.channels[c.tube_to], ml)
        self.deliveries.append((self.now_s, c.index, landed, ml, cause))

    def _look_for_flow(self):
        """See whether water runs without a pulse: a siphon, or a pump that is stuck on and has supply."""
        reservoir = self.reservoir
        self._flowing = any(
            c.line.siphons(reservoir) or (c.line.welded is not None and not self.has_master) for c in self.channels
        )

    def _flow(self, dt):
        for c in self.channels:
            line = c.line
            if line.welded is not None and not self.has_master:
                mv = self.battery.loaded_mv(self.active_ma + line.pump_ma)
                self.battery.draw(line.current_ma(self.reservoir) * 1000.0, dt * 1000.0)
                if mv < self.least_mv:
                    continue
                out = line.run(dt, mv, self.reservoir)
                if out > 0.0:
                    line.welded.bit += 1
                self._deliver(c, out, "stuck")
            elif line.siphons(self.reservoir):
                out = line.siphon(dt, self.reservoir)
                if line.siphon_fault is not None and out > 0.0:
                    line.siphon_fault.bit += 1
                self._deliver(c, out, "siphon")
        self._look_for_flow()

    def _suck_back(self, c, dt):
        back = c.line.back_ml(dt, self.reservoir)
        target = self.channels[c.tube_to]
        if back <= 0.0 or not target.present:
            return
        got = potcare.suck_back(target.pot, back)
        if got > 0.0:
            c.line.buried.bit += 1
            self.floor_ml += self.reservoir.put(got)
