import re
import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from monitor.errors import BadInput, StoreError
from monitor.records import (
    Alert,
    Batch,
    Correction,
    KeptReview,
    KeptSheet,
    Layup,
    Mark,
    Sensor,
    SensorCheck,
    Stay,
    SuspectSpan,
)
from monitor.store import Store
from monitor.store import migrations as migrations_package
from monitor.store.engine import Database
from monitor.store.schema import metadata
from monitor.store.upgrade import REVISIONS, migrate


def _tables(path: Path) -> dict[str, list[str]]:
    """Every table and index by name: the words of its SQL, sorted, for order means nothing."""
    connection = sqlite3.connect(path)
    query = "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"
    found = connection.execute(query).fetchall()
    connection.close()
    return {name: sorted(re.findall(r"\w+|[^\s\w,]", sql)) for name, sql in found}


def _version(path: Path) -> list[tuple[str]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("SELECT version_num FROM alembic_version").fetchall()


def test_a_new_one_has_the_schema(store: Store) -> None:
    """Alembic finds nothing to change between a new database and the tables in code."""

    def is_no_month(_table: object, name: str | None, *_rest: object) -> bool:
        return not (name or "").startswith("readings_y")

    with store.database.reading() as connection:
        looked = MigrationContext.configure(connection, opts={"include_object": is_no_month})
        assert compare_metadata(looked, metadata) == []


def test_migrating_from_empty_gives_the_same_sql(tmp_path: Path) -> None:
    """A file made at once, and one that took every step, hold the same to the letter.

    Alembic compares no WITHOUT ROWID, partial indexes and defaults.
    """
    made, stepped = tmp_path / "made.db", tmp_path / "stepped.db"
    with Store.open(made) as store:
        store.book.sensors()
    database = Database.in_file(stepped)
    with database.writing() as connection:
        migrate(connection, REVISIONS[-1])
    database.close()
    assert _tables(stepped) == _tables(made)
    assert _version(stepped) == _version(made) == [(REVISIONS[-1],)]


def test_every_migration_is_listed() -> None:
    """The steps known to the code are those of the folder, oldest first, in one line."""
    folder = ScriptDirectory(str(Path(migrations_package.__file__).parent))
    steps = [script.revision for script in folder.walk_revisions()]
    assert tuple(reversed(steps)) == REVISIONS
    assert folder.get_heads() == [REVISIONS[-1]]


@pytest.mark.parametrize(
    ("record", "table"),
    [
        (Sensor, "sensors"),
        (KeptSheet, "kept_sheets"),
        (Layup, "layups"),
        (Batch, "batches"),
        (Stay, "stays"),
        (Mark, "marks"),
        (KeptReview, "reviews"),
        (Correction, "corrections"),
        (Alert, "alerts"),
        (SuspectSpan, "suspect_spans"),
        (SensorCheck, "sensor_checks"),
    ],
)
def test_a_table_has_its_records_fields(record: type, table: str) -> None:
    """Rows become records by name, so each table has exactly its record's fields."""
    assert tuple(metadata.tables[table].columns.keys()) == tuple(record.__dataclass_fields__)


def test_a_commit_survives_a_power_cut(store: Store, path: Path) -> None:
    """Write-ahead log, synchronous FULL (2), a wait of 5 s, foreign keys checked."""
    with store.database.reading() as connection:
        settings = [
            connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "busy_timeout", "foreign_keys")
        ]
    assert settings == ["wal", 2, 5000, 1]


def test_the_file_is_its_owners(store: Store, path: Path) -> None:
    """Nobody else on the machine can read it, nor what lies beside it while it is open."""
    store.book.add_sensor("shed", "/dev/ttyUSB0")
    files = list(path.parent.glob("shop.db*"))
    assert path in files
    assert [stat.S_IMODE(file.stat().st_mode) for file in files] == [0o600] * len(files)


def test_it_opens_again(path: Path) -> None:
    """What was stored is there the next time."""
    with Store.open(path) as store:
        added = store.book.add_sensor("shed", "/dev/ttyUSB0", unit="f")
    with Store.open(path) as store:
        assert store.book.sensors() == (added,)


def test_a_missing_folder_is_not_made(tmp_path: Path) -> None:
    """A wrong --shop is said, not followed."""
    with pytest.raises(StoreError) as told:
        Store.open(tmp_path / "nowhere" / "shop.db")
    assert "nowhere" in told.value.what
    assert not (tmp_path / "nowhere").exists()


def test_a_newer_database_is_refused(path: Path) -> None:
    """Written by a later version: two lines, and the file stays as it is."""
    with Store.open(path) as store, store.database.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    before = path.read_bytes()
    with pytest.raises(StoreError) as told:
        Store.open(path)
    what, remedy = told.value.lines()
    assert str(path) in what
    assert "newer version" in what
    assert "Install" in remedy
    assert path.read_bytes() == before


def test_another_programs_database_is_refused(path: Path) -> None:
    """Tables that aren't ours are left alone."""
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE recipes (name TEXT)")
    other.close()
    with pytest.raises(StoreError, match="another program"):
        Store.open(path)


def test_a_failed_migration_leaves_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The steps and their record are one transaction: a new file stays empty if one fails."""

    def cut_off(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("sqlalchemy.engine.Connection.commit", cut_off)
        with pytest.raises(KeyboardInterrupt):
            Store.open(path)
    assert _tables(path) == {}
    with Store.open(path) as store:
        assert store.book.sensors() == ()


def test_a_backup_is_whole_and_private(store: Store, tmp_path: Path) -> None:
    """A copy taken while the store is open is a store, mode 0600; none is overwritten."""
    store.book.add_sensor("shed", "/dev/ttyUSB0")
    target = tmp_path / "backup.db"
    store.copy_to(target)
    assert stat.S_IMODE(target.stat().st_mode) == 0o600
    with Store.open(target) as copy:
        assert copy.book.sensors() == store.book.sensors()
        assert copy.problems() == ()
    with pytest.raises(BadInput, match="already"):
        store.copy_to(target)
    with pytest.raises(StoreError, match="can't be written"):
        store.copy_to(tmp_path / "nowhere" / "backup.db")


def test_a_stray_row_is_found(store: Store, path: Path) -> None:
    """A reading of a sensor that isn't there, put in behind the program's back, is named."""
    store.book.add_sensor("shed", "/dev/ttyUSB0")
    assert store.problems() == ()
    other = sqlite3.connect(path)
    other.execute("INSERT INTO readings VALUES (9, 0, 20.0, 50.0, NULL, 0, '')")
    other.commit()
    other.close()
    assert store.problems() == ("a row of readings points to nothing in sensors",)
