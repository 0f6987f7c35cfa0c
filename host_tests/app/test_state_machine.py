"""W1 to W9 hold whatever happens, in any order: 20,000 steps against an independent model.

A failing program prints as the calls that lead to it, then what the model says.
The CI profile always runs the same programs; set POTREEVE_STATE_MACHINE=hunt
for new ones each time.
"""

import ast
import os
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test
from machine import Rules

STEPS_LEAST = 20000
# Of some 82 steps each.
EXAMPLES = 300
COMMON = {"deadline": None, "database": None, "suppress_health_check": list(HealthCheck)}
PROFILES = {
    "ci": settings(max_examples=EXAMPLES, stateful_step_count=80, derandomize=True, **COMMON),
    "hunt": settings(max_examples=3000, stateful_step_count=80, print_blob=True, **COMMON),
}


def test_the_model_asks_nobody():
    """It is handed what the board was shown and did; of the firmware it imports nothing."""
    tree = ast.parse(Path(__file__).with_name("model.py").read_text())
    found = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    found |= {name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names}
    assert found == {"collections", "fractions"}


def test_no_counterexample_in_20000_steps(same_programs, capsys):
    profile = os.environ.get("POTREEVE_STATE_MACHINE", "ci")
    Rules.steps = Rules.pulses = 0
    run_state_machine_as_test(Rules, settings=PROFILES[profile])
    with capsys.disabled():
        print(f" {Rules.steps} steps with {Rules.pulses} pulses, no counterexample ", end="")
    assert Rules.steps >= STEPS_LEAST
    assert Rules.pulses >= Rules.steps // 20, "too few pulses to show anything"
