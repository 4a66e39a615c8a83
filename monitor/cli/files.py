"""Readings in and out of files."""

import sys
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from monitor.cli.session import Session, json_option, print_json
from monitor.errors import BadInput, HostError
from monitor.logbook import NO_PORT
from monitor.times import from_unix, iso_utc, parse_length, said

if TYPE_CHECKING:
    from monitor.records import FloatArray, Reading, Readings, Sensor, SuspectSpan

AT_ONCE = 10_000


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--sensor", required=True, help="Whose readings they are; made if it's new.")
@click.option("--clock-off", metavar="60m", help="How slow the file's clock was (-60m: fast).")
@json_option
@click.pass_obj
def import_command(
    session: Session, file: Path, sensor: str, clock_off: str | None, as_json: bool
) -> None:
    """Take in a readings file: time,temperature_c,humidity_pct. A second time adds nothing."""
    from monitor.alerts.doubted import said_of
    from monitor.csvfile import read_readings
    from monitor.trust.watch import look_over

    shift = parse_length(clock_off) if clock_off else timedelta(0)
    with session.open(create=True) as at:
        read = read_readings(file, at.shop.zone)
        shift_s = shift.total_seconds()
        last_s = float(read.readings.time_s[-1]) + shift_s
        if last_s > at.now.timestamp() + 120.0:
            raise BadInput(
                f"{file.name} ends in the future.",
                "Correct its clock with --clock-off, such as --clock-off -60m.",
            )
        known = {known.name: known for known in at.store.book.sensors()}
        beside = known.get(sensor) or at.book().add_sensor(
            sensor, NO_PORT, unit=None, form=None, now=at.now
        )
        stored = sum(
            at.store.readings.add(beside.id, chunk) for chunk in _readings(read.readings, shift_s)
        )
        first = read.readings.time_s[0] + shift_s
        doubts = look_over(at.store, beside, at.now, _moment(first))
        if as_json:
            print_json(
                {
                    "sensor": sensor,
                    "read": read.rows,
                    "kept": stored,
                    "flagged": read.flagged,
                    "left_out": read.rows - stored,
                    "repeated": read.repeated,
                    "first": iso_utc(_moment(first)),
                    "last": iso_utc(_moment(last_s)),
                    "doubts": [_doubt_json(span) for span in doubts],
                }
            )
            return
        span = " to ".join(said(_moment(t), at.shop.zone, at.now) for t in (first, last_s))
        click.echo(f"{read.rows} rows read, {stored} kept for {sensor}, {span}.")
        if read.rows > stored:
            click.echo(f"{read.rows - stored} left out: there was a reading at that time already.")
        if read.flagged:
            click.echo(f"{read.flagged} hold a suspect value: kept, and not counted.")
        for doubt in doubts:
            click.echo(said_of(doubt, beside, (), at.shop.zone)[0])


def _doubt_json(span: "SuspectSpan") -> "dict[str, str | None]":
    return {
        "doubt": span.kind,
        "since": iso_utc(span.since),
        "until": None if span.until is None else iso_utc(span.until),
    }


def _moment(time_s: float) -> datetime:
    return from_unix(float(time_s))


def _readings(columns: "Readings", shift_s: float) -> "Iterator[list[Reading]]":
    import numpy as np

    from monitor.records import Flags, Reading

    def given(value: float) -> float | None:
        return None if np.isnan(value) else float(value)

    for first in range(0, len(columns), AT_ONCE):
        yield [
            Reading(
                from_unix(float(columns.time_s[i]) + shift_s),
                given(columns.temperature_c[i]),
                given(columns.humidity_pct[i]),
                given(columns.surface_c[i]),
                Flags.unpacked(int(columns.flags[i])),
            )
            for i in range(first, min(first + AT_ONCE, len(columns)))
        ]


@click.command("export")
@click.argument("what", type=click.Choice(["readings", "layups"]))
@click.option("--sensor", help="Of this sensor; needed where there are several.")
@click.option("--from", "since", metavar="T", help="From then; the first if left out.")
@click.option("--to", "until", metavar="T", help="To then; the last if left out.")
@click.option("--csv", "as_csv", is_flag=True, help="CSV, as `import` and `assess` read it.")
@json_option
@click.pass_obj
def export_command(
    session: Session,
    what: str,
    sensor: str | None,
    since: str | None,
    until: str | None,
    as_csv: bool,
    as_json: bool,
) -> None:
    """Write readings or layups out: export readings --sensor shed --csv > shed.csv."""
    from monitor.answers.log import layup_json
    from monitor.csvfile import write_readings

    if as_csv and as_json:
        raise BadInput("--csv and --json are two formats.", "Give one of them.")
    with session.open() as at:
        if what == "layups":
            if as_csv:
                raise BadInput("Layups have more than columns.", "Export them with --json.")
            every = at.store.book.layups(open_only=False)
            print_json([layup_json(at.store, layup) for layup in every])
            return
        chosen = chosen_sensor(at.store.book.sensors(), sensor)
        readings = at.store.readings.between(
            chosen.id,
            at.moment(since) if since else None,
            at.moment(until) if until else None,
        )
        if as_json:
            print_json(_columns_json(chosen.name, readings))
            return
        try:
            write_readings(readings, sys.stdout)
        except OSError as fault:
            raise HostError(
                f"The readings can't be written: {fault.strerror}.", "Make room and try again."
            ) from None
        click.echo(f"{len(readings)} readings of {chosen.name} written.", err=True)


def chosen_sensor(sensors: "tuple[Sensor, ...]", name: str | None) -> "Sensor":
    """The sensor of that name, or the only one. Raises BadInput."""
    names = ", ".join(sensor.name for sensor in sensors)
    if not sensors:
        raise BadInput("There is no sensor, so there are no readings.", "Add one: sensor add.")
    if name is None and len(sensors) == 1:
        return sensors[0]
    for sensor in sensors:
        if sensor.name == name:
            return sensor
    if name is None:
        raise BadInput("There are several sensors.", f"Say which with --sensor: {names}.")
    raise BadInput(f"No sensor is called {name}.", f"There are: {names}.")


def _columns_json(name: str, readings: "Readings") -> "dict[str, object]":
    import numpy as np

    from monitor.records import Flags

    def column(values: "FloatArray") -> list[float | None]:
        return [None if np.isnan(value) else float(value) for value in values]

    return {
        "sensor": name,
        "time": [iso_utc(from_unix(float(time_s))) for time_s in readings.time_s],
        "temperature_c": column(readings.temperature_c),
        "humidity_pct": column(readings.humidity_pct),
        "surface_c": column(readings.surface_c),
        "flags": [Flags.unpacked(int(bits)).text() for bits in readings.flags],
    }
