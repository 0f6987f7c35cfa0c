"""What each settings key means, for people. The board never loads this."""

RIG_HELP = {
    "name": "what you call this rig",
    "wake_s": "time between two looks by day",
    "night_wake_s": "time between two looks in the dark, while no pot is near its refill point",
    "soak_s": "rest after each pulse, before the probe may say that it helped",
    "dark_lx": "below this it is night",
    "tray_headroom_ml": "what the tray can take before it spills; measure it, then give a little less",
    "tray_area_cm2": "the tray's open floor between the pots",
    "tray_dry_um_day": "evaporation the tray is credited with; open trays indoors lose 1000..4000",
    "pots_in_tray": "pots stand on the tray's floor, not on feet or gravel, so that they draw up what runs through",
    "rig_day_ml": "most water all pots together may get in any 24 hours, counted as the most their pumps may bring",
    "battery_kind": "cell chemistry",
    "battery_cells": "cells in series",
    "battery_mah": "capacity printed on the cells",
    "battery_stop_mv": "no pump is started if the pack would sink below this under its load",
    "battery_reserve_pm": "charge kept for finishing and recording; no pumping below it",
    "beep": "whether the buzzer may call, by day",
    "ack": "raise this number to acknowledge held pots without the button",
    "insist": "run what would starve a plant all the same; the board says so for as long as it does",
}

CHANNEL_HELP = {
    "name": "what you call this pot",
    "plant": "what grows in it",
    "pot_ml": "volume of the substrate",
    "holds_ml": "water between air-dry and container capacity (weigh it dry and drained: 1 g is 1 ml)",
    "curve": "calibration: [raw, moisture] points from open air (below 0, air-dry substrate) to soaked and drained "
    "(1000)",
    "spread_raw": "scatter of raw samples seen at calibration",
    "warmth_pm_10c": "apparent moisture per 10 degrees of warmth, taken off each reading",
    "cal_temp_cdeg": "temperature at calibration",
    "wilting_pm": "moisture below which this plant can't draw water",
    "depletion_pm": "allowed depletion p: share of the drawable water used before a refill (FAO-56 table 22)",
    "fill_pm": "a dose stops here, short of drainage",
    "pump_ul_s": "flow into a cup with the tube full; 0 = never measured, the pot is held",
    "pump_spread_pm": "how much faster the pump may be than measured; caps count the faster",
    "pump_cal_mv": "battery when the flow was measured, 0 = not noted, or a regulator feeds the pump",
    "prime_ms": "time until an empty tube is full",
    "tube_full_h": "how long a tube stays full after a pulse, by a valve or a pump that squeezes it; 0 = it runs back",
    "pulse_ml": "water of one pulse; the probe must see a few of them",
    "pulse_max_ms": "a pump never runs longer at a time",
    "dose_ml": "most water of one refill",
    "day_ml": "most water this pot may get in any 24 hours",
    "unproven_max": "pulses that may show no rise before the pot is held; more where a pulse lifts a large pot by "
    "little",
    "ration_ml": "what the plant drinks on an ordinary day; given while the probe is not believed and nothing is "
    "learned",
}

EXTRA_HELP = {
    "dry_pm": "reading of the tray's sensor when dry: the share of the voltage that stands across its wires",
    "wet_pm": "its reading in water",
    "reach_ml": "water in the empty tray at which the sensor notices it",
    "mark1_ml": "what the pumps can still reach in the tub when its lowest float falls",
    "mark2_ml": "the same at the next float; 0 = there is none",
    "mark3_ml": "the same at the third",
    "mark4_ml": "the same at the fourth",
    "full_ml": "what the pumps can reach when it is filled as full as it always is",
    "open_cm2": "the tub's open surface, from which water goes into the air; 0 = a lid covers it",
    "strip": "readings of a strip: [counts, 0] in the empty tub, then [counts, number] at each mark; empty for floats",
    "share_full_pm": "what the pumps take from the full tub, of what is counted",
    "share_low_pm": "the same from a tub at its lowest mark, where they lift the water higher; 0 = not measured",
}

RADIO_HELP = {
    "wifi_ssid": "name of the wireless network, 2.4 GHz",
    "wifi_key": "its password; empty for an open network",
    "wifi_country": "two letters of the country whose radio rules hold, as GB",
    "wifi_address": "the board's own address, kept free for it in the router; empty = asked for, which costs charge",
    "wifi_mask": "mask of that address",
    "wifi_gateway": "the router's address, where wifi_address is given",
    "broker_host": "address of the broker in figures, as 192.168.1.20; a name would need a wait that nothing bounds",
    "broker_port": "its port; 8883 is usual with TLS",
    "broker_tls": "encrypt, and check the broker's certificate against the file ca.der on the board",
    "broker_name": "the name in the broker's certificate; empty = its address",
    "broker_user": "user name at the broker, and the name of this rig in every topic",
    "broker_key": "password at the broker",
    "command_key": "key of signed commands (hold, acknowledge), 64 hex digits; empty = the radio commands nothing",
    "send_s": "time between two reports while the battery is well filled; failed tries and a low battery lengthen it",
    "trust": "whose word takes a record off the queue: the station's, once stored, or the broker's, which may lose it",
}
