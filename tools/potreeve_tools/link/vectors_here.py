"""The vectors of the logic in the MicroPython of this machine, against this Python: the part of the tests that an
installed tool has.

    python -m potreeve_tools.link.vectors_here

Exit status 1 if an answer differs.
"""

import os
import subprocess
import sys

from potreeve_tools.image.places import FIRMWARE
from potreeve_tools.link import selftest_vectors

TIMEOUT_S = 300


def run(firmware=FIRMWARE):
    """(number of vectors, [(module, answer here, answer in MicroPython)] of those that differ).

    firmware: folder with potreeve/, sources. Where MicroPython breaks off, what it said stands as its answer.
    """
    shipped = selftest_vectors.load()
    desktop = selftest_vectors.Desktop()
    made = selftest_vectors.prelude(shipped, "made")
    desktop.made(made)
    program = [selftest_vectors.RUNNER, f"MADE = {{}}\nexec({made!r}, MADE)\n"]
    here = []
    for module in [module for module in shipped if module != "made"]:
        prelude = selftest_vectors.prelude(shipped, module)
        desktop.begin(prelude)
        program.append(f"names = {{'MADE': MADE}}\nexec({prelude!r}, names)\n")
        for piece in selftest_vectors.pieces(shipped[module]["vectors"]):
            try:
                here += [(module, text) for text in desktop.answer(module, piece)]
            except Exception as fault:  # the vectors speak of another firmware
                return len(here), [(module, f"{type(fault).__name__}: {fault}", "vectors of another firmware")]
            program.append(f"for text in answers({module!r}, names, eval({piece!r}, names)): print(text)\n")
    there = _answers("".join(program), firmware)
    there += [""] * (len(here) - len(there))
    return len(here), [(module, text, other) for (module, text), other in zip(here, there) if text != other]


def _answers(program, firmware):
    """Lines that MicroPython prints, what it complains of included."""
    done = subprocess.run(
        [sys.executable, "-c", "import sys; from micropython_unix import main; sys.exit(main())", "-X", "heapsize=64m"]
        + ["-c", "import sys; exec(sys.stdin.read())"],
        input=program,
        capture_output=True,
        text=True,
        timeout=TIMEOUT_S,
        check=False,
        env={**os.environ, "MICROPYPATH": f"{firmware}:.frozen"},
    )
    return done.stdout.splitlines() + done.stderr.strip().splitlines()[-1:]


def main():
    """Exit status."""
    count, wrong = run()
    for module, text, other in wrong[:8]:
        print(f"FAILED {module}: {other[:80]} in MicroPython instead of {text[:80]}")
    print(f"{count} vectors, {len(wrong)} differ")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
