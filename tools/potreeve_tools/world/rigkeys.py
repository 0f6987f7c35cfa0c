"""What a rig file may say: its tables, each key with its kind, range, unit and what it is when nothing is said."""

from potreeve_tools.terminal.faultlist import Key
from potreeve_tools.world import ownparts
from potreeve_tools.world.battery import CHEMISTRIES
from potreeve_tools.world.plantfile import STAGES
from potreeve_tools.world.plants import PLANTS
from potreeve_tools.world.potspec import SOILS
from potreeve_tools.world.substrates import SUBSTRATES
from potreeve_tools.world.water import PUMP_KINDS
from potreeve_tools.world.weather import FILES

POTS_MOST = 8
UNSAID = -9_999.0

RIG = (
    Key("name", "str", 1, 80, help="what to call the rig"),
    Key("start", "str", 10, 10, default="2026-06-01", help="first day, YYYY-MM-DD"),
    Key("soil", "choice", choices=SOILS, default=SOILS[0], help="how water moves in the pots"),
)
SITE = (Key("data", "choice", choices=tuple(FILES), default="greensboro", help="weather year"), *ownparts.SITE)
WINDOW = (
    Key("azimuth_deg", "float", 0, 360, default=135.0, unit="degrees", help="way it faces, clockwise from north"),
    Key(
        "horizon_deg",
        "float",
        0,
        89,
        default=10.0,
        unit="degrees",
        help="what stands opposite hides the sky up to here",
    ),
    Key("panes", "int", 1, 4, default=2, help="panes of glass"),
    Key("solar_transmittance", "float", 0, 1, default=0.66),
    Key("visible_transmittance", "float", 0, 1, default=0.81),
    Key("sill_share", "float", 0, 1, default=0.5, help="share of the pane's light that reaches the plants"),
)
ROOM = (
    Key("heat_day_c", "float", 0, 35, default=20.0, unit="degC"),
    Key("heat_night_c", "float", 0, 35, default=18.0, unit="degC"),
    Key("cool_c", "float", 10, 60, default=26.0, unit="degC"),
    Key("free_gain_c", "float", 0, 20, default=5.0, unit="degC", help="above outdoors without heating"),
    Key("rh_max_pct", "float", 10, 100, default=60.0, unit="%"),
)
TRAY = (
    Key("area_cm2", "float", 20, 20_000, unit="cm2", help="floor of the tray"),
    Key("wall_mm", "float", 2, 300, unit="mm", help="lowest point of its rim"),
    Key("water_ml", "float", 0, 50_000, default=0.0, unit="ml", help="water in it at the start"),
    Key("feet_mm", "float", 0, 300, default=0.0, unit="mm", help="feet or gravel under the pots; 0: on its floor"),
)
TRAY_SENSOR = (
    Key("kind", "choice", choices=("wires", "float"), default="wires"),
    Key("reach_mm", "float", 0.1, 200, default=0.8, unit="mm", help="water it notices, above the tray's floor"),
)
RESERVOIR = (
    Key("area_cm2", "float", 5, 20_000, unit="cm2", help="its water surface"),
    Key("height_mm", "float", 20, 2_000, unit="mm", help="floor to brim"),
    Key("base_mm", "float", -2_000, 2_000, unit="mm", help="its floor above the tray's floor; below is negative"),
    Key("level_mm", "float", 0, 2_000, unit="mm", help="water at the start, from its floor"),
    Key("inlet_mm", "float", 0, 500, default=8.0, unit="mm", help="the pumps suck air below this"),
    Key("lid", "bool", default=True, help="covered"),
    Key("refill_days", "float", 0, 400, default=0.0, unit="days", help="someone fills it this often; 0 = nobody"),
    Key(
        "floats_mm",
        "list",
        0,
        2_000,
        default=[],
        unit="mm",
        item="float",
        length=(0, 4),
        help="floats above its floor, where the board has some; [] = where people put them",
    ),
)
BATTERY = (
    Key("chemistry", "choice", choices=CHEMISTRIES),
    Key("cells", "int", 1, 6, unit="cells in series"),
    Key("capacity_mah", "float", 50, 100_000, unit="mAh"),
    Key("start_pct", "float", 0, 100, default=100.0, unit="%", help="charge at the start"),
    Key("resistance_times", "float", 0.2, 50, default=1.0, help="1 = new cells"),
    Key("self_discharge_pm_year", "float", 0, 2_000, default=-1.0, unit="per mille a year at 21 degC"),
)
ELECTRONICS = (
    Key("height_mm", "float", 0, 2_000, unit="mm", help="lowest live part above the tray's floor"),
    Key("clock_set", "bool", default=True, help="the owner's computer set the clock"),
    Key("clock_drift_ppm", "float", -20_000, 20_000, default=0.0, unit="ppm", help="on top of the crystal's own"),
)
POT = (
    Key("name", "str", 1, 40),
    Key("plant", "choice", choices=tuple(PLANTS)),
    Key("stage", "choice", choices=STAGES, default="mid", help="growth stage, of a plant of one's own"),
    Key("diameter_cm", "float", 4, 60, unit="cm", help="at the rim"),
    Key("height_cm", "float", 3, 60, unit="cm", help="of the substrate"),
    Key("substrate", "choice", choices=tuple(SUBSTRATES), default="peat_mix"),
    Key("leaf_area_cm2", "float", 1, 50_000, unit="cm2"),
    Key("start_pm", "float", 0, 1_000, default=900.0, unit="per mille", help="moisture at the start"),
    Key("drainage_hole", "bool", default=True),
    Key("rim_cm", "float", 0, 10, default=1.5, unit="cm", help="free board above the substrate"),
    Key("probe_depth_cm", "float", 0.5, 55, unit="cm", help="middle of the probe below the surface"),
    Key("probe_noise_mv", "float", 0, 200, default=2.5, unit="mV rms"),
    Key("probe_drift_vwc_month", "float", 0, 0.2, default=0.004, unit="m3/m3 per 30 days"),
    Key("probe_tolerance", "float", 0, 2, default=1.0, help="how far it differs from a middling probe; 0 = not at all"),
    Key("pump_kind", "choice", choices=PUMP_KINDS, default="centrifugal"),
    Key("pump_ml_s", "float", 0.05, 60, unit="ml/s", help="at the pot, tube full"),
    Key("pump_nominal_mv", "float", 1_500, 12_000, default=3_700.0, unit="mV", help="at which pump_ml_s was measured"),
    Key("pump_ma", "float", 5, 3_000, default=150.0, unit="mA", help="running"),
    Key("pump_start_times", "float", 1, 10, default=2.5, unit="times the running current"),
    Key("pump_lift_mm", "float", 50, 20_000, default=900.0, unit="mm", help="head at which its flow stops"),
    Key("tube_mm", "float", 50, 10_000, default=900.0, unit="mm"),
    Key("tube_id_mm", "float", 0.5, 20, default=4.0, unit="mm"),
    Key("outlet_mm", "float", -500, 3_000, default=UNSAID, unit="mm", help="tube's end above the tray's floor"),
    Key("check_valve", "bool", default=True, help="keeps the tube full between pulses"),
    Key("air_hole", "bool", default=True, help="hole above the outlet that breaks a siphon"),
)
TABLES = (
    ("rig", RIG),
    ("site", SITE),
    ("window", WINDOW),
    ("room", ROOM),
    ("tray", TRAY),
    ("tray_sensor", TRAY_SENSOR),
    ("reservoir", RESERVOIR),
    ("battery", BATTERY),
    ("electronics", ELECTRONICS),
)
OPTIONAL = ("site", "window", "room", "tray_sensor")
