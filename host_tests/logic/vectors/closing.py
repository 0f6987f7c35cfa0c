"""What a dose leaves on the tray's account: each threshold and its neighbour.

This pot holds 500 ml: a dose of 50 ml are 100 pm, and its water spreads through it in 6720 s.
"""

from potreeve.logic import closing

from vectors.made import changed, make_state, settings

# Its water has just spread.
DOSED = {"closing": 1, "pulse_s": 93280, "dose_ul": 50000, "dose_most_ul": 60000, "start_pm": 700, "high_pm": 1500}
# Its last 20 ml, which are 24 at the most, showed nothing: 30 ml or 60 pm of it did.
PARTLY = {"unproven": 1, "pulse_ul": 20000, "pulse_most_ul": 24000}


def closed(tray_ul, pot, up_s=100000, channel=None):
    """(closing, tray, gain)"""
    made = make_state({"up_s": up_s, "tray_ul": tray_ul}, changed(DOSED, pot))
    closing.close_dose(made, 0, settings(1, {"pots_in_tray": True}, channel or {}))
    return made.pots[0].closing, made.rig.tray_ul, made.pots[0].gain_pm


def on_feet(tray_ul, pot, other):
    """(tray, gain) where pots stand on feet, and another has a dose that is not settled yet."""
    made = make_state({"up_s": 100000, "tray_ul": tray_ul}, changed(DOSED, pot), other)
    closing.close_dose(made, 0, settings(2, {}, {}))
    return made.rig.tray_ul, made.pots[0].gain_pm


def kept(pot):
    """(tray, share of its water that stays, gain) after a dose was settled"""
    made = make_state({"up_s": 100000, "tray_ul": 90000}, changed(DOSED, pot))
    closing.close_dose(made, 0, settings(1, {"pots_in_tray": True}, {}))
    return made.rig.tray_ul, made.pots[0].kept_pm, made.pots[0].gain_pm


def nights(pot):
    """Doses that the pot waits for the night with after this one."""
    made = make_state({"up_s": 100000, "tray_ul": 90000}, changed(DOSED, pot))
    closing.close_dose(made, 0, settings(1, {"pots_in_tray": True}, {}))
    return made.pots[0].nights


def runs_through(pot):
    return closing.runs_through(make_state({}, pot).pots[0])


VECTORS = (
    # The tray gets back what the pot shows, less 5 %; what it can't show stays, a fifth more for a fast pump.
    ("closed", (90000, {"pm": 800}), (0, 32500, 1000)),
    ("closed", (90000, {"pm": 785}), (0, 32500, 962)),
    ("closed", (90000, {"pm": 784}), (0, 39600, 960)),
    ("closed", (90000, {"pm": 700}), (0, 90000, 875)),
    ("closed", (57500, {"pm": 800}), (0, 0, 1000)),
    ("closed", (57501, {"pm": 800}), (0, 1, 1000)),
    ("closed", (10000, {"pm": 800}), (0, 0, 1000)),
    # What the plant drank meanwhile, 30 pm here, counts where the water was seen to arrive.
    ("closed", (90000, {"pm": 755, "dose_um": 1500, "use_ul_mm": 10000}), (0, 32500, 962)),
    ("closed", (90000, {"pm": 755, "dose_um": 1500, "use_ul_mm": 10000, "unproven": 1, "pulse_ul": 50000}),
     (0, 57000, 887)),
    ("closed", (90000, {"pm": 700, "dose_um": 1500, "use_ul_mm": 10000}), (0, 72000, 875)),
    # Only where it was seen: a plant that may have hidden the rise is not taken off the tray as well.
    ("closed", (90000, {"pm": 755, "dose_um": 65534, "use_ul_mm": 229}), (0, 32500, 962)),
    ("closed", (90000, {"pm": 755, "dose_um": 65535, "use_ul_mm": 229}), (0, 57000, 1000)),
    # Once its water has spread, whether it is due again or not: 6720 s here.
    ("closed", (90000, {"pm": 800}, 99999), (1, 90000, 1000)),
    ("closed", (90000, {"pm": 851, "start_pm": 751}, 99999), (1, 90000, 1000)),
    ("closed", (90000, {"pm": 851, "start_pm": 751}), (0, 32500, 1000)),
    ("closed", (90000, {"pm": 800}, 99999, {"pot_ml": 464}), (0, 32500, 1000)),
    # Not while it still rises, for water is on its way; but after six hours.
    ("closed", (90000, {"pm": 800, "high_pm": 800}), (1, 90000, 1000)),
    ("closed", (90000, {"pm": 800, "high_pm": 801}), (0, 32500, 1000)),
    ("closed", (90000, {"pm": 800, "high_pm": 800, "pulse_s": 78401}), (1, 90000, 1000)),
    ("closed", (90000, {"pm": 800, "high_pm": 800, "pulse_s": 78400}), (0, 32500, 1000)),
    # Where it went is learned of no dose that a probe may miss, 60 pm; the tray is told all the same.
    ("kept", ({"pm": 700},), (90000, 750, 875)),
    ("kept", ({"pm": 700, "dose_ul": 30000, "dose_most_ul": 36000},), (90000, 750, 875)),
    ("kept", ({"pm": 700, "dose_ul": 29999, "dose_most_ul": 36000},), (90000, 1000, 1000)),
    ("kept", ({"pm": 760, "dose_ul": 30000, "dose_most_ul": 36000},), (55500, 988, 1000)),
    ("kept", ({"pm": 760, "dose_ul": 29999, "dose_most_ul": 36000},), (55499, 1000, 1000)),
    ("kept", ({"pm": 700, "kept_pm": 0},), (90000, 0, 875)),
    # Nor of one that its plant's thirst hid; but of one that nothing proves, whatever its plant drank.
    ("kept", ({"pm": 700, "dose_um": 65535},), (90000, 1000, 1000)),
    ("kept", ({"pm": 700, "dose_um": 65535, "unproven": 1},), (90000, 750, 875)),
    ("kept", ({"pm": 700, "dose_um": 65534, "use_ul_mm": 1},), (90000, 750, 875)),
    # A plant may drink twice what is known of it: that makes no pot a leaky one. The tray is told what is known.
    ("kept", ({"pm": 700, "use_ul_mm": 10000, "dose_um": 1500},), (72000, 880, 875)),
    ("kept", ({"pm": 784},), (39600, 952, 960)),
    ("kept", ({"pm": 784, "kept_pm": 0},), (39600, 202, 960)),
    ("kept", ({"pm": 784, "kept_pm": 0, "dose_ul": 49950},), (39110, 203, 962)),
    ("closed", (90000, {"pm": 800, "dosing": 1}), (1, 90000, 1000)),
    ("closed", (90000, {"pm": 800, "judge": 1}), (1, 90000, 1000)),
    # What its plant drank of a dose that was partly seen counts for that part; the rest stays on the account in full.
    ("closed", (90000, changed(PARTLY, {"pm": 760})), (0, 55500, 900)),
    ("closed", (90000, changed(PARTLY, {"pm": 730, "dose_um": 1500, "use_ul_mm": 10000})), (0, 55500, 875)),
    ("closed", (90000, changed(PARTLY, {"pm": 730})), (0, 72000, 875)),
    ("closed", (90000, changed(PARTLY, {"pm": 755, "pulse_ul": 49999, "pulse_most_ul": 59999})), (0, 90000, 887)),
    # Pots on feet: what rose too far gives back what fell short before, but nothing of another's open dose.
    ("on_feet", (90000, {"pm": 800}, {}), (32500, 1000)),
    ("on_feet", (90000, {"pm": 820}, {}), (22500, 1050)),
    ("on_feet", (90000, {"pm": 780}, {}), (40000, 950)),
    ("on_feet", (90000, {"pm": 820}, {"closing": 1, "dose_most_ul": 22501}), (22501, 1050)),
    ("on_feet", (90000, {"pm": 820}, {"closing": 1, "dose_most_ul": 99000}), (90000, 1050)),
    ("closed", (90000, {"pm": 820}), (0, 32500, 1050)),
    # Its own share learns nothing of that: as if its plant had drunk nothing.
    ("kept", (changed(PARTLY, {"pm": 730, "dose_um": 1500, "use_ul_mm": 10000}),), (55500, 790, 875)),
    # One that its plant hid is followed by eight that wait for the night, each that is seen counts down.
    ("nights", ({"pm": 800},), 0),
    ("nights", ({"pm": 800, "nights": 8},), 7),
    ("nights", ({"pm": 800, "dose_um": 65535, "nights": 1},), 8),
    ("nights", ({"pm": 800, "dose_um": 65534, "use_ul_mm": 1, "nights": 1},), 0),
    ("nights", ({"pm": 800, "unproven": 1},), 8),
    # Its water runs through where less than half is seen to stay, or where it learned to expect little.
    ("runs_through", ({"kept_pm": 500},), False),
    ("runs_through", ({"kept_pm": 499},), True),
    ("runs_through", ({"kept_pm": 769, "gain_pm": 559},), True),
    ("runs_through", ({"kept_pm": 770, "gain_pm": 559},), False),
    ("runs_through", ({"kept_pm": 769, "gain_pm": 560},), False),
)
