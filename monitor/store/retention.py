"""Raw readings let go by their age. Their sums stay for ever; what lies inside a layup stays raw.

Whole hours are let go, so that the sums of an hour are never redone from a part of it.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from sqlalchemy import Connection, bindparam, delete, func, insert, inspect, select, update
from sqlalchemy.engine.interfaces import DBAPICursor

from monitor.store.columns import us_from
from monitor.store.engine import Database, Prepared
from monitor.store.partitions import Month, bounds_us, month_named, name_of
from monitor.store.rollups import LATEST_US, RollupTables
from monitor.store.schema import batches, layups, let_go, marks, readings, sensors, stays
from monitor.store.sums import HOUR_US, StoredRow

Span = tuple[int, int]
"""From a microsecond on, until another one."""

BEFORE = timedelta(days=1)
AFTER = timedelta(hours=2)
"""What stays raw around a layup: its neighbours in time count for it."""

_AT_ONCE_US = 7 * 24 * HOUR_US


class LetGo:
    """The spans whose raw readings were let go, for whoever stores more."""

    def __init__(self, database: Database) -> None:
        touching = (
            select(let_go.c.first_us, let_go.c.end_us)
            .where(let_go.c.sensor_id == bindparam("sensor_id"))
            .where(let_go.c.end_us > bindparam("first_us"))
            .where(let_go.c.first_us <= bindparam("last_us"))
        )
        order = ("sensor_id", "first_us", "last_us")
        self._touching = Prepared(touching, database.dialect, order)

    def without(self, cursor: DBAPICursor, rows: list[StoredRow]) -> list[StoredRow]:
        """Rows of one sensor without those that are summed up already and were let go."""
        times_us = [row[1] for row in rows]
        query = self._touching.run(cursor, rows[0][0], min(times_us), max(times_us))
        spans: Sequence[Span] = query.fetchall()
        if not spans:
            return rows
        return [row for row in rows if not any(first <= row[1] < end for first, end in spans)]


def let_go_before(database: Database, moment: datetime) -> int:
    """Let raw readings from before a moment go; how many hours of sensors' readings that were."""
    cut_us = us_from(moment) // HOUR_US * HOUR_US
    kept = _kept_spans(database)
    hours = 0
    for month in _whole_months(database, cut_us):
        if not any(_touch(bounds_us(month), span) for spans in kept.values() for span in spans):
            hours += _drop(database, month)
    for sensor_id, oldest_us in _oldest(database).items():
        start_us = oldest_us // HOUR_US * HOUR_US
        for first_us, end_us in _between(start_us, cut_us, kept.get(sensor_id, [])):
            for at_us in range(first_us, end_us, _AT_ONCE_US):
                span = at_us, min(at_us + _AT_ONCE_US, end_us)
                hours += _remove(database, sensor_id, span)
    return hours


def _kept_spans(database: Database) -> dict[int, list[Span]]:
    """What stays raw of each sensor: whole hours, in order."""
    with database.reading() as connection:
        parts = connection.execute(select(layups.c.id, layups.c.added_at, layups.c.ended_at)).all()
        firsts: dict[int, list[datetime]] = {}
        for table, column in ((batches, "mixed_at"), (stays, "since"), (marks, "at")):
            query = select(table.c.layup_id, func.min(table.c[column])).group_by(table.c.layup_id)
            for layup_id, first in connection.execute(query):
                firsts.setdefault(layup_id, []).append(first)
        beside = connection.execute(select(stays.c.layup_id, stays.c.sensor_id).distinct()).all()
    spans: dict[int, Span] = {}
    for id, added_at, ended_at in parts:
        begun = [*firsts.get(id, []), *([added_at] if added_at is not None else [])]
        if begun:
            end_us = LATEST_US if ended_at is None else us_from(ended_at + AFTER)
            first_us = us_from(min(begun) - BEFORE)
            spans[id] = first_us // HOUR_US * HOUR_US, -(-end_us // HOUR_US) * HOUR_US
    kept: dict[int, list[Span]] = {}
    for layup_id, sensor_id in beside:
        if layup_id in spans:
            kept.setdefault(sensor_id, []).append(spans[layup_id])
    return {sensor_id: sorted(found) for sensor_id, found in kept.items()}


def _between(start_us: int, cut_us: int, kept: Iterable[Span]) -> list[Span]:
    """What lies from a start to a cut and in none of the spans."""
    found, at_us = list[Span](), start_us
    for first_us, end_us in kept:
        if at_us < min(first_us, cut_us):
            found.append((at_us, min(first_us, cut_us)))
        at_us = max(at_us, end_us)
    if at_us < cut_us:
        found.append((at_us, cut_us))
    return found


def _touch(one: Span, other: Span) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _oldest(database: Database) -> dict[int, int]:
    """The oldest reading of each sensor that has any."""
    first = select(func.min(readings.c.at_us)).where(readings.c.sensor_id == sensors.c.id)
    query = select(sensors.c.id, first.scalar_subquery())
    with database.reading() as connection:
        return {id: oldest for id, oldest in connection.execute(query) if oldest is not None}


def _remove(database: Database, sensor_id: int, span: Span) -> int:
    """Let one span go and write that down, in one transaction; its hours that held something."""
    inside = (
        readings.c.sensor_id == sensor_id,
        readings.c.at_us >= span[0],
        readings.c.at_us < span[1],
    )
    hours = select(readings.c.at_us // HOUR_US).where(*inside).distinct().subquery()
    with database.writing() as connection:
        count = connection.execute(select(func.count()).select_from(hours)).scalar_one()
        if count:
            _sum_up(database, connection, sensor_id, span)
            connection.execute(delete(readings).where(*inside))
            _write_down(connection, sensor_id, span)
    return int(count)


def _sum_up(database: Database, connection: Connection, sensor_id: int, span: Span) -> None:
    """What is about to go may be the last that was heard, whose hour isn't summed up yet."""
    cursor = connection.connection.cursor()
    RollupTables(database).sum_up(cursor, sensor_id, span[1] - 1)
    cursor.close()


def _write_down(connection: Connection, sensor_id: int, span: Span) -> None:
    """That a span was let go, as one with what it goes on from."""
    of_sensor = let_go.c.sensor_id == sensor_id
    longer = update(let_go).where(of_sensor, let_go.c.end_us == span[0]).values(end_us=span[1])
    if not connection.execute(longer).rowcount:
        values = {"sensor_id": sensor_id, "first_us": span[0], "end_us": span[1]}
        connection.execute(insert(let_go).values(**values))


def _whole_months(database: Database, cut_us: int) -> list[Month]:
    """A server's tables of months that are over before the cut."""
    if database.file is not None:
        return []
    with database.reading() as connection:
        names = inspect(connection).get_table_names()
    months = [month for name in names if (month := month_named(name)) is not None]
    return sorted(month for month in months if bounds_us(month)[1] <= cut_us)


def _drop(database: Database, month: Month) -> int:
    """Let a month's table go at once."""
    first_us, end_us = span = bounds_us(month)
    inside = readings.c.at_us >= first_us, readings.c.at_us < end_us
    hours = select(readings.c.sensor_id, readings.c.at_us // HOUR_US).where(*inside).distinct()
    with database.writing() as connection:
        found = connection.execute(select(func.count()).select_from(hours.subquery())).scalar_one()
        of = select(readings.c.sensor_id).where(*inside).distinct()
        for sensor_id in connection.execute(of).scalars().all():
            _sum_up(database, connection, sensor_id, span)
            _write_down(connection, sensor_id, span)
        connection.exec_driver_sql(f"DROP TABLE {name_of(month)}")
    return int(found)
