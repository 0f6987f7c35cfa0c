"""What an owner does before going away, done on the simulated rig with the very code of the command line.

`potreeve settings new` (recipe.make) is told what a ruler, the bag, the label and the
tray say; `potreeve calibrate probe` and `pump` (link.calibrate_*) measure, with hands
that do what is asked and read a cup as people do. Nothing here reckons a setting.
"""

import dataclasses
import random

from potreeve.logic import commanded, ds18b20, moisture, reasons, record

from potreeve_tools.owner import (
    calibrate_probe,
    calibrate_pump,
    calibrate_talk,
    calibrate_tray,
    calibrate_tub,
    filler,
    hands,
    knowledge,
    recipe,
)
from potreeve_tools.settings import judge
from potreeve_tools.terminal.exits import Stop
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.faults.kinds import make_fault
from potreeve_tools.world.world import World

# Runs of a pump into a cup.
PUMP_RUNS = 3

# Whoever has a kitchen scale weighs the pot again once about a third of what it holds is gone, looking twice a day, so
# many times; half as much must be gone for a point to say anything.
POINT_GONE = 0.3
POINT_LOOKS = 20
LOOK_S = 43200.0


def owner_presses():
    """The two long presses that say: the tray is empty, everything was seen to."""
    return [make_fault("button", 60.0, hold_ms=2600), make_fault("button", 180.0, hold_ms=2600)]


def make_settings(rig, board, seed):
    """Settings for a rig, made and calibrated on a scratch copy of it. Returns a checked dict.

    rig: a Rig; board: device form of a board; seed: as the world's. Raises
    BadInput, a line per reason, when the product refuses what follows.
    """
    rng = random.Random(f"{seed}/owner")
    settings = _checked(recipe.make(*_told(rig, rng)), rig)
    world = World(dataclasses.replace(rig, faults=[]), board, seed)
    # Pumps are measured with the tub as full as it will be: the higher the water, the faster they run.
    tub = world.reservoir
    tub.put(max(0.0, filler.FULL_TUB * tub.capacity_ml - tub.water_ml))
    scale = rng.random() < 0.5
    bench = Bench(world)
    owners = [Owner(bench, index, rng, scale) for index in range(len(rig.pots))]
    notes = []
    as_made = {**settings, "channels": [dict(table) for table in settings["channels"]]}
    for index, spec in enumerate(rig.pots):
        table = settings["channels"][index]
        try:
            found, _, note = calibrate_probe.anchors(bench, owners[index], index, settings)
            table.update(found)
            table.update(calibrate_pump.run(bench, owners[index], index, settings, wanted=PUMP_RUNS)[0])
        except Stop as stop:
            raise BadInput(
                [f"{rig.where} [[pot]] {index + 1} ({spec['name']}): {line}" for line in stop.lines]
            ) from None
        hands.hang(world, index, False)
        notes.append(note)
    if board.get("extras", {}).get("tray_probe"):
        settings["tray_sensor"] = calibrate_tray.run(bench, owners[0])[0]
        hands.empty_tray(world)
    settings["rig_day_ml"] = recipe.follow_rig_day(as_made, settings)
    if scale:
        _add_points(bench, owners, settings, notes)
    if world.tub_kind != "none":  # a stream of its own, and last: pots and pumps are those of a rig without floats
        hands_of = filler.Filler(world, random.Random(f"{seed}/owner of the tub"), scale)
        settings["tub"] = measure_tub(hands_of, settings["channels"])
    return _checked(settings, rig)


def measure_tub(person, channels):
    """The table [tub], as a filler.Filler measures it; channels: the pots' settings."""
    world = person.world
    try:
        return calibrate_tub.run(
            Bench(world, measured=True), person, len(world.floats.heights_mm), channels, world.tub_kind == "strip"
        )[0]
    except Stop as stop:
        raise BadInput([f"{world.rig.where} [reservoir]: {line}" for line in stop.lines]) from None


def _add_points(bench, owners, settings, notes):
    """While the pots dry, a point by scale for each once it is light enough; those that don't dry in time go
    without."""
    waiting = list(range(len(owners)))
    for look in range(POINT_LOOKS):
        bench.world.advance(LOOK_S)
        share = POINT_GONE if look < POINT_LOOKS - 1 else POINT_GONE / 2
        for index in [one for one in waiting if owners[one].gone_g() >= share * settings["channels"][one]["holds_ml"]]:
            waiting.remove(index)
            try:
                found = calibrate_probe.point(bench, owners[index], index, settings, notes[index])[0]
            except Stop:
                continue  # it does not lie between the ends: they stay as they are, as the command leaves them
            settings["channels"][index].update(found)
        if not waiting:
            break


def _checked(data, rig):
    clean, faults = judge.check(data)
    if faults:
        raise BadInput([f"{rig.where}: settings that follow from it do not pass: {fault}" for fault in faults])
    return clean


def _told(rig, rng):
    """(RigFacts, [PotFacts]) as a ruler, the bag and the label tell them."""

    def ruler(length):
        return length * (1.0 + rng.gauss(0.0, filler.RULER_ERROR))

    pots = []
    for spec in rig.pots:
        height_cm = ruler(spec["height_cm"])
        volume_ml = recipe.pot_ml(ruler(spec["diameter_cm"]), height_cm)
        mix = knowledge.mix_named(spec["substrate"])
        if mix is None:
            raise BadInput(
                [f"{rig.where}: no mix is called {spec['substrate']!r}; known: {', '.join(knowledge.MIXES)}"]
            )
        own = spec.get("own")
        plant = own.name if own else knowledge.plant_named(spec["plant"]) or "plant"
        facts = knowledge.own_facts(own) if own else None
        pots.append(recipe.PotFacts(spec["name"], plant, mix, volume_ml, height_cm, facts=facts))
    tray_cm2 = max(20.0, rig.tray["area_cm2"] - rig.footprint_cm2)
    pack = rig.battery
    return (
        recipe.RigFacts(
            rig.name,
            tray_cm2 * (1.0 + rng.gauss(0.0, filler.RULER_ERROR)),
            rig.tray_capacity_ml,
            pack["chemistry"],
            pack["cells"],
            int(pack["capacity_mah"]),
            rig.tray["feet_mm"] > 0.0,
        ),
        pots,
    )


class Bench:
    """A simulated rig as link.calibrate_bench shows a connected one: its readings, its pulses, its battery.

    measured: its pumps are, so that the board runs them for longer than into a cup.
    """

    def __init__(self, world, measured=False):
        self.world, self._measured = world, measured

    def bursts(self, channels, times, pause_ms=400):
        """{channel: [(median, spread), ...]} of so many bursts of each channel."""
        found = {channel: [] for channel in channels}
        for _ in range(times):
            raw = self.world.sense().probe_raw
            for channel, bursts in found.items():
                bursts.append(moisture.burst(raw[channel]))
            self.world.advance(pause_ms / 1000)
        return found

    def tray_mv(self, times):
        """Readings of the tray's sensor."""
        return [tuple(self.world.sense_extras()[:2]) for _ in range(times)]

    def pulse(self, channel, ms, cup=False):
        """Run a pump; a pump that was never measured only as long as the board lets it, into a cup."""
        if ms > commanded.CUP_MS and not self._measured:
            return {"ms": 0, "reason": reasons.NOT_CALIBRATED}
        return {"ms": self.world.pulse(channel, ms).actual_ms, "reason": 0}

    def tub_mark(self):
        """What the floats in the tub say now."""
        return self.world.tub_mark({})

    def tub_raw(self):
        """What the strip in the tub gives now, 0..65535."""
        self.world.settle()
        return self.world.tub_sense()

    def battery_mv(self):
        """Battery in mV, 0 unknown."""
        return self.world.sense().battery_mv

    def temp_cdeg(self):
        """Temperature in hundredths of a degree, or None."""
        said = ds18b20.reading(self.world.soil_scratchpad())
        return self.world.sense().temp_cdeg if said == record.NO_TEMP else said


class Owner:
    """Somebody who does what a calibration asks for and answers it, as calibrate_talk does with a person.

    scale: there is a kitchen scale: cups are weighed, else read by eye, and so is the pot.
    """

    def __init__(self, bench, index, rng, scale):
        self.world, self.index = bench.world, index
        self._rng, self.scale = rng, scale
        self._full_g = 0
        self._seen = len(self.world.deliveries)

    def say(self, text="", **style):
        """Nobody listens."""

    def confirm(self, name, question):
        """Do what is asked, then say yes; a reading that was not accepted is tried again."""
        world, index = self.world, self.index
        if name == "air":
            hands.lift(world, index)
        elif name == "soaked":
            hands.soak(world, index)
            self._full_g = self._weight_g()
        elif name == "low":
            hands.hang(world, index, True)
        elif name == "ready":
            hands.take_cup(world)
            self._seen = len(world.deliveries)
        elif name == "tray_dry":
            hands.empty_tray(world)
        elif name == "again":
            world.advance(600.0)
        elif name == "runs_back":
            return hands.runs_back(world, index)
        return True

    def amount_ul(self, name, question):
        """What is in the cup, as it is read: (ul, how well)."""
        world = self.world
        if name == "poured":
            return calibrate_talk.parse_amount(f"{round(hands.pour_until_felt(world))} ml")
        ml = sum(d[3] for d in world.deliveries[self._seen :] if d[1] == self.index)
        self._seen = len(world.deliveries)
        return filler.read_cup(ml, self._rng, self.scale)

    def grams(self, name, question):
        """What the pot weighs, in whole grams."""
        return self._full_g if name == "full_g" else self._weight_g()

    def gone_g(self):
        """How much lighter the pot is than soaked and drained, by the scale."""
        return self._full_g - self._weight_g()

    def _weight_g(self):
        return round(self.world.hands_weight_g(self.index))
