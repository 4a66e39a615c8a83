"""Lines that no sensor should send, over pseudo-terminals into a running watch, and what it kept.

`python -m tests.soak.lines --lines 1000000`. Five sensors: one in each format as told, one whose
format is to be found out. True lines come in between; each must be stored, as it was sent.
"""

import argparse
import math
import os
import random
import re
import sys
import tempfile
import threading
import time
import tty
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from subprocess import STDOUT, Popen

import pynmea2

from monitor.records import Flags
from monitor.sensing.formats import FORMATS
from monitor.store import Store
from tests.cli.process import PROGRAM
from tests.scenarios.shop import open_demo_shop
from tests.soak.hostile import HostileLines
from tests.soak.weighing import cpu_s, held_mib

FOUND_OUT = "found-out"
NAMES = (*(form.name for form in FORMATS), FOUND_OUT)
TRUE_EVERY = 10
"""Hostile lines to one true line."""
BURST_EVERY, BURST = 500, 24
"""Where the format is to be found out, true lines come in bursts: ten lines in a row that can't be
read, and it is looked for anew."""
MISSED_AT_MOST = 12
NUMBERS = tuple(
    re.compile(rf"(?=([+-]?(?:\d+(?:{point}\d*)?|{point}\d+)(?:e[+-]?\d{{1,3}})?))", re.IGNORECASE)
    for point in (r"\.", ",")
)
"""Every number that a text may be said to hold, from wherever one may begin."""
PATIENCE_S = 120.0
MOST_LOGGED = 40

Row = tuple[float | None, float | None, float | None, int, str]


def true_line(form: str, number: int) -> tuple[bytes, tuple[float, float]]:
    """A line that is never sent twice, and what is in it."""
    air, damp = f"{12 + number % 1000 / 100:.2f}", f"{40 + number // 1000 / 100:.2f}"
    values = float(air), float(damp)
    if form == "xdr":
        sent = pynmea2.XDR("WI", "XDR", ("C", air, "C", "AIR", "H", damp, "P", "AIR"))
        return str(sent).encode(), values
    shape = {
        "json-line": '{{"t":{},"h":{}}}',
        "key-value": "T={} H={}",
        "delimited": "{},{}",
    }[form]
    return shape.format(air, damp).encode(), values


@dataclass
class Sender:
    """One sensor's wire: writes as fast as it is read, and remembers what it sent."""

    name: str
    lines: int
    seed: int
    true: dict[str, tuple[float, float]] = field(default_factory=dict)
    bursts: list[list[str]] = field(default_factory=list)
    sent: set[int] = field(default_factory=set)
    bytes_sent: int = 0
    done: int = 0

    def __post_init__(self) -> None:
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        self.device = os.ttyname(self._slave)
        self.thread = threading.Thread(target=self._send_all, daemon=True)
        self.failed: BaseException | None = None

    def begin(self, seen: "Seen") -> None:
        """True lines until it is heard: whatever was sent before a port opens is lost."""
        form = FORMATS[0].name if self.name == FOUND_OUT else self.name
        end = time.monotonic() + PATIENCE_S
        while not seen.count(self.name):
            assert time.monotonic() < end, f"{self.name} is not heard"
            self._write(true_line(form, 5_900_000 + self.seed)[0] + b"\n")
            time.sleep(0.1)

    def _send_all(self) -> None:
        try:
            for block in self._blocks():
                self._write(block)
        except OSError as fault:
            self.failed = fault

    def _blocks(self) -> Iterator[bytes]:
        dice, hostile = random.Random(self.seed), iter(HostileLines(self.seed))
        every, at_once = (BURST_EVERY, BURST) if self.name == FOUND_OUT else (TRUE_EVERY, 1)
        number = 0
        while self.done < self.lines:
            some = list(islice(hostile, dice.randrange(1, 2 * every)))
            self.done += len(some)
            form = dice.choice(FORMATS).name if self.name == FOUND_OUT else self.name
            burst = [true_line(form, number + each) for each in range(at_once)]
            number += at_once
            self.true |= {line.decode(): values for line, values in burst}
            self.bursts.append([line.decode() for line, _ in burst])
            ending = dice.choice((b"\n", b"\r\n", b"\r"))
            yield b"".join(some) + b"\n" + ending.join(line for line, _ in burst) + ending
        form = FORMATS[0].name if self.name == FOUND_OUT else self.name
        # The last one says that everything before it has been read.
        yield b"\n".join(true_line(form, 5_800_000 + each)[0] for each in range(BURST)) + b"\n"

    def _write(self, block: bytes) -> None:
        self.sent |= {hash(_as_text(piece)) for piece in block.splitlines() if len(piece) < 300}
        self.bytes_sent += len(block)
        left = memoryview(block)
        while left:
            left = left[os.write(self._master, left) :]

    def last(self) -> str:
        form = FORMATS[0].name if self.name == FOUND_OUT else self.name
        return true_line(form, 5_800_000 + BURST - 1)[0].decode()

    def close(self) -> None:
        os.close(self._master)
        os.close(self._slave)


def _as_text(piece: bytes) -> str:
    """A line as text, apart from how the program does it; the degree sign may be one byte."""
    try:
        return piece.decode()
    except UnicodeDecodeError:
        return piece.replace(b"\xb0", "°".encode()).decode(errors="replace")


class Seen:
    """What lies in the shop's database, looked at beside the running watch."""

    def __init__(self, folder: Path) -> None:
        self.store = Store.open(folder / "layupwatch.db")
        self._ids = {sensor.name: sensor.id for sensor in self.store.book.sensors()}

    def count(self, name: str) -> int:
        return self.store.readings.count(self._ids[name])

    def last(self, name: str) -> str:
        return self.store.readings.raw_lines(self._ids[name], 1)[-1]

    def rows(
        self, name: str
    ) -> Iterator[tuple[float | None, float | None, float | None, int, str]]:
        with self.store.database.reading() as connection:
            yield from connection.exec_driver_sql(
                "SELECT temperature_c, humidity_pct, surface_c, flags, raw FROM readings"
                " WHERE sensor_id = ? ORDER BY at_us",
                (self._ids[name],),
            )


@dataclass
class Told:
    """What came of one sensor's lines. `wrong`: what should not be, in words."""

    name: str
    sent: int
    mib: float
    true: int
    stored: int = 0
    doubted: int = 0
    missed: int = 0
    wrong: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        return (
            f"{self.name:10} {self.sent:8} hostile, {self.true:6} true ({self.missed} missed), "
            f"{self.mib:6.1f} MiB; {self.stored:6} stored, {self.doubted:6} of them doubted; "
            f"wrong: {len(self.wrong)} {'; '.join(self.wrong[:3])}"
        )


def held_against(sender: Sender, seen: Seen) -> Told:
    told = Told(sender.name, sender.done, sender.bytes_sent / 2**20, len(sender.true))
    there: Counter[str] = Counter()
    for air, damp, surface, flags, raw in seen.rows(sender.name):
        told.stored += 1
        told.doubted += bool(flags)
        there[raw] += 1
        if hash(raw) not in sender.sent:
            told.wrong.append(f"never sent: {raw!r}")
        elif raw in sender.true:
            if (air, damp, surface) != (*sender.true[raw], None):
                told.wrong.append(f"{raw!r} as {air}, {damp}, {surface}")
        else:
            told.wrong += _wrong_with(sender.name, (air, damp, surface), flags, raw)
    told.wrong += [f"{line!r} {there[line]} times" for line in sender.true if there[line] > 1]
    told.missed = sum(not there[line] for line in sender.true)
    if sender.name == FOUND_OUT:
        for burst in sender.bursts:
            told.wrong += [f"{line!r} missed" for line in burst[MISSED_AT_MOST:] if not there[line]]
    else:
        told.wrong += [f"{line!r} missed" for line in sender.true if not there[line]]
    return told


def _wrong_with(name: str, values: tuple[float | None, ...], flags: int, raw: str) -> Iterator[str]:
    """A line that was spoilt and read all the same: its values must stand in it."""
    doubts = Flags.unpacked(flags)
    spelt = {_float(text) for number in NUMBERS for text in number.findall(raw)}
    spelt |= {(each - 32.0) / 1.8 for each in spelt}
    limits = ((-40.0, 60.0), (0.0, 100.0), (-40.0, 200.0))
    each_doubt = (doubts.temperature, doubts.humidity, doubts.surface)
    for value, doubt, (low, high) in zip(values, each_doubt, limits, strict=True):
        if value is None:
            continue
        if not any(math.isclose(value, one, abs_tol=1e-9) for one in spelt):
            yield f"{value} is not in {raw!r}"
        if not math.isfinite(value) or not (doubt or low <= value <= high):
            yield f"{value} of {raw!r} is not doubted"
    if name == "xdr":
        # An independent reader of such sentences finds the checksum right, too.
        try:
            pynmea2.parse(raw, check=True)
        except pynmea2.ParseError as fault:
            yield f"{raw!r}: {fault}"


def _float(text: str) -> float:
    return float(text.replace(",", "."))


@contextmanager
def watching(folder: Path, log: Path) -> Iterator["Popen[bytes]"]:
    """`run` on that shop, until it is told to stop."""
    with log.open("wb") as out:
        command = [*PROGRAM, "--shop", str(folder), "run", "--no-web"]
        process = Popen(command, stdout=out, stderr=STDOUT)
        try:
            yield process
        finally:
            process.terminate()
            process.wait(timeout=60)


@dataclass
class Outcome:
    each: list[Told]
    took_s: float
    cpu_s: float
    held_mib: tuple[float, float, float]
    """At the start, when a tenth was sent, at the end."""
    logged: list[str]
    ended: int
    problems: tuple[str, ...]

    @property
    def fine(self) -> bool:
        wrong = any(told.wrong for told in self.each)
        told = "\n".join(self.logged)
        quiet = len(self.logged) < MOST_LOGGED and "Traceback" not in told
        quiet = quiet and "started again" not in told
        return not wrong and quiet and self.ended == 0 and not self.problems

    def __str__(self) -> str:
        lines = sum(told.sent + told.true for told in self.each)
        first, tenth, last = self.held_mib
        return "\n".join(
            (
                *map(str, self.each),
                f"{lines} lines in {self.took_s:.0f} s: {lines / self.took_s:.0f} a second, "
                f"{lines / self.cpu_s:.0f} a second of processor time ({self.cpu_s:.0f} s).",
                f"Held: {first:.0f} MiB before, {tenth:.0f} at a tenth, {last:.0f} at the end.",
                f"Logged: {len(self.logged)} lines, {sum(map(len, self.logged))} characters. "
                f"Ended with {self.ended}. Database: {', '.join(self.problems) or 'whole'}.",
            )
        )


def send_hostile(folder: Path, lines: int, seed: int) -> Outcome:
    shop = folder / "shop"
    senders = [Sender(name, lines // len(NAMES), seed + n) for n, name in enumerate(NAMES)]
    at_hand = open_demo_shop(shop)
    for sender in senders:
        form = None if sender.name == FOUND_OUT else sender.name
        name = sender.name
        at_hand.store.book.add_sensor(name, sender.device, unit="c", format=form)
    at_hand.store.close()
    log = folder / "log"
    with watching(shop, log) as process:
        seen = Seen(shop)
        for sender in senders:
            sender.begin(seen)
        before, began = held_mib(process.pid), time.monotonic()
        cpu_before = cpu_s(process.pid)
        for sender in senders:
            sender.thread.start()
        _until(lambda: sum(s.done for s in senders) >= lines // 10, process)
        tenth = held_mib(process.pid)
        _until(lambda: not any(s.thread.is_alive() for s in senders), process)
        _until(lambda: all(seen.last(s.name) == s.last() for s in senders), process)
        took_s, used_s = time.monotonic() - began, cpu_s(process.pid) - cpu_before
        held = before, tenth, held_mib(process.pid)
    assert not any(sender.failed for sender in senders)
    with closing(seen.store):
        each = [held_against(sender, seen) for sender in senders]
        problems = seen.store.problems()
    for sender in senders:
        sender.close()
    logged = log.read_text(encoding="utf-8").splitlines()
    return Outcome(each, took_s, used_s, held, logged, process.returncode, problems)


def _until(happened, process: "Popen[bytes]") -> None:
    quiet_since, weighed = time.monotonic(), cpu_s(process.pid)
    while not happened():
        assert process.poll() is None, "the watch has ended by itself"
        if (now := cpu_s(process.pid)) - weighed > 0.5:
            quiet_since, weighed = time.monotonic(), now
        assert time.monotonic() - quiet_since < PATIENCE_S, "it has come to a stop"
        time.sleep(0.05)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--lines", type=int, default=1_000_000)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        outcome = send_hostile(Path(folder), given.lines, given.seed)
    print(outcome)
    sys.exit(not outcome.fine)


if __name__ == "__main__":
    main()
