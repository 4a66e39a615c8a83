"""How long a look at everything open takes: 100 parts of 3 batches, two weeks of 10 s readings.

Run with `python tests/benchmarks/bench_overview.py`. The shop is a process that stays up, so a
look is what it costs with a reading more of every sensor since the last; the first look after a
start is printed too. Beside it, in the same run, the bare limit: one numpy trapezoid over each
batch's whole record, which a look no longer has to go through.
"""

import argparse
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from monitor.overview import Desk, overview
from monitor.records import Channel, Nearness, Reading, Role
from monitor.sheets import Shelf
from monitor.store import Store

NOW = datetime(2026, 5, 20, 11, 52, 30, tzinfo=UTC)
STEP = timedelta(seconds=10)
WEEKS = timedelta(days=14)
CHUNK = 20_000
LIMIT_MS = 400.0
FLAT = 1.20
ROLES = (Role.SKIN_A, Role.SKIN_B, Role.MAT_EDGE)


def readings(begun: datetime, until: datetime, sensor: int) -> Iterator[Reading]:
    """A shop that warms by day and cools below the demo sheet's floor by night."""
    count = round((until - begun) / STEP)
    hours = (begun.timestamp() + 10.0 * np.arange(count)) / 3600.0
    swing = np.sin(hours / 24.0 * 2.0 * np.pi + sensor)
    wobble = np.round(0.05 * np.sin(hours * 40.0), 2)
    warmth, damp = 14.0 + 6.0 * swing + wobble, 70.0 - 15.0 * swing
    for i in range(count):
        yield Reading(begun + i * STEP, float(warmth[i]), float(damp[i]), raw="18.4,65.2")


def fill(store: Store, folder: Path, parts: int, sensors: int, length: timedelta) -> None:
    """`parts` layups mixed `length` ago, shared out among the sensors."""
    begun = NOW - length
    text = Shelf(folder, demo_shop=True).text("demo-laminating")
    sheet = store.book.keep_sheet("demo-laminating", text, begun)
    beside = [store.book.add_sensor(f"bench-{n}", f"/dev/bench{n}") for n in range(sensors)]
    for n, sensor in enumerate(beside):
        heap: list[Reading] = []
        for one in readings(begun - timedelta(days=1), NOW, n):
            heap.append(one)
            if len(heap) == CHUNK:
                store.readings.add(sensor.id, heap)
                heap = []
        store.readings.add(sensor.id, heap)
    for number in range(1, parts + 1):
        part = store.book.add_layup(number, f"panel {number}", sheet.id, added_at=begun)
        for i, role in enumerate(ROLES):
            mixed = begun + timedelta(minutes=7 * number + 40 * i)
            store.book.add_batch(
                part.id, role.value, role, sheet.id, mixed, resin_g=200.0, catalyst_g=3.0
            )
        sensor = beside[number % sensors]
        store.book.add_stay(part.id, None, sensor.id, Channel.AIR, Nearness.BESIDE, begun)


def bare_ms(store: Store, parts: int, sensors: int) -> float:
    """One trapezoid a batch over its record, readings at hand."""
    heard = [store.readings.between(s.id, None, None) for s in store.book.sensors()]
    start = time.perf_counter()
    for number in range(parts):
        one = heard[number % sensors]
        for _ in ROLES:
            np.trapezoid(np.maximum(one.temperature_c - 5.0, 0.0), one.time_s)
    return (time.perf_counter() - start) * 1000.0


def measure(parts: int, sensors: int, times: int, looks: int) -> tuple[float, float]:
    """Median and worst of the looks, in ms."""
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "shop.db") as store:
        fill(store, Path(folder), parts, sensors, times * WEEKS)
        desk, now = Desk(store, keeps=True), NOW
        start = time.perf_counter()
        overview(store, now, desk)
        first_ms = (time.perf_counter() - start) * 1000.0
        overview(store, now, desk)
        taken = []
        for _ in range(looks):
            for n, sensor in enumerate(store.book.sensors()):
                store.readings.add(sensor.id, list(readings(now, now + STEP, n)))
            now += STEP
            start = time.perf_counter()
            seen = overview(store, now, desk)
            taken.append((time.perf_counter() - start) * 1000.0)
            if len(seen.layups) != parts:
                raise SystemExit("not every part was answered")
        bare = bare_ms(store, parts, sensors)
        median, worst = float(np.median(taken)), max(taken)
        print(
            f"{2 * times:3d} weeks, {parts} parts, {sensors} sensors: look {median:6.0f} ms"
            f" (worst {worst:.0f}), first look {first_ms:7.0f} ms,"
            f" bare trapezoids {bare:7.0f} ms, ratio {median / bare:.2f}"
        )
        return median, worst


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--parts", type=int, default=100)
    parser.add_argument("--sensors", type=int, default=10)
    parser.add_argument("--looks", type=int, default=30)
    parser.add_argument("--quick", action="store_true", help="two weeks alone")
    asked = parser.parse_args()
    median, _ = measure(asked.parts, asked.sensors, 1, asked.looks)
    failed = median > LIMIT_MS
    print(f"  limit {LIMIT_MS:.0f} ms: {'MISSED' if failed else 'held'}")
    if not asked.quick:
        grown = [measure(asked.parts // 5, 1, times, asked.looks)[0] for times in (1, 4, 16)]
        flat = max(grown) / min(grown)
        failed = failed or flat > FLAT
        print(
            f"  1, 4, 16 times the record: within {flat:.2f} of each other"
            f" (limit {FLAT:.2f}): {'MISSED' if flat > FLAT else 'held'}"
        )
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
