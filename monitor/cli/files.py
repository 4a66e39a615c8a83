"""Readings and layups out of the shop."""

import sys
from typing import TYPE_CHECKING

import click

from monitor.cli.session import Session, json_option, print_json, say
from monitor.errors import BadInput, HostError
from monitor.times import from_unix, iso_utc

if TYPE_CHECKING:
    from monitor.records import FloatArray, Readings, Sensor


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
            as_read=True,
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
        say(f"{len(readings)} readings of {chosen.name} written.", err=True)


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
