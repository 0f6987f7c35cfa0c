"""Every line and every branch of logic/ is walked by this folder's own plain tests.

Measured in a process of its own, so that imports count too. By hand:

    .venv/bin/python host_tests/logic/test_coverage.py
"""

import json
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
LOGIC = ROOT / "firmware" / "potreeve" / "logic"

# Slow, or about other things than what the lines do: whatever a property test finds
# by chance is no proof that a branch is tested.
LEFT_OUT = {"test_coverage", "test_source_rules", "test_air_light_micropython"}


def files_of_tests():
    return [
        path
        for path in sorted(HERE.glob("test_*.py"))
        if path.stem not in LEFT_OUT and not path.stem.endswith(("_properties", "_published"))
    ]


def measure(folder):
    """(the test run, {module: (lines missing, branches missing)})"""
    data, told = folder / "coverage", folder / "coverage.json"
    config = folder / "rc"
    config.write_text(f"[run]\nbranch = true\nsource = {LOGIC}\ndata_file = {data}\n")
    coverage = [sys.executable, "-m", "coverage"]
    run = subprocess.run(
        [
            *coverage,
            "run",
            f"--rcfile={config}",
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:cacheprovider",
            "-p",
            "no:xdist",
            "-k",
            "not micropython",
            *map(str, files_of_tests()),
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    subprocess.run([*coverage, "json", f"--rcfile={config}", "-q", "-o", str(told)], cwd=ROOT, check=True, timeout=60)
    files = json.loads(told.read_text())["files"]
    return run, {Path(name).stem: (found["missing_lines"], found["missing_branches"]) for name, found in files.items()}


def test_every_branch_of_logic_is_walked(tmp_path):
    run, missing = measure(tmp_path)
    assert run.returncode == 0, run.stdout[-3000:] + run.stderr
    assert set(missing) >= {path.stem for path in LOGIC.glob("*.py")} - {"__init__"}
    assert {name: gaps for name, gaps in missing.items() if any(gaps)} == {}


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        run, missing = measure(Path(folder))
    print(run.stdout.splitlines()[-1])
    for name, (lines, branches) in sorted(missing.items()):
        print(f"{name:<16}", "100 %" if not lines and not branches else f"lines {lines}, branches {branches}")
