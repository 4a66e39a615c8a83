"""What is plugged in, and what it says."""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import TYPE_CHECKING

import click

from monitor.cli.session import json_option, now_utc, print_json, say

if TYPE_CHECKING:
    from monitor.sensing.line_reader import Heard
    from monitor.sensing.modbus_search import FoundProbe

SAID_SILENT_S = 10.0
NOTHING = (
    "Check its power, its cable and that its program prints a line now and then. A probe on an "
    "RS-485 stick speaks only when asked: add --rs485."
)


@click.command("ports")
@json_option
def ports_command(as_json: bool) -> None:
    """What is plugged in."""
    from monitor.sensing.ports import holders_of, list_ports

    seen = list_ports()
    if as_json:
        print_json(
            [
                {
                    "port": p.device,
                    "what": p.description,
                    "identity": p.identity,
                    "open_in": holders_of(p.device),
                }
                for p in seen
            ]
        )
        return
    if not seen:
        say("No serial port is here. Plug the sensor in and ask again.")
    for port in seen:
        who = f"  {port.identity}" if port.identity else ""
        held = holders_of(port.device)
        by = f"  open in {', '.join(held)}" if held else ""
        say(f"{port.device}  {port.description}{who}{by}")


@click.command("listen")
@click.argument("port")
@click.option("--unit", type=click.Choice(["c", "f"]), help="The degrees its lines are in.")
@click.option("--lines", type=click.IntRange(1), help="Stop after so many lines.")
@click.option("--for", "seconds", type=float, help="Stop after so many seconds.")
@click.option("--rs485", is_flag=True, help="Find the one probe on an RS-485 bus.")
@json_option
def listen_command(
    port: str,
    unit: str | None,
    lines: int | None,
    seconds: float | None,
    rs485: bool,
    as_json: bool,
) -> None:
    """What a sensor says, and how each line is read. Nothing is stored. Ctrl-C stops it.

    With --rs485: asks for a probe that is alone on its bus, and says what to write into
    shop.toml.
    """
    if rs485:
        _find_probe(port, seconds, as_json)
    else:
        _Listening(port, unit, lines, as_json).run(seconds)


@contextmanager
def _ctrl_c(stop: Callable[[], None]) -> Iterator[None]:
    """Ctrl-C stops it in order. An exception could be raised where nobody passes it on."""

    def told(_signal: int, _frame: object) -> None:
        stop()

    before = signal.signal(signal.SIGINT, told)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


class _Listening:
    def __init__(self, port: str, unit: str | None, lines: int | None, as_json: bool) -> None:
        from monitor.sensing.serial_source import SerialSource

        self._port, self._lines, self._as_json = port, lines, as_json
        self._count, self._hinted = 0, False
        self._source = SerialSource(
            "listened",
            port,
            clock=now_utc,
            unit="f" if unit == "f" else "c" if unit else None,
            patient=False,
        )

    def run(self, seconds: float | None) -> None:
        from monitor.records import Reading

        def nowhere(_reading: Reading) -> None:
            """Listening stores nothing."""

        timers = [threading.Timer(SAID_SILENT_S, self._say_silent)]
        if seconds is not None:
            timers.append(threading.Timer(seconds, self._source.stop))
        for timer in timers:
            timer.start()
        began = now_utc()
        try:
            with _ctrl_c(self._source.stop):
                self._source.run(nowhere, self._hear)
        finally:
            for timer in timers:
                timer.cancel()
        if self._count == 0 and not self._as_json:
            waited = (now_utc() - began) / timedelta(seconds=1)
            say(f"Nothing came from {self._port} in {waited:.0f} s.")
            say(NOTHING)

    def _say_silent(self) -> None:
        """While somebody waits: why nothing may be coming."""
        if self._count == 0 and not self._as_json:
            say(f"Nothing yet after {SAID_SILENT_S:.0f} s. {NOTHING}")

    def _hear(self, heard: "Heard") -> None:
        self._count += 1
        if self._as_json:
            self._say_json(heard)
        else:
            say(f"{heard.line!r}  →  {heard.said()}")
            self._hint(heard)
        if self._lines is not None and self._count >= self._lines:
            self._source.stop()

    def _hint(self, heard: "Heard") -> None:
        """Once: what the values look like, where they can't be what they are taken for."""
        from monitor.records import Doubt

        doubts = heard.reading.flags.temperature if heard.reading else Doubt(0)
        if not self._hinted and Doubt.LOOKS_FAHRENHEIT in doubts:
            self._hinted = True
            say("These look like °F. Say which, once: sensor add NAME PORT --unit f (or c).")
        if not self._hinted and Doubt.SWAPPED in doubts:
            self._hinted = True
            say("Humidity seems to come first. Once it is added: sensor ask NAME")

    def _say_json(self, heard: "Heard") -> None:
        from monitor.times import iso_utc

        reading = heard.reading
        told = {
            "time": iso_utc(heard.at),
            "line": heard.line,
            "temperature_c": reading and reading.temperature_c,
            "humidity_pct": reading and reading.humidity_pct,
            "surface_c": reading and reading.surface_c,
            "flags": reading and reading.flags.text(),
            "refused": None if heard.harmless else heard.reason,
        }
        print_json(told, indent=False)


def _find_probe(port: str, seconds: float | None, as_json: bool) -> None:
    from monitor.sensing.modbus_search import search

    stopping = threading.Event()
    timer = threading.Timer(seconds, stopping.set) if seconds is not None else None
    if timer is not None:
        timer.start()

    def trying(baud: int, first: int, last: int) -> None:
        if not as_json:
            say(f"Asking addresses {first} to {last} at {baud} baud …", err=True)

    try:
        with _ctrl_c(stopping.set):
            found = search(port, stopping, trying)
    finally:
        if timer is not None:
            timer.cancel()
    if as_json:
        print_json(None if found is None else _as_json(found))
    elif found is None:
        say(f"No probe answered on {port}.")
        say(
            "Look at its supply, try its two data wires the other way round, and leave it alone on "
            "the bus."
        )
    else:
        for line in _said(found):
            say(line)


def _as_json(found: "FoundProbe") -> dict[str, object]:
    return {
        "port": found.port,
        "baud": found.baud,
        "address": found.address,
        "registers": {
            table: {str(number): value for number, value in held} for table, held in found.registers
        },
        "layouts": [
            {
                "table": layout.table,
                "temperature": layout.temperature,
                "humidity": layout.humidity,
                "times": layout.times,
            }
            for layout in found.layouts
        ],
    }


def _said(found: "FoundProbe") -> list[str]:
    from monitor.sensing.modbus_probe import measured
    from monitor.sensing.modbus_search import described

    lines = [f"A probe answers at address {found.address}, {found.baud} baud."]
    for table, held in found.registers:
        cells = ", ".join(f"{number}: {value}" for number, value in held)
        lines.append(f"Its {table} registers: {cells or 'none of the first ten'}.")
    if not found.layouts:
        return [
            *lines,
            "None of them look like the air's temperature and humidity. Its maker's sheet has the "
            "register numbers.",
        ]
    tables = {table: dict(held) for table, held in found.registers}
    for count, layout in enumerate(found.layouts[:3]):
        values = measured(layout, tables[layout.table])
        how = "Most likely" if count == 0 else "Or"
        lines.append(
            f"{how}: {values.temperature:.1f} °C in {layout.table} {layout.temperature}, "
            f"{values.humidity_pct:.1f} % in {layout.humidity}, times {layout.times}."
        )
    lines += [
        "Breathe on it: the humidity leaps within a minute, the temperature hardly does.",
        "For shop.toml, with the name you give it; then start `layupwatch run` again:",
        "",
        *described(found, found.layouts[0]).splitlines(),
    ]
    return lines
