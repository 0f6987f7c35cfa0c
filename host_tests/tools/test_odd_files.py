"""Whatever a file turns out to be: a plain sentence, at once, and nothing lost."""

import os
import pickle
import re
import time

import pytest
from potreeve_tools.boards import boardfile
from potreeve_tools.link import backup
from potreeve_tools.mishaps import scenario
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import exits, files
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world import plantfile, rigfile, weatherfile

GUIDES = rigfile.DEFAULT_RIG.parents[2] / "guides"
LOADERS = {
    "settings": settingsfile.load,
    "board": boardfile.load,
    "rig": rigfile.load_rig,
    "scenario": scenario.load,
    "copy": backup.read,
    "plant": plantfile.load,
    "weather": weatherfile.load,
}
WHOLE = {
    "rig": rigfile.DEFAULT_RIG.read_text(encoding="utf-8"),
    "board": (boardfile.BOARDS_DIR / "rp2040_wifi.toml").read_text(encoding="utf-8"),
    "scenario": (scenario.HAZARDS / "probe_out.toml").read_text(encoding="utf-8"),
    "plant": (GUIDES / "own" / "basil.toml").read_text(encoding="utf-8"),
}
NUMBER = re.compile(r"= \d[\d.]*")
ODD = {
    "a number of 4,301 digits": "x = " + "9" * 4301,
    "a number in hexadecimal": "x = 0x" + "f" * 60_000,
    "lists in lists": "x = " + "[" * 3000 + "]" * 3000,
    "not quite as many": "x = " + "[" * 40 + "]" * 40,
    "tables in tables": "x = " + "{a=" * 300 + "1" + "}" * 300,
    "a key of many parts": ".".join(["a"] * 30_000) + " = 1",
    "a table's name of many parts": "[" + ".".join(["a"] * 30_000) + "]",
    "a long list": "x = [" + "1," * 30_000 + "]",
    "a list of 6 MB": "x = [" + "1," * 3_000_000 + "]",
    "many keys": "\n".join(f"k{number} = 1" for number in range(6000)),
    "a long key": "k" * 60_000 + " = 1",
    "many tables": "[[pot]]\n" * 8000,
    "many faults": "[[fault]]\n" * 6000,
    "JSON, deep": '{"a":' * 2000 + "1" + "}" * 2000,
    "JSON, nothing": "null",
    "JSON, digits": "9" * 4301,
    "nothing but noughts": "\0" * 1000,
}
VALUES = {
    "digits": "9" * 4301,
    "hex": "0x" + "f" * 4000,
    "deep": "[" * 900 + "]" * 900,
    "endless": "inf",
    "no number": "nan",
    "huge": "9000000000000000000",
    "a date": "2020-01-01",
    "a table": "{a=1}",
}


def refused(load, path, within_s=3.0):
    """The faults load(path) tells, in time (on a busy machine, too)."""
    began = time.process_time()
    with pytest.raises(BadInput) as caught:
        load(path)
    assert time.process_time() - began < within_s
    assert 1 <= len(caught.value.faults) <= BadInput.MOST + 1
    for line in caught.value.faults:
        assert line.isprintable() and len(line) < 2000
    return caught.value.faults


@pytest.mark.parametrize("content", ODD.values(), ids=ODD.keys())
@pytest.mark.parametrize("load", LOADERS.values(), ids=LOADERS.keys())
def test_odd_content(tmp_path, load, content):
    path = tmp_path / "odd.toml"
    path.write_text(content)
    refused(load, path)


@pytest.mark.parametrize("value", VALUES.values(), ids=VALUES.keys())
@pytest.mark.parametrize("kind", WHOLE)
def test_an_odd_value_in_an_otherwise_good_file(tmp_path, kind, value):
    path = tmp_path / "odd.toml"
    path.write_text(NUMBER.sub(lambda _: f"= {value}", WHOLE[kind], count=3), encoding="utf-8")
    refused(LOADERS[kind], path)


@pytest.mark.parametrize("load", LOADERS.values(), ids=LOADERS.keys())
def test_what_is_no_file(tmp_path, load):
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "folder.toml").mkdir()
    assert "is a pipe" in refused(load, tmp_path / "pipe.toml")[0]
    assert "is a folder" in refused(load, tmp_path / "folder.toml")[0]
    assert "is a device" in refused(load, "/dev/zero")[0]
    assert "can't be read" in refused(load, tmp_path / "nowhere.toml")[0]


def test_a_word_in_many_parts_is_no_key():
    """Sources of figures name addresses and versions: those must pass."""
    text = 'source = "https://a.example/b.c/d.e.f.g/1.2.3.4.5.6.7.8.9; 0.1, 0.2, 0.3 ..... and so on"'
    assert files.parse_toml(text, "here")["source"].startswith("https")


# ---- writing -----------------------------------------------------------------------------


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "real").mkdir()
    target, link = tmp_path / "real" / "my.toml", tmp_path / "link.toml"
    target.write_text("old")
    link.symlink_to(target)
    files.write_whole(link, b"new")
    assert link.is_symlink() and target.read_text() == "new"


def test_a_device_stays_a_device(tmp_path):
    """A node of its own: this must not be tried on the real /dev/null."""
    node = tmp_path / "null"
    try:
        os.mknod(node, 0o666 | 0o020000, os.makedev(1, 3))
        node.open("wb").close()
    except OSError:
        pytest.skip("no device can be made here")
    files.write_whole(node, b"gone")
    assert node.is_char_device() and os.listdir(tmp_path) == ["null"]


def test_a_pipe_nobody_reads_is_a_fault_and_stays(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(exits.Stop) as stop:
        files.write_whole(tmp_path / "pipe", b"x")
    assert stop.value.code == exits.BAD_INPUT and (tmp_path / "pipe").is_fifo()


def test_a_pipe_somebody_reads_is_written_to(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    reader = os.open(tmp_path / "pipe", os.O_RDONLY | os.O_NONBLOCK)
    files.write_whole(tmp_path / "pipe", b"through")
    assert os.read(reader, 100) == b"through"
    os.close(reader)


@pytest.mark.parametrize("name", ["folder", "file/below", "nul\0byte"])
def test_where_nothing_can_be_written(tmp_path, name):
    """Below a file nothing can be made, not even by a superuser: as in a folder one may not write to."""
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").write_text("kept")
    with pytest.raises(exits.Stop) as stop:
        files.write_whole(tmp_path / name, b"x")
    assert stop.value.code == exits.BAD_INPUT and "can't be written" in stop.value.lines[0]
    assert sorted(os.listdir(tmp_path)) == ["file", "folder"] and (tmp_path / "file").read_text() == "kept"


def test_a_failed_write_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "kept.toml"
    path.write_text("old")

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(exits.Stop):
        files.write_whole(path, b"new")
    assert path.read_text() == "old" and os.listdir(tmp_path) == ["kept.toml"]


@pytest.mark.parametrize("raised", [exits.BadInput(["first", "second"]), exits.Stop(exits.FAILED, ["first", "second"])])
def test_what_went_wrong_is_the_same_from_another_process(raised):
    """A worker of a bench hands it over pickled; one letter a line came of two faults."""
    handed = pickle.loads(pickle.dumps(raised))
    assert (type(handed), vars(handed), str(handed)) == (type(raised), vars(raised), "first\nsecond")
