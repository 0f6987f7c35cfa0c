"""What came of a rehearsal, as one plain dict (`potreeve rehearse --json`).

Truth is the simulated rig's, not the board's, wherever water and plants are
concerned. The definitions:

band          of a pot: true moisture of its root zone between its refill point
              (logic.dosing.refill_point_pm of its settings) less 60 pm and 1020 pm.
              The 60 are for probe, weather and the wait for the next wake.
in_band_pct   share of the time after the first three days (of all, in a run of
              three days or less) spent within the band. An interval between two
              samples counts with the moisture at its end, since a pulse falls at
              its beginning. null if no time was left to count.
dry_h         hours below logic.dosing.stress_point_pm, over the whole run.
soaked_h      hours above 1020 pm, over the whole run.
pulses        runs of the pot's pump that took place, cut short or not.
doses         pulses of one pot closer together than two hours plus the soak make
              one dose. A ration is a dose of its own.
state         the rung the pot ended on: tended, rationed or held.
floods        times the tray ran over, by whatever cause.
electronics_wet     times water reached the electronics.
tray_headroom_ml    what the empty tray takes, to its rim, between the pots.
battery_days_left   the board's own estimate at the end, 999 = that or more, or
                    not known yet.
tub_days_left       the board's own estimate at the end; null without a sensor in the tub.
wakes         records written: one for each time the board woke and decided.
digest        SHA-256 over all records in order.
alerts        see potreeve_tools.words.alerts; `day` counts from 1, `when` is the sill's
              standard time; `level` call, note or calm. The first ten minutes, when the owner sets the rig
              up with two long presses, are left out unless what they show lasts.
alert_groups  those that say the same of the same pot as one, what matters most
              first: level, pot, kind, what, do, count, first_day, first_when,
              last_day, last_when.
"""

import hashlib
import json
from datetime import datetime, timedelta

from potreeve.logic import dosing, record, recorded

from potreeve_tools.words import alerts as alert_list
from potreeve_tools.words import sentences as words
from potreeve_tools.world import ownparts
from potreeve_tools.world.setting import start_day

SCHEMA = "potreeve-rehearsal/1"
DAY_S = 86400
SETTLING_S = 3 * DAY_S
BELOW_REFILL_PM = 60
SOAKED_PM = 1020
DOSE_GAP_S = 7200
OWNER_S = 600


def make_outcome(session, interpreter):
    """Outcome of a finished Session. interpreter: (name, version)."""
    first, last = session.samples[0], session.samples[-1]
    rows = decoded(session)
    rig = session.world.rig
    name, version = interpreter
    return {
        "schema": SCHEMA,
        "rig_name": rig.name,
        "board": session.board["name"],
        "seed": session.seed,
        "days": session.days,
        "start": start_of(session).strftime("%Y-%m-%d"),
        "interpreter": {"name": name, "version": version},
        "settings_digest": settings_digest(session.checked),
        "wakes": len(session.records),
        "digest": session.digest,
        "pots": [_pot(session, rows, index) for index in range(len(session.checked["channels"]))],
        "rig": _rig(first, last, rows),
        **_alerts(session, rows),
        **({"own": own} if (own := ownparts.told(rig, session.days)) else {}),
    }


def _alerts(session, rows):
    """{"alerts": each, "alert_groups": those that say the same as one, what matters most first}."""
    found = [{**alert, **_alert(session, alert)} for alert in alerts(session, rows)]
    groups = [
        {
            **{name: group[name] for name in ("level", "pot", "kind", "what", "do", "count")},
            **{f"{end}_{name}": group[end][name] for end in ("first", "last") for name in ("day", "when")},
        }
        for group in alert_list.grouped(found)
    ]
    return {
        "alerts": [{key: value for key, value in one.items() if key != "t_s"} for one in found],
        "alert_groups": groups,
    }


def decoded(session):
    """All records of a session as (t_s, head, pots)."""
    return [(t_s, *recorded.decode(line)) for t_s, line in zip(session.record_s, session.records, strict=True)]


def start_of(session):
    """The start of a session as a naive datetime in the sill's standard time."""
    day = start_day(session.world.rig)
    return datetime(day.year, day.month, day.day)


def settings_digest(settings):
    """SHA-256 over checked settings, the same for the same settings."""
    text = json.dumps(settings, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def alerts(session, rows=None):
    """Alerts of a session, see potreeve_tools.words.alerts."""
    names = [channel["name"] for channel in session.checked["channels"]]
    return alert_list.from_records(decoded(session) if rows is None else rows, names, OWNER_S)


def band(channel):
    """(lowest, highest) true moisture in pm that counts as well watered."""
    return dosing.refill_point_pm(channel) - BELOW_REFILL_PM, SOAKED_PM


def hours(samples, index, counts, from_s=0.0):
    """(hours that count, all hours) of a pot from from_s on.

    samples: as in Session; counts: function of the moisture in pm.
    """
    total_s = counted_s = 0.0
    for before, after in zip(samples, samples[1:]):
        span_s = after["t_s"] - max(before["t_s"], from_s)
        if span_s <= 0.0:
            continue
        total_s += span_s
        if counts(after["pots"][index]["moisture_pm"]):
            counted_s += span_s
    return counted_s / 3600.0, total_s / 3600.0


def count_doses(times_s, soak_s):
    """Doses in a rising list of pulse times."""
    doses, last_s = 0, None
    for t_s in times_s:
        if last_s is None or t_s - last_s >= DOSE_GAP_S + soak_s:
            doses += 1
        last_s = t_s
    return doses


def _pot(session, rows, index):
    channel = session.checked["channels"][index]
    samples = session.samples
    truth = samples[-1]["pots"][index]
    low, high = band(channel)
    from_s = SETTLING_S if session.days > 3 else 0.0
    good_h, all_h = hours(samples, index, lambda pm: low <= pm <= high, from_s)
    stress = dosing.stress_point_pm(channel)
    levels = [sample["pots"][index]["moisture_pm"] for sample in samples]
    times = [t_s for t_s, _, pots in rows if pots[index]["pulse_ms"]]
    return {
        "name": channel["name"],
        "given_ml": round(truth["given_ml"], 1),
        "transpired_ml": round(truth["transpired_ml"], 1),
        "evaporated_ml": round(truth["evaporated_ml"], 1),
        "leachate_ml": round(truth["leachate_ml"], 1),
        "in_band_pct": round(100.0 * good_h / all_h, 2) if all_h else None,
        "dry_h": round(hours(samples, index, lambda pm: pm < stress)[0], 1),
        "soaked_h": round(hours(samples, index, lambda pm: pm > SOAKED_PM)[0], 1),
        "doses": count_doses(times, session.checked["soak_s"]),
        "pulses": truth["pulses"],
        "state": words.RUNGS[rows[-1][2][index]["ladder"]],
        "alive": truth["alive"],
        "moisture_low_pm": round(min(levels)),
        "moisture_high_pm": round(max(levels)),
    }


def _rig(first, last, rows):
    return {
        "tray_peak_ml": round(last["tray_peak_ml"], 1),
        "tray_headroom_ml": round(last["tray_capacity_ml"], 1),
        "floods": last["floods"],
        "electronics_wet": last["electronics_wet"],
        "reservoir_left_ml": round(last["reservoir_ml"], 1),
        "battery_days_left": rows[-1][1]["days_left"],
        "tub_days_left": None if rows[-1][1]["tub_days"] == record.NO_TUB_DAYS else rows[-1][1]["tub_days"],
        "charge_used_mah": round(last["charge_used_mah"] - first["charge_used_mah"], 1),
        "battery_left_pct": round(100.0 * last["battery_soc"], 1),
    }


def _alert(session, alert):
    when = start_of(session) + timedelta(seconds=alert["t_s"])
    return {
        "day": int(alert["t_s"] // DAY_S) + 1,
        "when": when.strftime("%Y-%m-%d %H:%M"),
        "pot": alert["pot"],
        "kind": alert["kind"],
        "what": alert["what"],
        "do": alert["do"],
    }
