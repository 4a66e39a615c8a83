"""What was doubted of a sensor over a time: kept with the person's reply, and put on readings."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from sqlalchemy import (
    BigInteger,
    BindParameter,
    ColumnElement,
    Select,
    bindparam,
    delete,
    func,
    literal_column,
    select,
    update,
)

from monitor.errors import BadInput
from monitor.records import Flags, MarkKind, Reply, SuspectKind, SuspectSpan, Suspicion
from monitor.store.columns import us_from
from monitor.store.engine import Database, Prepared
from monitor.store.entries import added, all_of
from monitor.store.late import LateChanges
from monitor.store.restamp import restamp
from monitor.store.rollups import LATEST_US, RollupTables
from monitor.store.schema import marks, readings, stays
from monitor.store.schema import suspect_spans as table

_BITS: BindParameter[int] = bindparam("bits", type_=BigInteger)
_ORDER = ("bits", "sensor_id", "first_us", "last_us")
_NEVER = datetime.max.replace(tzinfo=UTC)


class SuspectEntries:
    """Suspect spans, and the doubts on readings that follow from them."""

    def __init__(self, database: Database) -> None:
        self._database = database
        dialect = database.dialect
        self._rollups = RollupTables(database)
        self._late = LateChanges(database)
        have = readings.c.flags.bitwise_and(_BITS)
        lacking, bearing = have != _BITS, have != literal_column("0")
        self._lacking = Prepared(_extent(lacking), dialect, _ORDER)
        self._bearing = Prepared(_extent(bearing), dialect, _ORDER)
        put = update(readings).values(flags=readings.c.flags.bitwise_or(_BITS))
        take = update(readings).values(flags=readings.c.flags - have)
        self._put = Prepared(put.where(*_within(lacking)), dialect, _ORDER)
        self._take = Prepared(take.where(*_within(bearing)), dialect, _ORDER)

    def spans(
        self, sensor_id: int | None = None, since: datetime | None = None
    ) -> tuple[SuspectSpan, ...]:
        """Those of one sensor, or of all, that reach past `since`; oldest first."""
        query = select(table).order_by(table.c.since, table.c.id)
        if sensor_id is not None:
            query = query.where(table.c.sensor_id == sensor_id)
        if since is not None:
            query = query.where(table.c.until.is_(None) | (table.c.until >= since))
        with self._database.reading() as connection:
            return all_of(connection, SuspectSpan, query)

    def lasting(self) -> dict[int, Flags]:
        """What is doubted of whatever a sensor says now, by its id; nothing of most."""
        query = (
            select(table.c.sensor_id, table.c.kind)
            .where(table.c.until.is_(None))
            .where(table.c.reply.is_(None) | (table.c.reply == Reply.YES))
        )
        flags: dict[int, Flags] = {}
        with self._database.reading() as connection:
            for sensor_id, kind in connection.execute(query):
                flags[sensor_id] = flags.get(sensor_id, Flags()) | kind.flags
        return flags

    def heater_marks(self) -> dict[int, list[tuple[datetime, bool]]]:
        """By each sensor's id: when a part that ever stood beside it had a heater on, or off."""
        beside = select(stays.c.sensor_id, stays.c.layup_id).distinct().subquery()
        query = (
            select(beside.c.sensor_id, marks.c.at, marks.c.kind)
            .join(marks, marks.c.layup_id == beside.c.layup_id)
            .where(marks.c.kind.in_([MarkKind.HEATER_ON, MarkKind.HEATER_OFF]))
            .order_by(marks.c.at, marks.c.id)
        )
        found: dict[int, list[tuple[datetime, bool]]] = {}
        with self._database.reading() as connection:
            for sensor_id, at, kind in connection.execute(query):
                found.setdefault(sensor_id, []).append((at, kind is MarkKind.HEATER_ON))
        return found

    def settle(
        self, sensor_id: int, found: Sequence[Suspicion], since: datetime, now: datetime
    ) -> tuple[SuspectSpan, ...]:
        """Keep what a look at everything from `since` on has found; the new ones of it.

        A span found again keeps its beginning, its number and the reply to it. One that is found
        no more, and that nobody replied to, is taken back. The readings' flags follow.
        """
        spans = self.spans(sensor_id, since)
        known = [span for span in spans if span.kind is not SuspectKind.CLOCK_SET]
        new: list[SuspectSpan] = []
        for suspicion in found:
            match = next((span for span in known if _overlap(span, suspicion)), None)
            if match is None:
                new.append(self._begun(sensor_id, suspicion, now))
            else:
                known.remove(match)
                self._go_on(match, suspicion)
        for span in known:
            if span.since < since:
                if span.until is None:
                    self._write(span, until=now)
            elif span.reply is None:
                self._mark(span, span.since, span.until, doubted=False)
                with self._database.writing() as connection:
                    connection.execute(delete(table).where(table.c.id == span.id))
        return tuple(new)

    def reply(self, span_id: int, reply: Reply, at: datetime) -> SuspectSpan:
        """What a person said to it: NO takes the doubts off, OVER ends the span at that moment."""
        with self._database.reading() as connection:
            found = all_of(connection, SuspectSpan, select(table).where(table.c.id == span_id))
        if not found:
            raise BadInput(f"There is no doubt {span_id}.", "See them with sensor list.")
        (span,) = found
        until = span.until
        if reply is Reply.OVER:
            until = at if until is None else min(at, until)
        replied = self._write(span, until=until, reply=reply, replied_at=at)
        if reply is Reply.NO:
            self._mark(span, span.since, span.until, doubted=False)
        else:
            self._cut(span, until)
        return replied

    def restamp(
        self, sensor_id: int, times_us: Sequence[int], by: timedelta, now: datetime
    ) -> None:
        """Move readings that a wrong clock stamped; their old times are kept as a correction."""
        restamp(self._database, sensor_id, times_us, by, now)

    def _begun(self, sensor_id: int, suspicion: Suspicion, now: datetime) -> SuspectSpan:
        values = {
            "sensor_id": sensor_id,
            "kind": suspicion.kind,
            "since": suspicion.since,
            "until": suspicion.until,
            "found_at": now,
        }
        with self._database.writing() as connection:
            span = added(connection, SuspectSpan, table, values)
        self._mark(span, span.since, span.until, doubted=True)
        return span

    def _go_on(self, span: SuspectSpan, suspicion: Suspicion) -> None:
        until = suspicion.until
        if span.reply is Reply.OVER:
            until = min(span.until or _NEVER, until or _NEVER)
        if until != span.until:
            self._write(span, until=until)
        if span.reply is not Reply.NO:
            self._cut(span, until)
            self._mark(span, span.since, until, doubted=True)

    def _cut(self, span: SuspectSpan, until: datetime | None) -> None:
        """Take the doubts off what lay in the span and lies after its end now."""
        if until is not None and until < (span.until or _NEVER):
            self._mark(span, until, span.until, doubted=False, from_first=True)

    def _write(self, span: SuspectSpan, **values: object) -> SuspectSpan:
        query = update(table).where(table.c.id == span.id).values(**values)
        with self._database.writing() as connection:
            row = connection.execute(query.returning(*table.columns)).mappings().one()
            return SuspectSpan(**row)

    def _mark(
        self,
        span: SuspectSpan,
        since: datetime,
        until: datetime | None,
        *,
        doubted: bool,
        from_first: bool = False,
    ) -> None:
        """Doubts on, or off, the readings between; `from_first`: on the first moment too."""
        bits = span.kind.flags.packed()
        if not bits:
            return
        first_us = us_from(since) + (not from_first)
        last_us = LATEST_US if until is None else us_from(until) - 1
        extent, change = (self._lacking, self._put) if doubted else (self._bearing, self._take)
        with self._database.writing_fast() as cursor:
            row = extent.run(cursor, bits, span.sensor_id, first_us, last_us).fetchone()
            if row is None or row[0] is None:
                return
            change.run(cursor, bits, span.sensor_id, first_us, last_us)
            self._rollups.redo_span(cursor, span.sensor_id, row[0], row[1])
            self._late.note(cursor, span.sensor_id, row[0])


def _overlap(span: SuspectSpan, suspicion: Suspicion) -> bool:
    return (
        span.kind is suspicion.kind
        and span.since <= (suspicion.until or _NEVER)
        and suspicion.since <= (span.until or _NEVER)
    )


def _within(condition: ColumnElement[bool]) -> tuple[ColumnElement[bool], ...]:
    return (
        readings.c.sensor_id == bindparam("sensor_id"),
        readings.c.at_us >= bindparam("first_us"),
        readings.c.at_us <= bindparam("last_us"),
        condition,
    )


def _extent(condition: ColumnElement[bool]) -> Select[tuple[int, int]]:
    first, last = func.min(readings.c.at_us), func.max(readings.c.at_us)
    return select(first, last).where(*_within(condition))
