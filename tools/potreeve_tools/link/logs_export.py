"""Log rows as tables for other programs: one line per wake and pot.

Times are ISO 8601 in UTC, units stand in the column names, and what is not known
is empty.
"""

import csv
import io
import json

from potreeve.logic import errors, reasons, record, timekeep

from potreeve_tools.link import logs_read
from potreeve_tools.terminal import exits
from potreeve_tools.words import sentences as words

CAUSES = {
    timekeep.POWER_ON: "power_on",
    timekeep.WATCHDOG: "watchdog",
    timekeep.TIMER: "timer",
    timekeep.BUTTON: "button",
    timekeep.OTHER_RESET: "other_reset",
    timekeep.BROWN_OUT: "brown_out",
    timekeep.KEPT: "kept",
}
REASONS = {value: name.lower() for name, value in vars(reasons).items() if name.isupper() and isinstance(value, int)}
ERRORS = {value: name.lower() for name, value in vars(errors).items() if name.isupper() and isinstance(value, int)}
TRAY_SENSOR = {record.TRAY_DRY: "dry", record.TRAY_WET: "wet", record.TRAY_BROKEN: "broken", record.TRAY_ODD: "odd"}
BUTTONS = {0: "", 1: "short", 2: "long"}

COLUMNS = (
    "time_utc",
    "time_reckoned_utc",
    "proven_s",
    "memory",
    "segment",
    "seq",
    "channel",
    "pot",
    "moisture_pm",
    "raw_counts",
    "spread_counts",
    "rung",
    "reason",
    "pulse_ms",
    "pulse_most_ul",
    "last_pulse_ran_ms",
    "last_pulse_battery_mv",
    "elapsed_s",
    "awake_ms",
    "sleep_s",
    "cause",
    "button",
    "battery_mv",
    "charge_pm",
    "battery_left_d",
    "temperature_cdeg",
    "humidity_pm",
    "light_lx",
    "usb",
    "tray_most_ml",
    "rig_hold",
    "memory_lost",
    "alarm",
    "errors",
    "tray_sensor",
    "tub_mark",
    "tub_left_d",
    "tub_note",
    "soil_cdeg",
)
TEXTS = (
    "time_utc",
    "time_reckoned_utc",
    "pot",
    "rung",
    "reason",
    "cause",
    "button",
    "rig_hold",
    "errors",
    "tray_sensor",
    "tub_note",
)


def flat(rows, names):
    """Yield one dict of COLUMNS per row and pot; None where nothing is known. names: of the channels."""
    rows = list(rows)
    for row, reckoned_s in zip(rows, logs_read.reckoned(rows), strict=True):
        shared = {
            **wake_facts(row.head),
            "memory": row.memory,
            "segment": row.segment,
            "time_reckoned_utc": logs_read.iso_utc(reckoned_s) or None,
        }
        for index, pot in enumerate(row.pots):
            line = {**shared, **pot_facts(pot)}
            line["channel"] = index
            line["pot"] = names[index] if index < len(names) else None
            yield {column: line[column] for column in COLUMNS}


def wake_facts(head):
    """What a record's head tells, by the names of COLUMNS; None where nothing is known."""
    return {
        "time_utc": logs_read.iso_utc(head["utc_s"]) or None,
        "proven_s": head["up_s"],
        "seq": head["seq"],
        "elapsed_s": head["elapsed_s"],
        "awake_ms": head["awake_ms"],
        "sleep_s": head["sleep_s"],
        "cause": CAUSES.get(head["cause"], str(head["cause"])),
        "button": BUTTONS.get(head["button"], str(head["button"])) or None,
        "battery_mv": head["battery_mv"] or None,
        "charge_pm": head["soc_pm"],
        "battery_left_d": head["days_left"],
        "temperature_cdeg": _unless(head["temp_cdeg"], record.NO_TEMP),
        "humidity_pm": _unless(head["rh_pm"], record.NO_RH),
        "light_lx": _unless(head["lx"], record.NO_LX),
        "usb": head["usb"],
        "tray_most_ml": head["tray_ml"],
        "rig_hold": reason_word(head["hold"]) or None,
        "memory_lost": head["memory"],
        "alarm": head["alarm"],
        "errors": " ".join(name for bit, name in ERRORS.items() if head["errors"] & bit) or None,
        "tray_sensor": TRAY_SENSOR.get(head["tray_wet"]),
        "tub_mark": _unless(head["tub_mark"], record.TUB_NONE),
        "tub_left_d": _unless(head["tub_days"], record.NO_TUB_DAYS),
        "tub_note": reason_word(head["tub_note"]) or None,
        "soil_cdeg": _unless(head["soil_cdeg"], record.NO_TEMP),
    }


def pot_facts(pot):
    """What a record's block of a pot tells, by the names of COLUMNS; None where nothing is known."""
    ran = pot["done_ms"] != record.NOT_RUN
    return {
        "moisture_pm": None if not_known(pot) else pot["pm"],
        "raw_counts": pot["raw"],
        "spread_counts": pot["spread"],
        "rung": words.RUNGS.get(pot["ladder"], str(pot["ladder"])),
        "reason": reason_word(pot["reason"]) or None,
        "pulse_ms": pot["pulse_ms"],
        "pulse_most_ul": pot["most_tenths"] * 100,
        "last_pulse_ran_ms": pot["done_ms"] if ran else None,
        "last_pulse_battery_mv": pot["under_mv"] or None,
    }


def not_known(pot):
    """True for the moisture of a probe that was never calibrated, which a record holds as 0."""
    return pot["pm"] == 0 and pot["reason"] == reasons.NOT_CALIBRATED


def _unless(value, nothing):
    return None if value == nothing else value


def reason_word(number):
    """A reason as one word, empty for none, its number where this version does not know it."""
    return "" if number == reasons.NONE else REASONS.get(number, str(number))


def to_csv(rows, names):
    """CSV as bytes, UTF-8, one header line."""
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for line in flat(rows, names):
        writer.writerow(line)
    return text.getvalue().encode("utf-8")


def to_json_lines(rows, names):
    """JSON Lines as bytes: one object per line, null where nothing is known."""
    return "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in flat(rows, names)).encode("utf-8")


def to_parquet(rows, names):
    """Parquet as bytes; time_utc is a timestamp in UTC there."""
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError:
        raise exits.Stop(
            exits.BAD_INPUT,
            [
                "Parquet needs the package pyarrow, which is not installed: "
                "pip install 'potreeve[parquet]'; CSV and JSON Lines need nothing more"
            ],
        ) from None
    from datetime import datetime

    fields = []
    for column in COLUMNS:
        kind = pyarrow.string() if column in TEXTS else pyarrow.int64()
        fields.append((column, pyarrow.timestamp("s", tz="UTC") if column == "time_utc" else kind))
    lines = list(flat(rows, names))
    for line in lines:
        line["time_utc"] = datetime.fromisoformat(line["time_utc"]) if line["time_utc"] else None
    table = pyarrow.Table.from_pylist(lines, schema=pyarrow.schema(fields))
    sink = pyarrow.BufferOutputStream()
    pyarrow.parquet.write_table(table, sink, compression="zstd")
    return sink.getvalue().to_pybytes()


FORMS = {"csv": to_csv, "jsonl": to_json_lines, "parquet": to_parquet}
