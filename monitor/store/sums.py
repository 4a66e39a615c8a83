"""How readings are summed up, in SQL over what is stored."""

from typing import Any

from sqlalchemy import (
    BigInteger,
    BindParameter,
    ColumnElement,
    CompoundSelect,
    Delete,
    ScalarSelect,
    Select,
    Table,
    bindparam,
    case,
    delete,
    func,
    literal_column,
    select,
    union_all,
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


def redo_minutes(dialect: Dialect) -> Executable:
    """Sum up the minutes of a range from its readings."""
    return _redo(minute_rollups, _from_readings(MINUTE_US), dialect)


def redo_hours(dialect: Dialect) -> Executable:
    """Sum up the hours of a range from its minutes."""
    return _redo(hour_rollups, _hours(), dialect)


def extent() -> Select[Any]:
    """A sensor's newest reading, and the newest hour whose sums are stored."""
    sensor_id: BindParameter[int] = bindparam("sensor_id")
    newest = select(func.max(readings.c.at_us)).where(readings.c.sensor_id == sensor_id)
    return select(newest.scalar_subquery(), _last_hour(sensor_id))


def clear(table: Table) -> Delete:
    """Away with the buckets of a range."""
    return delete(table).where(*_in_range(table))


def range_of(table: Table, width_us: int) -> CompoundSelect[Any]:
    """The buckets of a range, those that aren't stored yet summed up from their readings."""
    sensor_id: BindParameter[int] = bindparam("sensor_id")
    names = (column for column in table.columns if column.name != "sensor_id")
    stored = select(*names).where(*_in_range(table))
    hour_us = literal_column(str(HOUR_US), BigInteger)
    open_us = func.coalesce(_last_hour(sensor_id) + hour_us, bindparam("first_us"))
    newer = _from_readings(width_us).where(readings.c.at_us >= open_us)
    _, *rest = newer.selected_columns
    return union_all(stored, newer.with_only_columns(*rest)).order_by("start_us")


def _in_range(table: Table) -> tuple[ColumnElement[bool], ...]:
    return (
        table.c.sensor_id == bindparam("sensor_id"),
        table.c.start_us >= bindparam("first_us"),
        table.c.start_us < bindparam("end_us"),
    )


def _last_hour(sensor_id: BindParameter[int]) -> ScalarSelect[Any]:
    last = select(func.max(hour_rollups.c.start_us)).where(hour_rollups.c.sensor_id == sensor_id)
    return last.scalar_subquery()


def _bucket(time_us: ColumnElement[int], width_us: int) -> ColumnElement[int]:
    """The start of the bucket; SQL's remainder takes the sign of the time, so it is taken twice."""
    width = literal_column(str(width_us), BigInteger)
    return time_us - (time_us % width + width) % width


def _from_readings(width_us: int) -> Select[Any]:
    start = _bucket(readings.c.at_us, width_us).label("start_us")
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
