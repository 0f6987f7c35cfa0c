"""The tests that are worth running after every change: those of a flash's gate, and the desktop's that need no board.

    python3 tools/go.py test --quick [ARGS of pytest]

In less than two minutes. The whole run is `python3 tools/go.py test`.
"""

import sys

from potreeve_tools.link.flash import gate

DESKTOP = (
    "host_tests/tools/test_arrows.py",
    "host_tests/tools/test_alerts.py",
    "host_tests/tools/test_card.py",
    "host_tests/tools/test_help_and_hints.py",
    "host_tests/tools/test_settingsfile.py",
    "host_tests/link/test_logs_read.py",
    "host_tests/link/test_settings_words.py",
)


def arguments(more=()):
    """What pytest is told."""
    return ["-q", "-m", "not slow", *gate.NOT_QUICK, *gate.QUICK_TESTS, *DESKTOP, *more]


def main(more):
    """Exit status of pytest."""
    import pytest

    return pytest.main(arguments(more))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
