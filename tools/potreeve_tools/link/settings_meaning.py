"""What settings mean in practice: water in a day, battery days, looks, refill points.

Every figure comes from potreeve.logic, with the board's own energy figures; what
is assumed is said.
"""

from potreeve.logic import battery, cycle, dosing, energy, limits, outbox, schedule
from potreeve.logic.state import TENDED, copy

from potreeve_tools.image import compiled
from potreeve_tools.settings import judge

# Half the day is taken as dark, and a look as this long, where nothing else is known.
DARK_H = 12
AWAKE_MS = 3000


def day_most_ml(settings):
    """Most water all pots can get in 24 hours, in ml, whatever the probes say."""
    return min(settings["rig_day_ml"], sum(channel["day_ml"] for channel in settings["channels"]))


def looks_a_day(settings):
    """Wakes in a day with DARK_H hours of night and no dose under way."""
    light_s = (24 - DARK_H) * 3600
    return -(-light_s // settings["wake_s"]) + -(-DARK_H * 3600 // settings["night_wake_s"])


def day_uah(wakes, awake_ms, pump_ms, figures, starts):
    """Charge of a day that wakes so often, for planning: uAh.

    awake_ms: a wake's length without pumping; pump_ms: all pumping of the day; starts: 1
    when every wake is a start (deep sleep or a power latch); figures: a board's energy figures.
    """
    asleep_s = 86400 - wakes * awake_ms // 1000
    total = energy.sleep_uah(asleep_s if asleep_s > 0 else 0, figures)
    total += (
        wakes * energy.awake_uah(awake_ms, figures)
        + energy.awake_uah(pump_ms, figures)
        + energy.pump_uah(pump_ms, figures)
    )
    if starts:
        total += wakes * energy.boot_uah(figures)
    return total


def report_uah(figures):
    """Charge of one report of usual length, the time awake for it included: uAh. figures: a board's energy figures."""
    return figures["report_uah"] + energy.awake_uah(outbox.REPORT_MS, figures)


def battery_days(settings, board, awake_ms=AWAKE_MS, soc_pm=1000, sag_mv=0):
    """(days until pumps are refused, uAh a day) on a charge of soc_pm, with the most water of every day pumped.

    board: device form of a board file. battery.MOST_DAYS means "that or more".
    """
    pump_ms = sum(
        min(channel["day_ml"], settings["rig_day_ml"]) * 1_000_000 // channel["pump_ul_s"]
        for channel in settings["channels"]
        if channel["pump_ul_s"]
    )
    used_uah = day_uah(looks_a_day(settings), awake_ms, pump_ms, board["energy"], 0 if board["keeps_ram"] else 1)
    used_uah += battery.leak_uah_day(settings)
    if settings.get("radio"):
        used_uah += 86400 // settings["radio"]["send_s"] * report_uah(board["energy"])
    return battery.days_left(soc_pm, sag_mv, (used_uah, used_uah), settings), used_uah


def meaning(old, new, board, state=None):
    """Lines that say what `new` means, against `old` (None: there were none).

    board: device form of the board file, or None where the board has none; state: the
    board's State, or None.
    """
    lines = [_water(old, new)]
    if board is not None:
        lines.append(_battery(old, new, board, state))
    lines.append(_wake(old, new, state))
    lines += _refill(old, new, state)
    lines += _namesakes(new)
    lines += _curves(old, new)
    lines += _uncalibrated(new)
    lines += _radio(old, new, board)
    lines += [
        f"You insist, so the board will warn for as long as it runs this: {line}." for line in judge.insisted(new)
    ]
    return lines


def _radio(old, new, board):
    keys = new.get("radio")
    if not keys:
        return []
    lines = [
        f"Reports every {minutes(keys['send_s'])} to {keys['broker_host']} as {keys['broker_user']}, "
        f"{'with' if keys['broker_tls'] else 'without'} TLS; less often on a low battery."
    ]
    if keys["trust"] == "broker":
        lines.append(
            "The broker's word takes records off the board's queue: what the broker loses later, or refuses by its "
            "access list without saying so, is lost."
        )
    if not (old and old.get("radio")):
        lines.append("The board is sent its radio by the next potreeve flash; until then it tends and reports nothing.")
    if board is not None and not compiled.has_wifi(board):
        lines.append("This board's MicroPython has no Wi-Fi: it will tend, and report nothing.")
    return lines


def _was(text):
    return f" (before: {text})"


def _water(old, new):
    most = day_most_ml(new)
    before = _was(f"{day_most_ml(old)} ml") if old and day_most_ml(old) != most else ""
    room = new["tray_headroom_ml"]
    share = f"the tray can take {room} ml"
    if most > room:
        share += f": if all of it ran through, the tray's account would stop the water after {room} ml"
    return f"Most water in any 24 hours: {most} ml{before}; {share}."


def _battery(old, new, board, state):
    soc_pm = state.rig.soc_pm if state and state.rig.rest_mv else 1000
    sag_mv = state.rig.sag_mv if state else 0
    days, used = battery_days(new, board, soc_pm=soc_pm, sag_mv=sag_mv)
    charge = "a full battery" if soc_pm == 1000 else f"the {soc_pm // 10} % the battery has"
    before = ""
    if old:
        was, _ = battery_days(old, board, soc_pm=soc_pm, sag_mv=sag_mv)
        before = _was(f"about {was} days") if was != days else ""
    shown = f"{days} days or more" if days == battery.MOST_DAYS else f"about {days} days"
    return (
        f"Battery: {shown} on {charge}{before}, {used / 1000:.1f} mAh a day; reckoned with the board file's figures, "
        f"{looks_a_day(new)} looks of {AWAKE_MS // 1000} s a day and all of each day's water pumped."
    )


def _wake(old, new, state):
    text = f"Looks every {minutes(new['wake_s'])} by day and every {minutes(new['night_wake_s'])} in the dark"
    if old and (old["wake_s"], old["night_wake_s"]) != (new["wake_s"], new["night_wake_s"]):
        text += _was(f"{minutes(old['wake_s'])} and {minutes(old['night_wake_s'])}")
    text += "; the next one when service mode ends"
    if state and len(state.pots) == len(new["channels"]):
        rig = state.rig
        dark, weak = schedule.is_dark(rig, new), schedule.is_weak(rig, new)
        text += f", then in {minutes(schedule.next_wake_s(state, new, dark, weak))}"
    return text + "."


def minutes(seconds):
    """A span of time in words."""
    if seconds % 3600 == 0 and seconds:
        return f"{seconds // 3600} h"
    if seconds % 60 and seconds >= 600:
        return f"about {round(seconds / 60)} min"
    return f"{seconds // 60} min" if seconds % 60 == 0 else f"{seconds} s"


def _refill(old, new, state):
    lines = []
    for index, channel in enumerate(new["channels"]):
        was = old["channels"][index] if old and index < len(old["channels"]) else None
        now_pm = dosing.refill_point_pm(channel)
        was_pm = dosing.refill_point_pm(was) if was else None
        if old and was_pm == now_pm:
            continue
        text = f"Refill point of {channel['name']}: {now_pm} ‰ of container capacity"
        text += _was(f"{was_pm} ‰") if was else ""
        if state and index < len(state.pots) and state.pots[index].ladder == TENDED and state.pots[index].known:
            pm = state.pots[index].pm
            text += f"; it stands at {pm} ‰" + (", so it is due for water" if pm <= now_pm else "")
        lines.append(text + ".")
    return lines


def _namesakes(new):
    names = [channel["name"] for channel in new["channels"]]
    return [
        f"{names.count(name)} pots are called {name}: give each a name of its own, or --channel takes only their "
        "places "
        f"({', '.join(str(place) for place, one in enumerate(names) if one == name)})."
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]


def _curves(old, new):
    """A curve that replaces one of more points says so."""
    pairs = zip(old["channels"] if old else (), new["channels"])
    return [
        f"{now['name']}: the new curve of its probe has {len(now['curve'])} points and replaces one of "
        f"{len(was['curve'])}."
        for was, now in pairs
        if len(now["curve"]) < len(was["curve"])
    ]


def _uncalibrated(new):
    lines = []
    for channel in new["channels"]:
        missing = [word for word, there in (("probe", channel["curve"]), ("pump", channel["pump_ul_s"])) if not there]
        if missing:
            lines.append(
                f"{channel['name']} gets no water yet: its {' and its '.join(missing)} "
                f"{'was' if len(missing) == 1 else 'were'} never calibrated."
            )
    return lines


def caps_left(settings, state):
    """What may still be given: {"rig_ml", "tray_ml", "pots_ml": [per channel]} from the board's own accounts.

    A memory that was lost, or put back from a copy, counts its day as given and its tray as full from the next wake on:
    that is what may be given now.
    """
    state = copy(state)
    cycle.remember(state, settings)
    spent = [limits.spent_ul(pot) for pot in state.pots]
    rig = max(0, settings["rig_day_ml"] * 1000 - sum(spent))
    pots = [max(0, channel["day_ml"] * 1000 - used) for channel, used in zip(settings["channels"], spent)]
    return {
        "rig_ml": rig // 1000,
        "tray_ml": limits.headroom_ul(state.rig, settings) // 1000,
        "pots_ml": [room // 1000 for room in pots],
    }
