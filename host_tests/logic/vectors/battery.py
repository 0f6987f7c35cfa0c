"""Charge from voltage or by counting, sag, and when a pump may run."""

from potreeve.logic import battery

from vectors.made import SETTINGS, changed

S = SETTINGS
NIMH = changed(S, {"battery_kind": "nimh", "battery_cells": 3})
NIMH_STOP = changed(NIMH, {"battery_stop_mv": 3240})
THREE = changed(S, {"battery_kind": "alkaline", "battery_cells": 3, "battery_stop_mv": 3150})
ALKALINE = changed(S, {"battery_kind": "alkaline", "battery_cells": 2})


def curve(kind, voltages_mv):
    return [battery.by_voltage_pm(mv, kind, 1) for mv in voltages_mv]


VECTORS = (
    # Voltages at which each point of a curve shows, were it one more or less.
    ("curve", ("lithium", (2567, 2640, 3137, 3265, 3497, 3533, 3597, 3709, 3764, 3804, 3848, 3995, 4045, 4065, 4163)),
     [6, 11, 57, 92, 213, 250, 319, 450, 514, 559, 607, 750, 805, 842, 964]),
    ("curve", ("alkaline", (895, 901, 1034, 1052, 1201, 1222, 1360, 1452, 1468, 1580)),
     [0, 1, 101, 128, 395, 440, 700, 852, 878, 986]),
    ("curve", ("nimh", (1001, 1050, 1100, 1170, 1208, 1301, 1350)), [1, 25, 50, 125, 260, 951, 975]),
    ("by_voltage_pm", (4200, "lithium", 1), 1000),
    ("by_voltage_pm", (4199, "lithium", 1), 999),
    ("by_voltage_pm", (9000, "lithium", 1), 1000),
    ("by_voltage_pm", (8400, "lithium", 2), 1000),
    ("by_voltage_pm", (3841, "lithium", 1), 600),
    ("by_voltage_pm", (7683, "lithium", 2), 600),
    ("by_voltage_pm", (2501, "lithium", 1), 0),
    ("by_voltage_pm", (2507, "lithium", 1), 1),
    ("by_voltage_pm", (2500, "lithium", 1), 0),
    ("by_voltage_pm", (0, "lithium", 8), 0),
    ("by_voltage_pm", (2501, "alkaline", 2), 500),
    ("by_voltage_pm", (3600, "nimh", 3), 200),
    ("charge_pm", (0, 0, S), 1000),
    ("charge_pm", (0, 2499, S), 1000),
    ("charge_pm", (0, 2500, S), 999),
    ("charge_pm", (0, 1250000, S), 500),
    ("charge_pm", (0, 2500000, S), 0),
    ("charge_pm", (0, 4294967295, S), 0),
    ("charge_pm", (-1, 1250000, S), 500),
    ("charge_pm", (3841, 2500000, S), 600),
    ("charge_pm", (2500, 0, ALKALINE), 500),
    ("charge_pm", (3900, 1250000, NIMH), 500),
    ("charge_pm", (3300, 0, NIMH), 50),
    ("charge_pm", (3300, 2450000, NIMH), 20),
    ("charge_pm", (3450, 0, NIMH), 92),
    ("charge_pm", (3599, 0, NIMH), 198),
    ("charge_pm", (3600, 0, NIMH), 1000),
    ("full_mv", ("lithium", 1), 4200),
    ("full_mv", ("alkaline", 3), 4800),
    ("full_mv", ("nimh", 2), 2800),
    ("swapped", (3700, 3850, 1), True),
    ("swapped", (3700, 3849, 1), False),
    ("swapped", (3700, 3999, 2), False),
    ("swapped", (3700, 4000, 2), True),
    ("swapped", (0, 4200, 1), False),
    ("swapped", (3850, 3700, 1), False),
    ("leak_uah_day", (S,), 3698),
    ("leak_uah_day", (NIMH,), 1369),
    ("leak_uah_day", (THREE,), 205),
    ("since_full_uah", (600, S), 1000000),
    ("since_full_uah", (1000, S), 0),
    ("since_full_uah", (600, THREE), 1000000),
    ("since_full_uah", (600, NIMH), 0),
    # Half of it gone by its voltage, and counted: all, half, nothing, too much.
    ("really_uah", (1000, 500, 1250000, S), 1000),
    ("really_uah", (1000, 500, 625000, S), 1332),
    ("really_uah", (1000, 500, 0, S), 1996),
    ("really_uah", (1000, 500, 2000000, S), 1000),
    ("really_uah", (1000, 0, 0, S), 2996),
    ("really_uah", (1000, 0, 4294967295, S), 1000),
    ("really_uah", (1000, 500, 0, NIMH), 1000),
    # Lithium at 3300 mV stands at 102 pm; alkaline sags more the emptier it is.
    ("refused_pm", (1000, 0, S), 102),
    ("refused_pm", (500, 200, S), 277),
    ("refused_pm", (60, 200, S), 60),
    ("refused_pm", (200, 5000, S), 200),
    ("refused_pm", (1000, 0, changed(S, {"battery_stop_mv": 1800})), 80),
    ("refused_pm", (1000, 0, THREE), 176),
    ("refused_pm", (500, 300, THREE), 401),
    ("refused_pm", (1000, 100, NIMH_STOP), 129),
    # 223 pm of 2500 mAh are spare: at a steady pace, a growing one, after a lull.
    ("days_left", (500, 200, (20000, 20000), S), 27),
    ("days_left", (500, 200, (20000, 10000), S), 22),
    ("days_left", (500, 200, (20000, 30000), S), 27),
    ("days_left", (500, 200, (20000, 0), S), 19),
    ("days_left", (500, 200, (0, 0), S), 999),
    ("days_left", (500, 200, (1, 1), S), 999),
    ("days_left", (60, 200, (0, 0), S), 0),
    ("days_left", (500, 5000, (20000, 20000), S), 0),
    ("learn_sag", (0, 3900, 3700), 200),
    ("learn_sag", (300, 3900, 3700), 288),
    ("learn_sag", (200, 0, 3700), 200),
    ("learn_sag", (200, 3900, 0), 200),
    ("learn_sag", (200, 3900, 3900), 175),
    ("learn_sag", (0, 9000, 100), 5000),
    ("learn_sag", (0, 3000, 3100), 0),
    ("can_pump", (3900, 200, 500, S), True),
    ("can_pump", (3500, 200, 500, S), True),
    ("can_pump", (3499, 200, 500, S), False),
    ("can_pump", (0, 0, 1000, S), False),
    ("can_pump", (3900, 0, 79, S), False),
    ("can_pump", (3900, 0, 80, S), True),
)
