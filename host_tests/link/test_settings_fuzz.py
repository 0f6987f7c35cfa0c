"""Settings files gone wrong: never a crash, here or on the board, and never unsafe settings.

More than 5,000 files a run: made-up structures, and good files with bytes changed,
as TOML on the desktop and as JSON on the board (its own loader, keep.load_settings,
in this Python and in MicroPython).
"""

import ast
import json
import os
import random
import subprocess
from pathlib import Path

import made
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from potreeve import keep
from potreeve.logic import dosing
from potreeve.logic import settings as logic
from potreeve_tools.link import held, settings_diff
from potreeve_tools.settings import settings_toml, settingsfile
from potreeve_tools.terminal.faultlist import BadInput

FIRMWARE = Path(__file__).resolve().parents[2] / "firmware"
GOOD_TOML = settings_toml.to_toml(made.settings()).encode()
GOOD_JSON = settingsfile.to_json(made.settings())
KEYS = [row[0] for row in (*logic.RIG_KEYS, *logic.CHANNEL_KEYS)]
PUMPS = 3


def assert_safe(checked):
    """What every accepted file must keep to, worked out here and not by the checker."""
    assert 1 <= len(checked["channels"]) <= 4
    for rows, table in [(logic.RIG_KEYS, checked)] + [(logic.CHANNEL_KEYS, table) for table in checked["channels"]]:
        for key, kind, _, low, high, _ in rows:
            if kind == logic.INT:
                assert type(table[key]) is int and low <= table[key] <= high
    for table in checked["channels"]:
        assert table["pulse_ml"] <= table["dose_ml"] <= table["day_ml"]
        if table["pump_ul_s"]:
            assert dosing.most_ul(table["pulse_max_ms"], table) // 1000 <= checked["tray_headroom_ml"]
        if table["curve"]:
            assert abs(table["curve"][0][0] - table["curve"][-1][0]) >= 1000


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """desk(bytes, ".toml") -> checked settings, or None when refused in lines that a person can read."""
    folder = tmp_path_factory.mktemp("fuzz")

    def load(data, ending):
        path = folder / f"f{ending}"
        path.write_bytes(data)
        try:
            checked = settingsfile.load(path)
        except BadInput as fault:
            assert fault.faults
            for line in fault.faults:
                assert "\n" not in line and str(path) in line
                line.encode("utf-8")
            return None
        assert_safe(checked)
        # What is accepted can also be sent, and passes again where it arrives.
        assert settings_diff.same(logic.check(json.loads(settingsfile.to_json(checked)))[0], checked)
        return checked

    return load


def board(data):
    """What the board runs with such a file: always something safe, the last good settings at worst."""
    files = {keep.SETTINGS: data, keep.LAST_GOOD: GOOD_JSON}
    running, old_ones = held.in_force(files, PUMPS)
    assert running is not None
    assert_safe(running)
    assert len(running["channels"]) <= PUMPS
    if old_ones:
        assert running == made.settings()
    return running


def mutated(data, rng):
    """Good bytes with some changed, moved, doubled or missing, or digits made others."""
    data = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 3, 8, 40))):
        place = rng.randrange(len(data)) if data else 0
        kind = rng.randrange(6)
        if kind == 0 and data:
            data[place] = rng.randrange(256)
        elif kind == 1:
            del data[place : place + rng.choice((1, 2, 30, 400))]
        elif kind == 2:
            data[place:place] = data[place : place + rng.choice((1, 20, 300))]
        elif kind == 3:
            data[place:place] = rng.choice(
                (
                    b"[",
                    b"{",
                    b'"',
                    b"\n",
                    b"-",
                    b"e9",
                    b"0x",
                    b"null",
                    b"\x00",
                    b"\xed\xa0\x80",
                    b"1e999",
                    b"NaN",
                    b"9" * 30,
                    b"[" * 2000,
                    "½".encode(),
                    b"\\ud800",
                )
            )
        elif kind == 4 and data:
            digits = [at for at, byte in enumerate(data) if 48 <= byte <= 57]
            if digits:
                data[rng.choice(digits)] = rng.choice(b"0123456789-.")
        else:
            data = data[:place]
    return bytes(data)


@pytest.mark.parametrize("seed", range(4))
def test_mutated_toml_on_the_desktop(desk, seed):
    rng = random.Random(f"toml {seed}")
    taken = sum(desk(mutated(GOOD_TOML, rng), ".toml") is not None for _ in range(400))
    assert 0 < taken < 400, "the mutations must neither all pass nor all fail"


@pytest.mark.parametrize("seed", range(4))
def test_mutated_json_on_the_desktop_and_on_the_board(desk, seed):
    rng = random.Random(f"json {seed}")
    taken = 0
    for _ in range(500):
        data = mutated(GOOD_JSON, rng)
        here = desk(data, ".json")
        there = board(data)
        taken += here is not None
        # A file the desktop takes runs on the board, unless it has too many pots.
        if here is not None and len(here["channels"]) <= PUMPS:
            assert settings_diff.same(there, here)
    assert 0 < taken < 500


values = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 70000),
    st.integers(),
    st.floats(),
    st.text(max_size=30),
    st.lists(st.lists(st.integers(-5, 70000), max_size=3), max_size=7),
    st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
)
tables = st.dictionaries(st.one_of(st.sampled_from(KEYS), st.text(max_size=6)), values, max_size=8)


@settings(max_examples=2000, deadline=None, suppress_health_check=list(HealthCheck))
@given(changes=tables, pots=st.lists(tables, max_size=5), whole=st.booleans())
def test_made_up_structures(desk, changes, pots, whole):
    base = made.settings_data(3)
    data = (
        {**base, **changes, "channels": [{**base["channels"][index % 3], **pot} for index, pot in enumerate(pots)]}
        if whole
        else {**changes, "channels": pots}
    )
    text = json.dumps(data).encode("ascii")
    desk(text, ".json")
    board(text)


RUN = """
import sys
from potreeve import keep
class Memory:
    def __init__(self, data): self.files = {keep.SETTINGS: data, keep.LAST_GOOD: good}
    def read(self, name): return self.files.get(name)
    def replace(self, name, data): self.files[name] = data
def read(name):
    with open(name, 'rb') as f: return f.read()
good = read(sys.argv[1] + '/good')
for n in range(int(sys.argv[2])):
    running, errors = keep.load_settings(Memory(read(sys.argv[1] + '/%d' % n)), 3)
    rig = sorted([(k, running[k]) for k in running if k != 'channels'])
    print(repr((n, errors, rig, [sorted(c.items()) for c in running['channels']])))
"""


# What MicroPython's JSON takes and Python's does not, and the other way round.
LAX = (
    (b"}]}", b"},]}"),
    (b'","', b'" "'),
    (b'":', b'"'),
    (b",", b",,"),
    (b"}]}", b"}}]"),
    (b"]", b"}"),
    (b":", b":0"),
    (b"true", b"True"),
    (b"}]}", b"}]"),
    (b"}]}", b"}]}}"),
    (b"1", b"-1"),
    (b"1", b"1."),
    (b"mint", b"m\nint"),
    (b"mint", b"\\q"),
    (b"mint", b"\\ud83d"),
    (b"mint", b"\xc3"),
    (b"mint", b"\xed\xa0\x80"),
)


def loosened(data, rng):
    for _ in range(rng.choice((1, 1, 2))):
        old, new = rng.choice(LAX)
        places = [at for at in range(len(data)) if data.startswith(old, at)]
        if places:
            at = rng.choice(places)
            data = data[:at] + new + data[at + len(old) :]
    return data


def test_the_boards_loader_in_micropython_agrees(tmp_path):
    """1,200 files, one process: what MicroPython makes of each is what the desk says it makes of it."""
    rng = random.Random("micropython")
    files = [(mutated if number % 2 else loosened)(GOOD_JSON, rng) for number in range(1200)]
    (tmp_path / "good").write_bytes(GOOD_JSON)
    for number, data in enumerate(files):
        (tmp_path / str(number)).write_bytes(data)
    (tmp_path / "run.py").write_text(RUN)
    done = subprocess.run(
        [made.MICROPYTHON, "-X", "heapsize=4M", tmp_path / "run.py", tmp_path, str(len(files))],
        capture_output=True,
        timeout=120,
        env={**os.environ, "MICROPYPATH": str(FIRMWARE)},
        check=False,
    )
    assert done.returncode == 0, done.stderr[-500:]
    lines = done.stdout.decode("utf-8", "replace").splitlines()
    assert len(lines) == len(files)
    lax = 0
    for line, data in zip(lines, files, strict=True):
        number, bits, *running = ast.literal_eval(line)
        settings, old_ones = held.in_force({keep.SETTINGS: data, keep.LAST_GOOD: GOOD_JSON}, PUMPS)
        assert bool(bits) == old_ones, data
        here = sorted((key, settings[key]) for key in settings if key != "channels")
        pots = [sorted(pot.items()) for pot in settings["channels"]]
        if data.isascii() and b"\\u" not in data:
            assert ascii(running) == ascii([here, pots]), data
        lax += not old_ones and not _strict(data)
    assert lax > 50, "files that only the board's reader takes must be among them"


def _strict(data):
    try:
        json.loads(data)
    except ValueError:
        return False
    return True
