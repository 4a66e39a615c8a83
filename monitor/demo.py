"""A made-up shop: three jobs, three simulated sensors on real pseudo-terminals, time that flies.

Everything here is invented: the parts, the weather, the resins.
"""

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from monitor.alerts.rules import Telling
from monitor.config import Shop, make_shop, open_shop
from monitor.cure.mixing import Weighed
from monitor.daemon import Daemon
from monitor.errors import StoreError
from monitor.logbook import Address, Logbook
from monitor.records import Channel, MarkKind, Reading, Role
from monitor.sensing.simulated import SimulatedPort, SimulatedSensor, Weather
from monitor.sheets import Shelf
from monitor.store import Store

ZONE = "Europe/Lisbon"
SPEED = 120.0
STEP = timedelta(minutes=1)

_log = logging.getLogger("layupwatch.demo")


def _at(day: int, clock: str) -> datetime:
    """A moment of the made-up May, as the shop's clock shows it, in UTC."""
    hour, minute = (int(part) for part in clock.split(":"))
    return datetime(2026, 5, day, hour, minute, tzinfo=ZoneInfo(ZONE)).astimezone(UTC)


BEGINS = _at(1, "06:00")
OPENS = _at(3, "07:00")
"""When the demo's clock starts: everything before it is history already."""

Knot = tuple[datetime, float, float]


def _days(first: int, *knots: tuple[str, float, float]) -> list[Knot]:
    """Knots of one day after another; a clock that goes back begins the next day."""
    day, before, laid = first, "", []
    for clock, temperature_c, humidity_pct in knots:
        day, before = (day + 1 if clock <= before else day), clock
        laid.append((_at(day, clock), temperature_c, humidity_pct))
    return laid


_SHED = _days(
    1,
    ("06:00", 15.5, 66), ("14:00", 21.5, 55), ("20:00", 19, 60), ("06:00", 16, 66),
    ("10:00", 19, 60), ("14:00", 22, 54), ("18:00", 20, 57), ("00:00", 17, 63),
    ("06:00", 16, 66), ("10:00", 19, 60), ("14:00", 22, 55), ("18:00", 20, 58),
    ("00:00", 17, 64), ("06:00", 16, 66),
)  # fmt: skip
_YARD = _days(
    1,
    ("06:00", 7, 88), ("14:00", 18, 58), ("20:00", 12, 74), ("06:00", 8, 90),
    ("13:00", 18, 56), ("16:00", 17, 58), ("20:00", 11, 72), ("02:00", 6, 86),
    ("08:00", 5, 88), ("12:00", 14, 66), ("12:30", 21, 46), ("23:30", 21, 48),
    ("06:00", 21, 50),
)  # fmt: skip
_BOW = _days(
    1,
    ("06:00", 10, 90), ("14:00", 21, 56), ("20:00", 16, 72), ("06:00", 11, 92),
    ("15:00", 20, 58), ("19:00", 18, 66), ("21:10", 16, 72), ("04:40", 12, 90),
    ("08:00", 13, 86), ("11:00", 18, 66), ("14:00", 20, 60), ("17:30", 19, 62),
    ("20:00", 17, 70), ("22:00", 15, 80), ("04:00", 11.5, 94), ("06:00", 11, 95),
)  # fmt: skip
POWER_CUT = (_at(2, "21:10"), _at(3, "04:40"))


@dataclass(frozen=True, slots=True)
class MadeUpWeather:
    """Straight lines between knots with a little restlessness; after the last, its day again."""

    knots: tuple[Knot, ...]
    seed: int

    def __call__(self, at: datetime) -> Weather:
        last = self.knots[-1][0]
        while at > last:
            at -= timedelta(days=1)
        time_s = [knot[0].timestamp() for knot in self.knots]
        now_s = at.timestamp()
        restless = np.random.default_rng((self.seed, int(now_s // 60)))
        temperature_c = np.interp(now_s, time_s, [knot[1] for knot in self.knots])
        humidity_pct = np.interp(now_s, time_s, [knot[2] for knot in self.knots])
        return Weather(
            round(float(temperature_c + restless.normal(0.0, 0.06)), 2),
            round(float(np.clip(humidity_pct + restless.normal(0.0, 0.4), 0.0, 100.0)), 1),
        )


WEATHERS = {
    "shed": MadeUpWeather(tuple(_SHED), 1),
    "yard": MadeUpWeather(tuple(_YARD), 2),
    "bow": MadeUpWeather(tuple(_BOW), 3),
}


class FastClock:
    """A clock that starts at a made-up moment and runs `speed` times as fast as life."""

    def __init__(self, start: datetime, speed: float) -> None:
        self._start, self._speed = start, speed
        self._begun_s = time.monotonic()

    def __call__(self) -> datetime:
        return self._start + timedelta(seconds=(time.monotonic() - self._begun_s) * self._speed)


Deed = tuple[datetime, Callable[[Logbook, datetime], object]]


def _mix(
    part: str, role: Role, grams: tuple[float, float], sheet: str | None = None
) -> Callable[[Logbook, datetime], object]:
    def deed(book: Logbook, at: datetime) -> object:
        address = Address(int(part), role, role.value)
        return book.add_batch(
            address, mixed_at=at, now=at, sheet=sheet, weighed=Weighed(*grams), scale_step_g=0.1
        )

    return deed


def _mark(
    part: str, kind: MarkKind, note: str | None = None
) -> Callable[[Logbook, datetime], object]:
    def deed(book: Logbook, at: datetime) -> object:
        return book.add_mark(Address(int(part)), kind, at=at, note=note, now=at)

    return deed


def _part(
    number: int, what: str, sensor: str, *, safety: bool = False
) -> Callable[[Logbook, datetime], object]:
    def deed(book: Logbook, at: datetime) -> object:
        book.add_layup(number, what, "demo-laminating", on=None, safety=safety, now=at)
        return book.add_stay(
            Address(number), sensor, channel=Channel.AIR, nearness=None, since=at, until=None,
            now=at,
        )  # fmt: skip

    return deed


DEEDS: tuple[Deed, ...] = (
    (_at(2, "10:05"), _part(1, "dinghy rudder, split trailing edge", "shed", safety=True)),
    (_at(2, "10:20"), _mix("1", Role.SKIN_A, (200.0, 3.0))),
    (_at(2, "11:04"), _mark("1", MarkKind.KICKED)),
    (_at(2, "12:10"), _mark("1", MarkKind.TRIMMED_CLEAN)),
    (_at(2, "14:50"), _part(3, "canoe bow, stem wear patch", "bow")),
    (_at(2, "15:00"), _mix("3", Role.PATCH, (120.0, 1.8))),
    (_at(2, "15:35"), _mark("1", MarkKind.FLIPPED)),
    (_at(2, "15:50"), _part(2, "deck hatch lid, new panel", "yard")),
    (_at(2, "16:00"), _mix("2", Role.SKIN_A, (250.0, 3.8))),
    (_at(2, "16:20"), _mix("1", Role.SKIN_B, (200.0, 3.0))),
    (_at(2, "16:58"), _mark("2", MarkKind.KICKED)),
    (_at(3, "12:30"), _mark("2", MarkKind.HEATER_ON, "oil radiator outside the tent")),
    (_at(3, "17:20"), _mix("3", Role.PLAIN_COAT, (150.0, 2.7), "demo-gel-coat")),
)


class Demo:
    """A demo shop in `folder`, running until stopped."""

    def __init__(self, folder: Path, speed: float = SPEED) -> None:
        make_shop(folder, zone=ZONE, demo=True)
        self.shop: Shop = open_shop(folder, create=False)
        self.store = Store.open(folder / "layupwatch.db")
        self._book = Logbook(self.store, Shelf(folder, True))
        self._ports = {name: SimulatedPort() for name in WEATHERS}
        self._to_do = list(DEEDS)
        self._speed = speed
        self._stopping = threading.Event()
        self._seed()
        self.clock = FastClock(OPENS, speed)
        self.daemon = Daemon(
            self.store,
            Telling(self.shop.zone, self.shop.unit),
            clock=self.clock,
            look_every_s=max(30.0 / speed, 1.0),
        )
        self._teller = threading.Thread(target=self._tell, name="weather", daemon=True)

    def _seed(self) -> None:
        """The history: readings until the demo opens, with the power cut, and what was logged."""
        for name, port in self._ports.items():
            sensor = self.store.book.add_sensor(name, port.device, "c", "xdr")
            weather, said = WEATHERS[name], []
            at = BEGINS
            while at < OPENS:
                if name != "bow" or not POWER_CUT[0] < at < POWER_CUT[1]:
                    now = weather(at)
                    sentence = SimulatedSensor(weather).sentence(at)
                    said.append(Reading(at, now.temperature_c, now.humidity_pct, raw=sentence))
                at += STEP
            self.store.readings.add(sensor.id, said)
        self._do_until(OPENS)

    def _do_until(self, now: datetime) -> None:
        while self._to_do and self._to_do[0][0] <= now:
            at, deed = self._to_do.pop(0)
            deed(self._book, at)

    def start(self) -> None:
        self.daemon.start()
        self._teller.start()

    def stop(self) -> None:
        self._stopping.set()
        self._teller.join(timeout=2.0)
        self.daemon.stop()
        for port in self._ports.values():
            port.unplug()
        self.store.close()

    def _tell(self) -> None:
        """Every made-up minute each sensor prints a line, and the people do their next deed."""
        at = OPENS
        while not self._stopping.is_set():
            wait_s = (at - self.clock()) / timedelta(seconds=1) / self._speed
            if wait_s > 0 and self._stopping.wait(wait_s):
                return
            for name, port in self._ports.items():
                port.say(SimulatedSensor(WEATHERS[name]).sentence(at))
            try:
                self._do_until(at)
            except StoreError as fault:
                _log.error("%s %s", *fault.lines())
            at += STEP
