"""Floats and strips as marks: each pattern, each neighbour of a threshold."""

from vectors.made import changed

TUB = {
    "mark1_ml": 500, "mark2_ml": 2000, "mark3_ml": 0, "mark4_ml": 0, "full_ml": 8000, "open_cm2": 0,
    "strip": [(40000, 0), (35000, 1), (30000, 2)],
}
RISING = changed(TUB, {"strip": [(10000, 0), (15000, 1), (20000, 2)]})

VECTORS = (
    ("float_mark", (0, 1), 1),
    ("float_mark", (1, 1), 2),
    ("float_mark", (2, 1), 15),
    ("float_mark", (0, 4), 1),
    ("float_mark", (1, 4), 2),
    ("float_mark", (3, 4), 3),
    ("float_mark", (7, 4), 4),
    ("float_mark", (15, 4), 5),
    ("float_mark", (31, 4), 15),
    ("float_mark", (2, 2), 15),
    ("float_mark", (2, 4), 15),
    ("float_mark", (4, 4), 15),
    ("float_mark", (5, 4), 15),
    ("float_mark", (6, 4), 15),
    ("float_mark", (14, 4), 15),
    ("strip_mark", (40000, TUB), 1),
    ("strip_mark", (35001, TUB), 1),
    ("strip_mark", (35000, TUB), 2),
    ("strip_mark", (30001, TUB), 2),
    ("strip_mark", (30000, TUB), 3),
    ("strip_mark", (656, TUB), 3),
    ("strip_mark", (655, TUB), 15),
    ("strip_mark", (64879, TUB), 1),
    ("strip_mark", (64880, TUB), 15),
    ("strip_mark", (14999, RISING), 1),
    ("strip_mark", (15000, RISING), 2),
    ("strip_mark", (20000, RISING), 3),
    ("strip_mark", (30000, changed(TUB, {"strip": ()})), 15),
    ("strip_mark", (30000, None), 15),
    # A mark that was left: reached again 150 counts beyond it; the ones below it, and one that holds, as ever.
    ("strip_mark", (29851, TUB, 2), 2),
    ("strip_mark", (29850, TUB, 2), 3),
    ("strip_mark", (30000, TUB, 3), 3),
    ("strip_mark", (34851, TUB, 1), 1),
    ("strip_mark", (34850, TUB, 1), 2),
    ("strip_mark", (29851, TUB, 1), 2),
    ("strip_mark", (35000, TUB, 2), 2),
    ("strip_mark", (20149, RISING, 2), 2),
    ("strip_mark", (20150, RISING, 2), 3),
    ("strip_mark", (30000, TUB, 15), 3),
    ("marks", (TUB,), [500, 2000]),
    ("marks", (changed(TUB, {"mark1_ml": 0, "mark2_ml": 0}),), [0]),
    ("marks", (changed(TUB, {"mark3_ml": 3000, "mark4_ml": 4000}),), [500, 2000, 3000, 4000]),
    ("bounds", (1, TUB), (0, 500)),
    ("bounds", (2, TUB), (500, 2000)),
    ("bounds", (3, TUB), (2000, 8000)),
)
