"""What is plugged in, and what it says."""

from datetime import timedelta

import click

from monitor.cli.session import json_option, now_utc, print_json


@click.command("ports")
@json_option
def ports_command(as_json: bool) -> None:
    """What is plugged in."""
    from monitor.sensing.ports import list_ports

    seen = list_ports()
    if as_json:
        print_json(
            [{"port": p.device, "what": p.description, "identity": p.identity} for p in seen]
        )
        return
    if not seen:
        click.echo("No serial port is here. Plug the sensor in and ask again.")
    for port in seen:
        who = f"  {port.identity}" if port.identity else ""
        click.echo(f"{port.device}  {port.description}{who}")


@click.command("listen")
@click.argument("port")
@click.option("--unit", type=click.Choice(["c", "f"]), help="The degrees its lines are in.")
@click.option("--lines", type=click.IntRange(1), help="Stop after so many lines.")
@click.option("--for", "seconds", type=float, help="Stop after so many seconds.")
@json_option
def listen_command(
    port: str, unit: str | None, lines: int | None, seconds: float | None, as_json: bool
) -> None:
    """What a sensor says, and how each line is read. Nothing is stored. Ctrl-C stops it."""
    import threading

    import orjson

    from monitor.records import Reading
    from monitor.sensing.line_reader import Heard
    from monitor.sensing.serial_source import SerialSource
    from monitor.times import iso_utc

    source = SerialSource(
        "listened", port, clock=now_utc, unit="f" if unit == "f" else "c" if unit else None,
        patient=False,
    )  # fmt: skip
    count = 0

    def hear(heard: Heard) -> None:
        nonlocal count
        count += 1
        if as_json:
            reading = heard.reading
            line = orjson.dumps(
                {
                    "time": iso_utc(heard.at),
                    "line": heard.line,
                    "temperature_c": reading and reading.temperature_c,
                    "humidity_pct": reading and reading.humidity_pct,
                    "surface_c": reading and reading.surface_c,
                    "flags": reading and reading.flags.text(),
                    "refused": heard.reason,
                }
            )
            click.echo(line.decode())
        else:
            click.echo(f"{heard.line!r}  →  {heard.said()}")
        if lines is not None and count >= lines:
            source.stop()

    def nowhere(_reading: Reading) -> None:
        """Listening stores nothing."""

    timer = threading.Timer(seconds, source.stop) if seconds is not None else None
    if timer is not None:
        timer.start()
    began = now_utc()
    try:
        source.run(nowhere, hear)
    except KeyboardInterrupt:
        source.stop()
    finally:
        if timer is not None:
            timer.cancel()
    if count == 0 and not as_json:
        waited = (now_utc() - began) / timedelta(seconds=1)
        click.echo(f"Nothing came from {port} in {waited:.0f} s.")
        click.echo("Check its power, its cable and that its program prints a line now and then.")
