"""From a copy to a board: the same one come back blank, or another in its place.

Pots keep their history whatever the board. What depends on the electronics does
not: a probe read by another converter may count otherwise, a pump behind another
driver may run faster. Such figures are dropped or widened, never trusted.
"""

from potreeve.logic import ledger

from potreeve_tools.link import calibrate_notes, held
from potreeve_tools.owner import carry
from potreeve_tools.settings import judge
from potreeve_tools.terminal.faultlist import BadInput

# Added to how much faster a pump may be, behind a driver it was not measured with.
OTHER_DRIVER_PM = 200


class Restored:
    """What a copy gives for a board.

    settings: checked, fitted to the board; state: State to start from, or None where
    the copy has none; notes: lines on what was changed and what to do; calibrations: bytes of
    the copy's notes on when what was measured, or None.
    """

    def __init__(self, settings, state, notes, calibrations=None):
        self.settings = settings
        self.state = state
        self.notes = notes
        self.calibrations = calibrations


def fit(copy, board):
    """Restored of a Copy for a board (device form). Raises BadInput when the copy can't serve it."""
    settings = newest_settings(copy)
    pumps = len(board["pins"]["pumps"])
    if len(settings["channels"]) > pumps:
        raise BadInput(
            [
                f"{copy.path}: {len(settings['channels'])} pots, but this board ({board['name']}) has {pumps} pumps; "
                "take a board with as many, or pull the settings to a file, leave pots out and push that"
            ]
        )
    notes = []
    if copy.board is not None and not _same_electronics(copy.board, board):
        settings = _fit_board(settings, copy.board, board, notes)
    elif copy.board is None:
        notes.append(
            "The copy does not say what kind of board it came from; calibrate probes and pumps again if it was another."
        )
    state = newest_state(copy, len(settings["channels"]), notes)
    # A note speaks only for the very figures it found, so none is wrong on another board.
    return Restored(settings, state, notes, copy.files.get(calibrate_notes.NAME))


def newest_settings(copy):
    """The checked settings of a copy: the file's, else its last good ones'. Raises BadInput."""
    settings, _ = held.in_force(copy.files)
    if settings:
        return settings
    raise BadInput([f"{copy.path}: its settings do not pass the check; choose another copy"])


def newest_state(copy, channels, notes):
    """The State to start from, or None; says in notes what that means."""
    state, _, _ = ledger.choose(copy.files.get("ledger.a"), copy.files.get("ledger.b"))
    if state is None or state.rig.channels != channels:
        notes.append("The copy holds no usable ledger: the pots start without history.")
        return None
    return carry.carry(state)


def _same_electronics(one, other):
    """True when a count means the same and a pump hangs on the same driver."""
    return all(
        _figures(one, names) == _figures(other, names)
        for names in (("mcu",), ("adc", "bits"), ("adc", "vref_mv"), ("pins", "probe_kind"), ("name",))
    )


def _figures(board, names):
    for name in names:
        board = board.get(name) if isinstance(board, dict) else None
    return board


def _fit_board(settings, was, now, notes):
    fitted = {**settings, "channels": [dict(channel) for channel in settings["channels"]]}
    same_kind = _figures(was, ("pins", "probe_kind")) == now["pins"]["probe_kind"]
    old_mv, new_mv = _figures(was, ("adc", "vref_mv")), now["adc"]["vref_mv"]
    analogue = now["pins"]["probe_kind"] == "analogue"
    for channel in fitted["channels"]:
        if channel["curve"] and not same_kind:
            channel["curve"] = ()
        elif channel["curve"] and analogue and isinstance(old_mv, int) and old_mv != new_mv:
            channel["curve"] = [(min(65535, raw * old_mv // new_mv), pm) for raw, pm in channel["curve"]]
        if channel["pump_ul_s"]:
            channel["pump_spread_pm"] = min(1000, channel["pump_spread_pm"] + OTHER_DRIVER_PM)
    fitted, faults = _check(fitted)
    if faults:
        # Scaled, or with a faster pump, it may break a rule: then it waits for its calibration.
        fitted = {
            **settings,
            "channels": [{**channel, "curve": (), "pump_ul_s": 0} for channel in settings["channels"]],
        }
        fitted, faults = _check(fitted)
    if faults:
        raise BadInput([f"the copy's settings do not fit this board: {fault}" for fault in faults])
    notes.append(
        f"The copy is of another kind of board ({was.get('name', 'unnamed')}, this is {now['name']}). "
        + (
            "Its probes are kept, but "
            if all(c["curve"] for c in fitted["channels"])
            else "Its probes count otherwise and must be calibrated before their pots are tended; "
        )
        + "every pump now counts as faster than measured. Run `potreeve calibrate probe` and `pump` on each channel."
    )
    return fitted


def _check(data):
    return judge.check(data)
