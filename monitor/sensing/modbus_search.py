"""Finds a probe that is alone on an RS-485 bus: its rate, its address, where its values are."""

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from monitor.sensing.modbus_line import NO_ANSWER, ModbusLine, NoRegisters
from monitor.sensing.modbus_probe import likely_layouts
from monitor.wires import ModbusProbe

BAUDS = (9600, 4800, 19200, 2400, 38400, 115200)
"""The first two are what nearly all such probes ship with (common practice, no source)."""
NEAR_ADDRESSES = range(1, 17)
FAR_ADDRESSES = range(17, 248)
REGISTERS = range(10)
ANSWER_S = 0.15
PAUSE_S = 0.2


@dataclass(frozen=True, slots=True)
class FoundProbe:
    """A probe that answered. `registers`: what it holds, by table. `layouts`: how that may be
    read, the likeliest first."""

    port: str
    baud: int
    address: int
    registers: tuple[tuple[str, tuple[tuple[int, int], ...]], ...]
    layouts: tuple[ModbusProbe, ...]


def search(
    port: str, stopping: threading.Event, trying: Callable[[int, int, int], None]
) -> FoundProbe | None:
    """The first probe that answers; None: none does, or it was stopped.

    `trying` is told the rate and the addresses before each stretch. Every address at every rate
    takes some five minutes; the usual ones come first. Raises PortError.
    """
    for addresses in (NEAR_ADDRESSES, FAR_ADDRESSES):
        for baud in BAUDS:
            trying(baud, addresses[0], addresses[-1])
            line = ModbusLine(port, baud, answer_s=ANSWER_S)
            try:
                for address in addresses:
                    if stopping.is_set():
                        return None
                    if _there(line, address):
                        return _looked_at(line, port, baud, address, stopping)
            finally:
                line.close()
    return None


def _there(line: ModbusLine, address: int) -> bool:
    """A probe that refuses the register is there too; damaged noise is not."""
    try:
        line.ask(address, "holding", 0, 1)
    except NoRegisters as none:
        return none.reason != NO_ANSWER and _answers_whole(line, address)
    return True


def _answers_whole(line: ModbusLine, address: int) -> bool:
    """Whether it says something whole when it is asked again, of the other table."""
    for table in _TABLES:
        threading.Event().wait(PAUSE_S)
        try:
            line.ask(address, table, 0, 1)
        except NoRegisters as none:
            if none.reason != "refused-register":
                continue
        return True
    return False


_TABLES: tuple[Literal["holding", "input"], ...] = ("holding", "input")


def _looked_at(
    line: ModbusLine, port: str, baud: int, address: int, stopping: threading.Event
) -> FoundProbe:
    held: list[tuple[str, tuple[tuple[int, int], ...]]] = []
    layouts: list[ModbusProbe] = []
    for table in _TABLES:
        registers = dict(_held(line, address, table, stopping))
        held.append((table, tuple(registers.items())))
        layouts += likely_layouts(address, table, registers)
    return FoundProbe(port, baud, address, tuple(held), tuple(layouts))


def _held(
    line: ModbusLine,
    address: int,
    table: Literal["holding", "input"],
    stopping: threading.Event,
) -> Iterator[tuple[int, int]]:
    for number in REGISTERS:
        if stopping.wait(PAUSE_S):
            return
        try:
            (value,) = line.ask(address, table, number, 1)
        except NoRegisters:
            continue
        yield number, value


def described(found: FoundProbe, layout: ModbusProbe) -> str:
    """The lines for shop.toml, for a sensor that is still to be named."""
    return "\n".join(
        (
            "[[modbus]]",
            f'port = "{found.port}"',
            f"baud = {found.baud}",
            "",
            "[[modbus.probe]]",
            'sensor = "NAME"',
            f"address = {layout.address}",
            f'table = "{layout.table}"',
            f"temperature = {layout.temperature}",
            f"humidity = {layout.humidity}",
            f"times = {layout.times}",
        )
    )
