"""A sensor on a serial port: read in blocks, found again when it comes back."""

import threading
from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta

import serial

from monitor.errors import PortError
from monitor.sensing.baud import BaudHunt
from monitor.sensing.framing import Framer, Reject, odd_bytes
from monitor.sensing.line_reader import Heard, LineReader
from monitor.sensing.ports import (
    PORT_TROUBLE,
    PortLister,
    identity_at,
    open_port,
    plugged_in,
    port_of,
    unplugged,
)
from monitor.sensing.sources import Deliver, Hear, SourceStatus, nobody_hears
from monitor.sensing.stamps import Clock, Stamps
from monitor.units import Unit
from monitor.wires import Columns

FIRST_WAIT_S = 0.2
LONGEST_WAIT_S = 2.0
BLOCK_BYTES = 4096
MID_STREAM = timedelta(milliseconds=100)
"""Bytes that come sooner than this after opening may be the middle of a line."""
SHORTEST_LINE = 3
"""Garbage now and then holds an ending and a letter or two, which proves nothing."""


class SerialSource:
    """One serial port, one sensor.

    `baud` None: the usual rates in turn until lines can be read. `identity` None: learnt when
    the port first opens, and shown in the status, so that it can be kept. `patient` False: a
    port that can't be opened or goes away raises PortError instead of being waited for.
    """

    def __init__(
        self,
        name: str,
        port: str,
        *,
        clock: Clock,
        unit: Unit | None = None,
        format: str | None = None,
        baud: int | None = None,
        identity: str | None = None,
        lister: PortLister = plugged_in,
        patient: bool = True,
        columns: Columns | None = None,
    ) -> None:
        self.name = name
        self._status = SourceStatus(name, port, identity=identity)
        self._clock, self._lister, self._patient = clock, lister, patient
        self._stamps = Stamps(clock)
        self._framer = Framer()
        self._reader = LineReader(unit=unit, format=format, columns=columns)
        self._hunt = BaudHunt(baud)
        self._stopping = threading.Event()
        self._guard = threading.Lock()
        self._port: serial.Serial | None = None
        self._may_be_cut: bool | None = None
        self._wait_s = FIRST_WAIT_S

    @property
    def status(self) -> SourceStatus:
        return self._status

    def stop(self) -> None:
        """End `run` at once, from any thread."""
        self._stopping.set()
        with self._guard:
            if self._port is not None:
                self._port.cancel_read()

    def run(self, deliver: Deliver, hear: Hear | None = None) -> None:
        """Read until stopped; what `deliver` raises ends it and closes the port."""
        while not self._stopping.is_set():
            try:
                self._connect()
                self._listen(deliver, hear or nobody_hears)
            except PortError as error:
                self._status = replace(self._status, connected_since=None, error=error.lines())
                if not self._patient:
                    raise
            finally:
                self._disconnect()
            if not self._stopping.wait(self._wait_s):
                self._wait_s = min(2 * self._wait_s, LONGEST_WAIT_S)

    def _connect(self) -> None:
        device = port_of(self._status.port, self._status.identity, self._lister)
        port = open_port(device, self._hunt.baud)
        with self._guard:
            self._port = port
        self._framer.reset()
        self._may_be_cut = None
        self._status = replace(
            self._status,
            port=device,
            identity=self._status.identity or identity_at(device, self._lister),
            baud=self._hunt.baud,
            connected_since=self._clock(),
            error=None,
        )

    def _disconnect(self) -> None:
        with self._guard:
            port, self._port = self._port, None
        if port is not None:
            port.close()
        if self._stopping.is_set():
            self._status = replace(self._status, connected_since=None)

    def _listen(self, deliver: Deliver, hear: Hear) -> None:
        port = self._port
        while port is not None and not self._stopping.is_set():
            data = self._block(port)
            if data and self._take(data, deliver, hear):
                self._retune(port)

    def _block(self, port: serial.Serial) -> bytes:
        try:
            # Never readline: its timeout is one byte's, so a babbling sensor holds it for ever.
            return port.read(min(BLOCK_BYTES, port.in_waiting) or 1)
        except PORT_TROUBLE as trouble:
            raise unplugged(self._status.port) from trouble

    def _retune(self, port: serial.Serial) -> None:
        try:
            port.baudrate = self._hunt.baud
        except PORT_TROUBLE as trouble:
            raise unplugged(self._status.port) from trouble
        self._framer.reset()
        self._status = replace(self._status, baud=self._hunt.baud)

    def _take(self, data: bytes, deliver: Deliver, hear: Hear) -> bool:
        """Read a block; True: the next baud rate is to be tried."""
        self._wait_s = FIRST_WAIT_S
        at = self._stamps.block()
        if self._may_be_cut is None:
            opened_at = self._status.connected_since
            self._may_be_cut = opened_at is not None and at - opened_at < MID_STREAM
        lines = self._framer.feed(data)
        heard = self._refused(at) + self._read(lines)
        self._note(lines, heard, at)
        for each in heard:
            hear(each)
            if each.reading is not None:
                deliver(each.reading)
        return self._hunt.heard(
            at,
            clean=any(len(line) > SHORTEST_LINE for line in lines),
            garbage=odd_bytes(data) > 0,
            proven=any(each.reading is not None for each in heard),
        )

    def _refused(self, at: datetime) -> list[Heard]:
        return [Heard(at, r.text, None, r.reason) for r in self._framer.take_rejects()]

    def _read(self, lines: list[str]) -> list[Heard]:
        heard: list[Heard] = []
        for line in lines:
            cut, self._may_be_cut = self._may_be_cut, False
            read = self._reader.restarted if cut else self._reader.read
            heard += read(line, self._stamps.line())
        return heard

    def _note(self, lines: list[str], heard: list[Heard], at: datetime) -> None:
        before = self._status
        refused = [each for each in heard if each.reason is not None and not each.harmless]
        last = Reject(refused[-1].reason or "", refused[-1].line) if refused else None
        rejects: Counter[str] = self._framer.rejects + self._reader.rejects
        self._status = replace(
            before,
            format=self._reader.format_name,
            unit_stated=self._reader.unit_stated,
            last_line=lines[-1] if lines else before.last_line,
            last_line_at=at if lines else before.last_line_at,
            lines=before.lines + len(lines),
            readings=before.readings + sum(each.reading is not None for each in heard),
            rejects=tuple(rejects.most_common()),
            last_reject=last or before.last_reject,
        )
