"""Readings summed up by the minute and by the hour, so that a year opens at once.

New readings are added to their minutes; where some were stored already, or doubts are added late,
the minutes are redone from the readings. Hours are always redone from their minutes. So the order
in which readings and doubts arrive makes no difference.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Table
from sqlalchemy.engine.interfaces import DBAPICursor

from monitor.records import FloatArray
from monitor.store.columns import us_from
from monitor.store.engine import Database, Prepared, rows_of
from monitor.store.faults import read_back
from monitor.store.schema import QUANTITIES, hour_rollups, minute_rollups
from monitor.store.sums import (
    HOUR_US,
    MINUTE_US,
    PARTS,
    RANGE,
    StoredRow,
    add_to,
    range_of,
    redo_hours,
    redo_minutes,
    sums_of,
)

Step = Literal["minute", "hour"]

EARLIEST_US, LATEST_US = -(2**62), 2**62
_FEW = 60
"""So few new readings are added to their hours; of more the hours are summed up anew."""

_STEPS: dict[Step, tuple[Table, int]] = {
    "minute": (minute_rollups, MINUTE_US),
    "hour": (hour_rollups, HOUR_US),
}


@dataclass(frozen=True, slots=True)
class Rolled:
    """One quantity's good values in each bucket: how many, mean, least, most; nan: none."""

    n: NDArray[np.int64]
    mean: FloatArray
    min: FloatArray
    max: FloatArray


@dataclass(frozen=True, slots=True)
class Rollups:
    """Buckets that hold at least one reading, in time order. `time_s` is where each begins."""

    step_s: float
    time_s: FloatArray
    n_all: NDArray[np.int64]
    temperature_c: Rolled
    humidity_pct: Rolled
    surface_c: Rolled

    def __len__(self) -> int:
        return len(self.time_s)


class RollupTables:
    """Keeps the two rollup tables in step with the readings, and reads them."""

    def __init__(self, database: Database) -> None:
        self._database = database
        dialect = database.dialect
        self._minutes = Prepared(redo_minutes(dialect), dialect, RANGE)
        self._hours = Prepared(redo_hours(dialect), dialect, RANGE)
        self._to_minutes, self._to_hours = (
            Prepared(add_to(table, dialect), dialect, table.columns.keys())
            for table in (minute_rollups, hour_rollups)
        )
        self._reads = {
            step: Prepared(range_of(table), dialect, RANGE) for step, (table, _) in _STEPS.items()
        }

    def add(self, cursor: DBAPICursor, rows: Sequence[StoredRow]) -> None:
        """Add readings of one sensor, none of them stored before, in the caller's transaction."""
        self._to_minutes.run_many(cursor, sums_of(rows, MINUTE_US))
        if len(rows) < _FEW:
            self._to_hours.run_many(cursor, sums_of(rows, HOUR_US))
            return
        for first_us, last_us in _runs(rows):
            self._redo_hours(cursor, rows[0][0], first_us, last_us)

    def redo(self, cursor: DBAPICursor, rows: Sequence[StoredRow]) -> None:
        """Redo the buckets these readings of one sensor lie in, in the caller's transaction."""
        for first_us, last_us in _runs(rows):
            self.redo_span(cursor, rows[0][0], first_us, last_us)

    def redo_span(self, cursor: DBAPICursor, sensor_id: int, first_us: int, last_us: int) -> None:
        """Redo every bucket that touches first ≤ time ≤ last, in the caller's transaction."""
        start, end = _floor(first_us, MINUTE_US), _floor(last_us, MINUTE_US) + MINUTE_US
        self._minutes.run(cursor, sensor_id, start, end)
        self._redo_hours(cursor, sensor_id, first_us, last_us)

    def _redo_hours(self, cursor: DBAPICursor, sensor_id: int, first_us: int, last_us: int) -> None:
        start, end = _floor(first_us, HOUR_US), _floor(last_us, HOUR_US) + HOUR_US
        self._hours.run(cursor, sensor_id, start, end)

    def between(
        self,
        sensor_id: int,
        since: datetime | None,
        until: datetime | None,
        step: Step,
    ) -> Rollups:
        """The buckets that touch since ≤ time ≤ until; None: no bound."""
        width = _STEPS[step][1]
        start = EARLIEST_US if since is None else _floor(us_from(since), width)
        end = LATEST_US if until is None else us_from(until) + 1
        with self._database.reading_fast() as cursor:
            self._reads[step].run(cursor, sensor_id, start, end)
            with read_back():
                rows = np.fromiter(rows_of(cursor), _ROW)
        return _columns(rows, width)


_ROW = np.dtype(
    [("start_us", "i8"), ("n_all", "i8")]
    + [
        (f"{quantity}_{part}", "i8" if part == "n" else "f8")
        for quantity in QUANTITIES
        for part in PARTS
    ]
)


def _columns(rows: NDArray[np.void], width_us: int) -> Rollups:
    def rolled(quantity: str) -> Rolled:
        n = np.ascontiguousarray(rows[f"{quantity}_n"])
        mean = np.full(len(n), np.nan)
        np.divide(rows[f"{quantity}_sum"], n, out=mean, where=n > 0)
        least, most = (np.ascontiguousarray(rows[f"{quantity}_{part}"]) for part in ("min", "max"))
        return Rolled(n, mean, least, most)

    return Rollups(
        width_us / 1e6,
        rows["start_us"] / 1e6,
        np.ascontiguousarray(rows["n_all"]),
        *(rolled(quantity) for quantity in QUANTITIES),
    )


def _floor(time_us: int, width_us: int) -> int:
    return time_us // width_us * width_us


def _runs(rows: Sequence[StoredRow]) -> Iterator[tuple[int, int]]:
    """First and last moment of each stretch; an hour's silence begins a new one.

    Redoing a few minutes between is cheaper than one more statement, a year between is not.
    """
    times_us = sorted(row[1] for row in rows)
    first = times_us[0]
    for time_us, following in pairwise(times_us):
        if following - time_us > HOUR_US:
            yield first, time_us
            first = following
    yield first, times_us[-1]
