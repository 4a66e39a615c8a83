"""Fifty phones watch while forty sensors send: `python -m tests.benchmarks.bench_load`.

A reading a second each. A real `run --lan`, forty pseudo-terminals, fifty phones signed in, each
from an address of its own: every one holds the stream of changes open, and fetches its page when it
is told of one, as the pages' own script does. Exits 1 where a reading is lost, the 99th percentile
of a page is over 250 ms, or memory still grows after the first minute.
"""

import argparse
import asyncio
import sys
import tempfile
import threading
import time
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from monitor.records import Leave, Reading
from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.simulated import SimulatedPort
from monitor.store import Store
from tests.cli.process import read_until, started
from tests.scenarios.shop import open_demo_shop
from tests.soak.weighing import cpu_s, held_mib

SENSORS, PHONES = 40, 50
P99_MS = 250.0
FLAT_MB = 5.0
"""What may be more after the first minute: up to 100 bytes stay of each reading of an open part,
and numpy keeps up to seven freed blocks of each size below a kilobyte, 3.7 MB when all are full."""
THERE = "shed.example"
SETTLED_S = 60.0
STEP, BEFORE = timedelta(seconds=10), 3_000
"""What lies in store already: eight hours of each sensor."""


@dataclass
class Seen:
    """What the phones saw: how long each page took, when, and what went wrong."""

    taken_ms: list[tuple[float, float]] = field(default_factory=list)
    changes: int = 0
    refused: int = 0


def before(now: datetime, row: int, number: int) -> Reading:
    """Each place has a temperature of its own."""
    return Reading(now - row * STEP, 17.0 + number / 20 + row % 60 / 20, 60.0, raw="before")


def prepared(folder: Path, devices: list[str]) -> list[str]:
    """Forty benches with a part at each, mixed some hours ago; the phones' tokens."""
    at_hand = open_demo_shop(folder)
    now = datetime.now(UTC)
    for number, device in enumerate(devices, 1):
        name = f"bench-{number}"
        sensor = at_hand.book.add_sensor(name, device, unit="c", form="xdr", now=now)
        at_hand.store.readings.add(
            sensor.id, [before(now, row, number) for row in range(BEFORE, 0, -1)]
        )
        mixed = now - timedelta(hours=3, minutes=7 * number)
        at_hand.lay_up(number, "P1", mixed)
        at_hand.put(str(number), name, mixed, now=now)
    at_hand.store.door.set_passcode(Leave.LOOK, "tide table nine", now)
    tokens = [at_hand.store.door.sign_in(Leave.LOOK, f"phone {n}", now) for n in range(PHONES)]
    at_hand.store.close()
    settings = folder / "shop.toml"
    told = settings.read_text().replace("[web]\n", f'[web]\naddress = "http://{THERE}"\n')
    settings.write_text(told)
    return tokens


class Benches(threading.Thread):
    """A sentence a second on every port, each another temperature than the one before."""

    def __init__(self, ports: list[SimulatedPort]) -> None:
        super().__init__()
        self._ports, self._over = ports, threading.Event()
        self.said = 0

    def run(self) -> None:
        begun = time.monotonic()
        while not self._over.wait(max(0.0, begun + self.said - time.monotonic())):
            for number, port in enumerate(self._ports):
                warm = 18.0 + number / 20 + self.said % 30 / 10
                port.say(xdr_sentence(warm, 60.0 + self.said % 7))
            self.said += 1

    def end(self) -> None:
        self._over.set()
        self.join()


class Phone:
    """One browser's two connections, each from the phone's own address."""

    def __init__(self, port: int, number: int, token: str, seen: Seen) -> None:
        self._port, self._address = port, f"127.7.0.{number + 1}"
        self._path = "/" if number % 2 else f"/layups/{number % SENSORS + 1}"
        self._head = f"Host: {THERE}\r\nCookie: door={token}\r\nAccept-Encoding: gzip\r\n\r\n"
        self._seen = seen
        self._again = asyncio.Event()

    async def watch(self) -> None:
        fetching = asyncio.create_task(self._fetch_when_told())
        try:
            told, asks = await self._connected()
            asks.write(f"GET /events HTTP/1.1\r\n{self._head}".encode())
            async for line in told:
                if line.startswith((b"event: listening", b"event: changed")):
                    self._seen.changes += 1
                    self._again.set()
        finally:
            fetching.cancel()

    async def _connected(self) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
        here = (self._address, 0)
        return await asyncio.open_connection("127.0.0.1", self._port, local_addr=here)

    async def _fetch_when_told(self) -> None:
        while True:
            await self._again.wait()
            self._again.clear()
            begun = time.perf_counter()
            # Between two changes the server has hung up, as it does on a browser.
            page, asks = await self._connected()
            asks.write(f"GET {self._path} HTTP/1.1\r\nAccept: text/html\r\n{self._head}".encode())
            head = await page.readuntil(b"\r\n\r\n")
            lengths = [
                int(line.split(b":")[1])
                for line in head.split(b"\r\n")
                if line.lower().startswith(b"content-length")
            ]
            await page.readexactly(lengths[0])
            taken_ms = 1e3 * (time.perf_counter() - begun)
            asks.close()
            self._seen.taken_ms.append((time.monotonic(), taken_ms))
            self._seen.refused += not head.startswith(b"HTTP/1.1 200")


@dataclass
class Weighed:
    """The process' memory and processor time, as it goes."""

    at_s: list[float] = field(default_factory=list)
    mb: list[float] = field(default_factory=list)

    async def go_on(self, pid: int) -> None:
        while True:
            self.at_s.append(time.monotonic())
            self.mb.append(held_mib(pid) * 1.048576)
            await asyncio.sleep(1.0)


async def watched(port: int, pid: int, tokens: list[str], for_s: float) -> tuple[Seen, Weighed]:
    seen, weighed = Seen(), Weighed()
    tasks = [asyncio.create_task(weighed.go_on(pid))]
    for number, token in enumerate(tokens):
        tasks.append(asyncio.create_task(Phone(port, number, token, seen).watch()))
    await asyncio.sleep(for_s)
    for task in tasks:
        if task.done():
            task.result()
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
    return seen, weighed


def report(seen: Seen, weighed: Weighed, said: int, stored: int, cpu_pct: float) -> bool:
    begun = weighed.at_s[0]
    taken = np.array([ms for at, ms in seen.taken_ms])
    late = [mb for at, mb in zip(weighed.at_s, weighed.mb, strict=True) if at - begun > SETTLED_S]
    settled = late or weighed.mb
    # A page being made comes and goes in it: the middle of a minute says what stays.
    first_mb, last_mb = float(np.median(settled[:60])), float(np.median(settled[-60:]))
    grown_mb = last_mb - first_mb
    p50, p99, worst = (float(np.percentile(taken, q)) for q in (50, 99, 100))
    print("| what | figure | limit |\n|---|---|---|")
    print(f"| readings sent, lost | {said}, {said - stored} | 0 lost |")
    print(f"| pages fetched, refused | {taken.size}, {seen.refused} | 0 refused |")
    print(
        f"| a page: half within, 99 of 100, worst | {p50:.0f}, {p99:.0f}, {worst:.0f} ms |", end=""
    )
    print(f" {P99_MS:.0f} ms (99 of 100) |")
    print(f"| resident in the second minute | {first_mb:.0f} MB | |")
    print(f"| more in the last | {grown_mb:+.1f} MB | {FLAT_MB:+.1f} MB |")
    print(f"| of one core | {cpu_pct:.0f} % | |")
    return said == stored and not seen.refused and p99 <= P99_MS and grown_mb <= FLAT_MB


def under_load(folder: Path, for_s: float) -> bool:
    with ExitStack() as plugged:
        ports = [plugged.enter_context(SimulatedPort()) for _ in range(SENSORS)]
        return _under_load(folder / "shop", ports, for_s)


def _under_load(shop: Path, ports: list[SimulatedPort], for_s: float) -> bool:
    tokens = prepared(shop, [port.device for port in ports])
    benches = Benches(ports)
    with started("--shop", str(shop), "run", "--lan", "--port", "0") as process:
        port = int(read_until(process, r"127\.0\.0\.1:(\d+)")[1])
        read_until(process, "Watching")
        benches.start()
        begun, used = time.monotonic(), cpu_s(process.pid)
        seen, weighed = asyncio.run(watched(port, process.pid, tokens, for_s))
        cpu_pct = 100.0 * (cpu_s(process.pid) - used) / (time.monotonic() - begun)
        benches.end()
        time.sleep(2.0)
        process.terminate()
        printed = process.communicate(timeout=30)[0]
    with Store.open(shop / "layupwatch.db") as store:
        stored = sum(store.readings.count(s.id) - BEFORE for s in store.book.sensors())
    if "Traceback" in printed:
        print(printed)
    fine = report(seen, weighed, benches.said * SENSORS, stored, cpu_pct)
    return fine and "Traceback" not in printed


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seconds", type=float, default=600.0)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        sys.exit(not under_load(Path(folder), given.seconds))


if __name__ == "__main__":
    main()
