"""Runs a program of standins/proofs in an interpreter, with a job and a result file."""

import json
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path

from potreeve_tools.rehearsal.engines import FIRMWARE, PROOFS, STANDINS

# Without what every Python of an environment looks for at its start, which takes longer than MicroPython's own.
MICROPYTHON = [
    sys.executable,
    "-S",
    "-c",
    f"import sys; sys.path.append({str(Path(find_spec('micropython_run').origin).parent)!r}); "
    "from micropython_run import run_main; sys.argv[0] = 'micropython'; sys.exit(run_main(sys.argv))",
]
LAST_WORDS = 3000


class Broke(Exception):
    """The program ended badly; the text is the end of what it said."""


def run(program, job, interpreter="micropython", firmware=FIRMWARE, heap="16m", timeout_s=None, path=()):
    """Run standins/proofs/PROGRAM; returns the objects of its result file, one per line.

    job: what the program finds as JSON; interpreter: "micropython" (unix build)
    or "cpython"; firmware: the tree to run; path: more folders to import from.
    """
    with tempfile.TemporaryDirectory() as folder:
        job_path, result_path = Path(folder) / "job.json", Path(folder) / "result.jsonl"
        job_path.write_text(json.dumps(job))
        folders = [str(p) for p in (*path, PROOFS, STANDINS, firmware, firmware / "potreeve" / "hal")]
        env = {"PATH": "/usr/bin:/bin"}
        if interpreter == "cpython":
            # hal's own folder stays out: its `time` and `power` are no business of CPython's library.
            command = [sys.executable, "-S"]
            env["PYTHONPATH"] = ":".join(folders[:-1])
            env["PYTHONDONTWRITEBYTECODE"] = "1"
        else:
            command = [*MICROPYTHON, "-X", f"heapsize={heap}"]
            env["MICROPYPATH"] = ":".join([*folders, ".frozen"])
        with open(Path(folder) / "said.txt", "w+b") as said:
            done = subprocess.run(
                [*command, str(PROOFS / program), str(job_path), str(result_path)],
                env=env,
                stdout=said,
                stderr=subprocess.STDOUT,
                timeout=timeout_s,
                check=False,
            )
            if done.returncode:
                said.seek(max(0, said.tell() - LAST_WORDS))
                raise Broke(
                    f"{program} ended with code {done.returncode}:\n"
                    + said.read().decode(errors="replace")[-LAST_WORDS:]
                )
        return [json.loads(line) for line in result_path.read_text().splitlines()]
