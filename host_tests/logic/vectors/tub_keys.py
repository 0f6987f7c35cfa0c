"""The settings' table of the tub: marks that rise, a strip that reads further from dry at each."""

from potreeve.logic import settings, tub_keys

from vectors.made import changed

TUB = {"mark1_ml": 500, "full_ml": 8000}
FOUR = changed(TUB, {"mark2_ml": 2000, "mark3_ml": 4000, "mark4_ml": 6000})
STRIP = changed(TUB, {"mark2_ml": 2000, "dry_raw": 40000, "mark1_raw": 35000, "mark2_raw": 30000})


def check(data):
    """(the table's values in the order of KEYS or None, faults)"""
    faults = []
    table = tub_keys.check(data, settings._table, faults)
    return None if table is None or faults else [table[row[0]] for row in tub_keys.KEYS], faults


def said(changes, whole=FOUR):
    return check(changed(whole, changes))[1]


VECTORS = (
    ("check", (TUB,), ([500, 0, 0, 0, 8000, 0, 0, 0, 0, 0, 0], [])),
    ("check", (FOUR,), ([500, 2000, 4000, 6000, 8000, 0, 0, 0, 0, 0, 0], [])),
    ("check", (STRIP,), ([500, 2000, 0, 0, 8000, 0, 40000, 35000, 30000, 0, 0], [])),
    ("check", ([],), (None, [(1, "tub.", "", [])])),
    ("check", ({"full_ml": 8000},), (None, [(8, "tub.", "mark1_ml", None)])),
    ("check", ({"mark1_ml": 500},), (None, [(8, "tub.", "full_ml", None)])),
    ("said", ({"mark5_ml": 7000},), [(9, "tub.", "mark5_ml", 7000)]),
    ("said", ({"full_ml": 60001},), [(6, "tub.", "full_ml", 60001)]),
    ("said", ({"full_ml": 60000},), []),
    ("said", ({"mark1_ml": 0},), []),
    ("said", ({"mark2_ml": 500},), [(-11, "tub.", "mark2_ml", 500, 500, 8000)]),
    ("said", ({"mark2_ml": 501},), []),
    ("said", ({"mark4_ml": 8000},), [(-11, "tub.", "mark4_ml", 8000, 4000, 8000)]),
    ("said", ({"mark4_ml": 7999},), []),
    # A gap in the row.
    (
        "said",
        ({"mark2_ml": 0},),
        [(-11, "tub.", "mark3_ml", 4000, 500, 8000), (-11, "tub.", "mark4_ml", 6000, 500, 8000)],
    ),
    ("said", ({"mark1_ml": 8000}, TUB), [(-11, "tub.", "mark1_ml", 8000, 0, 8000)]),
    ("said", ({"mark1_raw": 39700}, STRIP), []),
    ("said", ({"mark1_raw": 39701}, STRIP), [(-12, "tub.", "mark1_raw", 39701, 40000)]),
    ("said", ({"mark2_raw": 34701}, STRIP), [(-12, "tub.", "mark2_raw", 34701, 35000)]),
    ("said", ({"mark2_raw": 34700}, STRIP), []),
    ("said", ({"mark2_raw": 0}, STRIP), [(-12, "tub.", "mark2_raw", 0, 35000)]),
    ("said", ({"dry_raw": 30000}, STRIP), [(-12, "tub.", "mark2_raw", 30000, 35000)]),
)
