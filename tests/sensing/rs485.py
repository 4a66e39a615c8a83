"""Two pseudo-terminals joined like a cable, and an independent Modbus server at its far end."""

import asyncio
import os
import select
import threading
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from pymodbus.constants import ExcCodes
from pymodbus.server import ModbusSerialServer
from pymodbus.simulator import DataType, SimData, SimDevice

Spoil = Callable[[bytes], bytes]


def as_it_is(data: bytes) -> bytes:
    return data


class Cable:
    """`near` and `far` open like serial ports; what goes in at one comes out at the other."""

    def __init__(self) -> None:
        self._masters, slaves = zip(*(os.openpty() for _ in range(2)), strict=True)
        self._slaves = slaves
        for slave in slaves:
            tty.setraw(slave)
        self.near, self.far = (os.ttyname(slave) for slave in slaves)
        self.asked: list[bytes] = []
        self.spoil: Spoil = as_it_is
        self._cut = threading.Event()
        self._thread = threading.Thread(target=self._carry, daemon=True)
        self._thread.start()

    def _carry(self) -> None:
        near, far = self._masters
        while not self._cut.is_set():
            for ready in select.select([near, far], [], [], 0.02)[0]:
                data = os.read(ready, 4096)
                if ready == near:
                    self.asked.append(data)
                    os.write(far, data)
                else:
                    os.write(near, self.spoil(data))

    def close(self) -> None:
        self._cut.set()
        self._thread.join()
        for descriptor in (*self._masters, *self._slaves):
            os.close(descriptor)


@contextmanager
def cable() -> Iterator[Cable]:
    joined = Cable()
    try:
        yield joined
    finally:
        joined.close()


class Probe:
    """What a probe at one address holds, changed while it is asked; an address may fall silent."""

    def __init__(
        self, address: int, holding: dict[int, int], inputs: dict[int, int] | None = None
    ) -> None:
        self.address, self.silent = address, False
        self.holding = holding
        self._inputs = holding if inputs is None else inputs

    def device(self) -> SimDevice:
        def data(registers: dict[int, int]) -> list[SimData]:
            return [
                SimData(number, values=[value], datatype=DataType.REGISTERS)
                for number, value in sorted(registers.items())
            ]

        spare = [SimData(0, values=[False], datatype=DataType.BITS)]
        return SimDevice(
            self.address,
            (spare, spare, data(self.holding), data(self._inputs)),
            action=self._now,
        )

    async def _now(
        self,
        function: int,
        start: int,
        address: int,
        count: int,
        current: list[int],
        values: object,
    ) -> ExcCodes | None:
        if function == 3:
            for number, value in self.holding.items():
                if 0 <= number - start < len(current):
                    current[number - start] = value
        return None


@contextmanager
def serving(port: str, *probes: Probe, baud: int = 9600) -> Iterator[None]:
    """pymodbus's own RTU server with those probes, in a thread of its own."""
    loop = asyncio.new_event_loop()
    ready = threading.Event()
    servers: list[ModbusSerialServer] = []

    def silenced(sending: bool, data: bytes) -> bytes:
        # The server speaks for addresses that nobody has; a real bus stays silent there.
        heard = {probe.address for probe in probes if not probe.silent}
        return b"" if sending and data and data[0] not in heard else data

    async def serve() -> None:
        server = ModbusSerialServer(
            [probe.device() for probe in probes],
            port=port,
            baudrate=baud,
            ignore_missing_devices=True,
            trace_packet=silenced,
        )
        servers.append(server)
        loop.call_later(0.1, ready.set)
        await server.serve_forever()

    def run() -> None:
        asyncio.set_event_loop(loop)
        loop.run_until_complete(serve())

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    assert ready.wait(10)
    try:
        yield
    finally:
        asyncio.run_coroutine_threadsafe(servers[0].shutdown(), loop).result(10)
        thread.join(10)
        loop.close()
