"""Many readings at once into a server and out of it, by COPY."""

from collections.abc import Iterator, Sequence
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray
from sqlalchemy.engine.interfaces import DBAPICursor

from monitor.store.sums import StoredRow
from monitor.store.transfer import copy_in

MANY = 500
"""From so many rows on it is quicker than one statement a row."""

_ANY = "SELECT 1 FROM readings WHERE sensor_id = %s AND at_us BETWEEN %s AND %s LIMIT 1"
_INCOMING = "incoming_readings"
_MAKE = f"CREATE TEMPORARY TABLE IF NOT EXISTS {_INCOMING} (LIKE readings) ON COMMIT DELETE ROWS"
_TAKE = f"INSERT INTO readings SELECT * FROM {_INCOMING} ON CONFLICT DO NOTHING"  # noqa: S608 (no value in it)

_OUT = """
COPY (SELECT at_us, coalesce(temperature_c, 'NaN'), coalesce(humidity_pct, 'NaN'),
             coalesce(surface_c, 'NaN'), flags
      FROM readings WHERE sensor_id = %s AND at_us BETWEEN %s AND %s ORDER BY at_us)
TO STDOUT (FORMAT BINARY)
"""
# A signature of 11 bytes, flags, the length of an extension; then for each row the number of its
# fields, and for each field its length before it; last of all a row of -1 fields.
# https://www.postgresql.org/docs/current/sql-copy.html
_HEADER_BYTES = 19
_FIELDS = (
    ("at_us", ">i8"),
    ("temperature_c", ">f8"),
    ("humidity_pct", ">f8"),
    ("surface_c", ">f8"),
    ("flags", ">i8"),
)
_ROW = np.dtype(
    [("fields", ">i2")]
    + [part for name, kind in _FIELDS for part in ((f"{name}_size", ">i4"), (name, kind))]
)


def add_many(cursor: DBAPICursor, names: Sequence[str], rows: Sequence[StoredRow]) -> int:
    """Store one sensor's readings that aren't there yet, in the caller's transaction; how many.

    Where the table holds none in their span they go straight into it. Otherwise by way of a table
    of this connection's own, row by row past those that are there, at half the rate.
    """
    times_us = {row[1] for row in rows}
    cursor.execute(_ANY, (rows[0][0], min(times_us), max(times_us)))
    if len(times_us) == len(rows) and cursor.fetchone() is None:
        copy_in(cursor, "readings", names, rows)
        return len(rows)
    cursor.execute(_MAKE)
    copy_in(cursor, _INCOMING, names, rows)
    cursor.execute(_TAKE)
    return cursor.rowcount


def read_range(
    cursor: DBAPICursor, sensor_id: int, first_us: int, last_us: int, at_once: int
) -> Iterator[NDArray[np.void]]:
    """Readings with first ≤ time ≤ last, in time order, some at a time; a blank value is nan."""
    left, skip = bytearray(), _HEADER_BYTES
    wanted = at_once * _ROW.itemsize
    with cast(Any, cursor).copy(_OUT, (sensor_id, first_us, last_us)) as copy:
        for data in copy:
            left += data
            if skip and len(left) >= skip:
                del left[:skip]
                skip = 0
            if len(left) >= wanted + 2:
                yield np.frombuffer(bytes(left[:wanted]), _ROW)
                del left[:wanted]
    yield np.frombuffer(bytes(left[: len(left) // _ROW.itemsize * _ROW.itemsize]), _ROW)
