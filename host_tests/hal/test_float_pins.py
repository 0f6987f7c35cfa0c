"""Board files with floats in the tub: pins that can pull up, four at most."""

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.terminal.faultlist import BadInput


def test_floats_need_pins_with_a_pull_up_and_are_four_at_most(tmp_path):
    text = (boards.BOARDS_DIR / "esp32.toml").read_text()
    path = tmp_path / "mine.toml"
    # 33 can be pulled up, 37 is no pin of a usual board, 39 reads the battery; 36 is taken out of the probes here.
    for pins, told in (("[36]", "has no pull-up inside"), ("[16, 17, 5, 15, 2]", "tub_pins")):
        fewer = text.replace("probes = [34, 35, 36]", "probes = [34, 35]")
        path.write_text(
            fewer.replace("pumps = [18, 19, 23]", "pumps = [18, 19]")
            + f'\n[extras]\ntub_kind = "floats"\ntub_pins = {pins}\n'
        )
        with pytest.raises(BadInput) as refused:
            boards.load(path)
        assert any(told in line for line in refused.value.faults), refused.value.faults
