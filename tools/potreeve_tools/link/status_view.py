"""What a board's files say about the rig right now, as plain values and as one screen."""

from potreeve.logic import battery, dosing, proof, reasons, record, recorded
from potreeve.logic.state import HELD, RATIONED, TENDED

from potreeve_tools.link import (
    boardnames,
    calibrate_notes,
    logs_export,
    logs_read,
    settings_meaning,
    status_tub,
    water_wait,
)
from potreeve_tools.words import sentences as words

# A pulse runs within so much of what was asked (3 ms on an emulated chip, findings of the house; ours with room).
SAME_MS = 50

SENSOR = {
    "dry": ", its sensor is dry",
    "wet": ", but its sensor feels water",
    "broken": "; its sensor's wire is broken",
    "odd": "; its sensor is shorted, or in salty water",
}
"""What the tray's sensor said in the last wake, where there is one."""

FOR = {TENDED: "a refill", RATIONED: "a ration", HELD: "a trial while held"}
"""What a pulse of the board's own was for, by what the pot was."""


def records(tail):
    """[(head, pots)] of the whole records in a segment's last bytes, oldest first.

    tail: the segment's end, any length, with its head left out or not.
    """
    size, found, end = record.RECORD_BYTES, [], len(tail)
    while end >= size:
        got = recorded.decode(tail[end - size : end])
        if got:
            found.append(got)
        # One after the other once the first is found; what is damaged is passed over, its place is known.
        end -= size if found else 1
    return found[::-1]


def overview(settings, state, records=(), notes=(), calibrations=()):
    """Plain values of the screen.

    settings: checked, or None; state: State, or None; records: its newest (head, pots), oldest first;
    notes: (what, what to do) pairs found while the files were read; calibrations:
    as calibrate_notes.read gives them.
    """
    faults = [_fault(what, do) for what, do in notes]
    view = {"rig": settings["name"] if settings else None, "pots": [], "faults": faults}
    if settings is None:
        faults.append(_fault(*words.why(reasons.NO_SETTINGS)))
        return view
    if state is None:
        faults.append(
            _fault(
                "the board has no memory yet: it has never been awake with settings, or lost it",
                "leave service mode and let it wake once",
            )
        )
    view["time_utc"] = logs_read.iso_utc(state.rig.utc_s) or None if state else None
    view["proven_s"] = state.rig.up_s if state else None
    if state is not None:
        caps = settings_meaning.caps_left(settings, state)
        view["pots"] = [
            {
                **_pot(index, settings, state, caps, records),
                "calibrated": _calibrated(settings["channels"][index], calibrations),
            }
            for index in range(len(state.pots))
        ]
        view["caps_left"] = {"rig_today_ml": caps["rig_ml"], "tray_ml": caps["tray_ml"]}
        view["battery"] = _battery(settings, state)
        view["tub"] = status_tub.seen(state)
        view["next_wake_s"] = state.rig.planned_s or None
        _rig_faults(state, view["tub"], faults)
    if records:
        view |= {key: logs_export.wake_facts(records[-1][0])[key] for key in ("tray_sensor", "soil_cdeg")}
        for bit, (what, do) in words.ERRORS.items():
            if records[-1][0]["errors"] & bit:
                faults.append(_fault(what, do))
    return view


def _calibrated(channel, calibrations):
    """{"probe", "pump": {"date", "uncertainty"} or None}: None where no note speaks for what is set."""
    found = {}
    for kind, kinds, there in (
        ("probe", ("probe", "point"), channel["curve"]),
        ("pump", ("pump",), channel["pump_ul_s"]),
    ):
        note = calibrate_notes.last(calibrations, kinds, channel) if there else None
        found[kind] = {"date": note["date"], "uncertainty": str(note.get("uncertainty", ""))} if note else None
    return found


def _fault(what, do):
    return {"what": what[:1].upper() + what[1:] + ".", "do": do[:1].upper() + do[1:] + "."}


def _rig_faults(state, tub, faults):
    if tub and tub["note"]:
        faults.append(_fault(tub["why"], tub["do"]))
    if state.rig.memory:
        faults.append(_fault(*words.MEMORY))
    if state.rig.hold:
        what, do = words.why(state.rig.hold)
        faults.append(_fault(f"the whole rig gets no water: {what}", do))


def _pot(index, settings, state, caps, records):
    channel, pot = settings["channels"][index], state.pots[index]
    what, do = words.why(pot.reason) if pot.reason else (None, None)
    return {
        "name": channel["name"],
        "plant": channel["plant"],
        "rung": words.RUNGS.get(pot.ladder, "?"),
        "moisture_pm": pot.pm if channel["curve"] and (pot.known or pot.filtered) else None,
        "refill_pm": dosing.refill_point_pm(channel),
        # What its plant drinks and what its probe may be wrong by lift it above the refill point.
        "due_pm": proof.due_pm(state.rig, pot, channel),
        "reason": logs_export.reason_word(pot.reason) or None,
        "why": what,
        "do": do,
        **_last_pulse(index, channel, pot, records),
        "last_pulse_ago_s": state.rig.up_s - pot.pulse_s if pot.pulsed else None,
        "dosing": bool(pot.dosing),
        "left_today_ml": caps["pots_ml"][index],
        "no_water": _no_water(settings, state, index) if not caps["pots_ml"][index] else None,
        "given_ever_ml": pot.total_ul // 1000,
    }


def _no_water(settings, state, index):
    """{"why", "until", "wait_s", "only_counted"} of a pot whose day is used up, else None."""
    told = water_wait.sentence(settings, state, index)
    if told is None:
        return None
    return {
        "why": told[0],
        "until": told[1],
        "wait_s": water_wait.wait_s(settings, state, index),
        "only_counted": water_wait.only_counted(settings, state, index),
    }


def _last_pulse(index, channel, pot, records):
    """How long the last pulse ran, what it likely brought and who asked for it, as far as ledger and records tell; else
    None.

    A wake's record holds what was asked for and, of the pulse before it, how long that really ran. A person's
    pulses stand in no record of their own, but in the next wake's, too.
    """
    told = {"last_pulse_ran_ms": None, "last_pulse_ul": None, "last_pulse_by": None, "last_pulse_for": None}
    if not pot.pulsed:
        return told
    ran_ms, before = pot.done_ms, records
    if ran_ms == record.NOT_RUN:
        place = max((at for at, (_, pots) in enumerate(records) if _ran(pots, index)), default=None)
        if place is None or records[place][0]["up_s"] < pot.pulse_s:
            return told
        ran_ms, before = records[place][1][index]["done_ms"], records[:place]
    told["last_pulse_ran_ms"] = ran_ms
    if channel["pump_ul_s"]:
        told["last_pulse_ul"] = dosing.likely_ul(ran_ms, 0, channel)
    if before and before[-1][0]["up_s"] == pot.pulse_s:
        asked_ms = before[-1][1][index]["pulse_ms"]
        told["last_pulse_by"] = (
            "board" if abs(ran_ms - asked_ms) <= SAME_MS else None if asked_ms > ran_ms else "person"
        )
        if told["last_pulse_by"] == "board":
            # What the record of that very wake says the pot was.
            told["last_pulse_for"] = FOR.get(before[-1][1][index]["ladder"])
    return told


def lacks_pulses(state, records):
    """True when these records do not tell of every pot's last pulse."""
    return any(pot.pulsed and not _told_of(index, pot, records) for index, pot in enumerate(state.pots))


def _told_of(index, pot, records):
    return pot.done_ms != record.NOT_RUN or any(
        _ran(pots, index) and head["up_s"] >= pot.pulse_s for head, pots in records
    )


def _ran(pots, index):
    return index < len(pots) and pots[index]["done_ms"] != record.NOT_RUN


def _battery(settings, state):
    rig = state.rig
    days = battery.days_left(rig.soc_pm, rig.sag_mv, (rig.usage_uah, rig.past_uah), settings)
    return {
        "mv": rig.rest_mv or None,
        "charge_pm": rig.soc_pm,
        "left_d": days if rig.usage_uah else None,
        "may_pump": battery.can_pump(rig.rest_mv, rig.sag_mv, rig.soc_pm, settings),
    }


def screen_text(view, board_id):
    """The overview as lines of text; each a (text, colour name) pair."""
    lines = [(f"{view['rig'] or 'No settings'} on board {boardnames.shown(board_id)}", "bold")]
    if view.get("proven_s") is not None:
        wall = view["time_utc"] or "wall time not known"
        lines.append((f"As of its last wake: {wall}, {logs_read.span(view['proven_s'])} of proven time.", ""))
    for pot in view["pots"]:
        lines += [("", "")] + _pot_lines(pot)
    if "caps_left" in view:
        caps = view["caps_left"]
        lines += [
            ("", ""),
            (
                f"Water left today: {caps['rig_today_ml']} ml for all pots; the tray can take {caps['tray_ml']} ml"
                f"{SENSOR.get(view.get('tray_sensor'), '')}.",
                "",
            ),
        ]
        lines.append((_battery_line(view["battery"]), "" if view["battery"]["may_pump"] else "clay"))
        lines += status_tub.lines(view["tub"], view.get("soil_cdeg"))
        if view["next_wake_s"]:
            lines.append(
                (
                    f"Next wake: {settings_meaning.minutes(view['next_wake_s'])} after the last one; while you talk "
                    "to it, when service mode ends.",
                    "",
                )
            )
    lines.append(("", ""))
    if view["faults"]:
        for fault in view["faults"]:
            lines += [(fault["what"], "clay"), (f"  {fault['do']}", "")]
    held = [pot["name"] for pot in view["pots"] if pot["rung"] == words.RUNGS[HELD]]
    if held:
        lines.append((f"No water without you: {', '.join(held)}.", "clay"))
    elif not view["faults"]:
        lines.append(("Nothing is wrong with the rig.", "leaf"))
    return lines


def _pot_lines(pot):
    pm = "not known" if pot["moisture_pm"] is None else f"{pot['moisture_pm']} ‰"
    lines = [
        (
            f"{pot['name']} ({pot['plant']}): {pot['rung']}, moisture {pm}, water due at {pot['due_pm']} ‰",
            "leaf" if pot["rung"] == words.RUNGS[TENDED] else "clay",
        )
    ]
    if pot["why"]:
        lines += [
            (f"  why: {pot['why']}", "clay" if pot["rung"] in (words.RUNGS[HELD], words.RUNGS[RATIONED]) else ""),
            (f"  do:  {pot['do']}", ""),
        ]
    lines.append((f"  {_given(pot)}; {pot['left_today_ml']} ml left today", ""))
    if pot["no_water"]:
        lines.append((f"  no water now: {pot['no_water']['why']}", ""))
        lines.append((f"  by itself again {pot['no_water']['until']}", ""))
        if pot["no_water"]["only_counted"]:
            lines.append(("  until then, the first few ml while you watch: potreeve calibrate drop", ""))
    known = [f"{kind} {note['date'][:10]} ({note['uncertainty']})" for kind, note in pot["calibrated"].items() if note]
    if known:
        lines.append((f"  calibrated: {', '.join(known)}", ""))
    return lines


def _given(pot):
    """The last water in words; nothing is said of it that is not known."""
    if pot["last_pulse_ago_s"] is None:
        return "no water given yet"
    by = {"person": " on command", "board": f" ({pot['last_pulse_for']})", None: ""}[pot["last_pulse_by"]]
    if pot["last_pulse_ul"] is not None:
        what = f"last pulse{by} about {pot['last_pulse_ul'] / 1000:.0f} ml"
    elif pot["last_pulse_ran_ms"] is not None:
        what = f"last pulse{by} ran {pot['last_pulse_ran_ms'] / 1000:.1f} s"
    else:
        what = "last pulse"
    what += f", {logs_read.span(pot['last_pulse_ago_s'])} before that wake"
    return what + (" (a dose is under way)" if pot["dosing"] else "")


def _battery_line(pack):
    volts = f"{pack['mv'] / 1000:.2f} V, " if pack["mv"] else "voltage not known, "
    days = (
        "days left not known before a whole day has passed"
        if pack["left_d"] is None
        else (
            f"{pack['left_d']} days or more left"
            if pack["left_d"] >= battery.MOST_DAYS
            else f"about {pack['left_d']} days left"
        )
    )
    pump = "" if pack["may_pump"] else "; too low, or not readable: no pump is run"
    return f"Battery: {volts}{pack['charge_pm'] // 10} % charged, {days}{pump}."
