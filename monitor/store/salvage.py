"""Rows of a damaged file, as far as they can be read: around the damage, not only up to it."""

import sqlite3
from collections import deque
from collections.abc import Generator, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, cast

from sqlalchemy import (
    Column,
    ColumnElement,
    Dialect,
    Integer,
    Select,
    Table,
    bindparam,
    func,
    select,
    true,
)
from sqlalchemy.engine.interfaces import DBAPICursor

from monitor.store.engine import Prepared, rows_of
from monitor.store.values import rule_of

Row = tuple[object, ...]
Key = tuple[int, ...]

_FARTHEST = 2**62
_PROBES = 5000
_UNLIKELY = 2**52
"""No id, and no moment before the year 2112, is as large."""


@dataclass
class Stretch:
    """How the walk through a table went. `whole`: no damage was met."""

    whole: bool = True


class Salvage:
    """One table of a damaged file, walked by its key."""

    def __init__(self, connection: sqlite3.Connection, table: Table, dialect: Dialect) -> None:
        self._table, self._dialect = table, dialect
        # One of the driver's own: it has what the interface asks for, under stricter types.
        self._cursor = cast(DBAPICursor, connection.cursor())
        self.columns = self._known_columns()
        self._rules = [rule_of(table.c[name]) for name in self.columns]

    def rows(self, went: Stretch, known: Iterable[int] = ()) -> Iterator[Row]:
        """Whatever can be read, each row once; not always in order. `known`: sensors there are."""
        keys = list(self._table.primary_key)
        if not all(key.name in self.columns for key in keys):
            went.whole = False
        elif len(keys) == 2:
            # Readings and sums: by sensor first, so that each walk is along the time alone.
            for owner in sorted({*known, *self._owners(keys[0])}):
                yield from self._walk(went, keys[1], keys[0] == bindparam("owner"), (owner,))
        elif isinstance(keys[0].type, Integer):
            yield from self._walk(went, keys[0], true(), ())
        else:
            whole = yield from self.read(self._prepared(self._query()), ())
            went.whole = went.whole and whole

    def _known_columns(self) -> tuple[str, ...]:
        try:
            self._cursor.execute(f"PRAGMA table_info({self._table.name})")
        except sqlite3.DatabaseError:
            return ()
        there = {row[1] for row in self._cursor.fetchall()}
        return tuple(column.name for column in self._table.columns if column.name in there)

    def _query(self) -> Select[Any]:
        return select(*(self._table.c[name] for name in self.columns))

    def _prepared(self, query: Select[Any], order: Sequence[str] = ()) -> Prepared:
        return Prepared(query, self._dialect, order)

    def _owners(self, column: Column[Any]) -> Iterator[int]:
        """Each sensor that has rows, one seek apiece, as far as damage lets it."""
        query = select(func.min(column)).where(column > bindparam("after"))
        next_one = self._prepared(query, ("after",))
        after: int | None = -1
        while after is not None:
            try:
                row = next_one.run(self._cursor, after).fetchone()
            except sqlite3.DatabaseError:
                return
            after = None if row is None else row[0]
            if after is not None:
                yield after

    def _walk(
        self, went: Stretch, key: Column[Any], only: ColumnElement[bool], owner: Key
    ) -> Iterator[Row]:
        """Up to the damage from both ends, then from the middle of what is left, and so on."""
        within = self._query().where(only, key > bindparam("low"), key < bindparam("high"))
        order = ("owner", "low", "high") if owner else ("low", "high")
        up = self._prepared(within.order_by(key), order)
        down = self._prepared(within.order_by(key.desc()), order)
        walk = _Walk(self, self.columns.index(key.name), owner, went)
        if (yield from walk.rows(up, -_FARTHEST, _FARTHEST)):
            return
        went.whole = False
        low = walk.reached(0)
        yield from walk.rows(down, low, _FARTHEST)
        gaps = deque([(low, walk.reached(_UNLIKELY))])
        for _ in range(_PROBES):
            if not gaps:
                return
            low, high = gaps.popleft()
            middle = (low + high) // 2
            if high - low < 2:
                continue
            if not (yield from walk.rows(up, middle - 1, high)):
                gaps.append((walk.reached(middle), high))
            if not (yield from walk.rows(down, low, middle)):
                gaps.append((low, walk.reached(middle)))

    def read(self, query: Prepared, values: Key) -> Generator[Row, None, bool]:
        """Rows up to the damage; whether there was none."""
        try:
            yield from rows_of(query.run(self._cursor, *values))
        except sqlite3.DatabaseError:
            return False
        return True

    def likely(self, row: Row) -> bool:
        """Whether every value is one that its column takes."""
        return all(rule.fits(value) for value, rule in zip(row, self._rules, strict=True))


class _Walk:
    """Walks one stretch after another, and knows how far the last one came."""

    def __init__(self, salvage: Salvage, place: int, owner: Key, went: Stretch) -> None:
        self._salvage, self._place, self._owner, self._went = salvage, place, owner, went
        self._last: int | None = None

    def rows(self, query: Prepared, low: int, high: int) -> Generator[Row, None, bool]:
        self._last = None
        reading = self._salvage.read(query, (*self._owner, low, high))
        while True:
            try:
                row = next(reading)
            except StopIteration as end:
                return bool(end.value)
            at = row[self._place]
            self._last = at if isinstance(at, int) else self._last
            if self._salvage.likely(row):
                yield row
            else:
                self._went.whole = False

    def reached(self, otherwise: int) -> int:
        return otherwise if self._last is None else self._last
