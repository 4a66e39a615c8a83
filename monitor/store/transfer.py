"""Everything in one database into another, empty one: from a file to a server, and back."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import islice
from typing import Any, cast

from sqlalchemy import (
    BindParameter,
    Boolean,
    Table,
    bindparam,
    false,
    func,
    insert,
    inspect,
    select,
)
from sqlalchemy.engine.interfaces import DBAPICursor

from monitor.store.engine import Database, Prepared, rows_of
from monitor.store.partitions import Partitions, bounds_us, month_of
from monitor.store.schema import metadata, readings

AT_ONCE = 10_000
Row = tuple[object, ...]


def transfer(source: Database, target: Database) -> int:
    """Copy every row as it stands at one moment, while others write; how many readings.

    The target has the tables of the same version, and nothing in them. Columns that the source
    doesn't have stay blank.
    """
    known = _known_columns(source)
    if target.dialect.name == "postgresql":
        _make_months(source, target)
    with _snapshot(source) as cursor, target.writing_fast() as into:
        counts = {
            table.name: _copy(table, known[table.name], source, cursor, target, into)
            for table in metadata.sorted_tables
            if table.name in known
        }
    if target.dialect.name == "postgresql":
        _set_sequences(target)
    return counts[readings.name]


def _known_columns(database: Database) -> dict[str, tuple[str, ...]]:
    """Of each table of ours that is there, the columns of ours that it has."""
    with database.reading() as connection:
        look = inspect(connection)
        there = set(look.get_table_names()) & set(metadata.tables)
        names = {name: {column["name"] for column in look.get_columns(name)} for name in there}
    return {
        name: tuple(c.name for c in metadata.tables[name].columns if c.name in names[name])
        for name in there
    }


@contextmanager
def _snapshot(database: Database) -> Iterator[DBAPICursor]:
    """A cursor that sees one moment, whatever others write."""
    with database.reading_fast() as cursor:
        isolated = database.dialect.name == "postgresql"
        cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY" if isolated else "BEGIN")
        try:
            yield cursor
        finally:
            cursor.execute("ROLLBACK")


def _copy(
    table: Table,
    names: tuple[str, ...],
    source: Database,
    cursor: DBAPICursor,
    target: Database,
    into: DBAPICursor,
) -> int:
    query = Prepared(select(*(table.c[name] for name in names)), source.dialect)
    flags = [i for i, name in enumerate(names) if isinstance(table.c[name].type, Boolean)]
    given: dict[str, BindParameter[Any]] = {name: bindparam(name) for name in names}
    put = Prepared(insert(table).values(given), target.dialect, names)
    count = 0
    with _walked(source, cursor, query) as rows:
        for some in chunks(_as_words(rows, flags)):
            count += len(some)
            if target.dialect.name == "postgresql":
                copy_in(into, table.name, names, some)
            else:
                put.run_many(into, some)
    return count


@contextmanager
def _walked(source: Database, cursor: DBAPICursor, query: Prepared) -> Iterator[Iterator[Row]]:
    """The rows without holding all of them; a server hands them over some at a time."""
    if source.dialect.name != "postgresql":
        yield rows_of(query.run(cursor))
        return
    connection = cast(Any, cursor).connection
    with connection.cursor(name="walk") as walk:
        walk.itersize = AT_ONCE
        walk.execute(query.text)
        yield iter(walk)


def _as_words(rows: Iterator[Row], flags: list[int]) -> Iterator[Row]:
    """A file holds yes and no as 1 and 0; a server wants them as such."""
    if not flags:
        yield from rows
        return
    for row in rows:
        yield tuple(
            bool(value) if place in flags and value is not None else value
            for place, value in enumerate(row)
        )


def copy_in(cursor: DBAPICursor, table: str, names: Iterable[str], rows: Iterable[Row]) -> None:
    """Rows into a server's table by COPY, the quickest way in."""
    columns = ", ".join(f'"{name}"' for name in names)
    with cast(Any, cursor).copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row(row)


def chunks(rows: Iterable[Row], count: int = AT_ONCE) -> Iterator[list[Row]]:
    """Some rows at a time."""
    left = iter(rows)
    while some := list(islice(left, count)):
        yield some


def _make_months(source: Database, target: Database) -> None:
    """A table for every month that readings lie in."""
    months = Partitions(target)
    first = select(func.min(readings.c.at_us)).where(readings.c.at_us > bindparam("after"))
    query = Prepared(first, source.dialect, ("after",))
    after = -(2**62)
    with source.reading_fast() as cursor:
        while (row := query.run(cursor, after).fetchone()) is not None and row[0] is not None:
            months.make_for([row[0]])
            after = bounds_us(month_of(row[0]))[1] - 1


def _set_sequences(target: Database) -> None:
    """New rows are numbered behind the ones that came in."""
    with target.writing() as connection:
        for table in metadata.sorted_tables:
            if "id" in table.columns:
                sequence = func.pg_get_serial_sequence(table.name, "id")
                following = func.coalesce(func.max(table.c.id), 0) + 1
                connection.execute(select(func.setval(sequence, following, false())))
