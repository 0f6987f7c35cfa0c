"""The README's table of alarms: made by the firmware's levels, and nothing is missing from it."""

from pathlib import Path

from potreeve.logic import errors, reasons
from potreeve_tools.words import levels

README = Path(__file__).parents[2] / "README.md"


def test_the_readme_has_it_as_it_is_made():
    assert "\n".join(levels.table()) in README.read_text(encoding="utf-8")


def test_every_reason_and_every_failure_is_in_it():
    said = [code for _, codes, _ in levels.POTS for code in codes]
    said += [code for codes, _ in levels.RIG for code in codes]
    said += [code for codes, _, _ in levels.TUB for code in codes]
    # Without settings there is no step that could ask: the app does.
    every = {value for value in vars(reasons).values() if isinstance(value, int)} - {reasons.NO_SETTINGS}
    assert set(said) == every
    bits = [bit for codes, _ in levels.FAULTS for bit in codes]
    every = {value for value in vars(errors).values() if isinstance(value, int)}
    assert set(bits) == every - {errors.BATTERY, errors.CODE} and len(bits) == len(set(bits))
