"""A week in minutes: `python -m tests.soak.week` runs a watch through it, and weighs it.

Three sensors on real pseudo-terminals and one behind a real broker, each with a reading every ten
seconds. A plug is pulled every six hours, the broker goes away each day, the machine's clock is set
on and back, what messages are posted to refuses them, parts come and go, a phone keeps its page
open. Held to: nothing lost or doubled, no thread more, memory flat once all of that has happened,
the file as large as computed.
"""

import argparse
import json
import os
import sqlite3
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import httpx
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from dashboards.app import build_app
from dashboards.serve import WebServer
from monitor.alerts.outside.webhook import WebhookChannel
from monitor.alerts.postman import Postman
from monitor.alerts.rules import Telling
from monitor.daemon import Daemon
from monitor.overview import Desk
from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.mqtt_feed import MqttFeed
from monitor.sensing.simulated import SimulatedPort, made_up_day
from monitor.upkeep import Upkeep
from monitor.wires import MqttBroker, MqttTopic
from tests.scenarios.shop import ShopAtHand, open_demo_shop
from tests.sensing.broker import Broker
from tests.soak.weighing import held_mib

BEGUN = datetime(2026, 5, 4, tzinfo=UTC)
STEP = timedelta(seconds=10)
LOOK_EVERY, PAGE_EVERY = timedelta(minutes=10), timedelta(minutes=30)
PULLED_EVERY, PULLED_FOR = timedelta(hours=6), timedelta(minutes=5)
BROKER_AWAY = (timedelta(hours=4), timedelta(hours=5))
CLOCK_SET = {
    timedelta(hours=5, minutes=30): timedelta(minutes=7),
    timedelta(days=4, hours=9): -timedelta(minutes=7),
}
LAID_UP_AT = timedelta(hours=1)
HOUR = timedelta(hours=1)
PARTS_STAY = 3
GROWN_MIB = 6.0
EMPTY_B, READING_B, SUMS_B = 200_000, 80, 85
"""Bytes of an empty file, of a reading with its line, of the sums of a minute or of an hour."""
PATIENCE_S = 60.0


@dataclass
class Host:
    """A machine's two clocks: one that can be set, and one that can't."""

    passed: timedelta = timedelta(0)
    set_by: timedelta = timedelta(0)

    def wall(self) -> datetime:
        return BEGUN + self.passed + self.set_by

    def steady(self) -> float:
        return self.passed.total_seconds()


@dataclass
class Plug:
    """A sensor's name on the machine, and what it leads to now."""

    name: str
    link: Path
    port: SimulatedPort = field(default_factory=SimulatedPort)
    pulled: bool = False
    said: int = 0

    def __post_init__(self) -> None:
        self.link.symlink_to(self.port.device)

    def pull(self) -> None:
        self.link.unlink()
        self.port.unplug()
        self.pulled = True

    def push(self) -> None:
        self.port = SimulatedPort()
        self.link.symlink_to(self.port.device)
        self.pulled = False


class Refusing(BaseHTTPRequestHandler):
    """Where messages are posted to, and never taken."""

    def do_POST(self) -> None:
        self.send_error(500)

    def log_message(self, *_told: object) -> None:
        pass


def until(happened: Callable[[], object], what: str) -> None:
    end = time.monotonic() + PATIENCE_S
    while not happened():
        assert time.monotonic() < end, f"{what} did not happen"
        time.sleep(0.0005)


@contextmanager
def refusing() -> Iterator[str]:
    with HTTPServer(("127.0.0.1", 0), Refusing) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.05,))
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_address[1]}/"
        finally:
            server.shutdown()
            thread.join()


class Listener(threading.Thread):
    """A phone with its page open: hears of changes, and counts them."""

    def __init__(self, address: str) -> None:
        super().__init__(daemon=True)
        self._address, self.heard = address, 0

    def run(self) -> None:
        with httpx.stream("GET", f"{self._address}events", timeout=None) as stream:
            for line in stream.iter_lines():
                self.heard += line.startswith("event: changed")


@dataclass
class Outcome:
    days: float
    said: int = 0
    stored: int = 0
    threads: list[int] = field(default_factory=list)
    mib: list[float] = field(default_factory=list)
    file_b: int = 0
    computed_b: float = 0.0
    alerts: int = 0
    rang: int = 0
    backups: int = 0
    problems: tuple[str, ...] = ()

    def settled(self) -> list[float]:
        """Resident memory at each hour of the last third, when all has happened that happens."""
        return self.mib[-max(4, len(self.mib) // 3) :]

    @property
    def grown_mib(self) -> float:
        settled = self.settled()
        few = max(1, len(settled) // 10)
        return sum(settled[-few:]) / few - sum(settled[:few]) / few

    @property
    def fine(self) -> bool:
        return (
            self.said == self.stored
            and not self.problems
            and max(self.threads) == min(self.threads)
            and self.grown_mib <= GROWN_MIB
            and abs(self.file_b / self.computed_b - 1.0) <= 0.1
        )

    def __str__(self) -> str:
        return (
            f"{self.days:g} days, {self.said} said, {self.stored} stored; "
            f"threads {min(self.threads)} to {max(self.threads)}; "
            f"{self.settled()[0]:.0f} MiB, {self.grown_mib:+.1f} at the end; file "
            f"{self.file_b / 1e6:.1f} MB, computed {self.computed_b / 1e6:.1f}; "
            f"{self.alerts} alerts, {self.rang} changes told, {self.backups} backups; "
            f"problems: {', '.join(self.problems) or 'none'}"
        )


class Week:
    """One run. `days` of it are gone through as fast as the watch keeps up."""

    def __init__(self, folder: Path, opened: ExitStack) -> None:
        self._host = Host()
        self._shop: ShopAtHand = open_demo_shop(folder / "shop")
        opened.callback(self._shop.store.close)
        store = self._shop.store
        self._plugs = [Plug(name, folder / name) for name in ("shed", "bench", "boat")]
        for plug in self._plugs:
            store.book.add_sensor(plug.name, str(plug.link), unit="c", format="xdr")
        store.book.add_sensor("loft", "mqtt 127.0.0.1 loft/air")
        self._broker = opened.enter_context(Broker())
        self._publisher: Client | None = self._connected()
        opened.callback(self._disconnect)
        topics = (MqttTopic("loft", "loft/air"),)
        feed = MqttFeed(MqttBroker("127.0.0.1", topics, self._broker.port), clock=self._host.wall)
        self._published = 0
        posts = Postman(store, (WebhookChannel(opened.enter_context(refusing())),), self._host.wall)
        desk = Desk(store, keeps=True)
        self._upkeep = Upkeep(self._shop.shop, store, self._host.wall)
        self._daemon = Daemon(
            store,
            Telling(self._shop.shop.zone, "c", self._shop.shop.alerting.night),
            clock=self._host.wall,
            steady=self._host.steady,
            look_every_s=1e6,
            desk=desk,
            upkeep=self._upkeep,
            postman=posts,
            feeds=(feed,),
            channels=(),
        )
        app = build_app(store, self._shop.shop, clock=self._host.wall, desk=desk)
        server = WebServer(app, 0)
        address = server.start()
        opened.callback(server.stop)
        self._client = opened.enter_context(httpx.Client(base_url=address, timeout=PATIENCE_S))
        self._daemon.start()
        self._running = True
        opened.callback(self._stop)
        self._phone = Listener(address)
        self._phone.start()
        self._next_part = 1

    def lived(self, days: float) -> Outcome:
        outcome = Outcome(days)
        self._all_connected()
        due: dict[timedelta, Callable[[], None]] = {
            LOOK_EVERY: self._daemon.look,
            PAGE_EVERY: self._pages,
            HOUR: lambda: self._weigh(outcome),
        }
        while self._host.passed < timedelta(days=days):
            self._happens()
            self._say()
            self._host.passed += STEP
            for every, do in due.items():
                if not self._host.passed % every:
                    do()
        self._close_off(outcome)
        return outcome

    def _happens(self) -> None:
        """What befalls the machine at this moment."""
        passed = self._host.passed
        self._host.set_by += CLOCK_SET.get(passed, timedelta(0))
        turn, within = divmod(passed + PULLED_EVERY / 2, PULLED_EVERY)
        plug = self._plugs[turn % len(self._plugs)]
        if not within:
            plug.pull()
        elif within == PULLED_FOR:
            plug.push()
            self._all_connected()
        hour = passed % timedelta(days=1)
        if hour == BROKER_AWAY[0]:
            self._disconnect()
            self._broker.stop()
        elif hour == BROKER_AWAY[1]:
            self._broker.start()
            self._publisher = self._connected()
            self._all_connected()
        if hour == LAID_UP_AT:
            self._lay_up()

    def _say(self) -> None:
        """One reading of each sensor that can be heard; time goes on when they were."""
        air = made_up_day(self._host.wall())
        for number, plug in enumerate(self._plugs):
            if not plug.pulled:
                assert plug.port.say(xdr_sentence(air.temperature_c + number, air.humidity_pct))
                plug.said += 1
        if self._publisher is not None:
            told = {"temperature": round(air.temperature_c + 4, 1), "humidity": air.humidity_pct}
            self._publisher.publish("loft/air", json.dumps(told))
            self._published += 1
        until(lambda: self._heard() == self._said(), "a reading")

    def _said(self) -> int:
        return self._published + sum(plug.said for plug in self._plugs)

    def _heard(self) -> int:
        return sum(status.readings for status in self._daemon.statuses)

    def _all_connected(self) -> None:
        wanted = sum(not plug.pulled for plug in self._plugs) + (self._publisher is not None)
        until(lambda: self._connections() == wanted, "a connection")

    def _connections(self) -> int:
        return sum(status.connected_since is not None for status in self._daemon.statuses)

    def _connected(self) -> Client:
        publisher = Client(CallbackAPIVersion.VERSION2)
        publisher.connect("127.0.0.1", self._broker.port)
        publisher.loop_start()
        return publisher

    def _disconnect(self) -> None:
        if self._publisher is not None:
            self._publisher.disconnect()
            self._publisher.loop_stop()
            self._publisher = None

    def _lay_up(self) -> None:
        """A new part each day, and the one of three days ago is done."""
        shop, now, number = self._shop, self._host.wall(), self._next_part
        shop.lay_up(number, "P1", now)
        shop.mix(f"{number}/skin-b", "P1", now)
        shop.put(str(number), self._plugs[number % len(self._plugs)].name, now)
        if number > PARTS_STAY:
            shop.book.end_layup(number - PARTS_STAY, now=now)
        self._next_part += 1

    def _pages(self) -> None:
        for path in ("/", f"/layups/{self._next_part - 1}", "/sensors", "/alerts"):
            if path != "/layups/0":
                self._client.get(path).raise_for_status()

    def _weigh(self, outcome: Outcome) -> None:
        self._upkeep.tend()
        self._daemon.sweep()
        until(lambda: self._stored_up_to() > self._host.wall() - 2 * STEP, "the last one's storing")
        outcome.threads.append(self._threads())
        outcome.mib.append(held_mib(os.getpid()))
        outcome.problems += tuple(what for what, _ in self._shop.store.health.troubles())

    def _threads(self) -> int:
        """But for the publisher's own, and the pools' that come and go with what there is to do."""
        pooled = ("AnyIO", "ThreadPoolExecutor", "asyncio")
        lasting = [one for one in threading.enumerate() if not one.name.startswith(pooled)]
        return len(lasting) - (self._publisher is not None)

    def _stored_up_to(self) -> datetime:
        return max(reading.at for reading in self._shop.store.readings.newest().values())

    def _stop(self) -> None:
        if self._running:
            self._running = False
            self._daemon.stop()

    def _close_off(self, outcome: Outcome) -> None:
        self._stop()
        store = self._shop.store
        outcome.said = self._said()
        outcome.stored = sum(store.readings.count(sensor.id) for sensor in store.book.sensors())
        outcome.alerts = len(store.alerts.recent(1_000_000))
        outcome.rang = self._phone.heard
        outcome.backups = len(list(self._shop.shop.backups.glob("*.db")))
        outcome.problems += store.problems()
        sums = [
            len(store.readings.rollups(sensor.id, None, None, step))
            for sensor in store.book.sensors()
            for step in ("minute", "hour")
        ]
        outcome.computed_b = EMPTY_B + outcome.stored * READING_B + sum(sums) * SUMS_B
        with closing(sqlite3.connect(self._shop.shop.folder / "layupwatch.db")) as database:
            database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        outcome.file_b = (self._shop.shop.folder / "layupwatch.db").stat().st_size


def gone_through(folder: Path, days: float) -> Outcome:
    with ExitStack() as opened:
        return Week(folder, opened).lived(days)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--days", type=float, default=7.0)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        outcome = gone_through(Path(folder), given.days)
    print(outcome)
    sys.exit(not outcome.fine)


if __name__ == "__main__":
    main()
