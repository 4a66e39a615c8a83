"""Readings summed up by the minute and by the hour, so that a year opens at once.

Every reading before the end of a sensor's newest stored hour is in the tables' sums, none after
it: an hour is summed up when a reading of a later one comes, and what hasn't been yet is summed up
as it is read. So the commit of a reading writes its own row and no more. What comes, or is doubted,
behind that end has its minutes redone from the readings and its hours from their minutes: the
order in which readings and doubts arrive makes no difference.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Literal, NamedTuple

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
    clear,
    extent,
    range_of,
    redo_hours,
    redo_minutes,
)

Step = Literal["minute", "hour"]

EARLIEST_US, LATEST_US = -(2**62), 2**62

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


class Extent(NamedTuple):
    """How far a sensor's readings go (None: it has none), and where those begin that no sums of
    the tables hold yet."""

    newest_us: int | None
    summed_us: int


class RollupTables:
    """Keeps the two rollup tables in step with the readings, and reads them."""

    def __init__(self, database: Database) -> None:
        self._database = database
        dialect = database.dialect
        self._extent = Prepared(extent(), dialect, ("sensor_id",))
        self._minutes = Prepared(redo_minutes(dialect), dialect, RANGE)
        self._hours = Prepared(redo_hours(dialect), dialect, RANGE)
        self._clears = {
            step: Prepared(clear(table), dialect, RANGE) for step, (table, _) in _STEPS.items()
        }
        self._reads = {
            step: Prepared(range_of(table, width), dialect, RANGE)
            for step, (table, width) in _STEPS.items()
        }

    def extent(self, cursor: DBAPICursor, sensor_id: int) -> Extent:
        """As the caller's transaction sees it."""
        newest_us, last_hour_us = self._extent.run(cursor, sensor_id).fetchall()[0]
        return Extent(newest_us, EARLIEST_US if last_hour_us is None else last_hour_us + HOUR_US)

    def follow(
        self, cursor: DBAPICursor, sensor_id: int, times_us: Sequence[int], before: Extent
    ) -> None:
        """Keep in step with readings of these times just stored, in the caller's transaction.

        `before` is how far the sensor's readings, and their sums, went until then.
        """
        newest_us, summed_us = before
        first_us, last_us = min(times_us), max(times_us)
        if first_us < summed_us:
            for start_us, end_us in _runs(time for time in times_us if time < summed_us):
                self._redo(cursor, sensor_id, start_us, end_us)
        if newest_us is not None and newest_us >= summed_us:
            first_us, last_us = min(first_us, newest_us), max(last_us, newest_us)
        open_us = _floor(last_us, HOUR_US)
        if first_us < open_us and open_us > summed_us:
            self._redo(cursor, sensor_id, summed_us, open_us - 1)

    def redo_span(
        self,
        cursor: DBAPICursor,
        sensor_id: int,
        first_us: int,
        last_us: int,
        *,
        some_left: bool = False,
    ) -> None:
        """Redo every bucket that touches first ≤ time ≤ last, in the caller's transaction.

        What hasn't been summed up yet needs none. `some_left`: readings were moved out of it.
        """
        last_us = min(last_us, self.extent(cursor, sensor_id).summed_us - 1)
        if first_us > last_us:
            return
        if some_left:
            for step, (_, width) in _STEPS.items():
                start_us = _floor(first_us, width)
                self._clears[step].run(cursor, sensor_id, start_us, last_us + 1)
        self._redo(cursor, sensor_id, first_us, last_us)

    def sum_up(self, cursor: DBAPICursor, sensor_id: int, last_us: int) -> None:
        """Sum up whatever hasn't been up to the end of the hour of `last_us`, in the caller's
        transaction."""
        summed_us = self.extent(cursor, sensor_id).summed_us
        if summed_us <= last_us:
            self._redo(cursor, sensor_id, summed_us, _floor(last_us, HOUR_US) + HOUR_US - 1)

    def _redo(self, cursor: DBAPICursor, sensor_id: int, first_us: int, last_us: int) -> None:
        for statement, width in ((self._minutes, MINUTE_US), (self._hours, HOUR_US)):
            end_us = _floor(last_us, width) + width
            statement.run(cursor, sensor_id, _floor(first_us, width), end_us)

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
        end = LATEST_US if until is None else _floor(us_from(until), width) + width
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


def _runs(times_us: Iterable[int]) -> Iterator[tuple[int, int]]:
    """First and last moment of each stretch; an hour's silence begins a new one.

    Redoing a few minutes between is cheaper than one more statement, a year between is not.
    """
    ordered = sorted(times_us)
    first_us = ordered[0]
    for time_us, following_us in pairwise(ordered):
        if following_us - time_us > HOUR_US:
            yield first_us, time_us
            first_us = following_us
    yield first_us, ordered[-1]
