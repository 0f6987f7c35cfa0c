"""What the proofs share: adapters that are watched, and how a proof is run and told."""

import json
import sys

from ends import Finished
from potreeve.logic import record, state

NAMES = {}

if sys.implementation.name == "micropython":
    # MicroPython looks a name up among all others at each use, unless it knew the name when the text was split: the
    # names of the firmware's tables are used once, and split anew. (CPython: host_tests/conftest.py.)
    for _names in (state.RIG_NAMES, state.POT_NAMES, record.HEAD_NAMES, record.POT_NAMES):
        for _name in _names:
            hasattr(_names, _name)
        _names[:] = " ".join(_names).split()


class Part:
    """An adapter each of whose calls goes through tried(name, call, arguments)."""

    def __init__(self, name, part, tried):
        self._name = name
        self._part = part
        self._tried = tried

    def __getattr__(self, call):
        found = getattr(self._part, call)
        if not callable(found):
            return found
        tried = self._tried
        # A text is dear to put together in MicroPython, which looks whether it has it already.
        key = self._name, call
        name = NAMES.get(key)
        if name is None:
            name = NAMES[key] = self._name + "." + call
        return lambda *args: tried(name, found, args)


def report(proof, bench, one):
    """Tell and count what the bench has seen go wrong in case `one`; its list is empty then."""
    for fault in bench.faults:
        proof.failed += 1
        proof.tell({"id": one, "fault": fault})
    bench.faults = []


def run(proof):
    """Run proof(job, tell): the job is the JSON file named first, what is told goes to the second, a line each.

    Where the job has `until`, it ends with the first fault that says so: whoever planted a bug asks for no more.
    """
    with open(sys.argv[1]) as file:
        job = json.load(file)
    until = job.get("until")
    with open(sys.argv[2], "w") as result:

        def tell(what):
            result.write(json.dumps(what) + "\n")
            if until and until in what.get("fault", ""):
                raise Finished()

        try:
            proof(job, tell).run()
        except Finished:
            pass
