"""The questions in the station's guide, word for word, asked of a real time-series database that the station filled."""

import json
import math
import re
import time
import urllib.parse
import urllib.request
from importlib.resources import files

from potreeve_tools.station import intake, lines, store
from potreeve_tools.station.messages import Message
from station_kit import about, line, pieces

GUIDE = files("potreeve_tools.station").joinpath("README.md").read_text(encoding="utf-8")
STEP_S, COUNT = 1800, 96
DOSES = {20: 410, 50: 388, 90: 402}
HELD_FROM = 72


def questions():
    """{question: query} of the guide's table."""
    table = re.search(r"\| question \| query \|\n(.*?)\n\n", GUIDE, re.S)[1]
    return dict(re.findall(r"^ *\| ([^|]+?) \| `([^`]+)` \|$", table, re.M))


def moisture_pm(n):
    return 800 - 3 * (n % 40)


def rows():
    """Two days of a pot, a record each half hour: it dries, is dosed, and is held on its last half day."""
    for n in range(COUNT):
        pulse = (9000, DOSES[n]) if n in DOSES else (0, 0)
        pot = (moisture_pm(n), 2 if n >= HELD_FROM else 0, 0, *pulse)
        yield n, {"pots": (pot,), "temp_cdeg": 1900 + 10 * (n % 48), "days_left": 60 - n // 48}


def ask(url, query, at_s):
    words = urllib.parse.urlencode({"query": query, "time": at_s})
    with urllib.request.urlopen(f"{url}/api/v1/query?{words}") as answer:
        told = json.load(answer)
    assert told["status"] == "success", told
    return {row["metric"].get("pot"): float(row["value"][1]) for row in told["data"]["result"]}


def test_every_question_of_the_guide_has_the_answer_of_the_records(database, tmp_path):
    kept = store.open_store(tmp_path / "s.db")
    begin = int(time.time()) // STEP_S * STEP_S - COUNT * STEP_S
    made = [line(n + 1, utc_s=begin + n * STEP_S, **more) for n, more in rows()]
    now = begin + (COUNT - 1) * STEP_S
    messages = [("about", about()), *[("log", piece) for piece in pieces(made)]]
    intake.take(kept, [(now, Message("sill", kind, body), False) for kind, body in messages])
    pusher = lines.Pusher(None, database + "/write")
    while pusher.step(kept):
        pass
    kept.close()
    urllib.request.urlopen(database + "/internal/force_flush").read()
    last_day = [dose for n, dose in DOSES.items() if n > COUNT - 1 - 48]
    # Of the half-hourly looks of a week those count at which there is a reading.
    wanted = {
        "how dry did each pot get this month": ("mint", min(map(moisture_pm, range(COUNT))) / 1000, 0),
        "water of each day, litres at most": ("mint", sum(last_day) / 10000, 1e-9),
        "which pot was not tended, and how much of the time": ("mint", (COUNT - HELD_FROM) / COUNT, 0.03),
        "in how many days is the battery empty": (None, 59, 0),
        "how warm did it get": (None, 23.7, 0),
        "what fell dry fastest today, per hour": ("mint", -0.006, 0.0001),
    }
    asked = questions()
    assert asked.keys() == wanted.keys()
    for question, query in asked.items():
        who, value, off = wanted[question]
        found = ask(database, query, now)
        assert found.keys() == {who} and math.isclose(found[who], value, rel_tol=1e-9, abs_tol=off), (question, found)
