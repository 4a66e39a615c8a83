"""How fast and how heavy the pages are: a year of charts, a hundred parts, a first look by phone.

Run with `python tests/benchmarks/bench_pages.py`; exits 1 where a figure is over its limit. Each is
asked of a real server on this machine, with a new reading stored each second. The bare limit
beside the charts is the driver alone fetching the year's hours, and packing the same answer.
"""

import argparse
import gzip
import sqlite3
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from re import findall

import httpx
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from dashboards.app import build_app
from dashboards.serve import WebServer
from monitor.records import Reading
from tests.scenarios.shop import ShopAtHand, open_demo_shop

STEP_S = 10
YEAR_ROWS = 365 * 24 * 3600 // STEP_S
CHUNK = 10_000
BEGUN = datetime(2025, 1, 1, tzinfo=UTC)
STRETCHES_D = (None, 365.0, 120.0, 30.0, 9.0, 2.0, 0.5, 0.1)
PHONE = {"px": "371"}

YEAR_P95_MS, YEAR_WIRE_KB = 100.0, 60.0
HUNDRED_MS = 150.0
FIRST_KB, LATER_KB = 1500.0, 100.0
OTHERS_P99_MS = 25.0


@dataclass
class Clock:
    """A reading a second further with each second that goes by."""

    now: datetime

    def __call__(self) -> datetime:
        return self.now


def reading(number: int) -> Reading:
    day = 2.0 * np.pi * number * STEP_S / 86_400.0
    year = 2.0 * np.pi * number / YEAR_ROWS
    warm = 14.0 + 6.0 * np.sin(day) + 7.0 * np.sin(year) + 0.1 * np.sin(number * 12.9898)
    return Reading(
        BEGUN + timedelta(seconds=STEP_S * number),
        round(float(warm), 2),
        round(float(92.0 - 1.4 * warm), 1),
        raw="$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44",
    )


def fill_year(shop: ShopAtHand, rows: int) -> None:
    sensor = shop.store.book.add_sensor("shed", "/dev/shed").id
    for first in range(0, rows, CHUNK):
        batch = [reading(number) for number in range(first, min(first + CHUNK, rows))]
        shop.store.readings.add(sensor, batch)
    shop.lay_up(1, "P1", BEGUN + timedelta(hours=1))
    shop.put("1", "shed", BEGUN)


def fill_hundred(shop: ShopAtHand) -> datetime:
    """A hundred parts of one batch in ten places, three weeks old at most."""
    now = BEGUN + timedelta(days=21)
    minutes = 21 * 24 * 60
    for place in range(10):
        sensor = shop.store.book.add_sensor(f"place-{place}", f"/dev/{place}").id
        readings = [reading(6 * minute) for minute in range(minutes)]
        for first in range(0, minutes, CHUNK):
            shop.store.readings.add(sensor, readings[first : first + CHUNK])
    for number in range(1, 101):
        mixed = now - timedelta(hours=5 * number)
        shop.lay_up(number, "P1", mixed)
        shop.put(str(number), f"place-{number % 10}", mixed, now=now)
    return now


@contextmanager
def served(shop: ShopAtHand, clock: Clock) -> Iterator[httpx.Client]:
    server = WebServer(build_app(shop.store, shop.shop, clock=clock), 0)
    try:
        with httpx.Client(base_url=server.start(), timeout=120.0) as client:
            yield client
    finally:
        server.stop()


@contextmanager
def talking(shop: ShopAtHand, clock: Clock, rows: int) -> Iterator[None]:
    """A reading each second, ten seconds of the shop's time apart."""
    stop = threading.Event()

    def talk() -> None:
        number = rows
        while not stop.wait(1.0):
            shop.store.readings.add(1, [reading(number)])
            clock.now = BEGUN + timedelta(seconds=STEP_S * number)
            number += 1

    thread = threading.Thread(target=talk)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join()


def timed(client: httpx.Client, path: str, **query: str) -> tuple[float, float]:
    """Milliseconds, and kilobytes on the wire."""
    start = time.perf_counter()
    answer = client.get(path, params=query)
    taken_ms = 1e3 * (time.perf_counter() - start)
    answer.raise_for_status()
    return taken_ms, int(answer.headers.get("content-length", 0)) / 1e3


def window(clock: Clock, days: float | None) -> dict[str, str]:
    if days is None:
        return {}
    until = clock.now
    since = max(until - timedelta(days=days), BEGUN)
    return {"from": since.isoformat(), "to": until.isoformat()}


def year_charts(client: httpx.Client, clock: Clock, turns: int) -> tuple[float, float]:
    told: dict[float | None, list[tuple[float, float]]] = {days: [] for days in STRETCHES_D}
    for _ in range(turns):
        for days, taken in told.items():
            for width in ("371", "700"):
                query = {**window(clock, days), "px": width}
                taken.append(timed(client, "/layups/1/charts.json", **query))
    for days, taken in told.items():
        name = "all of it" if days is None else f"{days:g} days"
        median_ms = np.median([ms for ms, _ in taken])
        print(
            f"  {name:>10}: median {median_ms:4.0f} ms, up to {max(kb for _, kb in taken):.0f} kB"
        )
    both = np.array([pair for taken in told.values() for pair in taken])
    return float(np.percentile(both[:, 0], 95)), float(both[:, 1].max())


def bare_ms(path: Path, body: bytes) -> float:
    connection = sqlite3.connect(path)
    start = time.perf_counter()
    rows = connection.execute("SELECT * FROM hour_rollups WHERE sensor_id = 1").fetchall()
    gzip.compress(body, 5)
    taken_ms = 1e3 * (time.perf_counter() - start)
    connection.close()
    if len(rows) < 24:
        raise SystemExit("there were no hours to read")
    return taken_ms


def others_p99(client: httpx.Client, turns: list[dict[str, str]]) -> float:
    """Small requests while another browser asks for a year's charts, one after another."""

    def look() -> None:
        with httpx.Client(base_url=client.base_url, timeout=120.0) as other:
            for query in turns:
                other.get("/layups/1/charts.json", params=query).raise_for_status()

    timed(client, "/alive")
    thread = threading.Thread(target=look)
    thread.start()
    taken = []
    while thread.is_alive():
        taken.append(timed(client, "/alive")[0])
        time.sleep(0.005)
    thread.join()
    return float(np.percentile(taken, 99))


def weights(client: httpx.Client) -> tuple[float, float]:
    """Kilobytes of the first look at a part, and of a later one."""
    page = client.get("/layups/1")
    assets = set(findall(r'(?:src|href)="(/static/[^"]+)"', page.text))
    own_kb = sum(timed(client, path)[1] for path in sorted(assets))
    charts_kb = timed(client, "/layups/1/charts.json", **PHONE)[1]
    later_kb = int(page.headers["content-length"]) / 1e3 + charts_kb
    return own_kb + later_kb, later_kb


def say(what: str, figure: float, limit: float, unit: str) -> bool:
    """Print a figure beside its limit; whether it is over."""
    over = figure > limit
    print(f"{what:<52} {figure:8.1f} {unit} (limit {limit:g}){'  OVER' if over else ''}")
    return over


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--rows", type=int, default=YEAR_ROWS)
    asked.add_argument("--turns", type=int, default=12)
    given = asked.parse_args()
    over = []
    with tempfile.TemporaryDirectory() as folder:
        year = open_demo_shop(Path(folder) / "year", zone="Europe/Lisbon")
        fill_year(year, given.rows)
        clock = Clock(BEGUN + timedelta(seconds=STEP_S * (given.rows - 1)))
        with served(year, clock) as client, talking(year, clock, given.rows):
            start = time.perf_counter()
            cold_p99_ms = others_p99(client, [{}, {}])
            print(f"  the whole year counted for once: {time.perf_counter() - start:.1f} s")
            p95_ms, wire_kb = year_charts(client, clock, given.turns)
            over.append(say("a year's charts, 95th percentile", p95_ms, YEAR_P95_MS, "ms"))
            over.append(say("  on the wire, at most", wire_kb, YEAR_WIRE_KB, "kB"))
            body = client.get("/layups/1/charts.json").content
            limit_ms = bare_ms(Path(year.shop.database), body)
            print(f"  bare fetch and packing {limit_ms:.1f} ms: ratio {p95_ms / limit_ms:.1f}")
            p99_ms = others_p99(client, 30 * [window(clock, days) for days in STRETCHES_D[:4]])
            over.append(say("another request meanwhile, 99th", p99_ms, OTHERS_P99_MS, "ms"))
            over.append(say("  while the year is counted", cold_p99_ms, OTHERS_P99_MS, "ms"))
            first_kb, later_kb = weights(client)
            over.append(say("first look at a part on a phone", first_kb, FIRST_KB, "kB"))
            over.append(say("a later look", later_kb, LATER_KB, "kB"))
        year.store.close()
        hundred = open_demo_shop(Path(folder) / "hundred")
        clock = Clock(fill_hundred(hundred))
        with served(hundred, clock) as client:
            first_ms, _ = timed(client, "/")
            taken = [timed(client, "/")[0] for _ in range(20)]
            print(f"  a hundred parts, first answer after the start: {first_ms / 1e3:.1f} s")
            median_ms = float(np.median(taken))
            over.append(say("now page, a hundred parts, median", median_ms, HUNDRED_MS, "ms"))
        hundred.store.close()
    return int(any(over))


if __name__ == "__main__":
    sys.exit(main())
