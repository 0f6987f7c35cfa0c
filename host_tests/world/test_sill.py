"""The sill's year: a ring, the same every time."""

import datetime

import pytest
from potreeve_tools.world.sill import Room, SillClimate, Site, Window, hour_of_year, indoor_air
from potreeve_tools.world.weather import Pane, read_hours


def values(air):
    return air.temp_c, air.rh_pct, air.solar_wm2, air.lux


def test_year_is_a_ring():
    year = SillClimate(start=(1, 1))
    late = SillClimate(start="12-31")
    assert values(late.at(86400.0 + 3600.0)) == pytest.approx(values(year.at(3600.0)))
    assert values(year.at(365 * 86400.0 + 5000.0)) == pytest.approx(values(year.at(5000.0)))
    assert all(x == x for x in values(year.at(0.0)))  # before the first half hour: December's last


def test_start_may_be_an_instant_anywhere():
    """09:00 UTC is 04:00 in Greensboro (UTC-5)."""
    instant = datetime.datetime(2026, 6, 1, 9, 0, tzinfo=datetime.timezone.utc)
    by_instant = SillClimate(start=instant)
    by_day = SillClimate(start=(6, 1))
    assert by_instant.utc_offset_h == -5.0
    assert values(by_instant.at(0.0)) == pytest.approx(values(by_day.at(4 * 3600.0)))


def test_sun_shines_by_day_from_the_side_the_window_faces():
    east, west = (SillClimate(window=Window(azimuth_deg=a), start=(6, 10)) for a in (90.0, 270.0))

    def light(sill_climate, hours):
        return sum(sill_climate.at((24 * d + h) * 3600.0).solar_wm2 for d in range(20) for h in hours)

    assert light(east, range(6, 11)) > 1.5 * light(west, range(6, 11))
    assert light(west, range(14, 19)) > 1.5 * light(east, range(14, 19))
    assert light(east, (0, 1, 2, 23)) == 0.0


def test_a_house_opposite_takes_light():
    open_view, hidden = (SillClimate(window=Window(horizon_deg=h), start=(12, 1)) for h in (0.0, 40.0))
    hours = range(30 * 24)
    assert sum(hidden.at(h * 3600.0).solar_wm2 for h in hours) < 0.5 * sum(
        open_view.at(h * 3600.0).solar_wm2 for h in hours
    )


def test_interpolation_passes_through_the_hours_and_between():
    year = SillClimate(start=(1, 1))
    assert values(year.at(12.5 * 3600.0)) == (year._temp_c[12], year._rh_pct[12], year._solar_wm2[12], year._lux[12])
    assert year.at(13.0 * 3600.0).temp_c == pytest.approx((year._temp_c[12] + year._temp_c[13]) / 2.0)


def test_room_is_held_between_its_set_points():
    room = Room(glass_pull=0.0, sun_warms_c_per_wm2=0.0)
    temp, rh = indoor_air([-15.0] * 8760, [0.12] * 8760, [0.0] * 8760, room)
    assert temp[12] == room.heat_day_c and temp[2] == room.heat_night_c
    hot, humid = indoor_air([33.0] * 8760, [3.5] * 8760, [0.0] * 8760, room)
    assert set(hot) == {room.cool_c}
    assert max(humid) == pytest.approx(room.rh_max_pct)
    assert 0.0 < min(rh) < 20.0


def test_cold_glass_and_sun_move_the_sill_from_the_room():
    room = Room()
    still, _ = indoor_air([-10.0] * 8760, [0.2] * 8760, [0.0] * 8760, room)
    sunny, _ = indoor_air([-10.0] * 8760, [0.2] * 8760, [200.0] * 8760, room)
    assert still[12] == pytest.approx(room.heat_day_c - 0.10 * 30.0)
    assert sunny[12] - still[12] == pytest.approx(2.4)


def test_moist_air_at_the_cold_sill_never_exceeds_its_limit():
    _, rh = indoor_air(
        [14.0] * 8760, [1.58] * 8760, [0.0] * 8760, Room(heat_day_c=10.0, heat_night_c=10.0, free_gain_c=0.0)
    )
    assert max(rh) <= 95.0


def test_an_obstruction_takes_its_share_of_the_sky():
    """A north pane in December sees no sun; without ground light what is left is 1 - sin(horizon)."""
    open_sky, hidden = (read_hours("greensboro", Pane(0.0, horizon_deg=h, ground_albedo=0.0)) for h in (0.0, 30.0))
    december = slice(334 * 24, 365 * 24)
    assert sum(hidden.pane_wm2[december]) == pytest.approx(0.5 * sum(open_sky.pane_wm2[december]))


def test_each_pane_of_glass_takes_its_share_at_slanting_angles():
    """High summer sun strikes a south pane at a slant, where clear glass reflects more than from the sky."""
    july = slice(181 * 24, 212 * 24)
    none, one, two = (read_hours("greensboro", Pane(180.0, layers=n)).pane_wm2[july] for n in (0, 1, 2))
    assert sum(one) / sum(none) == pytest.approx(sum(two) / sum(one), abs=0.03)
    assert 0.75 < sum(one) / sum(none) < 0.97
    assert min(o / n for o, n in zip(one, none) if n > 100.0) < 0.90


def test_the_glass_and_the_sill_take_theirs():
    clear, half = (SillClimate(window=Window(solar_transmittance=t), start=(3, 1)) for t in (0.8, 0.4))
    deep = SillClimate(window=Window(visible_transmittance=0.4, sill_share=0.25), start=(3, 1))
    plain = SillClimate(window=Window(visible_transmittance=0.8, sill_share=0.5), start=(3, 1))
    noon = 12 * 3600.0
    assert clear.at(noon).solar_wm2 == pytest.approx(2.0 * half.at(noon).solar_wm2, rel=1e-3)
    assert plain.at(noon).lux == pytest.approx(4.0 * deep.at(noon).lux, rel=1e-3)


def test_an_hour_of_moist_outdoor_air_is_damped_indoors():
    vapour = [0.8] * 8760
    vapour[4000] = 1.4
    _, plain = indoor_air([12.0] * 8760, [0.8] * 8760, [0.0] * 8760, Room())
    _, moist = indoor_air([12.0] * 8760, vapour, [0.0] * 8760, Room())
    jump = moist[4000] - plain[4000]
    undamped = 100.0 * 0.6 / 2.2  # 0.6 kPa at about 19 degC
    assert 0.1 * undamped < jump < 0.25 * undamped
    assert 0.0 < moist[4012] - plain[4012] < jump / 3.0


# --- wrong input --------------------------------------------------------------


@pytest.mark.parametrize("start", ["13-01", "02-30", "04-31", "May", (1, 0), None, "2026", 5])
def test_wrong_start_is_refused(start):
    with pytest.raises(ValueError, match="MM-DD"):
        hour_of_year(start)


def test_leap_day_counts_as_the_first_of_march():
    assert hour_of_year("02-29") == hour_of_year((3, 1))


@pytest.mark.parametrize("wrong", [{"azimuth_deg": 400.0}, {"sill_share": 1.5}, {"panes": 0}, {"horizon_deg": -1.0}])
def test_wrong_window_names_its_key(wrong):
    with pytest.raises(ValueError, match=next(iter(wrong))):
        Window(**wrong)


def test_unknown_weather_names_the_choices():
    with pytest.raises(ValueError, match="greensboro, sand-point"):
        read_hours("atlantis", Pane())
    with pytest.raises(ValueError, match="atlantis"):
        SillClimate(Site("atlantis"))
