"""Runs that were judged before, as evidence that a test may tamper with; what the judge says of it."""

import copy
import tomllib
from functools import cache

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.mishaps import laws, scenario, trial
from potreeve_tools.mishaps.evidence import Evidence
from potreeve_tools.world.rigfile import DEFAULT_RIG

DAY_S = 86400


def bench():
    rig = tomllib.loads(DEFAULT_RIG.read_text(encoding="utf-8"))
    return trial.Bench(rig, "reading_room.toml", boards.load("rp2040_wifi").device_dict(), interpreter="cpython")


def found(name):
    return scenario.load(scenario.HAZARDS / f"{name}.toml")


@cache
def finished(name):
    return trial.run(found(name), bench(), 1)


def evidence(name="probe_out"):
    """A fresh Evidence of a run that holds, to be tampered with."""
    ev = Evidence(finished(name), found(name))
    ev.samples = copy.deepcopy(ev.samples)
    ev.rows = copy.deepcopy(ev.rows)
    ev.world = copy.copy(ev.world)
    return ev


def broken(ev):
    return {finding.law for finding in laws.judge(ev)}


def codes(findings):
    return [finding.code for finding in findings]
