"""Hypothesis settings for the logic tests: the same examples every time in CI.

HYPOTHESIS_PROFILE=hunt looks for new ones.
"""

import os

from hypothesis import HealthCheck, settings

COMMON = {"deadline": None, "database": None, "suppress_health_check": list(HealthCheck)}

settings.register_profile("logic-ci", settings(max_examples=100, derandomize=True, **COMMON))
settings.register_profile("logic-hunt", settings(max_examples=5000, print_blob=True, **COMMON))

PROFILE = settings.get_profile("logic-hunt" if os.environ.get("HYPOTHESIS_PROFILE") == "hunt" else "logic-ci")
