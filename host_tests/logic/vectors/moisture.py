"""Median and spread, calibration curves both ways round, averages and complaints."""

from vectors.made import CHANNEL, changed

FALLING = ((52000, 0), (22000, 1000))
RISING = ((10000, 0), (40000, 1000))
BENT = ((50000, 0), (40000, 300), (20000, 1000))
BENT_UP = ((20000, 0), (40000, 300), (50000, 1000))
P = CHANNEL
WARM = {"cal_temp_cdeg": 2000, "warmth_pm_10c": 60}
LOUD = changed(P, {"spread_raw": 200})

VECTORS = (
    ("burst", ([5, 1, 9],), (5, 0)),
    ("burst", ([1, 2, 3, 4],), (3, 1)),
    ("burst", ([9, 8, 7, 6, 5, 4, 3, 2, 1],), (5, 6)),
    ("burst", ([0, 10, 10, 10, 65535, 10, 10, 10, 10],), (10, 0)),
    ("burst", ([0] * 9,), (0, 0)),
    ("burst", ([65535] * 9,), (65535, 0)),
    ("burst", ([0, 0, 65535, 65535, 65535, 65535, 65535, 65535, 0],), (65535, 65535)),
    ("to_pm", (37000, FALLING), 500),
    ("to_pm", (52000, FALLING), 0),
    ("to_pm", (22000, FALLING), 1000),
    ("to_pm", (65535, FALLING), -451),
    ("to_pm", (0, FALLING), 1500),
    ("to_pm", (25000, RISING), 500),
    ("to_pm", (5000, RISING), -167),
    ("to_pm", (0, RISING), -333),
    ("to_pm", (65535, RISING), 1500),
    ("to_pm", (45000, BENT), 150),
    ("to_pm", (40000, BENT), 300),
    ("to_pm", (39999, BENT), 300),
    ("to_pm", (30000, BENT), 650),
    ("to_pm", (10000, BENT), 1350),
    ("to_pm", (60000, BENT), -300),
    ("to_pm", (30000, BENT_UP), 150),
    ("to_pm", (40000, BENT_UP), 300),
    ("to_pm", (45000, BENT_UP), 650),
    ("to_pm", (55000, BENT_UP), 1350),
    ("to_pm", (1, ((0, 0), (1, 1000))), 1000),
    ("to_pm", (65535, ((0, 0), (1, 1000))), 1500),
    ("to_pm", (65535, ((30000, 0), (20000, 1000))), -500),
    ("warmth_pm", (2500, WARM), 30),
    ("warmth_pm", (2000, WARM), 0),
    ("warmth_pm", (1500, WARM), -30),
    ("warmth_pm", (1999, WARM), -1),
    ("warmth_pm", (2001, WARM), 0),
    ("smooth", (0, 30000, 3), 480000),
    ("smooth", (480000, 30001, 3), 480005),
    ("smooth", (480000, 29999, 3), 479994),
    ("smooth", (480000, 29999, 1), 479984),
    ("smooth", (480000, 29999, 2), 479992),
    ("smooth", (480000, 29999, 0), 479984),
    ("smooth", (1, 0, 3), 0),
    ("smooth", (1048560, 65535, 3), 1048560),
    ("complaint", (64880, 0, P), 1),
    ("complaint", (64879, 0, P), 4),
    ("complaint", (655, 0, P), 2),
    ("complaint", (656, 0, P), 4),
    ("complaint", (0, 65535, P), 2),
    ("complaint", (37000, 640, P), 0),
    ("complaint", (37000, 641, P), 3),
    ("complaint", (37000, 1200, LOUD), 0),
    ("complaint", (37000, 1201, LOUD), 3),
    ("complaint", (62000, 0, P), 0),
    ("complaint", (62001, 0, P), 4),
    ("complaint", (12000, 0, P), 0),
    ("complaint", (11999, 0, P), 4),
    ("complaint", (50001, 0, changed(P, {"curve": RISING})), 4),
    ("complaint", (50000, 0, changed(P, {"curve": RISING})), 0),
)
