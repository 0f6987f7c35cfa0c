"""The mutants: every kind of change is made, a good test notices, a reason once given stays."""

import ast
import os

import pytest
from potreeve_tools.bench import mutantpage, mutants, mutantwalk, mutators
from potreeve_tools.terminal.faultlist import BadInput

SOURCE = '''
"""A module."""
LIMIT = 5
def f(a, b):
    """A function."""
    if a < LIMIT and not b:
        return a + 1
    total = 0
    total += a
    g(total)
    return total > 3 or -b == 2
def g(x): pass
'''


def keys(source=SOURCE):
    return [one.key for one in mutators.mutants(source)]


@pytest.mark.parametrize(
    "key",
    [
        "LIMIT: 5  ->  6",
        "LIMIT: 5  ->  4",
        "f: a < LIMIT  ->  a <= LIMIT",
        "f: a < LIMIT  ->  a >= LIMIT",
        "f: a < LIMIT and (not b)  ->  a < LIMIT or not b",
        "f: a + 1  ->  a - 1",
        "f: 1  ->  2",
        "f: 1  ->  0",
        "f: not b  ->  b",
        "f: return a + 1  ->  return 0",
        "f: total += a  ->  total -= a",
        "f: total += a  ->  pass",
        "f: g(total)  ->  pass",
        "f: -b  ->  b",
        "f: -b == 2  ->  -b != 2",
    ],
)
def test_a_change_is_made(key):
    assert key in keys()


def test_every_mutant_compiles_differs_and_has_a_key_of_its_own():
    found = mutators.mutants(SOURCE)
    assert len({one.key for one in found}) == len(found)
    for one in found:
        compile(one.tree, "mutant", "exec")
        assert ast.unparse(one.tree) != ast.unparse(ast.parse(SOURCE))


def test_exactly_one_place_differs():
    plain = ast.unparse(ast.parse(SOURCE)).splitlines()
    for one in mutators.mutants(SOURCE):
        changed = ast.unparse(one.tree).splitlines()
        assert len(changed) == len(plain)
        assert sum(before != after for before, after in zip(plain, changed, strict=True)) == 1, one.key


def test_texts_and_docstrings_stay():
    assert not any("module." in key or "function." in key for key in keys())


def test_making_mutants_leaves_the_tree_as_it_was():
    assert keys() == keys()


@pytest.mark.parametrize("module", mutants.MODULES)
def test_every_module_has_many(module):
    source = mutants._source(module)
    # Half as many as lines for a short one, that is most of what its lines decide.
    assert len(mutators.mutants(source)) > min(60, source.count("\n") // 2)


def test_a_real_change_is_noticed_and_a_change_without_effect_is_not(monkeypatch):
    """The one drops the rolling day's oldest bucket too late or too early; the other asks the same question
    otherwise."""
    monkeypatch.setattr(mutants, "HAZARDS", ())
    monkeypatch.setattr(mutants, "TESTS_FOR_ALL", ("logic/test_caution_edges.py",))
    monkeypatch.setattr(mutants, "MODEL_EXAMPLES", 2)
    monkeypatch.setattr(mutantwalk, "WALKS", 2)
    judged = mutants.run(("limits",), only="steps < BUCKETS  ->  ")
    by = {one.key: one.by for one in judged}
    assert by["roll: steps < BUCKETS  ->  steps >= BUCKETS"] in mutants.JUDGES
    assert by["roll: steps < BUCKETS  ->  steps <= BUCKETS"] == mutants.SURVIVED


def test_a_module_that_is_none_is_refused():
    with pytest.raises(BadInput, match="no such module"):
        mutants.run(("limit",))


JUDGED = [
    mutants.Judged("limits", "f: a | b  ->  a & b", 3, mutants.SURVIVED),
    mutants.Judged("limits", "f: 1  ->  2", 4, "vectors"),
    mutants.Judged("ledger", "g: x  ->  y", 5, mutants.SURVIVED),
]


def test_reasons_stay_and_what_no_longer_survives_goes(tmp_path):
    path = tmp_path / "survivors.md"
    mutantpage.write_survivors(JUDGED, path)
    text = path.read_text()
    assert text.count("| `") == 2 and "## limits: 1 of 2 noticed" in text
    path.write_text(
        text.replace("| `f: a \\| b  ->  a & b` | no |  |", "| `f: a \\| b  ->  a & b` | no | equivalent: never both |")
    )
    mutantpage.write_survivors(JUDGED[:2], path)
    text = path.read_text()
    assert "equivalent: never both" in text, "the reason stays"
    assert "## ledger" in text and "g: x  ->  y" in text, "a module not judged this time stays"
    mutantpage.write_survivors([mutants.Judged("limits", "f: a | b  ->  a & b", 3, "tests")], path)
    assert "never both" not in path.read_text()


def test_a_report_says_whether_the_aim_is_met():
    found = mutantpage.report(JUDGED, 2.0)
    assert not found["good"]
    assert [row["killed_pct"] for row in found["modules"]] == [50.0, 0.0]
    assert found["modules"][0]["survivors"] == [{"line": 3, "change": "f: a | b  ->  a & b", "seen": False}]


def test_a_sample_is_some_of_each_module_and_the_same_again():
    first, again, other = (mutants._chosen("limits", None, 12, seed) for seed in (1, 1, 2))
    assert [one.key for one in first] == [one.key for one in again] and len(first) == 12
    assert {one.key for one in first} != {one.key for one in other}
    every = [one.key for one in mutants._chosen("limits", None, None, 1)]
    assert len(every) == len(mutants._chosen("limits", None, len(every) + 1, 1)) and {one.key for one in first} < set(
        every
    )


def test_a_mutant_that_never_ends_is_noticed(monkeypatch):
    def never(module):
        while True:
            pass

    monkeypatch.setattr(mutants, "_vectors", never)
    monkeypatch.setitem(mutants._LONGEST_S, "vectors", 1)
    assert mutants._end(os.waitpid(mutants._start(None, None), 0)[1]) == (mutants.HUNG, True)
