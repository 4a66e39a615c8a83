"""What a server takes and gives back: `python -m tests.benchmarks.bench_server`.

On a PostgreSQL server of its own that waits for its disk, over a Unix socket. Beside each stands
the bare driver doing the same in the same run; exits 1 where bulk is under its limit.
"""

import argparse
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import psycopg

from monitor.records import Reading
from monitor.store import Store
from monitor.store.columns import us_from
from tests.scenarios.postgres import running

START = datetime(2025, 11, 1, tzinfo=UTC)
STEP = timedelta(seconds=10)
AT_ONCE = 10_000
BULK = 0.4
INSERT = "INSERT INTO readings VALUES (%s, %s, %s, %s, %s, %s, %s)"


def some(first: int, count: int) -> list[Reading]:
    return [
        Reading(START + number * STEP, 15.0 + number % 90 / 10, 60.0, raw=f"T={number}")
        for number in range(first, first + count)
    ]


def rows(sensor_id: int, readings: list[Reading]) -> list[tuple[object, ...]]:
    return [
        (sensor_id, us_from(r.at), r.temperature_c, r.humidity_pct, None, 0, r.raw)
        for r in readings
    ]


def singly(store: Store, bare: psycopg.Connection, ids: tuple[int, int], count: int) -> None:
    """Turn about, so that both meet the same disk."""
    ours_s = theirs_s = 0.0
    for reading in some(0, count):
        (row,) = rows(ids[1], [reading])
        start = time.perf_counter()
        store.readings.add(ids[0], [reading])
        between = time.perf_counter()
        with bare.transaction():
            bare.execute(INSERT, row)
        ours_s, theirs_s = ours_s + between - start, theirs_s + time.perf_counter() - between
    print(f"single durable insert   {count / ours_s:12,.0f} rows/s")
    print(f"  bare, no sums         {count / theirs_s:12,.0f} rows/s")


def in_bulk(
    store: Store, bare: psycopg.Connection, ids: tuple[int, int], count: int, at_once: int
) -> float:
    """Turn about; our share of a bare COPY's rate."""
    ours_s = theirs_s = 0.0
    for first in range(0, count, at_once):
        readings = some(first, min(at_once, count - first))
        copied = rows(ids[1], readings)
        start = time.perf_counter()
        store.readings.add(ids[0], readings)
        between = time.perf_counter()
        with bare.transaction(), bare.cursor().copy("COPY readings FROM STDIN") as copy:
            for row in copied:
                copy.write_row(row)
        ours_s, theirs_s = ours_s + between - start, theirs_s + time.perf_counter() - between
    print(f"{at_once:6} at once          {count / ours_s:12,.0f} rows/s, with their sums")
    print(f"  bare COPY, no sums    {count / theirs_s:12,.0f} rows/s")
    return theirs_s / ours_s


def read_back(store: Store, sensor_id: int) -> None:
    start = time.perf_counter()
    count = len(store.readings.between(sensor_id, None, None))
    print(f"range read of {count:,} rows {time.perf_counter() - start:8.2f} s")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--single", type=int, default=2_000)
    asked.add_argument("--year", type=int, default=3_153_600)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="lw-", dir="/tmp") as folder:
        Path(folder).chmod(0o755)
        with (
            running(Path(folder) / "pg", synced=True) as server,
            Store.on_server(place := server.url(server.new_database())) as store,
            psycopg.connect(place, autocommit=True) as bare,
        ):
            ids = [store.book.add_sensor(name, "none").id for name in "abcdef"]
            singly(store, bare, (ids[0], ids[1]), given.single)
            in_bulk(store, bare, (ids[2], ids[3]), 20_000, 100)
            share = in_bulk(store, bare, (ids[4], ids[5]), given.year, AT_ONCE)
            print(f"  of the bare rate      {share:12.2f} (at least {BULK:g})")
            read_back(store, ids[4])
    sys.exit(share < BULK)


if __name__ == "__main__":
    main()
