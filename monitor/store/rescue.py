"""A damaged file is set aside, never deleted; a whole one takes its place with what can be read."""

import os
import shutil
import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import BindParameter, Dialect, Table, bindparam, delete, func, insert, select
from sqlalchemy.engine.interfaces import DBAPICursor

from monitor.errors import StoreError
from monitor.store.engine import Database, Prepared
from monitor.store.rollups import EARLIEST_US, RollupTables
from monitor.store.salvage import Row, Salvage, Stretch
from monitor.store.schema import (
    late_changes,
    layups,
    metadata,
    passcodes,
    readings,
    sensors,
    sign_ins,
)
from monitor.store.transfer import chunks
from monitor.store.upgrade import bring_up_to_date
from monitor.store.users import LOGS, finish_exchange, mended_beside, sync_folder

_WHO_MAY_COME_IN = (passcodes, sign_ins)
_SENSOR = ("id", "name", "port")
_LATE = ("id", "sensor_id", "first_us")
_FAR_ON = 1_000_000
"""Changes noted by the new file are numbered past all that anybody has seen of the old one."""


@dataclass(frozen=True, slots=True)
class Rescued:
    """What became of a damaged file: where it lies, and rows by table that the new one has."""

    aside: Path
    rows: Mapping[str, int]
    damaged: tuple[str, ...]
    from_backup: Path | None

    def sentence(self) -> str:
        begun = f" on top of the backup {self.from_backup.name}" if self.from_backup else ""
        lost = f" Not whole: {', '.join(self.damaged)}." if self.damaged else " All of it is there."
        return (
            f"The damaged database lies aside as {self.aside}; {self.rows['readings']} readings "
            f"and {self.rows['layups']} layups are in the new one{begun}.{lost}"
        )


def rescue(database: Database, stamp: str, backup: Path | None) -> Rescued:
    """Put a whole file in the place of a damaged one. `stamp` goes into the old one's name.

    Raises StoreError where others have it open, or the disk has no room for the new one.
    """
    path = database.file
    if path is None:
        raise StoreError(
            f"{database.name} lies on a server, and is mended there.",
            "Go back to your last backup: layupwatch restore FILE.",
        )
    with database.exchanging():
        try:
            return _rescued(path, stamp, backup)
        except OSError as fault:
            raise StoreError(
                f"The damaged database {path} can't be set aside: {fault.strerror}.",
                "Make room on that disk for as much again, and let this user write its folder.",
            ) from fault


def _rescued(path: Path, stamp: str, backup: Path | None) -> Rescued:
    partial = path.with_name(f"{path.name}-mending")
    for leftover in _with_logs(partial):
        leftover.unlink(missing_ok=True)
    if backup is not None:
        partial.touch(mode=0o600)
        shutil.copyfile(backup, partial)
    new = Database.in_file(partial)
    try:
        bring_up_to_date(new)
        damaged = _fill(new, path)
        rows = _counts(new)
        new.fold_log()
    finally:
        new.close()
    partial.with_name(f"{partial.name}-users").unlink(missing_ok=True)
    with partial.open("rb") as file:
        os.fsync(file.fileno())
    aside = _set_aside(path, stamp)
    partial.replace(mended_beside(path))
    sync_folder(path.parent)
    finish_exchange(path)
    return Rescued(aside, rows, damaged, backup)


def _with_logs(path: Path) -> tuple[Path, ...]:
    return tuple(path.with_name(path.name + end) for end in ("", *LOGS))


def _set_aside(path: Path, stamp: str) -> Path:
    """The file under a second name, with its log; a copy where the disk knows no second names."""
    number, aside = 1, path.with_name(f"{path.stem}-damaged-{stamp}{path.suffix}")
    while aside.exists():
        number += 1
        aside = path.with_name(f"{path.stem}-damaged-{stamp}-{number}{path.suffix}")
    for end in ("", "-wal"):
        old, new = (one.with_name(one.name + end) for one in (path, aside))
        if old.exists() and old.stat().st_size:
            try:
                new.hardlink_to(old)
            except OSError:
                new.touch(mode=0o600)
                shutil.copyfile(old, new)
    sync_folder(path.parent)
    return aside


def _fill(new: Database, old: Path) -> tuple[str, ...]:
    """Rows from the damaged file into the new one; the tables that could not be read whole."""
    damaged: list[str] = []
    # Read-only, so that looking at it changes nothing in it.
    with (
        closing(sqlite3.connect(f"{old.absolute().as_uri()}?mode=ro", uri=True)) as source,
        new.reading_fast() as cursor,
    ):
        cursor.execute("PRAGMA foreign_keys = OFF")
        cursor.execute("BEGIN IMMEDIATE")
        for table in metadata.sorted_tables:
            if not _taken_over(source, table, cursor, new.dialect):
                damaged.append(table.name.replace("_", " "))
        _without_strays(cursor, new.dialect)
        _summed_up(new, cursor)
        cursor.execute("COMMIT")
    return tuple(damaged)


def _taken_over(
    source: sqlite3.Connection, table: Table, cursor: DBAPICursor, dialect: Dialect
) -> bool:
    went, salvage = Stretch(), Salvage(source, table, dialect)
    rows = salvage.rows(went, _known_sensors(cursor, dialect))
    if table is readings:
        _put(cursor, salvage, rows, table, dialect)
        return went.whole
    found = list(rows)
    if went.whole or table in _WHO_MAY_COME_IN:
        # A table read whole stands as it is; who may come in is never guessed from a backup.
        Prepared(delete(table), dialect).run(cursor)
    if went.whole or table not in _WHO_MAY_COME_IN:
        _put(cursor, salvage, found, table, dialect)
    return went.whole


def _known_sensors(cursor: DBAPICursor, dialect: Dialect) -> Iterable[int]:
    """Those taken over already; where that list is gone, the first few numbers are as good."""
    found = Prepared(select(sensors.c.id), dialect).run(cursor).fetchall()
    return [row[0] for row in found] or range(1, 50)


def _put(
    cursor: DBAPICursor, salvage: Salvage, rows: Iterable[Row], table: Table, dialect: Dialect
) -> None:
    if salvage.columns:
        query = insert(table).prefix_with("OR REPLACE").values(_given(salvage.columns))
        put = Prepared(query, dialect, salvage.columns)
        for some in chunks(rows):
            put.run_many(cursor, some)


def _given(names: Iterable[str]) -> dict[str, BindParameter[Any]]:
    return {name: bindparam(name) for name in names}


def _without_strays(cursor: DBAPICursor, dialect: Dialect) -> None:
    """Rows that point to nothing: a reading's sensor is put back by number, others stay aside."""
    known = select(sensors.c.id)
    lost = select(readings.c.sensor_id).where(readings.c.sensor_id.not_in(known)).distinct()
    again = Prepared(insert(sensors).values(_given(_SENSOR)), dialect, _SENSOR)
    for (number,) in Prepared(lost, dialect).run(cursor).fetchall():
        again.run(cursor, number, f"rescued-{number}", "none")
    while True:
        cursor.execute("PRAGMA foreign_key_check")
        strays = cursor.fetchall()
        for name, row_id, _parent, _number in strays:
            table = metadata.tables[name]
            if row_id is None:
                Prepared(delete(table).where(table.c.sensor_id.not_in(known)), dialect).run(cursor)
            else:
                gone = delete(table).where(table.c.id == bindparam("row"))
                Prepared(gone, dialect, ("row",)).run(cursor, row_id)
        if not strays:
            return


def _summed_up(new: Database, cursor: DBAPICursor) -> None:
    """Sums follow their readings; whoever kept what readings added up to is told to look again."""
    sums, dialect = RollupTables(new), new.dialect
    at = readings.c.at_us
    spans = select(readings.c.sensor_id, func.min(at), func.max(at)).group_by(readings.c.sensor_id)
    noted = Prepared(select(func.max(late_changes.c.id)), dialect).run(cursor).fetchone()
    number = 0 if noted is None or noted[0] is None else noted[0]
    note = Prepared(insert(late_changes).values(_given(_LATE)), dialect, _LATE)
    found = Prepared(spans, dialect).run(cursor).fetchall()
    for place, (sensor_id, first_us, last_us) in enumerate(found):
        sums.redo_span(cursor, sensor_id, first_us, last_us)
        sums.sum_up(cursor, sensor_id, last_us)
        note.run(cursor, number + _FAR_ON + place, sensor_id, EARLIEST_US)


def _counts(database: Database) -> dict[str, int]:
    with database.reading() as connection:
        return {
            table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in (readings, layups)
        }
