"""Readings from files: our own, and those that loggers export."""

import hashlib
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import click

from monitor.cli.session import Open, Session, json_option, print_json, say
from monitor.errors import BadInput, HostError
from monitor.errors.text import shown
from monitor.logbook import NO_PORT
from monitor.times import from_unix, iso_utc, length_said, parse_instant, parse_length, said

if TYPE_CHECKING:
    from monitor.loggers.clock import Order
    from monitor.records import Reading, Readings, Sensor, SuspectSpan
    from monitor.units import Unit

AT_ONCE = 10_000
AHEAD_S = 120.0
ORIGINALS = "imports"


@dataclass(frozen=True)
class Taken:
    """What a file held. `readings` is gone through once, `columns` are the same."""

    columns: "Readings"
    readings: "Iterator[Reading]"
    rows: int
    flagged: int
    repeated: int
    passed_over: int = 0
    without_value: int = 0
    of_logger: bool = False


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--sensor", required=True, help="Whose readings they are; made if it's new.")
@click.option("--clock-off", metavar="60m", help="How slow the file's clock was (-60m: fast).")
@click.option("--clock-shows", metavar="T", help="What the logger's clock shows at this moment.")
@click.option("--dates", type=click.Choice(["dmy", "mdy"]), help="Day or month first.")
@click.option("--unit", type=click.Choice(["c", "f"]), help="The degrees, where it doesn't say.")
@json_option
@click.pass_obj
def import_command(
    session: Session,
    file: Path,
    sensor: str,
    clock_off: str | None,
    clock_shows: str | None,
    dates: "Order | None",
    unit: "Unit | None",
    as_json: bool,
) -> None:
    """Take in a readings file: our own, or what a logger exports. A second time adds nothing.

    A logger's file is kept as it is in the shop folder.
    """
    from monitor.trust.watch import look_over

    if clock_off and clock_shows:
        raise BadInput("--clock-off and --clock-shows say the same thing.", "Give one of them.")
    with session.open(create=True) as at:
        taken = _taken(at, file, dates, unit)
        asks = not as_json and sys.stdin.isatty()
        off = _clock_off(at, file, taken, sensor, clock_off, clock_shows, asks=asks)
        first, last = (from_unix(float(t)) + off for t in taken.columns.time_s[[0, -1]])
        if last.timestamp() > at.now.timestamp() + AHEAD_S:
            raise BadInput(
                f"{file.name} ends in the future, {said(last, at.shop.zone, at.now)}.",
                "Correct its clock with --clock-off, such as --clock-off -60m, or its --dates.",
            )
        original = _original(at, file, sensor, off) if taken.of_logger else None
        known = {known.name: known for known in at.store.book.sensors()}
        beside = known.get(sensor) or at.book().add_sensor(
            sensor, NO_PORT, unit=None, form=None, now=at.now
        )
        moved = (replace(r, at=r.at + off) if off else r for r in taken.readings)
        stored = 0
        while chunk := list(islice(moved, AT_ONCE)):
            stored += at.store.readings.add(beside.id, chunk)
        if original is not None:
            _keep(file, original)
        doubts = look_over(at.store, beside, at.now, first)
        if as_json:
            print_json(_json(sensor, taken, stored, off, (first, last), doubts))
            return
        span = " to ".join(said(t, at.shop.zone, at.now) for t in (first, last))
        say(f"{taken.rows} rows read, {stored} kept for {sensor}, {span}.")
        for line in _notes(at, beside, taken, stored, off, doubts):
            say(line)


def _taken(at: Open, file: Path, dates: "Order | None", unit: "Unit | None") -> Taken:
    from monitor.loggers.read import is_ours

    if is_ours(file):
        from monitor.csvfile import read_readings

        read = read_readings(file, at.shop.zone)
        one_by_one = _readings(read.readings)
        return Taken(read.readings, one_by_one, read.rows, read.flagged, read.repeated)
    from monitor.loggers.read import columns_from, read_logger

    held = read_logger(file, at.shop.zone, dates=dates, unit=unit)
    return Taken(
        columns_from(held.readings),
        iter(held.readings),
        held.rows,
        sum(bool(reading.flags) for reading in held.readings),
        held.repeated,
        held.passed_over,
        held.without_value,
        of_logger=True,
    )


def _clock_off(
    at: Open,
    file: Path,
    taken: Taken,
    sensor: str,
    clock_off: str | None,
    clock_shows: str | None,
    *,
    asks: bool,
) -> timedelta:
    """How slow the file's clock was: told, asked, or held against a live sensor."""
    if clock_off:
        return parse_length(clock_off)
    if clock_shows is None and taken.of_logger and asks:
        clock_shows = click.prompt(
            "What does the logger's clock show now? (Enter: the right time)",
            default="",
            show_default=False,
        )
    if clock_shows:
        either = [
            parse_instant(clock_shows, now=at.now, zone=at.shop.zone, clock=clock)
            for clock in ("past", "next")
        ]
        return at.now - min(either, key=lambda moment: abs(moment - at.now))
    found = _beside_live(at, taken, sensor) if taken.of_logger else None
    if found is None:
        return timedelta(0)
    live, off = found
    minutes = round(off / timedelta(minutes=1))
    length = length_said(abs(off.total_seconds()))
    what = f"{shown(file.name)} looks {length} {'slow' if minutes > 0 else 'fast'} beside {live}."
    if not asks:
        raise BadInput(
            f"{what} Both felt the same change, not at the same time.",
            f"Take it in with --clock-off {minutes}m, or with --clock-off 0m if it is right.",
        )
    return off if click.confirm(f"{what} Move its times by {minutes:+d} min?") else timedelta(0)


def _beside_live(at: Open, taken: Taken, sensor: str) -> tuple[str, timedelta] | None:
    from monitor.loggers.match import FURTHEST_MIN, clock_off

    room = timedelta(minutes=FURTHEST_MIN)
    first, last = (from_unix(float(t)) for t in taken.columns.time_s[[0, -1]])
    for other in at.store.book.sensors():
        if other.name == sensor:
            continue
        live = at.store.readings.between(other.id, first - room, last + room)
        off = clock_off(taken.columns, live)
        if off is not None:
            return other.name, off
    return None


def _original(at: Open, file: Path, sensor: str, off: timedelta) -> Path:
    """Where a logger's file is kept. The same file by another clock would be there twice."""
    folder = at.shop.folder / ORIGINALS
    start = f"{hashlib.sha256(file.read_bytes()).hexdigest()[:12]}.{sensor}."
    kept = folder / f"{start}{off.total_seconds():+.0f}s.{file.name}"
    before = sorted(path.name for path in folder.glob(f"{start}*")) if folder.is_dir() else []
    if any(not name.startswith(f"{start}{off.total_seconds():+.0f}s.") for name in before):
        raise BadInput(
            f"{file.name} was taken in for {sensor} before, by another clock; that stays.",
            "Take it in for a sensor of another name, and let the part stay beside that one.",
        )
    return kept


def _keep(file: Path, original: Path) -> None:
    try:
        original.parent.mkdir(mode=0o700, exist_ok=True)
        if not original.exists():
            original.touch(mode=0o600)
            original.write_bytes(file.read_bytes())
    except OSError as fault:
        raise HostError(
            f"The readings are stored; {file.name} itself can't be kept: {fault.strerror}.",
            "Make room in the shop folder and take it in again: nothing is added twice.",
        ) from None


def _notes(
    at: Open,
    beside: "Sensor",
    taken: Taken,
    stored: int,
    off: timedelta,
    doubts: "tuple[SuspectSpan, ...]",
) -> Iterator[str]:
    from monitor.alerts.doubted import said_of

    if off:
        yield f"Its times were moved by {off / timedelta(minutes=1):+g} min."
    if taken.of_logger:
        yield "The file itself is kept in the shop folder as it is."
    if taken.rows > stored:
        yield f"{taken.rows - stored} left out: there was a reading at that time already."
    if taken.passed_over:
        yield f"{taken.passed_over} lines passed over: no readings."
    if taken.without_value:
        yield f"{taken.without_value} hold no value: kept as silence."
    if taken.flagged:
        yield f"{taken.flagged} hold a suspect value: kept, and not counted."
    for doubt in doubts:
        yield said_of(doubt, beside, (), at.shop.zone)[0]


def _json(
    sensor: str,
    taken: Taken,
    stored: int,
    off: timedelta,
    span: tuple[datetime, datetime],
    doubts: "tuple[SuspectSpan, ...]",
) -> "dict[str, object]":
    return {
        "sensor": sensor,
        "read": taken.rows,
        "kept": stored,
        "flagged": taken.flagged,
        "left_out": taken.rows - stored,
        "repeated": taken.repeated,
        "passed_over": taken.passed_over,
        "without_value": taken.without_value,
        "clock_off_minutes": off / timedelta(minutes=1),
        "first": iso_utc(span[0]),
        "last": iso_utc(span[1]),
        "doubts": [
            {
                "doubt": doubt.kind,
                "since": iso_utc(doubt.since),
                "until": None if doubt.until is None else iso_utc(doubt.until),
            }
            for doubt in doubts
        ],
    }


def _readings(columns: "Readings") -> "Iterator[Reading]":
    import numpy as np

    from monitor.records import Flags, Reading

    def given(value: float) -> float | None:
        return None if np.isnan(value) else float(value)

    for i in range(len(columns)):
        yield Reading(
            from_unix(float(columns.time_s[i])),
            given(columns.temperature_c[i]),
            given(columns.humidity_pct[i]),
            given(columns.surface_c[i]),
            Flags.unpacked(int(columns.flags[i])),
        )
