"""How fast the store is, each figure beside bare sqlite3 doing the same in the same run.

Run with `python tests/benchmarks/bench_store.py`; exits 1 where a ratio is past its limit. The
ratios are what can be compared between machines; the rates are this machine's alone.
"""

import argparse
import sqlite3
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from monitor.records import Reading
from monitor.store import Store

START = datetime(2025, 1, 1, tzinfo=UTC)
START_US = int(START.timestamp()) * 1_000_000
STEP_S = 10
YEAR_ROWS = 365 * 24 * 3600 // STEP_S
CHUNK = 10_000
TURN = 100
SINGLE, BULK, RANGE = 0.6, 0.4, 1.6
ROW = np.dtype([("at_us", "i8"), ("t", "f8"), ("h", "f8"), ("s", "f8"), ("flags", "i8")])
LINE = "$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44"
INSERT = "INSERT INTO readings VALUES (?, ?, ?, ?, ?, ?, ?)"
SELECT = (
    "SELECT at_us, temperature_c, humidity_pct, surface_c, flags FROM readings"
    " WHERE sensor_id = ? ORDER BY at_us"
)


def reading(number: int) -> Reading:
    temperature_c = 15.0 + 8.0 * np.sin(number * 2 * np.pi / 8640)
    at = START + timedelta(seconds=STEP_S * number)
    return Reading(at, float(temperature_c), 60.0, raw=LINE)


def rows(sensor_id: int, count: int) -> Iterator[tuple[object, ...]]:
    for number in range(count):
        yield sensor_id, START_US + number * STEP_S * 1_000_000, 18.4, 65.2, None, 0, LINE


def bare(path: Path) -> sqlite3.Connection:
    """The driver alone, at the store's own settings."""
    connection = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")
    return connection


def bulk(store: Store, path: Path, sensor_id: int, bare_sensor_id: int, count: int) -> bool:
    """A logger's file, some ten thousand rows to a transaction, turn about."""
    connection = bare(path)
    theirs = rows(bare_sensor_id, count)
    ours_s = theirs_s = 0.0
    for first in range(0, count, CHUNK):
        readings = [reading(number) for number in range(first, first + CHUNK)]
        some = list(islice(theirs, CHUNK))
        start = time.perf_counter()
        store.readings.add(sensor_id, readings)
        between = time.perf_counter()
        connection.execute("BEGIN IMMEDIATE")
        connection.executemany(INSERT, some)
        connection.execute("COMMIT")
        ours_s, theirs_s = ours_s + between - start, theirs_s + time.perf_counter() - between
    connection.close()
    print(f"bulk insert with rollups       {count / ours_s:12,.0f} rows/s")
    print(f"  bare executemany, none       {count / theirs_s:12,.0f} rows/s")
    return told("of the bare rate", theirs_s / ours_s, BULK, at_least=True)


def told(words: str, ratio: float, limit: float, *, at_least: bool = False) -> bool:
    """The ratio beside its limit; whether it keeps it."""
    word = "at least" if at_least else "at most"
    print(f"  {words:29}{ratio:12.2f} ({word} {limit:g})")
    return ratio >= limit if at_least else ratio <= limit


def single(store: Store, path: Path, sensor_id: int, bare_sensor_id: int, count: int) -> bool:
    """Some at a time turn about, so that both meet the same disk.

    One at a time each would throw out the pages that the other has just read.
    """
    connection = bare(path)
    theirs = list(rows(bare_sensor_id, count))
    ours = [[reading(number)] for number in range(count)]
    ours_s = theirs_s = 0.0
    for some in (slice(first, first + TURN) for first in range(0, count, TURN)):
        start = time.perf_counter()
        for one in ours[some]:
            store.readings.add(sensor_id, one)
        between = time.perf_counter()
        for row in theirs[some]:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute(INSERT, row)
            connection.execute("COMMIT")
        ours_s, theirs_s = ours_s + between - start, theirs_s + time.perf_counter() - between
    connection.close()
    print(f"single durable insert          {count / ours_s:12,.0f} rows/s")
    print(f"  bare sqlite3, no rollups     {count / theirs_s:12,.0f} rows/s")
    return told("of the bare rate", theirs_s / ours_s, SINGLE, at_least=True)


def year(store: Store, path: Path, sensor_id: int, count: int) -> bool:
    connection = bare(path)
    connection.execute("BEGIN IMMEDIATE")
    connection.executemany(INSERT, rows(sensor_id, count))
    connection.execute("COMMIT")
    start = time.perf_counter()
    columns = np.fromiter(connection.execute(SELECT, (sensor_id,)), ROW)
    between = time.perf_counter()
    readings = store.readings.between(sensor_id, None, None)
    end = time.perf_counter()
    connection.close()
    if not len(columns) == len(readings) == count:
        raise SystemExit(f"read {len(columns)} and {len(readings)} rows of {count}")
    print(f"range read of {count:,} rows {end - between:8.2f} s")
    print(f"  bare fetch into numpy        {between - start:12.2f} s")
    return told("times the bare fetch", (end - between) / (between - start), RANGE)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--bulk", type=int, default=200_000)
    asked.add_argument("--single", type=int, default=2_000)
    asked.add_argument("--range", type=int, default=YEAR_ROWS, dest="year")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.db"
        with Store.open(path) as store:
            ids = [store.book.add_sensor(name, "none").id for name in "abcde"]
            kept = [
                bulk(store, path, ids[0], ids[1], given.bulk),
                single(store, path, ids[2], ids[3], given.single),
                year(store, path, ids[4], given.year),
            ]
    sys.exit(not all(kept))


if __name__ == "__main__":
    main()
