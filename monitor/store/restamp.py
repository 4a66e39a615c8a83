"""Readings that a wrong clock stamped, moved to when they were; what they were is kept."""

from array import array
from collections.abc import Sequence
from datetime import datetime, timedelta

from sqlalchemy import Update, bindparam, exists, update

from monitor.records import SuspectKind
from monitor.store.columns import moment_from
from monitor.store.corrections import write_down
from monitor.store.engine import Database
from monitor.store.late import LateChanges
from monitor.store.partitions import Partitions
from monitor.store.rollups import RollupTables
from monitor.store.schema import readings, suspect_spans

_AT_ONCE = 2_000
_MICROSECOND = timedelta(microseconds=1)
_there = readings.alias("there")


def restamp(
    database: Database, sensor_id: int, times_us: Sequence[int], by: timedelta, now: datetime
) -> None:
    """Move a sensor's readings of those times, all in one transaction.

    The correction kept for `sensor-3` has their first and last time, before and after; a suspect
    span tells people. A reading whose new time is taken stays where it is.
    """
    if not times_us:
        return
    shift_us = by // _MICROSECOND
    # The foremost goes first, so that none runs into one that is still to move.
    ordered = array("q", sorted(times_us, reverse=shift_us > 0))
    first_us, last_us = min(ordered), max(ordered)
    Partitions(database).make_for(time_us + shift_us for time_us in (first_us, last_us))
    rollups, late = RollupTables(database), LateChanges(database)
    with database.writing() as connection:
        for start in range(0, len(ordered), _AT_ONCE):
            some = ordered[start : start + _AT_ONCE]
            connection.execute(_move(), [_places(sensor_id, t, shift_us) for t in some])
        before, after = (
            f"{moment_from(first_us + add).isoformat()} to {moment_from(last_us + add).isoformat()}"
            for add in (0, shift_us)
        )
        write_down(connection, f"sensor-{sensor_id}", "clock", before, after, now)
        span = {
            "sensor_id": sensor_id,
            "kind": SuspectKind.CLOCK_SET,
            "since": moment_from(first_us + shift_us),
            "until": moment_from(last_us + shift_us),
            "found_at": now,
        }
        connection.execute(suspect_spans.insert().values(**span))
        cursor = connection.connection.cursor()
        for add in (0, shift_us):
            rollups.redo_span(cursor, sensor_id, first_us + add, last_us + add, some_left=True)
        late.note(cursor, sensor_id, min(first_us, first_us + shift_us))


def _places(sensor_id: int, old_us: int, shift_us: int) -> dict[str, int]:
    return {"of_sensor": sensor_id, "old_us": old_us, "new_us": old_us + shift_us}


def _move() -> Update:
    taken = (
        exists()
        .where(_there.c.sensor_id == bindparam("of_sensor"))
        .where(_there.c.at_us == bindparam("new_us"))
    )
    return (
        update(readings)
        .where(readings.c.sensor_id == bindparam("of_sensor"))
        .where(readings.c.at_us == bindparam("old_us"))
        .where(~taken)
        .values(at_us=bindparam("new_us"))
    )
