"""A logger's file as readings."""

from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path

import numpy as np

from monitor.errors import BadInput
from monitor.loggers.clock import Order, day_order, moments, written
from monitor.loggers.columns import SURELY_CELSIUS_BELOW, Columns, columns_of, value_of
from monitor.loggers.table import Table, table_of, text_of
from monitor.records import FloatArray, Reading, Readings
from monitor.sensing.plausibility import Plausibility
from monitor.units import Unit, c_from_f

_OURS = {"temperature_c", "temperature_f", "humidity_pct"}


@dataclass(frozen=True)
class LoggerFile:
    """What a logger's file held: readings in time order, and what was passed over."""

    readings: tuple[Reading, ...]
    rows: int
    repeated: int
    without_value: int
    passed_over: int


def is_ours(path: Path) -> bool:
    """Whether a file has the header of our own readings files, so that it needs no finding out."""
    try:
        with path.open(encoding="utf-8-sig", errors="replace") as file:
            first = file.readline(1000)
    except OSError:
        first = ""
    # Whoever reads it says what is wrong with a file that isn't there, or is empty.
    return not first or not _OURS.isdisjoint(first.strip().split(","))


def read_logger(
    path: Path, zone: tzinfo, *, dates: Order | None = None, unit: Unit | None = None
) -> LoggerFile:
    """The readings of a logger's file, checked as a live sensor's are.

    `zone`: that of a clock that doesn't say its own. Raises BadInput where the file can't be
    understood in just one way.
    """
    table = table_of(text_of(path), path.name)
    columns = columns_of(table, path.name)
    times = [written(" ".join(row.cells[place] for place in table.when)) for row in table.rows]
    known = [t for t in times if t is not None]
    if len(known) < len(times):
        line = table.rows[times.index(None)].line
        raise BadInput(f"{path.name}, line {line}: no time.", "Put it right, or take it out.")
    when = moments(known, day_order(known, dates, path.name), zone, path.name)
    values = _values(table, columns, path.name, unit)
    order = sorted(range(len(when)), key=when.__getitem__)
    fresh = [n for k, n in enumerate(order) if k == 0 or when[n] > when[order[k - 1]]]
    check = Plausibility("c").check
    readings = tuple(
        check(Reading(when[n], *values[n], raw=table.separator.join(table.rows[n].cells)))
        for n in fresh
    )
    empty = sum(values[n] == (None, None, None) for n in fresh)
    return LoggerFile(readings, len(when), len(when) - len(fresh), empty, table.passed_over)


Values = tuple[float | None, float | None, float | None]


def _values(table: Table, columns: Columns, name: str, unit: Unit | None) -> list[Values]:
    places = columns.places
    rows = [
        tuple(
            value_of(row.cells, places.get(quantity), f"{name}, line {row.line}")
            for quantity in ("temperature", "humidity", "surface")
        )
        for row in table.rows
    ]
    degrees = unit or columns.unit or _likely_unit(rows, name)
    return [
        (_celsius(air, degrees), humidity, _celsius(surface, degrees))
        for air, humidity, surface in rows
    ]


def _celsius(value: float | None, unit: Unit) -> float | None:
    return c_from_f(value) if value is not None and unit == "f" else value


def _likely_unit(rows: "list[tuple[float | None, ...]]", name: str) -> Unit:
    """°C where it can be nothing else in a workplace; otherwise the person says."""
    given = [v for row in rows for v in (row[0], row[2]) if v is not None]
    if given and float(np.median(given)) >= SURELY_CELSIUS_BELOW:
        raise BadInput(
            f"{name} doesn't say whether {np.median(given):g} is °C or °F.",
            "Say which: --unit c or --unit f.",
        )
    return "c"


def columns_from(readings: "tuple[Reading, ...]") -> Readings:
    """The same readings as columns."""

    def column(values: "list[float | None]") -> FloatArray:
        return np.array([np.nan if value is None else value for value in values], float)

    return Readings(
        np.array([reading.at.timestamp() for reading in readings]),
        column([reading.temperature_c for reading in readings]),
        column([reading.humidity_pct for reading in readings]),
        column([reading.surface_c for reading in readings]),
        np.array([reading.flags.packed() for reading in readings], np.int64),
    )
