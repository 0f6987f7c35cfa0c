"""Carry out a plan on the board, one verified file at a time.

`board` is a link.port.Board: its write_file sends a file in chunks to a
temporary name, has the board read it back and hash it, and only then renames it.
"""

from potreeve_tools.link import faults
from potreeve_tools.link.flash import plan as plans
from potreeve_tools.terminal import exits

ATTEMPTS = 2
SAFE = "Until then it stays safe, with its pumps off, and says that it is unfinished."

_COMMANDS = {
    plans.MARK_IT: "open(name,'wb').close()\nif hasattr(os,'sync'): os.sync()",
    plans.NO_FOLDER: "os.rmdir(name)",
    # All that was written must be there before the mark is not.
    plans.UNMARK: "if hasattr(os,'sync'): os.sync()\nos.remove(name)\nif hasattr(os,'sync'): os.sync()",
}
_DOING = {
    plans.MARK_IT: "being marked as unfinished",
    plans.NO_FOLDER: "removing %s",
    plans.UNMARK: "being marked as finished",
}


def carry_out(board, plan, on_bytes=lambda count: None):
    """Do all steps in order. on_bytes: called with how many more bytes of files have arrived. Raises Stop."""
    for number, step in enumerate(plan.steps):
        try:
            if step.kind == plans.SEND:
                _send(board, step, on_bytes)
            elif step.kind == plans.REMOVE:
                board.remove(step.path)
            else:
                board.run(_COMMANDS[step.kind], _doing(step), timeout_s=20.0, name=step.path)
        except faults.DeviceFault as fault:
            raise _explain(fault, number) from fault
        except faults.LinkFault as fault:
            raise faults.LinkFault(
                fault.code,
                [
                    fault.lines[0],
                    "Plug it in again and run potreeve flash again: what has arrived is "
                    "not sent twice." + (f" {SAFE}" if number else ""),
                ],
            ) from fault


def _doing(step):
    text = _DOING[step.kind]
    return text % step.path if "%" in text else text


def _send(board, step, on_bytes):
    done = [0]

    def progress(sent, _):
        on_bytes(sent - done[0])
        done[0] = sent

    for attempt in range(1, ATTEMPTS + 1):
        try:
            return board.write_file(step.path, step.data, progress)
        except exits.Stop as fault:
            if fault.code != exits.NOT_VERIFIED:
                raise
            if attempt == ATTEMPTS:
                raise exits.Stop(
                    exits.NOT_VERIFIED,
                    [
                        f"{step.path} does not read back from the board as it was sent, twice.",
                        f"Try another cable and run potreeve flash again; if it stays so, the board's flash is worn "
                        f"out. {SAFE}",
                    ],
                ) from None


def _explain(fault, number):
    """What a person can do about an exception on the board."""
    lines = list(fault.lines)
    if fault.kind == "OSError" and ("ENOSPC" in fault.said or fault.said.startswith("28")):
        lines = [
            "the board's file system is full.",
            "Pull its logs with potreeve logs pull, remove files that are not Potreeve's, and run potreeve flash "
            "again.",
        ]
    if number:
        lines.append(SAFE)
    return exits.Stop(exits.FAILED, lines)
