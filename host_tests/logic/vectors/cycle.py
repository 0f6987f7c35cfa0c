"""Whole wakes: long walks of made-up readings, compared between the interpreters, and single steps."""

from binascii import crc32

from potreeve.logic import cycle, record, state

from vectors.made import fields, make_state, settings

ENERGY = {"active_ua": 30000, "sleep_ua": 1500, "boot_ms": 500, "boot_ua": 40000, "pump_ua": 150000, "probe_ua": 5000,
          "report_uah": 60}


def readings(pms, changes):
    seen = cycle.Readings()
    seen.cause = 6
    seen.elapsed_s = 1800
    seen.awake_ms = 1500
    seen.button = 0
    seen.utc_s = 1780000000
    seen.usb = 0
    seen.battery_mv = 3900
    seen.temp_cdeg = 2100
    seen.rh_pm = 450
    seen.lx = 800
    seen.errors = 0
    seen.raw = [52000 - 30 * pm for pm in pms]
    seen.spread = [40] * len(pms)
    seen.done_ms = [record.NOT_RUN] * len(pms)
    seen.under_mv = [0] * len(pms)
    for name in changes:
        setattr(seen, name, changes[name])
    return seen


def walk(seed, wakes, count):
    """CRCs of all records and of all packed states of a walk through invented readings, and what it met:
    (records, states, pulses, rungs seen, last up_s). Numbers come from a small integer generator."""
    dice = seed

    def roll(most):
        nonlocal dice
        dice = (dice * 1103 + 12345) % 65536
        return dice % most

    told = settings(count, {}, {})
    now = make_state({"up_s": 1073730000, "bucket_s": 1073730000, "day_s": 1073730000, "seq": 4294967290},
                     *[{} for _ in range(count)])
    pms = [640 + 40 * index for index in range(count)]
    done = [record.NOT_RUN] * count
    under = [0] * count
    records = states = pulses = 0
    rungs = [0, 0, 0]
    bad = bad_for = 0
    for _ in range(wakes):
        pms = [pm - roll(14) for pm in pms]
        raws = [52000 - 30 * pm + roll(120) - 60 for pm in pms]
        if bad_for == 0 and roll(12) == 0:
            bad, bad_for = roll(count), 1 + roll(9)
        if bad_for:
            raws[bad] = roll(65536)
            bad_for -= 1
        seen = readings(pms, {"raw": raws, "done_ms": done, "under_mv": under})
        seen.elapsed_s = (0, 300, 1800, 1800, 3420, 20000)[roll(6)]
        seen.cause = (6, 6, 2, 2, 0, 1, 3)[roll(7)]
        seen.button = 1 if roll(25) == 0 else 2 if roll(60) == 0 else 0
        seen.battery_mv = 0 if roll(20) == 0 else 3500 + roll(700)
        seen.temp_cdeg = record.NO_TEMP if roll(12) == 0 else roll(5000) - 1000
        seen.rh_pm = roll(1100)
        seen.lx = roll(9000) - 500 if roll(3) else 0
        seen.errors = 1 << roll(11)
        now, actions, line = cycle.step(now, seen, told, ENERGY)
        # Without its own checksum, over which every CRC is the same.
        records = crc32(line[:-4], records)
        done = [record.NOT_RUN] * count
        under = [0] * count
        for index, ms in enumerate(actions.pulse_ms):
            if ms and roll(8):
                pulses += 1
                done[index] = ms
                under[index] = 3300 + roll(500)
                pms[index] += roll(3) * ms // 250
        now = cycle.settle(now, done, under)
        states = crc32(state.pack(now), states)
        for pot in now.pots:
            rungs[pot.ladder] += 1
    return records & 0xFFFFFFFF, states & 0xFFFFFFFF, pulses, rungs, now.rig.up_s


def alarm(rig, pots, changes, told=None):
    """(alarm, panel, sleep)"""
    made = make_state(rig, *pots)
    _, actions, _ = cycle.step(made, readings([890] * len(pots), changes), settings(len(pots), told or {}, {}), ENERGY)
    return actions.alarm, actions.panel, actions.sleep_s


def stepped(rig, pots, changes, names, pot_names, channel=None):
    """Some fields of the rig and of the first pot after one step."""
    made = make_state(rig, *pots)
    now, _, _ = cycle.step(made, readings([890] * len(pots), changes), settings(len(pots), {"ack": 3}, channel or {}),
                           ENERGY)
    told = fields(names, now.rig)
    told.update(fields(pot_names, now.pots[0]))
    return told


def remembered(rig):
    """(memory, tray, the pot's day, acknowledgement) once settings are known"""
    made = make_state(dict({"ack": 9}, **rig), CALM)
    cycle.remember(made, settings(1, {"ack": 3}, {}))
    return made.rig.memory, made.rig.tray_ul, made.pots[0].spent[0], made.rig.ack


def nickel(rig, battery_mv):
    """(charge counted, when the day began, pm) after a step of a rig on three nickel cells."""
    made = make_state(rig, CALM)
    told = settings(1, {"ack": 3, "battery_kind": "nimh", "battery_cells": 3}, {})
    now, _, _ = cycle.step(made, readings([890], {"battery_mv": battery_mv}), told, ENERGY)
    return now.rig.used_uah, now.rig.day_uah, now.rig.soc_pm


def parched(pot, elapsed_s, changes):
    """(reason, alarm, pulse in ms) of a pot that has been dry for five and a half hours, so much later."""
    made = make_state({}, dict(PARCHED, **pot))
    seen = readings([400], dict({"elapsed_s": elapsed_s}, **changes))
    now, actions, _ = cycle.step(made, seen, settings(1, {}, {}), ENERGY)
    return now.pots[0].reason, actions.alarm, actions.pulse_ms[0]


def drifting(pot, changes):
    """(reason, alarm) of a pot that asks for little more than half of what it used to."""
    start = dict(CALM, learned=14, use_ul_mm=549, ref_ul_mm=1000)
    now, actions, _ = cycle.step(make_state({}, dict(start, **pot)), readings([890], changes), settings(1, {}, {}),
                                 ENERGY)
    return now.pots[0].reason, actions.alarm


def waiting(pot, pm):
    """(reason, alarm) of a pot for which the tray has no room."""
    calm = dict(CALM, pm=pm, model_pm=pm, fell_pm=pm, filtered=16 * (52000 - 30 * pm), low_pm=pm, high_pm=pm)
    made = make_state({"up_s": 400000, "tray_ul": 1600000}, dict(calm, pulsed=1, **pot))
    now, actions, _ = cycle.step(made, readings([pm], {}), settings(1, {}, {}), ENERGY)
    return now.pots[0].reason, actions.alarm


def beside(pm, other, other_pm, told):
    """(reason, alarm) of a pot beside another."""
    full = dict(CALM, pm=pm, model_pm=pm, fell_pm=pm, filtered=16 * (52000 - 30 * pm), low_pm=pm)
    made = make_state({}, full, dict(CALM, **other))
    now, actions, _ = cycle.step(made, readings([pm, other_pm], {}), settings(2, told, {}), ENERGY)
    return now.pots[0].reason, actions.alarm


def rose(rig, pots):
    """(why the rig is held, since when, lowest moisture that each rise counts from); `spoilt`: its wire is broken."""
    made = make_state(rig, *[{name: pot[name] for name in pot if name != "spoilt"} for pot in pots])
    raws = [65535 if "spoilt" in pot else 25000 for pot in pots]
    now, actions, _ = cycle.step(made, readings([900] * len(pots), {"raw": raws}), settings(len(pots), {}, {}), ENERGY)
    assert actions.pulse_ms == [0] * len(pots)
    return now.rig.hold, now.rig.hold_s, [pot.low_pm for pot in now.pots]


def settled(done_ms, under_mv):
    made = make_state({}, {"intent_ms": 5000, "judge": 1}, {})
    now = cycle.settle(made, done_ms, under_mv)
    return [pot.intent_ms for pot in made.pots], [pot.intent_ms for pot in now.pots], now.pots[0].judge, now.rig.sag_mv


# 10 pm short of full and 40 above where it is due. Raw 25300 is 890 pm.
CALM = {"known": 1, "pm": 890, "model_pm": 890, "fell_pm": 890, "filtered": 404800, "raw": 25400}
HELD = {"ladder": 2, "reason": 20, "pm": 890, "filtered": 404800}
RATIONED = {"ladder": 1, "reason": 7, "pm": 890, "filtered": 404800}
# Below its stress point, 475 pm; and risen by 40 pm to its fill mark with nothing given.
PARCHED = {"known": 1, "pm": 400, "model_pm": 400, "fell_pm": 400, "filtered": 640000, "raw": 40100, "dry_s": 19800}
WET = {"ladder": 2, "reason": 23, "pm": 1090, "model_pm": 1090, "fell_pm": 1090, "filtered": 308800, "raw": 19300,
       "wet_s": 50000, "low_pm": 1090}
LIFTED = {"known": 1, "pm": 900, "model_pm": 900, "fell_pm": 900, "filtered": 400000, "raw": 25100, "low_pm": 860}

VECTORS = (
    ("walk", (12, 38, 1), "any"),
    ("walk", (12, 34, 2), "any"),
    ("walk", (12, 24, 4), "any"),
    ("alarm", ({}, [CALM], {}), (0, (1, 0, 0, 150), 1800)),
    ("alarm", ({}, [CALM], {"lx": 0}), (0, (1, 0, 0, 150), 3600)),
    ("alarm", ({}, [CALM], {"lx": -1}), (0, (1, 0, 0, 150), 1800)),
    ("alarm", ({"memory": 1}, [CALM], {}), (1, (1, 1, 0, 150), 1800)),
    ("alarm", ({"hold": 50}, [CALM], {}), (1, (1, 1, 0, 150), 1800)),
    ("alarm", ({"hold": 51, "boots": 6}, [CALM], {}), (2, (0, 1, 400, 1000), 1800)),
    ("alarm", ({}, [CALM], {"errors": 2048}), (2, (0, 1, 400, 1000), 1800)),
    ("alarm", ({"hold": 53}, [CALM], {}), (0, (1, 0, 0, 150), 1800)),
    ("alarm", ({}, [CALM, HELD], {}), (2, (0, 1, 400, 1000), 1800)),
    ("alarm", ({}, [CALM, HELD], {"lx": 0}), (2, (0, 1, 0, 1000), 3600)),
    ("alarm", ({}, [RATIONED, CALM], {}), (2, (0, 1, 400, 1000), 1800)),
    ("alarm", ({}, [RATIONED, HELD], {}), (2, (0, 1, 400, 1000), 1800)),
    ("alarm", ({}, [CALM], {"battery_mv": 3400}), (0, (1, 0, 0, 150), 3600)),
    # Settings under which a plant must starve are said for as long as they run, under anything louder.
    ("alarm", ({}, [CALM], {}, {"insist": True}), (1, (1, 1, 0, 150), 1800)),
    ("alarm", ({}, [HELD], {}, {"insist": True}), (2, (0, 1, 400, 1000), 1800)),
    # Six hours below the stress point call, whatever the cause; a weak battery is named itself, and so is what holds a
    # pot.
    ("parched", ({}, 1799, {}), (0, 0, 6750)),
    ("parched", ({}, 1800, {}), (35, 2, 6750)),
    ("parched", ({"spent": [2000] + [0] * 12}, 1799, {}), (31, 0, 0)),
    ("parched", ({"spent": [2000] + [0] * 12}, 1800, {}), (35, 2, 0)),
    ("parched", ({}, 1800, {"battery_mv": 3250}), (34, 2, 0)),
    ("parched", ({"ladder": 2, "reason": 21, "pulsed": 1, "pulse_s": 1000}, 1800, {}), (21, 2, 0)),
    # A probe that drifts is told of where nothing worse is.
    ("drifting", ({}, {}), (9, 2)),
    ("drifting", ({"use_ul_mm": 550}, {}), (0, 0)),
    ("drifting", ({"dry_s": 30000}, {}), (9, 2)),
    # One that is kept full needs a person sooner.
    ("drifting", ({"surplus": 500}, {}), (36, 2)),
    ("drifting", ({"surplus": 300}, {}), (9, 2)),
    # And one that lets most of its water through, where nothing else is wrong.
    ("drifting", ({"kept_pm": 499, "use_ul_mm": 550}, {}), (37, 2)),
    ("drifting", ({"kept_pm": 500, "use_ul_mm": 550}, {}), (0, 0)),
    ("drifting", ({"kept_pm": 499}, {}), (9, 2)),
    ("drifting", ({"surplus": 500, "ladder": 2, "reason": 22}, {}), (22, 2)),
    ("drifting", ({"ladder": 2, "reason": 22}, {}), (22, 2)),
    # One that is due at 850 pm, stands 50 below that and got none for two days calls, whatever keeps it from it.
    ("waiting", ({"pulse_s": 229000}, 800), (38, 2)),
    ("waiting", ({"pulse_s": 229001}, 800), (33, 1)),
    ("waiting", ({"pulse_s": 229000}, 801), (33, 1)),
    ("waiting", ({"pulse_s": 229000, "dry_s": 30000}, 400), (35, 2)),
    ("waiting", ({"pulse_s": 0, "ladder": 2, "reason": 22}, 800), (22, 2)),
    # Beside one that is held for being too wet, one above container capacity may stand in the same water; on feet it
    # does not, and neither another hold nor a pot that is wet but not held tells of any.
    ("beside", (1001, WET, 1090, {"pots_in_tray": True}), (36, 2)),
    ("beside", (990, WET, 1090, {"pots_in_tray": True}), (0, 2)),
    ("beside", (1001, WET, 1090, {}), (0, 2)),
    ("beside", (1001, dict(WET, reason=22), 1090, {"pots_in_tray": True}), (0, 2)),
    ("beside", (1001, dict(WET, ladder=0, reason=0, wet_s=0), 1090, {"pots_in_tray": True}), (0, 0)),
    # Several pots, and all that are believed, rose with nothing given: no water for a day.
    ("rose", ({}, [LIFTED, LIFTED]), (55, 1800, [900, 900])),
    ("rose", ({}, [LIFTED]), (0, 0, [860])),
    ("rose", ({}, [LIFTED, dict(LIFTED, low_pm=861)]), (0, 0, [860, 861])),
    ("rose", ({}, [dict(LIFTED, low_pm=861), LIFTED, LIFTED]), (0, 0, [861, 860, 860])),
    ("rose", ({}, [LIFTED, dict(LIFTED, spoilt=1)]), (0, 0, [860, 860])),
    ("rose", ({}, [dict(LIFTED, spoilt=1), LIFTED, LIFTED]), (55, 1800, [860, 900, 900])),
    ("rose", ({}, [dict(LIFTED, spoilt=1), dict(LIFTED, spoilt=1)]), (0, 0, [860, 860])),
    ("rose", ({"hold": 50, "hold_s": 9}, [LIFTED, LIFTED]), (50, 9, [860, 860])),
    # cycle.remember(): a memory just lost knows nothing of its tray but that it holds no less than it had.
    ("remembered", ({"memory": 2},), (1, 1500000, 2000, 3)),
    ("remembered", ({"memory": 2, "tray_ul": 1500001},), (1, 1500001, 2000, 3)),
    ("remembered", ({"memory": 1, "tray_ul": 5},), (1, 5, 0, 9)),
    ("remembered", ({"memory": 0, "tray_ul": 5},), (0, 5, 0, 9)),
    # A memory just lost: its day is given, its tray full, less half an hour's drying.
    ("stepped", ({"memory": 2, "ack": 9}, [CALM, CALM], {}, ("memory", "tray_ul", "ack"), ("spent",)),
     {"memory": 1, "tray_ul": 1499063, "ack": 3, "spent": [2000] + [0] * 12}),
    ("stepped", ({"memory": 1}, [CALM], {}, ("memory", "tray_ul"), ("spent",)),
     {"memory": 1, "tray_ul": 0, "spent": [0] * 13}),
    ("settled", ([5000, 65535], [3700, 0]), ([5000, 0], [0, 0], 1, 200)),
    ("settled", ([65535, 65535], [0, 0]), ([5000, 0], [0, 0], 0, 0)),
    # Demand: 21 degrees at 45 % is 1368 Pa, 68 um/h, and 800 lx 5 um/h more.
    ("stepped", ({}, [CALM], {}, ("up_s", "rate_um_h", "day_um", "lx", "used_uah"), ()),
     {"up_s": 1800, "rate_um_h": 73, "day_um": 18, "lx": 800, "used_uah": 765}),
    ("stepped", ({"rate_um_h": 73}, [CALM], {"elapsed_s": 20000}, ("up_s", "day_um"), ()),
     {"up_s": 20000, "day_um": 292}),
    ("stepped", ({}, [CALM], {"cause": 2, "done_ms": [6250]}, ("used_uah",), ()), {"used_uah": 1099}),
    ("stepped", ({}, [CALM], {"temp_cdeg": -32768}, ("rate_um_h",), ()), {"rate_um_h": 60}),
    ("stepped", ({"typical_um": 2400}, [CALM], {"rh_pm": -1}, ("rate_um_h",), ()), {"rate_um_h": 100}),
    ("stepped", ({}, [CALM], {"lx": -1}, ("rate_um_h", "lx"), ()), {"rate_um_h": 68, "lx": 20}),
    ("stepped", ({"utc_s": 5}, [CALM], {"utc_s": 0}, ("utc_s",), ()), {"utc_s": 5}),
    ("stepped", ({"seq": 4294967295}, [CALM], {}, ("seq",), ()), {"seq": 0}),
    # Another battery.
    ("stepped", ({"rest_mv": 3700, "used_uah": 9000, "day_uah": 8000, "sag_mv": 300}, [CALM], {},
                 ("used_uah", "day_uah", "sag_mv", "rest_mv"), ()),
     {"used_uah": 862500, "day_uah": 862500, "sag_mv": 0, "rest_mv": 3900}),
    # One not seen before: 345 pm of 2500 mAh are gone, which nobody counted. A nickel one is believed, unless it is
    # another.
    ("stepped", ({"ack": 3, "rest_mv": 0, "used_uah": 9000, "sag_mv": 300}, [CALM], {},
                 ("used_uah", "day_uah", "sag_mv"), ()),
     {"used_uah": 862500, "day_uah": 862500, "sag_mv": 300}),
    ("nickel", ({"ack": 3, "rest_mv": 0, "used_uah": 9000}, 3700), (9765, 0, 997)),
    ("nickel", ({"ack": 3, "rest_mv": 3700, "used_uah": 9000}, 4150), (0, 0, 1000)),
    ("stepped", ({"ack": 3, "rest_mv": 3751, "used_uah": 9000, "sag_mv": 300}, [CALM], {}, ("used_uah", "sag_mv"), ()),
     {"used_uah": 9765, "sag_mv": 300}),
    ("stepped", ({"rest_mv": 3700}, [CALM], {"battery_mv": 0}, ("rest_mv", "soc_pm"), ()),
     {"rest_mv": 0, "soc_pm": 1000}),
    # A day is learned from: 50 ml given and 30 pm drawn for 1037 um; 765 uAh counted and 3698 lost by itself, of which
    # the voltage says that it was more.
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000, "rate_um_h": 73},
                 [dict(CALM, day_ok=1, day_ul=50000, day_pm=920)], {},
                 ("day_s", "day_um", "last_um", "typical_um", "usage_uah", "day_uah"), ("use_ul_mm", "day_ul",
                                                                                        "day_pm", "day_ok")),
     {"day_s": 86400, "day_um": 0, "last_um": 1037, "typical_um": 1037, "usage_uah": 7513, "day_uah": 4463,
      "use_ul_mm": 62680, "day_ul": 0, "day_pm": 890, "day_ok": 1}),
    # Half of what was given ran through, or never came: it was not drunk.
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000, "rate_um_h": 73},
                 [dict(CALM, day_ok=1, day_ul=50000, day_pm=920, kept_pm=500)], {}, (), ("use_ul_mm",)),
     {"use_ul_mm": 38572}),
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000, "rate_um_h": 73, "typical_um": 1000,
                  "usage_uah": 1000},
                 [dict(CALM, day_ok=1, day_ul=50000, day_pm=920, use_ul_mm=60000)], {},
                 ("typical_um", "usage_uah"), ("use_ul_mm",)),
     {"typical_um": 1007, "usage_uah": 1814, "use_ul_mm": 60670}),
    ("stepped", ({"up_s": 84599, "bucket_s": 84599, "day_um": 1000}, [CALM], {}, ("day_s", "last_um"), ("day_ok",)),
     {"day_s": 0, "last_um": 0, "day_ok": 0}),
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000}, [dict(CALM, day_ok=0, day_ul=50000)], {},
                 (), ("use_ul_mm", "day_ok")), {"use_ul_mm": 0, "day_ok": 1}),
    # A day with water that nothing proved says nothing of the plant.
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000, "rate_um_h": 73},
                 [dict(CALM, day_ok=1, day_ul=50000, day_pm=920, unproven=1)], {}, (),
                 ("use_ul_mm", "day_ul", "day_ok", "learned")),
     {"use_ul_mm": 0, "day_ul": 0, "day_ok": 1, "learned": 0}),
    # Nor does one of a pot whose water does not stay.
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000, "rate_um_h": 73},
                 [dict(CALM, day_ok=1, day_ul=50000, day_pm=920, kept_pm=499)], {}, (),
                 ("use_ul_mm", "day_ul", "day_ok", "learned")),
     {"use_ul_mm": 0, "day_ul": 0, "day_ok": 1, "learned": 0}),
    # The most it lately used: this day's, or what it was less a two-hundredth.
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000, "rate_um_h": 73},
                 [dict(CALM, day_ok=1, day_ul=50000, day_pm=920, ref_ul_mm=62000, learned=250)], {}, (),
                 ("use_ul_mm", "ref_ul_mm", "learned")),
     {"use_ul_mm": 62680, "ref_ul_mm": 62680, "learned": 250}),
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000, "rate_um_h": 73},
                 [dict(CALM, day_ok=1, day_ul=50000, day_pm=920, ref_ul_mm=64000)], {}, (), ("use_ul_mm", "ref_ul_mm",
                                                                                             "learned")),
     {"use_ul_mm": 62680, "ref_ul_mm": 63680, "learned": 1}),
    # Learned use stays between an eighth and eight times what the ration implies, 16666 ul/mm.
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000}, [dict(CALM, day_ok=1, day_pm=890)], {},
                 (), ("use_ul_mm",)), {"use_ul_mm": 2083}),
    ("stepped", ({"ack": 3, "up_s": 84600, "bucket_s": 84600, "day_um": 1000},
                 [dict(CALM, day_ok=1, day_pm=890, day_ul=200000)], {},
                 (), ("use_ul_mm",)), {"use_ul_mm": 133328}),
    # What a dose not yet settled stands for does not dry.
    ("stepped", ({"tray_ul": 30500}, [dict(CALM, closing=1, dose_most_ul=30000)], {}, ("tray_ul",), ()),
     {"tray_ul": 30000}),
    ("stepped", ({"tray_ul": 30500}, [CALM], {}, ("tray_ul",), ()), {"tray_ul": 29563}),
    # A day with next to no demand says nothing of the plant: not even this pot's 15 ml.
    ("stepped", ({"up_s": 84600, "bucket_s": 84600}, [dict(CALM, day_ok=1, day_pm=920)],
                 {"rh_pm": 1000, "lx": 0}, ("last_um",), ("use_ul_mm",)), {"last_um": 0, "use_ul_mm": 0}),
    ("stepped", ({"up_s": 84600, "bucket_s": 84600, "day_um": 150}, [dict(CALM, day_ok=1, day_pm=920)],
                 {}, ("last_um",), ("use_ul_mm",)), {"last_um": 168, "use_ul_mm": 0}),
    ("stepped", ({"up_s": 84600, "bucket_s": 84600, "day_um": 182}, [dict(CALM, day_ok=1, day_pm=920)],
                 {}, ("last_um",), ("use_ul_mm",)), {"last_um": 200, "use_ul_mm": 75000}),
    # An intent found open, a channel never calibrated, an acknowledgement.
    ("stepped", ({}, [dict(CALM, intent_ms=5000, judge=1)], {}, ("up_s",), ("intent_ms", "pulse_s", "judge")),
     {"up_s": 1800, "intent_ms": 0, "pulse_s": 1800, "judge": 1}),
    ("stepped", ({}, [CALM], {}, (), ("ladder", "reason"), {"curve": ()}), {"ladder": 2, "reason": 24}),
    ("stepped", ({"ack": 3}, [HELD], {}, ("ack",), ("ladder",)), {"ack": 3, "ladder": 2}),
    ("stepped", ({"ack": 2}, [HELD], {}, ("ack",), ("ladder",)), {"ack": 3, "ladder": 0}),
    ("stepped", ({"ack": 3}, [HELD], {"button": 1}, (), ("ladder",)), {"ladder": 0}),
    ("stepped", ({"ack": 3}, [HELD], {"button": 2}, ("hold",), ("ladder",)), {"hold": 50, "ladder": 2}),
    ("stepped", ({"hold": 53}, [CALM], {"errors": 2048}, ("hold",), ()), {"hold": 53}),
    ("stepped", ({"hold": 50}, [CALM], {"errors": 2048}, ("hold",), ()), {"hold": 53}),
    ("stepped", ({"hold": 53}, [CALM], {}, ("hold",), ()), {"hold": 0}),
)
