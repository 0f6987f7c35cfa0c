"""What a connected board holds, read in one round trip: board file, settings, ledger, the log's end."""

import base64
import binascii
import json

from potreeve import keep
from potreeve.logic import ledger, record, segments

from potreeve_tools.link import backup, held, status_view
from potreeve_tools.settings import judge
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput

SETTINGS = keep.SETTINGS
UNDO = "settings.undo.json"

ENOENT = 2
# Of each of the last two segments: enough for the last wakes, at next to no cost.
TAIL_RECORDS = 8


class Facts:
    """What a board holds.

    id; board: device form of its board file, or None; files: {name: bytes or None} of
    its data folder; settings: checked, those in force, or None; old_ones: True when they
    are the last good copy because the newer file won't do; state: State or None;
    records: (head, pots) of its newest records, oldest first; notes: (what, what to do) pairs.
    """

    def __init__(self, board_id, files, notes):
        self.id = board_id
        self.files = files
        self.notes = notes
        self.board = _board(files.pop("/board.json", None), notes)
        self.settings, self.old_ones = self._settings()
        for line in judge.insisted(self.settings) if self.settings else ():
            notes.append(
                (f"a plant may starve by settings that are insisted on: {line}", "change that key, then insist no more")
            )
        self.state, _, _ = ledger.choose(files.get("ledger.a"), files.get("ledger.b"))
        if self.state and self.settings and self.state.rig.channels != len(self.settings["channels"]):
            notes.append(
                (
                    f"the ledger speaks of {self.state.rig.channels} pots, the settings of "
                    f"{len(self.settings['channels'])}: it starts a new one at its next wake",
                    "nothing; it counts the day's water as given first",
                )
            )
            self.state = None
        if self.state is None and (files.get("ledger.a") or files.get("ledger.b")) and not notes:
            notes.append(
                (
                    "neither slot of the ledger is whole",
                    "leave service mode: the board starts a new one and counts the day's water as given",
                )
            )
        self.records = self._records()

    @property
    def pumps(self):
        """How many channels the board has, 0 unknown."""
        return len(self.board["pins"]["pumps"]) if self.board else 0

    def _settings(self):
        """(checked settings in force or None, whether they are only the last good ones)."""
        newest = self.files.get(SETTINGS)
        why = held.checked(newest, self.pumps)[1] if newest is not None else None
        if why:
            self.notes.append((f"{SETTINGS} on the board can't be used: {why}", "push settings that pass"))
        return held.in_force(self.files, self.pumps)

    def _records(self):
        names = sorted(name for name in self.files if name.startswith(segments.PREFIX))
        return [found for name in names for found in status_view.records(self.files[name] or b"")]


def read(link, tail_records=TAIL_RECORDS):
    """Facts of a connected link.port.Board, with so many records of each of its last two segments. Raises
    exits.Stop."""
    names = ["/board.json", *(f"/data/{name}" for name in (*backup.KEPT_FILES, UNDO))]
    code = f"_held({names!r},{tail_records * record.RECORD_BYTES})"
    for _ in range(3):
        try:
            files, notes = _parse(link.output(code, "reading its settings and its ledger", timeout_s=20.0))
        except binascii.Error:
            continue
        return Facts(link.info.get("id") or "unnamed", files, notes)
    raise exits.Stop(
        exits.NO_ANSWER, [f"{link.port}: what the board sends arrives damaged; check the cable and repeat the command"]
    )


def read_to_last_pulses(link):
    """Facts with as many records as it takes to tell of each pot's last pulse, or with all that is at hand."""
    facts = read(link)
    if facts.state is None or not status_view.lacks_pulses(facts.state, facts.records):
        return facts
    return read(link, segments.RECORDS)


def _parse(said):
    files, notes, name = {}, [], None
    for line in said.decode("ascii", "replace").split():
        if line[:1] == ">":
            name = line[1:].removeprefix("/data/")
            files[name] = b""
        elif line[:1] == "!":
            number = int(line[1:])
            files[name] = None
            if number != ENOENT:
                notes.append(
                    (
                        f"{name} on the board can't be read (error {number}): its file system is damaged there",
                        "keep a copy (potreeve logs pull), then push settings or flash again; if it stays, the flash "
                        "is worn",
                    )
                )
        else:
            files[name] += base64.b64decode(line, validate=True)
    return files, notes


def _board(data, notes):
    """The board file's mapping, or None."""
    try:
        board = json.loads(data.decode("utf-8"))
        if len(board["pins"]["pumps"]) >= 1 and isinstance(board["energy"], dict):
            return board
    except (AttributeError, ValueError, TypeError, KeyError, RecursionError):
        pass
    notes.append(("the board has no usable board file, so it drives no pin", "run potreeve flash"))
    return None


def need_firmware(link):
    """Raise Stop unless Potreeve's firmware is on the board."""
    if not link.info.get("firmware"):
        raise exits.Stop(
            exits.FAILED, [f"{link.port}: Potreeve's firmware is not on this board.", "Run potreeve flash first."]
        )


def keep_copy(facts, why):
    """Leave a dated copy of what the board holds; returns its path, the last one's when nothing has changed since, None
    when it holds nothing."""
    held = {name: facts.files[name] for name in backup.KEPT_FILES if facts.files.get(name) is not None}
    if not held:
        return None
    known = backup.listing(facts.id)
    if known:
        try:
            if backup.read(known[-1]).files == held:
                return known[-1]
        except BadInput:
            pass  # a damaged copy is no copy
    return backup.save(facts.id, why, facts.board, facts.files)
