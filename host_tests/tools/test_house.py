"""The count of rooms and stand-ins for DEVELOPERS.md."""

from potreeve_tools.bench import house


def test_statements_do_not_depend_on_layout_nor_docstrings():
    one = '"""Says what."""\ndef f(a):\n    """And how."""\n    return g(a, 1)\n'
    other = "def f(\n    a,\n):\n    return g(\n        a,\n        1,\n    )\n"
    assert house.statements(one) == house.statements(other) == 2


def test_each_file_has_a_room_and_stand_ins_are_counted_beside():
    table = house.count(
        {
            "tools/potreeve_tools/standins/rig.py": "a = 1\nb = 2\n",
            "tools/potreeve_tools/standins/cuts.py": "a = 1\n",
            "tools/potreeve_tools/virtual/device/wire.py": "a = 1\n",
            "tools/potreeve_tools/virtual/board.py": "a = 1\n",
            "tools/potreeve_tools/cli.py": "a = 1\n",
            "firmware/potreeve/app.py": "a = 1\n",
            "host_tests/app/fake_rig.py": "a = 1\n",
            "boards/one.toml": 'name = "one"\n',
        }
    )
    assert table["stand-ins"] == [3, 4, 4] and table["all Python"] == [7, 8, 8] and table["all TOML"] == [1, 1, 0]
    assert table["tools/potreeve_tools/virtual"] == [2, 2, 2] and table["boards (TOML)"] == [1, 1, 0]
