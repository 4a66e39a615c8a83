"""A database of an earlier version is brought up to date with everything in it."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import create_engine, text

from monitor.errors import StoreError
from monitor.store import Store
from monitor.store.proof import prove
from monitor.store.upgrade import REVISIONS


def older(path: Path, revision: str) -> None:
    """A database as that version made it, with one part and one batch in it."""
    engine = create_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        config = Config()
        config.set_main_option("script_location", "monitor.store:migrations")
        config.set_main_option("path_separator", "os")
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
        for statement in (
            "INSERT INTO kept_sheets (id, stem, text, kept_at) VALUES (1, 's', 'x', 0)",
            "INSERT INTO layups (id, number, what, sheet_id, safety) VALUES (1, 3, 'lid', 1, 0)",
            "INSERT INTO batches (id, layup_id, name, role, sheet_id, mixed_at, give_or_take,"
            " resin_g, waxed) VALUES (1, 1, 'skin-a', 'skin-a', 1, 0, 0, 200, 0)",
        ):
            connection.execute(text(statement))
    engine.dispose()


@pytest.mark.parametrize("revision", REVISIONS)
def test_an_older_database_keeps_its_batches(tmp_path: Path, revision: str) -> None:
    """Every version that was can be opened; what it could not hold yet is blank."""
    path = tmp_path / "layupwatch.db"
    older(path, revision)
    with Store.open(path) as store:
        layup = store.book.layup(3)
        assert (layup.what, layup.laminate) == ("lid", None)
        (batch,) = store.book.batches(layup.id)
        assert (batch.resin_g, batch.resin_tin) == (200.0, None)
        assert batch.mixed_at == datetime(1970, 1, 1, tzinfo=UTC)


def test_a_backup_is_made_before_the_tables_change(tmp_path: Path) -> None:
    """The older database as it was; none for one that is new or up to date."""
    path, backups = tmp_path / "layupwatch.db", tmp_path / "backups"
    older(path, "0006")
    Store.open(path, backups).close()
    (backup,) = backups.iterdir()
    found = prove(backup)
    assert (found.version, found.layups, found.problems) == ("0006", 1, ())
    Store.open(path, backups).close()
    Store.open(tmp_path / "new.db", backups).close()
    assert list(backups.iterdir()) == [backup]


def test_no_change_without_a_backup(tmp_path: Path) -> None:
    """Where none can be made the database stays as it was."""
    path, backups = tmp_path / "layupwatch.db", tmp_path / "backups"
    older(path, "0006")
    backups.write_text("a file in the folder's place")
    with pytest.raises(StoreError, match="backup"):
        Store.open(path, backups)
    assert prove(path).version == "0006"
