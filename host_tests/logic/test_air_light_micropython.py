"""The vectors of the sensors' logic in real MicroPython."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
FIRMWARE = HERE.parents[1] / "firmware"

SCRIPT = """
import sys
vectors = __import__("vectors_" + sys.argv[1])
module = getattr(__import__("potreeve.logic." + sys.argv[1]).logic, sys.argv[1])
for function, arguments, expected in vectors.VECTORS:
    got = getattr(module, function)(*arguments)
    if got != expected:
        print(function, arguments, "gives", got, "instead of", expected)
print("ran", len(vectors.VECTORS))
"""


@pytest.mark.parametrize("module", ["air", "sht4x", "htu21d", "light", "diode", "ds18b20"])
def test_vectors_in_micropython(module, tmp_path):
    script = tmp_path / "run.py"
    script.write_text(SCRIPT)
    done = subprocess.run(
        [Path(sys.executable).with_name("micropython"), script, module],
        env={**os.environ, "MICROPYPATH": f"{HERE}:{FIRMWARE}"},
        capture_output=True,
        text=True,
        timeout=60,
    )
    vectors = __import__("vectors_" + module)
    assert done.stdout.strip() == f"ran {len(vectors.VECTORS)}", done.stdout + done.stderr
