"""Lets these tests use the logic tests' kit and the stand-ins."""

import sys
from pathlib import Path

from potreeve_tools.rehearsal.engines import STANDINS

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "logic"))
sys.path.insert(0, str(STANDINS))
