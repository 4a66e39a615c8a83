"""What a server takes and gives back: `python -m tests.benchmarks.bench_server`.

On a PostgreSQL server of its own that waits for its disk, over a Unix socket.
"""

import argparse
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from monitor.records import Reading
from monitor.store import Store
from tests.scenarios.postgres import running

START = datetime(2025, 11, 1, tzinfo=UTC)
STEP = timedelta(seconds=10)
AT_ONCE = 10_000


def some(first: int, count: int) -> list[Reading]:
    return [
        Reading(START + number * STEP, 15.0 + number % 90 / 10, 60.0, raw=f"T={number}")
        for number in range(first, first + count)
    ]


def singly(store: Store, sensor_id: int, count: int) -> None:
    readings = some(0, count)
    start = time.perf_counter()
    for reading in readings:
        store.readings.add(sensor_id, [reading])
    print(f"single durable insert   {count / (time.perf_counter() - start):12,.0f} rows/s")


def in_bulk(store: Store, sensor_id: int, count: int, at_once: int) -> None:
    taken_s = 0.0
    for first in range(0, count, at_once):
        readings = some(first, min(at_once, count - first))
        start = time.perf_counter()
        store.readings.add(sensor_id, readings)
        taken_s += time.perf_counter() - start
    print(f"{at_once:6} at once          {count / taken_s:12,.0f} rows/s, with their sums")


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
            Store.on_server(server.url(server.new_database())) as store,
        ):
            ids = [store.book.add_sensor(name, "none").id for name in "abc"]
            singly(store, ids[0], given.single)
            in_bulk(store, ids[1], 20_000, 100)
            in_bulk(store, ids[2], given.year, AT_ONCE)
            read_back(store, ids[2])


if __name__ == "__main__":
    main()
