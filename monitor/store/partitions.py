"""Readings of one month in a table of their own, on a server: a month is let go at once."""

import re
from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import text

from monitor.store.columns import moment_from, us_from
from monitor.store.engine import Database

Month = tuple[int, int]
"""Year and month."""


def month_of(time_us: int) -> Month:
    moment = moment_from(time_us)
    return moment.year, moment.month


def bounds_us(month: Month) -> tuple[int, int]:
    """From its first moment, until the next one's."""
    first, end = (datetime(*one, 1, tzinfo=UTC) for one in (month, following(month)))
    return us_from(first), us_from(end)


def following(month: Month) -> Month:
    year, number = month
    return (year + 1, 1) if number == 12 else (year, number + 1)


def name_of(month: Month) -> str:
    return f"readings_y{month[0]:04}m{month[1]:02}"


def month_named(name: str) -> Month | None:
    """The month whose table is called so; None: it is another table."""
    found = re.fullmatch(r"readings_y(\d{4,})m(\d\d)", name)
    return None if found is None else (int(found[1]), int(found[2]))


class Partitions:
    """Makes a month's table before its first reading is stored. In a file there are none."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._needed = database.dialect.name == "postgresql"
        self._there: set[Month] = set()

    def make_for(self, times_us: Iterable[int]) -> None:
        """Outside of any transaction of the caller's."""
        if not self._needed:
            return
        for month in sorted({month_of(time_us) for time_us in times_us} - self._there):
            first_us, end_us = bounds_us(month)
            with self._database.writing() as connection:
                connection.execute(
                    text(
                        f"CREATE TABLE IF NOT EXISTS {name_of(month)} PARTITION OF readings "
                        f"FOR VALUES FROM ({first_us}) TO ({end_us})"
                    )
                )
            self._there.add(month)

    def forget(self) -> None:
        """Another program may have let some go."""
        self._there.clear()
