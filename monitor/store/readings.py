"""Readings: stored once, never erased, read back as columns."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import islice
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import BigInteger, BindParameter, Row, bindparam, func, select, update
from sqlalchemy.engine.interfaces import DBAPICursor, Dialect
from sqlalchemy.sql.base import Executable

from monitor.records import Flags, Reading, Readings
from monitor.store.bulk import MANY, add_many, read_range
from monitor.store.checks import KnownChecks
from monitor.store.columns import moment_from, us_from
from monitor.store.corrected import Lines
from monitor.store.engine import Database, Prepared, insert_for, rows_of
from monitor.store.faults import RefusedRow, read_back
from monitor.store.late import LateChange, LateChanges, late_changes
from monitor.store.partitions import Partitions
from monitor.store.retention import LetGo
from monitor.store.rollups import EARLIEST_US, LATEST_US, Rollups, RollupTables, Step
from monitor.store.schema import readings as table
from monitor.store.schema import sensors
from monitor.store.sums import StoredRow

_ROW = np.dtype(
    [
        ("at_us", "i8"),
        ("temperature_c", "f8"),
        ("humidity_pct", "f8"),
        ("surface_c", "f8"),
        ("flags", "i8"),
    ]
)
_COLUMNS = tuple(column.name for column in table.columns)
_RANGE = ("sensor_id", "first_us", "last_us")
_CHUNK = 1 << 16


class ReadingTable:
    """What every sensor has said."""

    def __init__(self, database: Database) -> None:
        self._database = database
        dialect = database.dialect
        self._on_server = dialect.name == "postgresql"
        self._rollups = RollupTables(database)
        self._late = LateChanges(database)
        self._months = Partitions(database)
        self._let_go = LetGo(database)
        self._checks = KnownChecks(database)
        self._insert = Prepared(_insert(dialect), dialect, _COLUMNS)
        self._between = Prepared(_between(), dialect, _RANGE)
        self._flag = Prepared(_flag(), dialect, ("bits", *_RANGE))

    def add(self, sensor_id: int, readings: Sequence[Reading]) -> int:
        """Store readings, with the rollups they touch, in one transaction; how many were new.

        A moment that is already stored stays as it was, so reading a file in twice adds nothing;
        nor does one that was let go by its age.
        A number that isn't finite is kept in `raw` alone. The lock is held throughout: beside a
        running daemon give some ten thousand at a time.
        """
        rows = [_row(sensor_id, reading) for reading in readings]
        if not rows:
            return 0
        try:
            return self._add(sensor_id, rows)
        except RefusedRow:
            if not self._on_server:
                raise
            # Its month may have been let go since it was made.
            self._months.forget()
            return self._add(sensor_id, rows)

    def _add(self, sensor_id: int, rows: list[StoredRow]) -> int:
        times_us = [row[1] for row in rows]
        self._months.make_for(times_us)
        with self._database.writing_fast() as cursor:
            before = self._rollups.extent(cursor, sensor_id)
            late = before.newest_us is None or min(times_us) <= before.newest_us
            if late:
                rows = self._let_go.without(cursor, rows)
                if not rows:
                    return 0
                times_us = [row[1] for row in rows]
            if self._on_server and len(rows) >= MANY:
                new = add_many(cursor, _COLUMNS, rows)
            else:
                new = self._insert.run_many(cursor, rows)
            if new:
                self._rollups.follow(cursor, sensor_id, times_us, before)
                if late and before.newest_us is not None and min(times_us) <= before.newest_us:
                    self._late.note(cursor, sensor_id, min(times_us))
        return new

    def between(
        self,
        sensor_id: int,
        since: datetime | None,
        until: datetime | None,
        *,
        as_read: bool = False,
    ) -> Readings:
        """Those with since ≤ time ≤ until, in time order; None: no bound.

        Put right by the sensor's checks; `as_read`: as they are stored.
        """
        first, last = _bounds(since, until)
        with self._database.reading_fast() as cursor:
            lines = self._checks.lines(cursor, sensor_id)
            readings = _columns(self._chunks(cursor, sensor_id, first, last))
        return lines.readings(readings) if lines and not as_read else readings

    def _chunks(
        self, cursor: DBAPICursor, sensor_id: int, first_us: int, last_us: int
    ) -> Iterator[NDArray[np.void]]:
        if self._on_server:
            yield from read_range(cursor, sensor_id, first_us, last_us, _CHUNK)
            return
        rows = rows_of(self._between.run(cursor, sensor_id, first_us, last_us))
        while True:
            with read_back():
                chunk = np.fromiter(islice(rows, _CHUNK), _ROW)
            if not len(chunk):
                return
            yield chunk

    def rollups(
        self,
        sensor_id: int,
        since: datetime | None,
        until: datetime | None,
        step: Step = "minute",
    ) -> Rollups:
        """The buckets of a minute or an hour that touch since ≤ time ≤ until, put right."""
        with self._database.reading_fast() as cursor:
            lines = self._checks.lines(cursor, sensor_id)
        rollups = self._rollups.between(sensor_id, since, until, step)
        return lines.rollups(rollups) if lines else rollups

    def add_flags(
        self, sensor_id: int, since: datetime | None, until: datetime | None, flags: Flags
    ) -> int:
        """Add doubts to stored readings and redo their rollups; how many readings changed."""
        bits = flags.packed()
        first, last = _bounds(since, until)
        with self._database.writing_fast() as cursor:
            changed = self._flag.run(cursor, bits, sensor_id, first, last).rowcount
            if changed:
                self._rollups.redo_span(cursor, sensor_id, first, last)
                self._late.note(cursor, sensor_id, first)
        return changed

    def late_changes(self, after_id: int = 0) -> tuple[LateChange, ...]:
        """What was stored, or doubted, behind a sensor's newest reading; oldest change first."""
        return late_changes(self._database, after_id)

    def latest(self, sensor_id: int) -> Reading | None:
        """The newest, good or not, put right by the sensor's checks."""
        query = (
            select(table)
            .where(table.c.sensor_id == sensor_id)
            .order_by(table.c.at_us.desc())
            .limit(1)
        )
        with self._database.reading() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            return None
        with self._database.reading_fast() as cursor:
            return self._checks.lines(cursor, sensor_id).reading(_reading(row))

    def newest(self) -> dict[int, Reading]:
        """The newest of every sensor that ever spoke, good or not, put right by its checks."""
        own = table.alias()
        each = (
            select(func.max(own.c.at_us)).where(own.c.sensor_id == sensors.c.id).scalar_subquery()
        )
        # Outer, so that the sensors are walked and each reading is found by its key.
        query = (
            select(table)
            .select_from(sensors)
            .outerjoin(table, (table.c.sensor_id == sensors.c.id) & (table.c.at_us == each))
        )
        with self._database.reading() as connection:
            rows = [row for row in connection.execute(query) if row.sensor_id is not None]
        lines = self._checks.every()
        return {
            row.sensor_id: lines.get(row.sensor_id, Lines()).reading(_reading(row)) for row in rows
        }

    def raw_lines(self, sensor_id: int, last: int = 10) -> tuple[str, ...]:
        """The newest lines as the sensor sent them, oldest of them first."""
        query = (
            select(table.c.raw)
            .where(table.c.sensor_id == sensor_id)
            .order_by(table.c.at_us.desc())
            .limit(last)
        )
        with self._database.reading() as connection:
            return tuple(reversed(connection.execute(query).scalars().all()))

    def count(self, sensor_id: int) -> int:
        query = select(func.count()).select_from(table).where(table.c.sensor_id == sensor_id)
        with self._database.reading() as connection:
            return connection.execute(query).scalar_one()

    def first_at(self, sensor_id: int) -> datetime | None:
        """When the oldest reading was taken."""
        query = select(func.min(table.c.at_us)).where(table.c.sensor_id == sensor_id)
        with self._database.reading() as connection:
            oldest = connection.execute(query).scalar()
        return None if oldest is None else moment_from(oldest)


def _reading(row: Row[Any]) -> Reading:
    with read_back():
        return Reading(
            moment_from(row.at_us),
            row.temperature_c,
            row.humidity_pct,
            row.surface_c,
            Flags.unpacked(row.flags),
            row.raw,
        )


def _row(sensor_id: int, reading: Reading) -> StoredRow:
    return (
        sensor_id,
        us_from(reading.at),
        _finite(reading.temperature_c),
        _finite(reading.humidity_pct),
        _finite(reading.surface_c),
        reading.flags.packed(),
        _storable(reading.raw),
    )


def _finite(value: float | None) -> float | None:
    return value if value is not None and isfinite(value) else None


def _storable(raw: str) -> str:
    """A line with bytes that are no text has them spelled out: a bad line is kept, not refused."""
    text = raw if raw.isascii() else raw.encode("utf-8", "backslashreplace").decode()
    # A server's text holds no zero.
    return text.replace("\0", "\\x00")


def _bounds(since: datetime | None, until: datetime | None) -> tuple[int, int]:
    return (
        EARLIEST_US if since is None else us_from(since),
        LATEST_US if until is None else us_from(until),
    )


def _columns(chunks: Iterator[NDArray[np.void]]) -> Readings:
    """Rows as columns, a chunk at a time into arrays that grow, so that no year is held twice."""
    columns = [np.empty(0, kind) for kind in (float, float, float, float, np.int64)]
    count = 0
    for chunk in chunks:
        end = count + len(chunk)
        for column, name in zip(columns, _ROW.names or (), strict=True):
            if end > len(column):
                column.resize(max(end, len(column) * 9 // 8), refcheck=False)
            column[count:end] = chunk[name]
        columns[0][count:end] /= 1e6
        count = end
    for column in columns:
        column.resize(count, refcheck=False)
    return Readings(*columns)


def _insert(dialect: Dialect) -> Executable:
    values = insert_for(dialect, table).values({name: bindparam(name) for name in _COLUMNS})
    return values.on_conflict_do_nothing(index_elements=["sensor_id", "at_us"])


def _between() -> Executable:
    return (
        select(*(table.c[name] for name in _ROW.names or ()))
        .where(table.c.sensor_id == bindparam("sensor_id"))
        .where(table.c.at_us >= bindparam("first_us"))
        .where(table.c.at_us <= bindparam("last_us"))
        .order_by(table.c.at_us)
    )


def _flag() -> Executable:
    bits: BindParameter[int] = bindparam("bits", type_=BigInteger)
    return (
        update(table)
        .values(flags=table.c.flags.bitwise_or(bits))
        .where(table.c.sensor_id == bindparam("sensor_id"))
        .where(table.c.at_us >= bindparam("first_us"))
        .where(table.c.at_us <= bindparam("last_us"))
        .where(table.c.flags.bitwise_and(bits) != bits)
    )
