"""How readings are summed up: in SQL over what is stored, in Python over what has just come."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Select,
    Table,
    bindparam,
    case,
    func,
    literal_column,
    select,
)
from sqlalchemy.engine.interfaces import Dialect
from sqlalchemy.sql.base import Executable

from monitor.records import HUMIDITY_FLAGS, SURFACE_FLAGS, TEMPERATURE_FLAGS
from monitor.store.engine import insert_for
from monitor.store.schema import QUANTITIES, hour_rollups, minute_rollups, readings

StoredRow = tuple[int, int, float | None, float | None, float | None, int, str]
"""sensor_id, at_us, temperature_c, humidity_pct, surface_c, flags, raw, as the table has them."""

MINUTE_US = 60_000_000
HOUR_US = 3_600_000_000
PARTS = ("n", "sum", "min", "max")
RANGE = ("sensor_id", "first_us", "end_us")
MASKS = dict(zip(QUANTITIES, (TEMPERATURE_FLAGS, HUMIDITY_FLAGS, SURFACE_FLAGS), strict=True))

_KEYS = ("sensor_id", "start_us")


def sums_of(rows: Sequence[StoredRow], width_us: int) -> list[tuple[object, ...]]:
    """A row of the minute or hour table for each that these readings of one sensor lie in."""

    def bucket(row: StoredRow) -> int:
        return row[1] // width_us

    return [
        (some[0][0], number * width_us, len(some), *_sums(some))
        for number, group in groupby(sorted(rows, key=bucket), bucket)
        if (some := list(group))
    ]


def _sums(rows: list[StoredRow]) -> Iterator[float | None]:
    columns = zip(*(row[2:5] for row in rows), strict=True)
    for mask, column in zip(MASKS.values(), columns, strict=True):
        pairs = zip(rows, column, strict=True)
        good = [value for row, value in pairs if value is not None and not row[5] & mask]
        yield len(good)
        yield from (sum(good), min(good), max(good)) if good else (None, None, None)


def add_to(table: Table, dialect: Dialect) -> Executable:
    """Add the sums of new readings to what the minute, or the hour, has."""
    names = table.columns.keys()
    given = insert_for(dialect, table).values({name: bindparam(name) for name in names})
    new, old = given.excluded, table.c
    total: dict[str, ColumnElement[Any]] = {"n_all": old.n_all + new.n_all}
    for quantity in QUANTITIES:
        n, added, least, most = (f"{quantity}_{part}" for part in PARTS)
        total[n] = old[n] + new[n]
        total[added] = func.coalesce(old[added] + new[added], old[added], new[added])
        total[least] = _either(new[least] < old[least], new[least], old[least])
        total[most] = _either(new[most] > old[most], new[most], old[most])
    return given.on_conflict_do_update(index_elements=_KEYS, set_=total)


def _either(
    better: ColumnElement[bool], new: ColumnElement[float], old: ColumnElement[float]
) -> ColumnElement[Any]:
    """The new one where it is better; where one is missing the other. SQL has no name for it."""
    return case((better, new), else_=func.coalesce(old, new))


def redo_minutes(dialect: Dialect) -> Executable:
    """Sum up the minutes of a range from its readings."""
    return _redo(minute_rollups, _minutes(), dialect)


def redo_hours(dialect: Dialect) -> Executable:
    """Sum up the hours of a range from its minutes."""
    return _redo(hour_rollups, _hours(), dialect)


def range_of(table: Table) -> Select[Any]:
    return (
        select(*(column for column in table.columns if column.name != "sensor_id"))
        .where(table.c.sensor_id == bindparam("sensor_id"))
        .where(table.c.start_us >= bindparam("first_us"))
        .where(table.c.start_us < bindparam("end_us"))
        .order_by(table.c.start_us)
    )


def _bucket(time_us: ColumnElement[int], width_us: int) -> ColumnElement[int]:
    """The start of the bucket; SQL's remainder takes the sign of the time, so it is taken twice."""
    width = literal_column(str(width_us), BigInteger)
    return time_us - (time_us % width + width) % width


def _minutes() -> Select[Any]:
    start = _bucket(readings.c.at_us, MINUTE_US)
    columns: list[ColumnElement[Any]] = [readings.c.sensor_id, start, func.count()]
    for quantity in QUANTITIES:
        mask = literal_column(str(MASKS[quantity]), BigInteger)
        good = case(
            (readings.c.flags.bitwise_and(mask) == literal_column("0"), readings.c[quantity])
        )
        columns += [func.count(good), func.sum(good), func.min(good), func.max(good)]
    return _grouped(columns, readings.c.sensor_id, readings.c.at_us, start)


def _hours() -> Select[Any]:
    table = minute_rollups.c
    start = _bucket(table.start_us, HOUR_US)
    columns: list[ColumnElement[Any]] = [table.sensor_id, start, func.sum(table.n_all)]
    for quantity in QUANTITIES:
        n, total, least, most = (table[f"{quantity}_{part}"] for part in PARTS)
        columns += [func.sum(n), func.sum(total), func.min(least), func.max(most)]
    return _grouped(columns, table.sensor_id, table.start_us, start)


def _grouped(
    columns: list[ColumnElement[Any]],
    sensor_id: ColumnElement[int],
    time_us: ColumnElement[int],
    start: ColumnElement[int],
) -> Select[Any]:
    return (
        select(*columns)
        .where(sensor_id == bindparam("sensor_id"))
        .where(time_us >= bindparam("first_us"))
        .where(time_us < bindparam("end_us"))
        .group_by(sensor_id, start)
    )


def _redo(table: Table, query: Select[Any], dialect: Dialect) -> Executable:
    names = table.columns.keys()
    filled = insert_for(dialect, table).from_select(names, query)
    fresh = {name: filled.excluded[name] for name in names if name not in _KEYS}
    return filled.on_conflict_do_update(index_elements=_KEYS, set_=fresh)
