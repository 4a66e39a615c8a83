"""Proves a database or a backup by opening it and reading all of it, and changes nothing in it."""

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from monitor.errors import BadInput
from monitor.store.columns import moment_from
from monitor.store.faults import ToldPlainly, read_back
from monitor.store.values import odd_values
from monitor.store.versions import REVISIONS


@dataclass(frozen=True, slots=True)
class Proof:
    """What a file holds. `problems`: what is wrong with it, one line each; `newer`: too new."""

    readings: int
    first_at: datetime | None
    last_at: datetime | None
    layups: int
    version: str
    newer: bool
    problems: tuple[str, ...]
    warning: str | None = None
    """What could still lose something, of a server."""


def prove(path: Path) -> Proof:
    """Raises BadInput where there is no such file or it isn't ours, StoreError for one that can't
    be read at all."""
    if not path.is_file():
        raise BadInput(f"There is no file {path}.", "Name a backup, or none for the shop's own.")
    with (
        ToldPlainly(str(path)),
        read_back(),
        closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as connection,
    ):
        names = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
        if "alembic_version" not in names:
            raise BadInput(
                f"{path} holds no shop's book and readings.", "Name a file that backup has made."
            )
        (version,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        problems = problems_in(connection, ours=version in REVISIONS)
        if problems:
            return Proof(0, None, None, 0, version, version not in REVISIONS, problems)
        count, first, last = connection.execute(
            "SELECT count(*), min(at_us), max(at_us) FROM readings"
        ).fetchone()
        (layups,) = connection.execute("SELECT count(*) FROM layups").fetchone()
    first_at, last_at = (None if at is None else moment_from(at) for at in (first, last))
    return Proof(count, first_at, last_at, layups, version, version not in REVISIONS, ())


def problems_in(connection: sqlite3.Connection, *, ours: bool = True) -> tuple[str, ...]:
    """What is wrong inside a file, in the database's own words; nothing where it is whole.

    A file keeps no sums of its pages: a value that rotted shows only where it can't be one. `ours`:
    of this version or an earlier one; what a newer one may write isn't known here.
    """
    try:
        damage = [str(row[0]) for row in connection.execute("PRAGMA integrity_check")]
        strays = connection.execute("PRAGMA foreign_key_check").fetchall()
    except sqlite3.DatabaseError as fault:
        return (str(fault),)
    broken = tuple(line for line in damage if line != "ok")
    lost = tuple(f"a row of {row[0]} points to nothing in {row[2]}" for row in strays)
    return broken + lost or (tuple(odd_values(connection)) if ours else ())
