"""Readings that the database can't take yet, in a file of the shop folder: they survive a kill.

A line each: a checksum, then JSON. A line that was cut short, or that rotted, is passed over.
"""

import json
import os
import zlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from monitor.records import Flags, Reading
from monitor.store.columns import moment_from, us_from
from monitor.store.users import sync_folder

_MICROSECOND = timedelta(microseconds=1)
FILE = "waiting-readings"
REFUSED = "refused-readings"


@dataclass(frozen=True, slots=True)
class ClockSet:
    """Stands among the readings where the host's clock was set."""

    by: timedelta
    at: datetime


Waiting = tuple[int, Reading] | ClockSet
"""A reading with its sensor's id, or a setting of the clock."""


class WaitingFile:
    """One shop's; the writer's thread alone uses it."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / FILE
        self._refused = folder / REFUSED

    def add(self, waiting: Iterable[Waiting]) -> None:
        """On the disk when this returns. Raises OSError, and leaves the file as it was."""
        _append(self.path, waiting)

    def refuse(self, waiting: Iterable[Waiting]) -> None:
        """Keep what the database will never take, for a person to look at. Raises OSError."""
        _append(self._refused, waiting)

    def left_over(self) -> list[Waiting]:
        """What an earlier run could not store, with the clock's settings worked in."""
        try:
            lines = self.path.read_bytes().split(b"\n")
        except FileNotFoundError:
            return []
        found: list[tuple[int, Reading]] = []
        for one in map(_read, lines):
            if isinstance(one, ClockSet):
                found = [(sensor, replace(r, at=r.at + one.by)) for sensor, r in found]
            elif one is not None:
                found.append(one)
        return list(found)

    def clear(self) -> None:
        """Everything in it is stored."""
        self.path.unlink(missing_ok=True)


def _append(path: Path, waiting: Iterable[Waiting]) -> None:
    text = b"".join(map(_line, waiting))
    fresh = not path.exists()
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | os.O_CLOEXEC, 0o600)
    try:
        before = os.fstat(handle).st_size
        try:
            # A line that an earlier run left half written ends here.
            _write_all(handle, b"\n" + text)
            os.fsync(handle)
        except OSError:
            os.ftruncate(handle, before)
            raise
    finally:
        os.close(handle)
    if fresh:
        sync_folder(path.parent)


def _write_all(handle: int, text: bytes) -> None:
    while text:
        text = text[os.write(handle, text) :]


def _line(one: Waiting) -> bytes:
    if isinstance(one, ClockSet):
        values: tuple[object, ...] = ("clock", one.by // _MICROSECOND, us_from(one.at))
    else:
        sensor_id, reading = one
        values = (
            sensor_id,
            us_from(reading.at),
            reading.temperature_c,
            reading.humidity_pct,
            reading.surface_c,
            reading.flags.packed(),
            reading.raw,
        )
    # ASCII alone, so that a raw line with bytes that are no text comes back as it was.
    body = json.dumps(values).encode("ascii")
    return b"%08x %b\n" % (zlib.crc32(body), body)


def _read(line: bytes) -> Waiting | None:
    sign, _, body = line.partition(b" ")
    if sign != b"%08x" % zlib.crc32(body):
        return None
    first, *rest = json.loads(body)
    if first == "clock":
        return ClockSet(rest[0] * _MICROSECOND, moment_from(rest[1]))
    at_us, temperature_c, humidity_pct, surface_c, flags, raw = rest
    return int(first), Reading(
        moment_from(at_us), temperature_c, humidity_pct, surface_c, Flags.unpacked(flags), raw
    )
