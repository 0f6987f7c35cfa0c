"""One wake: `step(state, readings, settings, energy)`.

The order is the safety argument: time, then what the rig and each pot show,
then what people asked, then the ladder, and water last of all.
"""

from potreeve.logic import (
    battery,
    closing,
    demand,
    dosing,
    energy,
    errors,
    ladder,
    limits,
    proof,
    reasons,
    record,
    schedule,
    signals,
    suffers,
    timekeep,
    tray,
    water,
    watch,
)
from potreeve.logic.state import TENDED, copy
from potreeve.logic.units import DAY_S, clamp, const, div_up, ease

# Demand while there is neither a climate reading nor a typical day, um/h.
UNKNOWN_UM_H = 60

# Learned use stays within so many times what the ration implies, and never less
# than a share of it: a day in the dark, or water that never reached the pot, is not
# to excuse any fall of a reading later on.
USE_MOST_TIMES = 8
USE_LEAST_SHARE = 8

# What a plant lately used at the most is forgotten by one part in so many a day.
_REF_FADES_DAYS = const(200)

# Longest a wake may have been awake for.
_AWAKE_MOST_MS = const(65535)

# Most time one wake may add to what is learned; longer gaps are no day's data.
_LONGEST_S = const(4 * 3600)

# A day with less demand than this, in um, says nothing of what a plant drinks: noise
# divided by next to nothing is a thirst that no plant has (common practice, no source).
LEAST_DAY_UM = 200


class Readings:
    """What a wake has seen, all integers.

    cause: timekeep.*; elapsed_s: proven since the last wake; awake_ms: how long
    the last wake lasted; button: debounce.*; utc_s: 0 unknown; usb: 0/1;
    battery_mv: at rest, 0 unknown; temp_cdeg: record.NO_TEMP unknown; rh_pm:
    record.NO_RH unknown; lx: record.NO_LX unknown; errors: bits of what failed
    to read or store; raw, spread, done_ms, under_mv: lists, one per channel
    (how long the last pulse really ran, record.NOT_RUN when none was asked for,
    and the lowest battery voltage seen during it, 0 unknown: as in the state).
    tray_wet: record.TRAY_...; tub_mark: 0 no sensor, 1..15: see record.TUB_...; soil_cdeg: record.NO_TEMP unknown.
    """

    tray_wet = record.TRAY_NONE
    tub_mark = record.TUB_NONE
    soil_cdeg = record.NO_TEMP


class Actions:
    """What to do now: `pulse_ms`, a list with one entry per channel, 0 none;
    `sleep_s`; `alarm`: signals.*; `panel`: see signals.show."""


def step(before, readings, settings, board_energy):
    """(state, actions, record bytes) after one wake; `before` is left alone.

    settings: as settings.check gives them; board_energy: see energy.py.
    """
    state = copy(before)
    rig = state.rig
    remember(state, settings)
    _damage(rig, readings)
    um = _pass_time(state, readings, settings, board_energy)
    _battery(rig, readings, settings)
    believed = _observe(state, readings, settings, um)
    told_ul = rig.tray_ul
    looked = _people(state, readings, settings)
    decide = water.decide
    if state.extra:
        from potreeve.logic import extra

        decide = extra.heed(state, readings, settings, told_ul, looked) or decide
    _learn_day(state, settings)
    actions = Actions()
    if readings.errors & errors.LEDGER:
        # What could not be stored last time was not pumped either, but stays
        # charged: ask for no more until a wake has been stored.
        actions.pulse_ms = [0] * len(state.pots)
    else:
        actions.pulse_ms = decide(state, settings, believed)
    suffers.say(state, settings)
    dark = schedule.is_dark(rig, settings)
    sleep_s = schedule.next_wake_s(state, settings, dark, schedule.is_weak(rig, settings))
    actions.sleep_s = timekeep.ask_s(sleep_s, readings.cause)
    days = battery.days_left(rig.soc_pm, rig.sag_mv, (rig.usage_uah, rig.past_uah), settings)
    actions.alarm = _alarm(state, readings, settings, days)
    actions.panel = signals.show(actions.alarm, settings["beep"], dark)
    rig.planned_s = actions.sleep_s
    line = _record(state, readings, settings, actions, days)
    for pot in state.pots:
        pot.done_ms = record.NOT_RUN
        pot.under_mv = 0
    rig.seq = (rig.seq + 1) % 0x100000000
    return state, actions, line


def settle(before, done_ms, under_mv):
    """The state after the pulses asked for have run; `before` is left alone.

    done_ms, under_mv: as in Readings, whose next ones they are. The ledger is written with this state;
    where that never happens, the intent stays open and the next wake knows.
    """
    state = copy(before)
    for index, pot in enumerate(state.pots):
        if pot.intent_ms:
            ran = done_ms[index] != record.NOT_RUN
            water.close_intent(state.rig, pot, ran, under_mv[index])
            pot.done_ms = done_ms[index]
            pot.under_mv = under_mv[index]
    return state


def remember(state, settings):
    """A memory just lost counts its day as given and its tray as full (W9)."""
    rig = state.rig
    if rig.memory == 2:
        limits.fill_day(state.pots, settings)
        full_ul = settings["tray_headroom_ml"] * 1000
        if rig.tray_ul < full_ul:
            rig.tray_ul = full_ul
        rig.ack = settings["ack"]
        rig.memory = 1


def _damage(rig, readings):
    """Code that is not what was installed decides about no water."""
    if readings.errors & errors.CODE:
        if rig.hold != reasons.DAMAGED:
            rig.hold = reasons.DAMAGED
            rig.hold_s = rig.up_s
    elif rig.hold == reasons.DAMAGED:
        rig.hold = reasons.NONE


def _pass_time(state, readings, settings, board_energy):
    """Let the proven time pass; returns the demand over it, in um."""
    rig = state.rig
    elapsed_s = readings.elapsed_s
    rig.up_s += elapsed_s
    rig.bucket_s = limits.roll(state.pots, rig.bucket_s, rig.up_s)
    # What may yet prove to be in a pot does not dry in the tray as well.
    open_ul = limits.open_ul(rig, state.pots)
    settled_ul, rig.tray_carry = limits.dry_tray(
        rig.tray_ul - open_ul, settings["tray_area_cm2"], settings["tray_dry_um_day"], rig.tray_carry, elapsed_s
    )
    rig.tray_ul = settled_ul + open_ul
    if readings.utc_s:
        rig.utc_s = readings.utc_s
    unplanned = readings.cause in timekeep.UNPLANNED
    ladder.count_boot(rig, unplanned)
    pumped_ms = 0
    for done in readings.done_ms:
        if done != record.NOT_RUN:
            pumped_ms += done
    started = readings.cause != timekeep.KEPT
    # No more than the record can say: a counter that outlived a restart shows hours.
    awake_ms = clamp(readings.awake_ms, 0, _AWAKE_MOST_MS)
    rig.used_uah += energy.span_uah((elapsed_s, awake_ms, pumped_ms, started), board_energy)
    before = rig.rate_um_h
    if readings.temp_cdeg == record.NO_TEMP or readings.rh_pm == record.NO_RH:
        rig.rate_um_h = rig.typical_um // 24 if rig.typical_um else UNKNOWN_UM_H
    else:
        vpd_pa = demand.deficit_pa(readings.temp_cdeg, readings.rh_pm)
        rig.rate_um_h = demand.rate_um_h(vpd_pa, readings.lx, settings["dark_lx"])
    if readings.lx >= 0:
        rig.lx = readings.lx
    else:
        rig.lx = settings["dark_lx"]
    span_s = elapsed_s if elapsed_s < _LONGEST_S else _LONGEST_S
    um = demand.over_um((before + rig.rate_um_h) // 2, span_s)
    rig.day_um += um
    return um


def _battery(rig, readings, settings):
    now_mv = readings.battery_mv
    swapped = battery.swapped(rig.rest_mv, now_mv, settings["battery_cells"])
    if swapped:
        rig.used_uah = 0
        rig.sag_mv = 0
    rig.soc_pm = battery.charge_pm(now_mv, rig.used_uah, settings)
    if swapped or now_mv and not rig.rest_mv and settings["battery_kind"] != "nimh":
        # Not seen before: what is gone of it went uncounted.
        rig.used_uah = battery.since_full_uah(rig.soc_pm, settings)
        rig.day_uah = rig.used_uah
    rig.rest_mv = now_mv


def _observe(state, readings, settings, um):
    """Take each probe's reading; returns which are believed now."""
    rig = state.rig
    # What warms a probe is the soil around it, which lags the air by hours.
    temp = readings.temp_cdeg if readings.soil_cdeg == record.NO_TEMP else readings.soil_cdeg
    temp = None if temp == record.NO_TEMP else temp
    foot_ul = rig.tray_ul if settings["pots_in_tray"] else 0
    believed = []
    for index, pot in enumerate(state.pots):
        channel = settings["channels"][index]
        if pot.intent_ms:
            water.found_open(rig, pot, readings.cause in timekeep.UNPLANNED, settings)
        if not ladder.check_calibration(pot, channel, rig.up_s):
            believed.append(False)
            continue
        if readings.cause in timekeep.UNPLANNED and pot.ladder == TENDED:
            # Nobody knows for how long it lay without power: what the pot lost meanwhile is no fault of its probe.
            pot.known = 0
        reading = (readings.raw[index], readings.spread[index], temp)
        was_pm = pot.pm if pot.known else None
        wrong = watch.observe(pot, channel, reading, (rig.up_s, readings.elapsed_s, um), foot_ul)
        ladder.judge_reading(pot, wrong, rig.up_s)
        if wrong:
            pot.day_ok = 0
        elif was_pm is not None:
            tray.count_fall(rig, pot, settings, index, (was_pm, readings.elapsed_s))
        believed.append(wrong == reasons.NONE)
    for index, pot in enumerate(state.pots):
        if not believed[index]:
            continue
        if pot.judge:
            proof.judge(state, index, settings)
        proof.late(rig, pot, settings["channels"][index], settings["night_wake_s"])
        if pot.closing:
            closing.close_dose(state, index, settings)
    _rising(state, settings, believed)
    tray.fallen(state, settings, believed)
    tray.all_dry(state, settings, believed)
    return believed


def _rising(state, settings, believed):
    """Several pots, and all that can be believed, rose with nothing given: water stands in the tray.

    One alone may have been watered by hand. Nothing is given for a day; a pot that
    stands in water is not short of it before.
    """
    rig = state.rig
    lifted = []
    for index, pot in enumerate(state.pots):
        if not believed[index]:
            continue
        if not watch.lifted(pot, settings["channels"][index]):
            return
        lifted.append(pot)
    if len(lifted) > 1 and rig.hold == reasons.NONE:
        rig.hold = reasons.RISING
        rig.hold_s = rig.up_s
        for pot in lifted:
            pot.low_pm = pot.pm


def _people(state, readings, settings):
    """Button and acknowledgement number; returns whether there was one."""
    rig = state.rig
    looked = readings.button or rig.ack != settings["ack"]
    if readings.button == 2:
        ladder.service(state)
    elif looked:
        ladder.acknowledge(state)
    rig.ack = settings["ack"]
    return looked


def _learn_day(state, settings):
    """At the end of a proven day: its demand, its charge, each pot's use."""
    rig = state.rig
    if rig.up_s - rig.day_s < DAY_S:
        return
    um = rig.day_um
    rig.last_um = um
    rig.typical_um = clamp(ease(rig.typical_um, um, 5) if rig.typical_um else um, 1, 65535)
    rig.used_uah += battery.leak_uah_day(settings)
    used = battery.really_uah(rig.used_uah - rig.day_uah, rig.soc_pm, rig.used_uah, settings)
    rig.usage_uah = ease(rig.usage_uah, used, battery.LATE_DAYS) if rig.usage_uah else used
    rig.past_uah = ease(rig.past_uah, used, battery.PAST_DAYS) if rig.past_uah else used
    rig.day_uah = rig.used_uah
    rig.day_um = 0
    rig.day_s = rig.up_s
    for index, pot in enumerate(state.pots):
        channel = settings["channels"][index]
        shows = pot.ladder == TENDED and not pot.unproven and watch.stays(pot)
        if pot.day_ok and um >= LEAST_DAY_UM and shows:
            # What ran through, or never came, was not drunk.
            drunk_ul = pot.day_ul * pot.kept_pm // 1000 + dosing.water_ul(pot.day_pm - pot.pm, channel)
            drunk_ul = clamp(drunk_ul, 0, channel["day_ml"] * 1000)
            implied = watch.implied_ul_mm(channel)
            use = clamp(drunk_ul * 1000 // um, implied // USE_LEAST_SHARE, implied * USE_MOST_TIMES)
            pot.use_ul_mm = ease(pot.use_ul_mm, use, 4) if pot.use_ul_mm else use
            pot.learned = clamp(pot.learned + 1, 0, 250)
            pot.ref_ul_mm = max(pot.use_ul_mm, pot.ref_ul_mm - pot.ref_ul_mm // _REF_FADES_DAYS)
        pot.day_ok = 1 if pot.known and pot.ladder == TENDED else 0
        pot.day_ul = 0
        pot.day_pm = pot.pm


def _alarm(state, readings, settings, days):
    """The loudest of what the rig and its pots ask for: signals.*"""
    rig = state.rig
    alarm = signals.rig_level(rig.hold, rig.memory, readings.errors, days)
    if settings["insist"] and alarm == signals.CALM:
        # Settings that starve a plant were insisted on: said for as long as they run.
        alarm = signals.NOTE
    if state.extra:
        from potreeve.logic import extra

        alarm = max(alarm, extra.level(state.extra))
    for pot in state.pots:
        level = signals.pot_level(pot.ladder, pot.reason)
        if level > alarm:
            alarm = level
    return alarm


def _record(state, readings, settings, actions, days):
    rig = state.rig
    head = (
        len(state.pots),
        rig.seq,
        rig.up_s,
        readings.utc_s,
        readings.elapsed_s,
        clamp(readings.awake_ms, 0, _AWAKE_MOST_MS),
        readings.cause,
        readings.button,
        readings.battery_mv,
        readings.temp_cdeg,
        readings.rh_pm,
        record.light_field(readings.lx),
        readings.usb,
        actions.sleep_s,
        rig.hold,
        actions.alarm,
        rig.memory,
        rig.soc_pm,
        days,
        clamp(div_up(rig.tray_ul, 1000), 0, 65535),
        readings.errors,
    )
    rows = []
    for index, pot in enumerate(state.pots):
        most = dosing.most_ul(actions.pulse_ms[index], settings["channels"][index], rig.rest_mv)
        rows.append(
            (
                readings.raw[index],
                readings.spread[index],
                readings.done_ms[index],
                readings.under_mv[index],
                pot.pm,
                pot.ladder,
                pot.reason,
                actions.pulse_ms[index],
                clamp(div_up(most, limits.TENTH_UL), 0, 65535),
            )
        )
    line = record.encode(head, rows)
    if not state.extra:
        return line
    from potreeve.logic import extra

    return extra.in_record(line, readings, state.extra)
