"""The rig a board's settings are rehearsed on: it resembles them, and every settings file has one."""

import tomllib

import flash_kit
import made
import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as examples
from hypothesis import strategies as st
from potreeve.logic import settings as logic
from potreeve_tools.link.flash import twin
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.potcare import make_pot
from potreeve_tools.world.rigfile import check_rig

DEVICE = flash_kit.BOARD.device_dict()


def test_it_has_the_pots_pumps_tray_and_battery_of_the_settings():
    settings = made.settings(3)
    data, fitted = twin.make_twin(settings, DEVICE)
    rig = check_rig(data, "twin")
    assert [pot["name"] for pot in rig.pots] == [channel["name"] for channel in settings["channels"]]
    for pot, channel in zip(rig.pots, settings["channels"], strict=True):
        assert make_pot(pot, None).holds_ml == pytest.approx(channel["holds_ml"], rel=0.02)
        assert pot["pump_ml_s"] == pytest.approx(channel["pump_ul_s"] / 1000)
    assert rig.tray["area_cm2"] - rig.footprint_cm2 == pytest.approx(settings["tray_area_cm2"], abs=1)
    assert rig.tray_capacity_ml >= settings["tray_headroom_ml"]
    assert (rig.battery["chemistry"], rig.battery["capacity_mah"]) == (
        settings["battery_kind"],
        settings["battery_mah"],
    )
    assert tomllib.loads(twin.write(data)) == data


def test_only_what_belongs_to_probes_and_pumps_is_replaced():
    settings = made.settings(2)
    _, fitted = twin.make_twin(settings, DEVICE)
    for before, after in zip(settings["channels"], fitted["channels"], strict=True):
        changed = {key for key in before if before[key] != after[key]}
        assert "curve" in changed and changed <= {*twin.MEASURED, *twin.FOLLOWING}
    assert {key: fitted[key] for key in fitted if key != "channels"} == {
        key: settings[key] for key in settings if key != "channels"
    }


def test_channels_with_one_name_become_pots_with_two():
    data = made.settings_data(2)
    for channel in data["channels"]:
        channel["name"] = "basil"
    clean, wrong = logic.check(data)
    assert not wrong
    assert [pot["name"] for pot in twin.make_twin(clean, DEVICE)[0]["pot"]] == ["basil", "basil 2"]


def test_a_battery_no_board_takes_is_refused_in_words():
    clean, wrong = logic.check(made.settings_data(1, battery_kind="lithium", battery_cells=2, battery_stop_mv=6400))
    assert not wrong
    with pytest.raises(BadInput, match="battery_cells = 2"):
        twin.make_twin(clean, DEVICE)


@examples(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    holds=st.lists(st.integers(30, 20_000), min_size=1, max_size=4),
    flow=st.integers(0, 60_000),
    area=st.integers(20, 20_000),
    headroom=st.integers(20, 20_000),
    curve=st.booleans(),
)
def test_sensible_settings_always_have_a_twin_or_a_reason(holds, flow, area, headroom, curve):
    channels = [
        {
            "name": f"pot {n}",
            "pot_ml": min(30_000, max(100, 2 * ml)),
            "holds_ml": ml,
            "pump_ul_s": flow,
            "curve": [[52000, 0], [22000, 1000]] if curve else [],
        }
        for n, ml in enumerate(holds)
    ]
    clean, wrong = logic.check({"tray_headroom_ml": headroom, "tray_area_cm2": area, "channels": channels})
    if wrong:
        return
    try:
        data, fitted = twin.make_twin(clean, DEVICE)
    except BadInput as fault:
        assert all("settings" in line for line in fault.faults), fault.faults
        return
    check_rig(data, "twin")
    assert logic.check(fitted)[1] == []
