"""A value that rotted into one its column can't hold: told by the check, and mended around."""

import sqlite3
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from monitor.errors import StoreError
from monitor.records import Channel, MarkKind, Nearness, Reading, Role
from monitor.store import Store
from monitor.store.faults import DamagedStore
from monitor.store.proof import prove
from monitor.upkeep.backups import restore
from tests.store.test_store_rescue import mended

ODD = (
    ("marks", "kind", "kickee"),
    ("marks", "at", "yesterday"),
    ("marks", "at", 2**62),
    ("marks", "note", b"\x00\xff"),
    ("batches", "role", -1),
    ("batches", "give_or_take", 1e300),
    ("batches", "resin_g", "heavy"),
    ("batches", "waxed", 7),
    ("layups", "number", 3.5),
    ("stays", "nearness", "near"),
    ("readings", "flags", "none"),
    ("readings", "flags", -1),
    ("readings", "temperature_c", "warm"),
    ("readings", "at_us", 2**61),
    ("readings", "raw", b"21.4"),
    ("minute_rollups", "temperature_c_sum", ".."),
    ("hour_rollups", "n_all", "many"),
    ("alerts", "parts", "{}"),
    ("alerts", "parts", "[1.5]"),
    ("alerts", "parts", "[3"),
)

BARE_FAULTS = [
    odd for odd in ODD if odd[1] in ("kind", "at", "role", "nearness", "temperature_c")
] + [ODD[-1]]
"""Of the others Python takes what it is given; the check knows better."""


@pytest.fixture
def filled(path: Path, noon: datetime) -> Path:
    """Some of everything, twice."""
    with Store.open(path) as store:
        sensor = store.book.add_sensor("shed", "/dev/shed")
        # The last is of the next hour, so that the others' is summed up.
        seconds = (*range(8), 3600)
        store.readings.add(
            sensor.id, [Reading(noon + timedelta(seconds=n), 20.0, 60.0, raw="x") for n in seconds]
        )
        sheet = store.book.keep_sheet("demo", "x", noon)
        for number in (3, 4):
            layup = store.book.add_layup(number, "rudder cheek", sheet.id)
            batch = store.book.add_batch(
                layup.id, "skin-a", Role.SKIN_A, sheet.id, noon, timedelta(0), resin_g=200.0
            )
            store.book.add_mark(layup.id, batch.id, MarkKind.NOTE, noon, "cool")
            store.book.add_stay(
                layup.id, None, sensor.id, Channel.AIR, Nearness.BESIDE, noon, None, logged_at=noon
            )
            store.alerts.raise_alert("dew", str(number), noon, noon, (number,), "Dew.", "Tent it.")
    return path


def rot(path: Path, table: str, column: str, value: object) -> None:
    """One row's, and nothing else."""
    with closing(sqlite3.connect(path)) as database:
        key, *more = [row[1] for row in database.execute(f"PRAGMA table_info({table})") if row[5]]
        key = more[0] if more else key
        one = f"SELECT max({key}) FROM {table}"  # noqa: S608 (the tables above)
        database.execute(f"UPDATE {table} SET {column} = ? WHERE {key} = ({one})", (value,))  # noqa: S608 (the same)
        database.commit()


def read_all(store: Store) -> None:
    for layup in store.book.layups():
        for entries in (store.book.batches, store.book.stays, store.book.marks):
            entries(layup.id)
    store.alerts.recent(10)
    for sensor in store.book.sensors():
        store.readings.between(sensor.id, None, None)
        store.readings.latest(sensor.id)
        store.readings.rollups(sensor.id, None, None, "minute")
        store.readings.rollups(sensor.id, None, None, "hour")


def test_what_is_well_is_called_whole(filled: Path) -> None:
    """Nothing of ours is taken for odd."""
    assert prove(filled).problems == ()


@pytest.mark.parametrize(("table", "column", "value"), ODD)
def test_an_odd_value_is_told(filled: Path, table: str, column: str, value: object) -> None:
    """By the check, where and how often, and no backup is taken from it."""
    rot(filled, table, column, value)
    (problem,) = prove(filled).problems
    assert problem.startswith(f"1 of {column} in {table} ".replace("_", " "))


@pytest.mark.parametrize(("table", "column", "value"), ODD)
def test_an_odd_value_is_left_aside(filled: Path, table: str, column: str, value: object) -> None:
    """Its row stays in the old file; the rest is in the new one, which is whole."""
    with closing(sqlite3.connect(filled)) as database:
        count = f"SELECT count(*) FROM {table}"  # noqa: S608 (the tables above)
        (before,) = database.execute(count).fetchone()
    rot(filled, table, column, value)
    store, aside = mended(filled)
    assert prove(aside).problems
    with store:
        assert store.problems() == ()
        read_all(store)
        with store.database.reading() as connection:
            after = connection.exec_driver_sql(count).scalar_one()
        # Sums are made anew from their readings, the last hour's too.
        assert after == (before + 1 if "rollups" in table else before - 1)


@pytest.mark.parametrize(
    ("table", "column", "value"),
    BARE_FAULTS,
)
def test_whoever_reads_it_is_told_of_damage(
    filled: Path, table: str, column: str, value: object
) -> None:
    """So that a running watch mends it; never a bare fault of the language."""
    rot(filled, table, column, value)
    with Store.open(filled) as store, pytest.raises(DamagedStore) as told:
        read_all(store)
    assert len(told.value.lines()) == 2


def test_a_backup_with_odd_values_is_not_restored(filled: Path, tmp_path: Path) -> None:
    """It is refused as damaged, and nothing of it is taken."""
    rot(filled, "marks", "kind", "kickee")
    with Store.open(tmp_path / "new.db") as store:
        with pytest.raises(StoreError, match="kind in marks"):
            restore(store, filled)
        assert store.is_empty()


def test_a_name_that_is_no_text(filled: Path) -> None:
    """A table's own name rotted."""
    spoilt = filled.read_bytes().replace(b"CREATE TABLE hour_rollups", b"CREATE TABLX hour_rollups")
    filled.write_bytes(spoilt.replace(b"tablehour_rollups", b"tablehour\x90rollups"))
    with pytest.raises(DamagedStore):
        prove(filled)


def test_what_a_newer_version_writes_is_not_called_odd(filled: Path) -> None:
    """It may know more words; it is told to be newer, and that is all."""
    rot(filled, "marks", "kind", "polished")
    with closing(sqlite3.connect(filled)) as database:
        database.execute("UPDATE alembic_version SET version_num = '9999'")
        database.commit()
    found = prove(filled)
    assert (found.problems, found.newer) == ((), True)
