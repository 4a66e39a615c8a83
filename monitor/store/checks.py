"""What sensors were held against: kept, counted, and found for reading out."""

from datetime import datetime

from sqlalchemy import bindparam, func, select
from sqlalchemy.engine.interfaces import DBAPICursor

from monitor.records import Channel, SensorCheck
from monitor.store.columns import moment_from, us_from
from monitor.store.corrected import Lines, lines_of
from monitor.store.engine import Database, Prepared
from monitor.store.entries import added, all_of
from monitor.store.late import LateChanges
from monitor.store.schema import batches, stays
from monitor.store.schema import sensor_checks as table


class CheckEntries:
    """Checks of sensors."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._late = LateChanges(database)

    def add(
        self,
        sensor_id: int,
        standard: str,
        channel: Channel,
        checked_at: datetime,
        temperature_c: float,
        *,
        humidity_pct: tuple[float, float] | None = None,
        ice_c: tuple[float, float] | None = None,
    ) -> SensorCheck:
        """Keep what it read and what was true, of its humidity or of a temperature."""
        read_pct, true_pct = humidity_pct or (None, None)
        read_c, true_c = ice_c or (None, None)
        values = {
            "sensor_id": sensor_id,
            "standard": standard,
            "channel": channel,
            "checked_at": checked_at,
            "temperature_c": temperature_c,
            "read_pct": read_pct,
            "true_pct": true_pct,
            "read_c": read_c,
            "true_c": true_c,
        }
        with self._database.writing() as connection:
            check = added(connection, SensorCheck, table, values)
            cursor = connection.connection.cursor()
            self._late.note(cursor, sensor_id, us_from(checked_at))
        return check

    def of(self, sensor_id: int) -> tuple[SensorCheck, ...]:
        """Those of one sensor, oldest first."""
        query = (
            select(table)
            .where(table.c.sensor_id == sensor_id)
            .order_by(table.c.checked_at, table.c.id)
        )
        with self._database.reading() as connection:
            return all_of(connection, SensorCheck, query)

    def jobs_since(self, sensor_id: int, since: datetime) -> int:
        """How many batches were mixed since then for parts that stood beside the sensor."""
        beside = select(stays.c.layup_id).where(stays.c.sensor_id == sensor_id)
        query = (
            select(func.count())
            .select_from(batches)
            .where(batches.c.layup_id.in_(beside))
            .where(batches.c.mixed_at > since)
        )
        with self._database.reading() as connection:
            return connection.execute(query).scalar_one()


class KnownChecks:
    """A sensor's corrections, found quickly for a path that is walked often."""

    def __init__(self, database: Database) -> None:
        self._database = database
        query = (
            select(table)
            .where(table.c.sensor_id == bindparam("sensor_id"))
            .order_by(table.c.checked_at, table.c.id)
        )
        self._query = Prepared(query, database.dialect, ("sensor_id",))

    def lines(self, cursor: DBAPICursor, sensor_id: int) -> Lines:
        rows = self._query.run(cursor, sensor_id).fetchall()
        return lines_of([_check(*row) for row in rows])

    def every(self) -> dict[int, Lines]:
        """By sensor; one that was never checked isn't there."""
        found: dict[int, list[SensorCheck]] = {}
        query = select(table).order_by(table.c.checked_at, table.c.id)
        with self._database.reading() as connection:
            for check in all_of(connection, SensorCheck, query):
                found.setdefault(check.sensor_id, []).append(check)
        return {sensor_id: lines_of(checks) for sensor_id, checks in found.items()}


def _check(
    id: int, sensor_id: int, standard: str, channel: str, checked_us: int, *values: float
) -> SensorCheck:
    return SensorCheck(id, sensor_id, standard, Channel(channel), moment_from(checked_us), *values)
