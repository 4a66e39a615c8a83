"""Our own readings file: `time,temperature_c,humidity_pct`, in and out.

`temperature_f` is taken instead of `temperature_c`; `surface_c` and `flags` may be left out; other
columns are passed over. Times are ISO 8601 with an offset, or without one where a zone is given.
"""

from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path
from typing import IO, TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from monitor.errors import BadInput
from monitor.records import (
    AIR_LIMITS_C,
    FAULT_CODES,
    HUMIDITY_LIMITS_PCT,
    SURFACE_LIMITS_C,
    Flags,
    FloatArray,
    Readings,
)
from monitor.times import from_unix, iso_utc
from monitor.units import F_DEGREES_PER_C_DEGREE

if TYPE_CHECKING:
    import pandas as pd

HEADER = ("time", "temperature_c", "humidity_pct", "surface_c", "flags")
_WRITE = "Write a header line time,temperature_c,humidity_pct and one reading a line under it."


@dataclass(frozen=True)
class FileRead:
    """What a file held: its readings in time order, and what was done to get them."""

    readings: Readings
    rows: int
    flagged: int
    out_of_order: bool
    repeated: int


def read_readings(path: Path, zone: tzinfo | None) -> FileRead:
    """The readings of a CSV file. Raises BadInput with the line where something can't be read."""
    table = _table(path)
    time_s = _times(table, path, zone)
    readings = Readings(
        time_s,
        _temperature(table, path),
        _numbers(table, "humidity_pct", path, np.nan),
        _numbers(table, "surface_c", path, np.nan),
        _flags(table, path),
    )
    out_of_order = bool(np.any(np.diff(time_s) < 0))
    if out_of_order:
        readings = _picked(readings, np.argsort(time_s, kind="stable"))
    fresh = np.concatenate(([True], np.diff(readings.time_s) > 0))[: len(readings)]
    repeated = int(len(readings) - np.count_nonzero(fresh))
    if repeated:
        readings = _picked(readings, np.flatnonzero(fresh))
    flagged = int(np.count_nonzero(readings.flags))
    return FileRead(readings, len(table), flagged, out_of_order, repeated)


def _picked(readings: Readings, index: NDArray[np.int64]) -> Readings:
    return Readings(
        readings.time_s[index],
        readings.temperature_c[index],
        readings.humidity_pct[index],
        readings.surface_c[index],
        readings.flags[index],
    )


def _table(path: Path) -> "pd.DataFrame":
    import pandas as pd  # a third of a second that no other command should pay

    try:
        table = pd.read_csv(path, parse_dates=["time"], date_format="ISO8601")
    except FileNotFoundError:
        raise BadInput(f"There is no file {path}.", "Check the name.") from None
    except (OSError, UnicodeDecodeError) as fault:
        raise BadInput(f"{path} can't be read: {fault}.", "Check the file.") from None
    except (ValueError, pd.errors.ParserError) as fault:
        if "time" in str(fault) and "parse_dates" in str(fault):
            raise BadInput(f"{path} has no column time.", _WRITE) from None
        why = " ".join(str(fault).split()).rstrip(".")
        raise BadInput(f"{path} is not a readings file: {why}.", _WRITE) from None
    if table.empty:
        raise BadInput(f"{path} holds no readings.", _WRITE)
    return table


def _times(table: "pd.DataFrame", path: Path, zone: tzinfo | None) -> FloatArray:
    import pandas as pd

    column = table["time"]
    if not pd.api.types.is_datetime64_any_dtype(column):
        column = _mixed_times(column, path)
    if column.isna().any():
        raise BadInput(f"{path}, line {_first_line(column.isna())}: no time.", _WRITE)
    if column.dt.tz is None:
        if zone is None:
            raise BadInput(
                f"{path}: its times have no offset from UTC.",
                "Give the zone they are in with --zone, such as --zone Europe/Lisbon.",
            )
        try:
            column = column.dt.tz_localize(zone)
        except ValueError as fault:  # an hour the clocks repeat or leave out
            raise BadInput(
                f"{path}: {fault}.", "Write its times with their offset (…+01:00)."
            ) from None
    microseconds = column.dt.tz_convert("UTC").dt.as_unit("us").astype("int64")
    time_s: FloatArray = microseconds.to_numpy(float) / 1e6
    return time_s


def _mixed_times(column: "pd.Series[str]", path: Path) -> "pd.Series[pd.Timestamp]":
    """Times whose offsets change on the way, as over a clock change."""
    import pandas as pd

    text = column.astype(str)
    aware = text.str.contains(r"(?:Z|[+-]\d\d:?\d\d)$", regex=True)
    if not aware.all():
        line = _first_line(~aware)
        raise BadInput(
            f"{path}, line {line}: {text[~aware].iloc[0]!r} is not a time with an offset.",
            "Write times as 2026-05-02T14:05:00+02:00, all with an offset or all without.",
        )
    parsed = pd.to_datetime(text, utc=True, format="ISO8601", errors="coerce")
    if parsed.isna().any():
        line = _first_line(parsed.isna())
        raise BadInput(
            f"{path}, line {line}: {text[parsed.isna()].iloc[0]!r} is not a time.",
            "Write times as 2026-05-02T14:05:00+02:00.",
        )
    return parsed


def _first_line(wrong: "pd.Series[bool]") -> int:
    """The file's line of the first wrong row: the header is line 1."""
    return int(np.flatnonzero(wrong.to_numpy())[0]) + 2


def _temperature(table: "pd.DataFrame", path: Path) -> FloatArray:
    if "temperature_c" in table:
        return _numbers(table, "temperature_c", path, None)
    if "temperature_f" in table:
        return (_numbers(table, "temperature_f", path, None) - 32.0) / F_DEGREES_PER_C_DEGREE
    raise BadInput(f"{path} has no column temperature_c or temperature_f.", _WRITE)


def _numbers(table: "pd.DataFrame", name: str, path: Path, absent: float | None) -> FloatArray:
    import pandas as pd

    if name not in table:
        return np.full(len(table), absent, float)
    column = table[name]
    if pd.api.types.is_numeric_dtype(column):
        return column.to_numpy(float)
    numbers = pd.to_numeric(column, errors="coerce")
    wrong = numbers.isna() & column.notna()
    if wrong.any():
        raise BadInput(
            f"{path}, line {_first_line(wrong)}: {column[wrong].iloc[0]!r} in {name} "
            "is not a number.",
            "Leave it empty where nothing was measured.",
        )
    return numbers.to_numpy(float)


def _flags(table: "pd.DataFrame", path: Path) -> NDArray[np.int64]:
    """The file's own flags, and what can be seen of each value by itself."""
    import pandas as pd

    given = np.zeros(len(table), np.int64)
    if "flags" in table and table["flags"].notna().any():
        codes, texts = pd.factorize(table["flags"].fillna("").astype(str))
        try:
            given = np.array([Flags.from_text(t).packed() for t in texts], np.int64)[codes]
        except ValueError as fault:
            raise BadInput(
                f"{path}: {fault}.", "Leave the flags column out, or empty where all is well."
            ) from None
    return given | _seen(table, path)


def _seen(table: "pd.DataFrame", path: Path) -> NDArray[np.int64]:
    surface = _numbers(table, "surface_c", path, np.nan)
    humidity = _numbers(table, "humidity_pct", path, np.nan)
    seen = np.zeros(len(table), np.int64)
    air = _temperature(table, path)
    for name, value, limits in (
        ("temperature", air, AIR_LIMITS_C),
        ("humidity", humidity, HUMIDITY_LIMITS_PCT),
        ("surface", surface, SURFACE_LIMITS_C),
    ):
        outside = (value < limits[0]) | (value > limits[1])
        if outside.any():
            seen[outside] |= Flags.from_text(f"{name}:out-of-range").packed()
            seen[np.isin(value, FAULT_CODES)] |= Flags.from_text(f"{name}:fault-code").packed()
    return seen


def write_readings(readings: Readings, out: IO[str]) -> int:
    """Readings as CSV in UTC, the suspect ones with their flags. Returns how many."""
    surface = bool(np.isfinite(readings.surface_c).any())
    names = HEADER if surface else tuple(name for name in HEADER if name != "surface_c")
    out.write(",".join(names) + "\n")
    for i in range(len(readings)):
        values = [
            readings.temperature_c[i],
            readings.humidity_pct[i],
            *([readings.surface_c[i]] if surface else []),
        ]
        cells = ["" if np.isnan(value) else repr(float(value)) for value in values]
        time = _iso(float(readings.time_s[i]))
        out.write(",".join([time, *cells, Flags.unpacked(int(readings.flags[i])).text()]) + "\n")
    return len(readings)


def _iso(time_s: float) -> str:
    moment = from_unix(time_s)
    if moment.microsecond == 0:
        return iso_utc(moment)
    return moment.replace(tzinfo=None).isoformat() + "Z"
