"""The wiring drawing shows every pin of the board file once, where the table puts it, and its wires don't cross."""

import subprocess
import sys
import xml.etree.ElementTree as ET

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import drawing, wiring

SVG = "{http://www.w3.org/2000/svg}"


def with_pins(which, **changes):
    board = boards.load(which).device_dict()
    for table, values in changes.items():
        if isinstance(values, dict):
            board[table].update(values)
        else:
            board[table] = values
    return board


ODD = {
    "four pumps": with_pins("rp2040_wifi", pins={"pumps": [6, 7, 8, 9], "probes": [0, 1, 2, 3]}),
    "pulse probes": with_pins(
        "rp2040_wifi",
        pins={"probe_kind": "pulses", "probes": [2, 3, 4], "probe_select": [], "probe_adc": -1, "probe_power": -1},
    ),
    "photodiode": with_pins("esp32", pins={"light_adc": 33}, sensors={"light": "photodiode"}),
    "no master": with_pins("rp2350_wifi", pins={"pump_enable": -1}),
    "odd name": with_pins("esp32", name='<b onload="x">&'),
}
ALL = {**{name: boards.load(name).device_dict() for name in boards.names()}, **ODD}


@pytest.fixture(params=sorted(ALL))
def board(request):
    return ALL[request.param]


def drawn(board):
    return ET.fromstring(drawing.svg(board))


def used(board):
    """{GPIO} in use, straight from the board file's keys."""
    pins = board["pins"]
    lists = [pins["pumps"], pins["probe_select"], [] if pins["probe_select"] else pins["probes"]]
    single = (
        "probe_power probe_adc pump_enable button led_ok led_warn buzzer i2c_sda i2c_scl battery_adc latch_hold "
        "usb_sense"
    )
    found = [pins[key] for key in single.split()] + sum(lists, [])
    found += board.get("extras", {}).get("tray_probe", []) + board.get("extras", {}).get("tub_pins", [])
    found += [pins["light_adc"]] if board["sensors"]["light"] == "photodiode" else []
    return sorted(pin for pin in found if pin >= 0)


def test_every_pin_is_shown_once_and_no_other(board):
    shown = [int(group.get("data-gpio")) for group in drawn(board).iter(f"{SVG}g") if group.get("data-gpio")]
    assert sorted(shown) == used(board)


def test_each_wire_ends_at_what_the_table_says(board):
    boxes = {
        group.get("data-key"): {int(wire.get("data-gpio")) for wire in group if wire.get("data-gpio")}
        for group in drawn(board).iter(f"{SVG}g")
        if group.get("data-key")
    }
    assert boxes == {group.key: set(group.pins) for group in wiring.groups(board)}
    shown = {}
    for group in drawn(board).iter(f"{SVG}g"):
        if group.get("data-key"):
            lines = [text for text in group.findall(f"{SVG}text")]
            shown[group.get("data-key")] = " ".join("".join(text.itertext()) for text in lines)
    for group in wiring.groups(board):
        assert shown[group.key] == f"{group.where} {group.note}".strip()


def test_the_label_at_a_wire_is_the_pin(board):
    for group in drawn(board).iter(f"{SVG}g"):
        if group.get("data-gpio"):
            label = "".join(group.findall(f"{SVG}text")[-1].itertext())
            assert label.split(" (")[0] in (f"GP{group.get('data-gpio')}", f"GPIO {group.get('data-gpio')}")


def test_no_wires_cross_and_no_boxes_overlap(board):
    wires, boxes = {"left": [], "right": []}, {"left": [], "right": []}
    root = drawn(board)
    wide, high = map(float, root.get("viewBox").split()[2:])
    for group in root.iter(f"{SVG}g"):
        if group.get("data-gpio"):
            start, end = (tuple(map(float, part.split())) for part in group.find(f"{SVG}path").get("d")[1:].split("L"))
            wires["left" if end[0] < start[0] else "right"].append((start[1], end[1]))
        elif group.get("data-key"):
            box = group.find(f"{SVG}rect")
            x, y = float(box.get("x")), float(box.get("y"))
            boxes["left" if x < wide / 2 else "right"].append((y, y + float(box.get("height"))))
    for side in wires:
        ends = [end for _, end in sorted(wires[side])]
        assert ends == sorted(ends)
        order = sorted(boxes[side])
        assert all(one[1] < two[0] for one, two in zip(order, order[1:], strict=False))
        assert all(0 < top and bottom < high for top, bottom in order)


def test_the_drawing_says_it_in_words_too(board):
    words = drawn(board).get("aria-label")
    for group in wiring.groups(board):
        assert f"GPIO {', '.join(map(str, group.pins))}: {group.where}" in words


@pytest.mark.parametrize("name", boards.names())
def test_the_drawing_beside_the_board_file_is_of_today(name):
    kept = (boards.BOARDS_DIR / f"{name}.svg").read_text(encoding="utf-8")
    assert kept == drawing.svg(boards.load(name).device_dict()), "make it anew: python -m potreeve_tools.pictures.make"


def test_by_command(tmp_path):
    def run(*args):
        return subprocess.run(
            [sys.executable, "-m", "potreeve_tools.boards.drawing", *args], capture_output=True, text=True, check=False
        )

    assert run("esp32").stdout == drawing.svg(boards.load("esp32").device_dict())
    wrong = run("esp33")
    assert wrong.returncode == 2 and 'did you mean "esp32"' in wrong.stderr and "Traceback" not in wrong.stderr
    assert run().returncode == 2
