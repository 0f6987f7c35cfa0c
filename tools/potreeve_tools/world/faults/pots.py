"""Mishaps of pots and what people do to them."""

from potreeve_tools.world import potcare
from potreeve_tools.world.faults.hooks import again, begins, ends


def _replace_pot(world, c, pot):
    """Put another pot in a channel's place; its water comes and goes with it."""
    world.removed_ml += c.pot.water_ml
    world.added_ml += pot.water_ml
    world.place_pot(c, pot)


@begins("dry_substrate")
def _dry(world, fault):
    c = world.channels[fault.channel]
    _replace_pot(world, c, potcare.like(c.pot, world.stream(f"dry {c.index}"), start_pm=fault.params["moisture_pm"]))
    c.marks.append(fault)
    fault.bit += 1  # its plant stands in dry peat now, whether it is ever watered or not


@begins("swelling_pellet")
def _pellet(world, fault):
    c = world.channels[fault.channel]
    pellet = potcare.like(c.pot, world.stream(f"pellet {c.index}"), substrate="coir_pellet", start_pm=100.0)
    _replace_pot(world, c, pellet)
    c.marks.append(fault)
    fault.bit += 1  # its plant stands in a dry pellet now, whether it is ever watered or not


@ends("dry_substrate", "swelling_pellet")
def _no_longer_marked(world, fault):
    world.channels[fault.channel].marks.remove(fault)


@begins("no_drainage")
def _no_hole(world, fault):
    c = world.channels[fault.channel]
    fault.saved.update(hole=c.pot.spec.drainage_hole, pot=c.pot)
    potcare.set_hole(c.pot, False)
    c.standing_marks.append(fault)


@ends("no_drainage")
def _hole(world, fault):
    c = world.channels[fault.channel]
    c.standing_marks.remove(fault)
    for pot in (c.pot, fault.saved["pot"]):
        potcare.set_hole(pot, fault.saved["hole"])


@begins("watering_can")
def _can(world, fault):
    ml = fault.params["ml"]
    fault.bit += 1
    world.added_ml += ml
    c = world.channels[fault.channel]
    landed = world.pour(c, ml, by_hand=True)
    world.deliveries.append((world.now_s, c.index, landed, ml, "hand"))
    again(world, fault, _can)


@begins("plant_grown")
def _grown(world, fault):
    fault.bit += 1
    world.channels[fault.channel].pot.grow(fault.params["times"])


@begins("repotted")
def _repotted(world, fault):
    fault.bit += 1
    c = world.channels[fault.channel]
    params = fault.params
    _replace_pot(
        world,
        c,
        potcare.like(
            c.pot,
            world.stream(f"repot {c.index}"),
            diameter_cm=params["diameter_cm"],
            height_cm=params["height_cm"],
            start_pm=params["start_pm"],
        ),
    )


@begins("swapped")
@ends("swapped")
def _swapped(world, fault):
    fault.bit += 1
    a, b = world.channels[fault.channel], world.channels[fault.params["other"]]
    here, there = a.pot, b.pot
    world.place_pot(a, there)
    world.place_pot(b, here)


@begins("tipped_over")
def _tipped(world, fault):
    fault.bit += 1
    c = world.channels[fault.channel]
    world.to_tray(potcare.run_out(c.pot, fault.params["lost"]))
    c.probe_faults.append(fault)
    if c.tube_off is None:
        fault.params.setdefault("where", "tray")
        c.tube_off = fault


@begins("pot_removed")
def _removed(world, fault):
    fault.bit += 1
    world.channels[fault.channel].present = False
