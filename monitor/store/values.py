"""What a column's values must be: a file's own rules let any value stand in any column."""

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Boolean, Column, Double, Integer, Table

from monitor.store.columns import Length, Lines, Moment, Numbers, Word, us_from
from monitor.store.schema import metadata

_MOMENTS_US = us_from(datetime(1, 1, 3, tzinfo=UTC)), us_from(datetime(9999, 12, 29, tzinfo=UTC))
"""Within these a moment is one in every zone."""
_LENGTHS_S = (-3.2e9, 3.2e9)
"""A hundred years."""
_BOUNDS: dict[str, tuple[float, float]] = {
    "at_us": _MOMENTS_US,
    "start_us": _MOMENTS_US,
    "flags": (0, (1 << 48) - 1),
}
"""Of whole numbers that stand for something else, by the name of their column."""
_ANY = ("-9e999", "9e999")


@dataclass(frozen=True, slots=True)
class Rule:
    """What a column takes: kinds of values, within bounds, of some words, or lists as JSON.

    `nothing`: it may be left out.
    """

    kinds: tuple[type, ...]
    nothing: bool = True
    bounds: tuple[float, float] | None = None
    words: frozenset[str] | None = None
    listed: type | None = None

    def fits(self, value: object) -> bool:
        if value is None:
            return self.nothing
        if not isinstance(value, self.kinds) or isinstance(value, bool):
            return False
        if self.bounds is not None and isinstance(value, int | float):
            return self.bounds[0] <= value <= self.bounds[1]
        if self.listed is not None and isinstance(value, str):
            return _is_list(value, self.listed)
        return self.words is None or value in self.words

    def broken_by(self, name: str) -> str:
        """The condition, in SQL, under which the column of that name holds what it must not.

        SQLite sorts any number before any text, and any text before any bytes. That nothing is
        left out is for the file's own rules to say.
        """
        if str in self.kinds:
            conditions = [f"{name} < '' OR {name} >= x''"]
        else:
            low, high = self.bounds or _ANY
            conditions = [f"{name} NOT BETWEEN {low} AND {high}"]
            if float not in self.kinds:
                conditions.append(f"typeof({name}) = 'real'")
        if self.words is not None:
            told = ", ".join(f"'{word}'" for word in sorted(self.words))
            conditions.append(f"{name} NOT IN ({told})")
        if self.listed is not None:
            conditions.append(f"is_list({name}, '{self.listed.__name__}') = 0")
        return f"({' OR '.join(conditions)})"


def rule_of(column: Column[Any]) -> Rule:
    """The column's own type says what it takes."""
    kind, nothing = column.type, bool(column.nullable)
    match kind:
        case Word():
            return Rule((str,), nothing, words=frozenset(word.value for word in kind.words))
        case Lines() | Numbers():
            return Rule((str,), nothing, listed=str if isinstance(kind, Lines) else int)
        case Moment():
            return Rule((int,), nothing, _MOMENTS_US)
        case Length():
            return Rule((float, int), nothing, _LENGTHS_S)
        case Boolean():
            return Rule((int,), nothing, (0, 1))
        case Integer():
            return Rule((int,), nothing, _BOUNDS.get(column.name))
        case Double():
            return Rule((float, int), nothing)
        case _:
            return Rule((str,), nothing)


def odd_values(connection: sqlite3.Connection) -> Iterator[str]:
    """Columns of our tables that hold what they must not, with how often; a table one pass."""
    connection.create_function("is_list", 2, _is_list_of, deterministic=True)
    for table in metadata.sorted_tables:
        found = connection.execute(f'PRAGMA table_info("{table.name}")').fetchall()
        columns = [table.c[row[1]] for row in found if row[1] in table.c]
        yield from _odd_in(connection, table, columns)


def _odd_in(
    connection: sqlite3.Connection, table: Table, columns: list[Column[Any]]
) -> Iterator[str]:
    if not columns:
        return
    broken = [rule_of(column).broken_by(f'"{column.name}"') for column in columns]
    # Columns are counted one by one only where there is something to count: it takes longer.
    anywhere = f"SELECT 1 FROM {table.name} WHERE {' OR '.join(broken)} LIMIT 1"  # noqa: S608 (our own tables' names)
    if connection.execute(anywhere).fetchone() is None:
        return
    sums = ", ".join(f"sum({condition})" for condition in broken)
    counted = connection.execute(f"SELECT {sums} FROM {table.name}").fetchone()  # noqa: S608 (the same)
    for column, times in zip(columns, counted, strict=True):
        if times:
            where = f"{column.name} in {table.name}".replace("_", " ")
            yield f"{times} of {where} {'is' if times == 1 else 'are'} nothing that belongs there"


def _is_list_of(text: object, kind: str) -> bool | None:
    if text is None:
        return None
    return isinstance(text, str) and _is_list(text, int if kind == "int" else str)


def _is_list(text: str, kind: type) -> bool:
    try:
        told = json.loads(text)
    except (ValueError, RecursionError):
        return False
    return isinstance(told, list) and all(type(each) is kind for each in told)
