"""LEDs and beep by alarm, owner's wish and light."""

VECTORS = (
    ("show", (0, True, False), (1, 0, 0)),
    ("show", (0, False, True), (1, 0, 0)),
    ("show", (1, True, False), (1, 1, 0)),
    ("show", (1, False, True), (1, 1, 0)),
    ("show", (2, True, False), (0, 1, 200)),
    ("show", (2, True, True), (0, 1, 0)),
    ("show", (2, False, False), (0, 1, 0)),
    ("show", (2, False, True), (0, 1, 0)),
)
