"""Exit codes of every command, and the way to leave with one of them."""

OK = 0
FAILED = 1
BAD_INPUT = 2
NO_DEVICE = 3
NO_ANSWER = 4
NOT_VERIFIED = 5
FAULT = 70
INTERRUPTED = 130

MEANINGS = {
    OK: "done, and all is well",
    FAILED: "done, but something that was checked did not hold",
    BAD_INPUT: "an option or a file can't be used as it is",
    NO_DEVICE: "no board found, or another program holds its port",
    NO_ANSWER: "the board did not answer in time",
    NOT_VERIFIED: "what was written to the board does not read back",
    FAULT: "a fault in Potreeve itself; the file with its details is named",
    INTERRUPTED: "interrupted with Ctrl-C",
}


class Stop(Exception):
    """Leave with a code. lines: what went wrong and what to do, one sentence each."""

    def __init__(self, code, lines):
        self.code = code
        self.lines = list(lines)
        super().__init__("\n".join(self.lines))

    def __reduce__(self):
        return type(self), (self.code, self.lines)


class BadInput(Exception):
    """A file or an option can't be used: leave with BAD_INPUT. `faults` holds one line per fault, in file order."""

    MOST = 200

    def __init__(self, faults):
        self.faults = list(faults)
        if len(self.faults) > self.MOST:
            more = len(self.faults) - self.MOST
            self.faults[self.MOST :] = [f"and {more:,} faults more: is that the right file?"]
        super().__init__("\n".join(self.faults))

    def __reduce__(self):
        return type(self), (self.faults,)
