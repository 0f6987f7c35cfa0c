"""Mishaps of tray, electronics, battery, clock and flash, and the owner's button."""

from potreeve_tools.world.faults.hooks import again, begins, ends
from potreeve_tools.world.faults.kinds import FLAGS, RESTARTS


@begins("tray_poured")
def _poured(world, fault):
    fault.bit += 1
    world.added_ml += fault.params["ml"]
    world.to_tray(fault.params["ml"], by_hand=True)
    again(world, fault, _poured)


@begins("tray_emptied")
def _emptied(world, fault):
    """Emptied and wiped."""
    fault.bit += 1
    world.removed_ml += world.tray.take(world.tray.water_ml)


@begins("water_on_electronics")
def _wetted(world, fault):
    world.electronics.wet(world.now_s, fault.params["mad_s"])
    world.wet_marks.append(fault)


@ends("water_on_electronics")
def _dried(world, fault):
    world.wet_marks.remove(fault)
    world.electronics.dry()


@begins("battery_old", "battery_cold", "battery_sagging", "battery_low")
def _battery_begin(world, fault):
    battery, params = world.battery, fault.params
    battery.chill_c += params.get("by_degc", 0.0)
    battery.resistance_times *= params.get("resistance_times", 1.0)
    if fault.kind == "battery_old":
        battery.age(params["capacity_left"])
    elif fault.kind == "battery_low":
        battery.left_mah = min(battery.left_mah, battery.capacity_mah * params["left_pct"] / 100.0)
    world.battery_marks.append(fault)


@ends("battery_old", "battery_cold", "battery_sagging", "battery_low")
def _battery_end(world, fault):
    battery, params = world.battery, fault.params
    world.battery_marks.remove(fault)
    battery.chill_c -= params.get("by_degc", 0.0)
    battery.resistance_times /= params.get("resistance_times", 1.0)
    if fault.kind in ("battery_old", "battery_low"):
        battery.capacity_mah = battery.new_mah
        battery.left_mah = battery.capacity_mah


def cut_pulse(world, ms):
    """Return the ms after which a supply fault cuts this pulse short, or None."""
    for fault in world.pulse_cuts:
        after = int(fault.params["after_ms"])
        if after < ms and fault.bit < fault.params["times"]:
            fault.bit += 1
            return after
    return None


@begins("reset_loop")
def _reset(world, fault):
    if fault.active:
        fault.bit += 1
        world.board_events.append((world.now_s, "reset", 0))
        again(world, fault, _reset)


@begins("clock_lost")
def _clock_lost(world, fault):
    if world.clock.known:
        fault.bit += 1
    world.clock.set_utc(0, world.now_s)


@begins("clock_leap", "daylight_saving")
def _clock_leaps(world, fault):
    if world.clock.leap(fault.params["by_s"]):
        fault.bit += 1


@begins("button")
def _pressed(world, fault):
    fault.bit += 1
    hold_ms, now = fault.params["hold_ms"], world.now_s
    world.presses.append((now, now + hold_ms / 1000.0))
    world.board_events.append((now, "button", hold_ms))
    if fault.bit < fault.params["times"]:
        world.at(now + max(fault.params["every_s"], hold_ms / 1000.0 + 0.05), _pressed, fault)


@begins(*FLAGS)
def _flag_up(world, fault):
    world.flags[fault.kind] = fault
    if fault.kind in RESTARTS:
        world.board_events.append((world.now_s, "reset", 0))


@ends(*FLAGS)
def _flag_down(world, fault):
    if world.flags.get(fault.kind) is fault:
        del world.flags[fault.kind]
        if fault.kind in RESTARTS:
            world.board_events.append((world.now_s, "reset", 0))
