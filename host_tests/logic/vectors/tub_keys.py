"""The settings' table of the tub: marks that rise, a strip that reads further from dry at each."""

from potreeve.logic import settings, tub_keys

from vectors.made import changed

TUB = {"mark1_ml": 500, "full_ml": 8000}
FOUR = changed(TUB, {"mark2_ml": 2000, "mark3_ml": 4000, "mark4_ml": 6000})
TWO = changed(TUB, {"mark2_ml": 2000})
STRIP = changed(TWO, {"strip": [[40000, 0], [35000, 1], [30000, 2]]})


def check(data):
    """(the table's values in the order of KEYS or None, faults)"""
    faults = []
    table = tub_keys.check(data, settings._table, faults)
    return None if table is None or faults else [table[row[0]] for row in tub_keys.KEYS], faults


def said(changes, whole=FOUR):
    return check(changed(whole, changes))[1]


def bent(strip):
    """The fault of a strip that does not go with two marks."""
    return [(-12, "tub.", "strip", strip, 2, 300)]


VECTORS = (
    ("check", (TUB,), ([500, 0, 0, 0, 8000, 0, (), 1000, 0], [])),
    ("check", (FOUR,), ([500, 2000, 4000, 6000, 8000, 0, (), 1000, 0], [])),
    ("check", (STRIP,), ([500, 2000, 0, 0, 8000, 0, [(40000, 0), (35000, 1), (30000, 2)], 1000, 0], [])),
    ("check", ([],), (None, [(1, "tub.", "", [])])),
    ("check", ({"full_ml": 8000},), (None, [(8, "tub.", "mark1_ml", None)])),
    ("check", ({"mark1_ml": 500},), (None, [(8, "tub.", "full_ml", None)])),
    ("said", ({"mark5_ml": 7000},), [(9, "tub.", "mark5_ml", 7000)]),
    ("said", ({"full_ml": 60001},), [(6, "tub.", "full_ml", 60001)]),
    ("said", ({"full_ml": 60000},), []),
    ("said", ({"share_full_pm": 100, "share_low_pm": 4000},), []),
    ("said", ({"share_full_pm": 99, "share_low_pm": 4001},),
     [(6, "tub.", "share_full_pm", 99), (6, "tub.", "share_low_pm", 4001)]),
    ("said", ({"mark1_ml": 0},), []),
    ("said", ({"mark2_ml": 500},), [(-11, "tub.", "mark2_ml", 500, 8000)]),
    ("said", ({"mark2_ml": 501},), []),
    ("said", ({"mark4_ml": 8000},), [(-11, "tub.", "mark4_ml", 8000, 8000)]),
    ("said", ({"mark4_ml": 7999},), []),
    # A gap in the row.
    (
        "said",
        ({"mark2_ml": 0},),
        [(-11, "tub.", "mark3_ml", 4000, 8000), (-11, "tub.", "mark4_ml", 6000, 8000)],
    ),
    ("said", ({"mark1_ml": 8000}, TUB), [(-11, "tub.", "mark1_ml", 8000, 8000)]),
    ("said", ({"strip": [[40000, 0], [39700, 1], [30000, 2]]}, TWO), []),
    ("said", ({"strip": [[40000, 0], [39701, 1], [30000, 2]]}, TWO), bent([(40000, 0), (39701, 1), (30000, 2)])),
    ("said", ({"strip": [[40000, 0], [35000, 1], [34701, 2]]}, TWO), bent([(40000, 0), (35000, 1), (34701, 2)])),
    ("said", ({"strip": [[10000, 0], [10300, 1], [10600, 2]]}, TWO), []),
    ("said", ({"strip": [[40000, 0], [35000, 1]]}, TWO), bent([(40000, 0), (35000, 1)])),
    ("said", ({"strip": [[40000, 1], [35000, 2], [30000, 3]]}, TWO), bent([(40000, 1), (35000, 2), (30000, 3)])),
    ("said", ({"strip": [[40000, 0], [35000, 2], [30000, 3]]}, TWO), bent([(40000, 0), (35000, 2), (30000, 3)])),
    ("said", ({"strip": [[40000, 0]]}, TWO), [(6, "tub.", "strip", [[40000, 0]])]),
    ("said", ({"strip": [[40000, 0], [35000, 1], [36000, 2]]}, TWO),
     [(7, "tub.", "strip", [[40000, 0], [35000, 1], [36000, 2]])]),
)
