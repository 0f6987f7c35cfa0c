"""Boots main.py again and again in one MicroPython, each time with other bits of one file flipped; nothing of ours is
loaded.

usage: flips.py TREE FLIPS     TREE: as boot.py takes it; FLIPS: JSON list of [path, [[byte, mask], ...]]

Prints one line of JSON per flip: the path, how the boot ended ("ran": the firmware would have been loaded; "told";
"prompt": a fault of main.py itself; "reset"), and the pump pins that were high. Where main.py hangs, so does this.
"""

import json
import sys

HERE = sys.argv[0][: -len("flips.py")]
sys.path.append(HERE)

import boot

PUMPS = (6, 7, 8, 10)
# No boot of two minutes needs so many looks at the clock, or feeds.
ENOUGH = 100000


class Hangs(BaseException):
    pass


class Loaded(BaseException):
    """The firmware's turn."""


class Hal:
    def __getattr__(self, name):
        raise Loaded


def main(tree, flips):
    with open(flips) as file:
        flips = json.load(file)
    boot.as_root(tree)
    from bench import bench
    from ends import Restart

    class Potreeve:
        hal = Hal()

    sys.modules["potreeve"] = Potreeve
    for path, bits in flips:
        with open("/" + path, "rb") as file:
            sound = file.read()
        data = bytearray(sound)
        for at, mask in bits:
            data[at] ^= mask
        with open("/" + path, "wb") as file:
            file.write(data)
        said = []
        ended = once(bench, Restart, said)
        with open("/" + path, "wb") as file:
            file.write(sound)
        told = [line for line in said if "not started, pumps are off" in line]
        if ended == "ctrl-c":
            # With its words damaged, too, it waits all the same, and Ctrl-C gets in.
            ended = "told" if told else "waits"
        print(
            json.dumps(
                [
                    path,
                    ended,
                    [event[1] for event in bench.events if event[0] == "pin" and event[2] and event[1] in PUMPS],
                ]
            )
        )


def once(bench, reset, said):
    """How one boot ends, Ctrl-C coming after two minutes."""
    bench.clear()
    bench.plan(120000, boot.press_ctrl_c)
    count = [0]
    log = bench.log

    def counted(*event):
        count[0] += 1
        if count[0] > ENOUGH:
            raise Hangs
        log(*event)

    bench.log = counted
    try:
        with open("/main.py", "rb") as file:
            text = file.read()
        exec(
            text, {"__name__": "__main__", "print": lambda *words: said.append(" ".join([str(word) for word in words]))}
        )
        return "prompt"
    except reset:
        return "reset"
    except Loaded:
        return "ran"
    except KeyboardInterrupt:
        return "ctrl-c"
    except Hangs:
        return "hang"
    except Exception:
        return "prompt"
    finally:
        bench.log = log


main(sys.argv[1], sys.argv[2])
