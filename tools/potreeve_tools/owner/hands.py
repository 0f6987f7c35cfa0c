"""What a person's hands do at a simulated rig, on a virtual board's bench or before going away."""

# Poured into a tray at a time, until its sensor stands in water.
SPLASH_ML = 10.0

# Poured in portions, with time to soak in, until the pot's own volume has been given.
PORTIONS = 12
PORTION_S = 600.0
DRIP_S = 3600.0
LOOK_S = 300.0
# To read a cup, empty it and hang the tube into it again.
CUP_S = 60.0


def lift(world, index):
    """Take a probe out of its pot and hold it in the air."""
    world.channels[index].present = False


def soak(world, index):
    """Put the probe into its pot, pour slowly until it runs through, let it drain, empty the tray: container
    capacity."""
    channel = world.channels[index]
    channel.present = True
    portion_ml = channel.pot.area_cm2 * channel.pot.spec.height_cm / PORTIONS
    for _ in range(PORTIONS):
        world.pour(channel, portion_ml, by_hand=True)
        world.advance(PORTION_S)
        empty_tray(world)
    world.advance(DRIP_S)
    empty_tray(world)


def hang(world, index, low):
    """Hang the tube's end as low as it would get if it came off (low), or back into the pot."""
    world.channels[index].line.drop_mm = 0.0 if low else None


def take_cup(world):
    """Read a cup, empty it and hang the tube into it: meanwhile a tube without a valve runs empty."""
    world.advance(CUP_S)


def runs_back(world, index):
    """Look at a tube for five minutes; returns whether its water ran back."""
    line = world.channels[index].line
    before_ml = line.water_ml
    world.advance(LOOK_S)
    world.settle()
    return line.water_ml < 0.9 * before_ml


def pour_until_felt(world):
    """Pour water into the tray until it stands at the sensor's wires, and a splash more; returns ml."""
    poured_ml = 0.0
    while True:
        felt = world.tray_wires_wet
        world.added_ml += SPLASH_ML
        world.to_tray(SPLASH_ML, by_hand=True)
        poured_ml += SPLASH_ML
        if felt:
            return poured_ml


def empty_tray(world):
    """Pour away what stands in the tray."""
    world.removed_ml += world.tray.take(world.tray.water_ml)
