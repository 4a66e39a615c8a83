"""The probes on one RS-485 port, asked in turn by one thread."""

import threading
from collections import Counter
from dataclasses import replace
from datetime import datetime

from monitor.errors import PortError
from monitor.sensing.framing import Reject
from monitor.sensing.line_reader import Heard, in_celsius
from monitor.sensing.modbus_line import DAMAGED, NO_ANSWER, REFUSED, ModbusLine, NoRegisters
from monitor.sensing.modbus_probe import measured, raw_line, runs
from monitor.sensing.plausibility import Plausibility
from monitor.sensing.ports import PortLister, identity_at, plugged_in, port_of
from monitor.sensing.sources import (
    DeliverNamed,
    HearNamed,
    SourceStatus,
    nobody_hears_names,
)
from monitor.sensing.stamps import Clock, Stamps
from monitor.wires import ModbusBus, ModbusProbe

FIRST_WAIT_S = 0.2
LONGEST_WAIT_S = 2.0
TRIES = 2
"""A sander beside the cable spoils one answer, seldom two in a row."""
MISSED_ROUNDS = 3
LATE_S = 1.0
"""An answer doesn't say which registers it holds: before a probe is asked again for one of several
stretches, an answer that is late has to have come, to be thrown away."""


class ModbusFeed:
    """One bus. A probe that gives no reading leaves a gap; after three rounds its status says so.

    Between any two requests there is a pause of `bus.pause_s`, which cheap probes need.
    """

    def __init__(self, bus: ModbusBus, *, clock: Clock, lister: PortLister = plugged_in) -> None:
        self.name = bus.port
        self._bus, self._clock, self._lister = bus, clock, lister
        self._stamps = Stamps(clock)
        self._plausible = {probe.sensor: Plausibility(probe.unit) for probe in bus.probes}
        self._missed: Counter[str] = Counter()
        self._rejects: dict[str, Counter[str]] = {p.sensor: Counter() for p in bus.probes}
        self._statuses = {
            probe.sensor: SourceStatus(
                probe.sensor, bus.port, baud=bus.baud, format="modbus", unit_stated=probe.unit
            )
            for probe in bus.probes
        }
        self._identity: str | None = None
        self._stopping = threading.Event()

    @property
    def statuses(self) -> tuple[SourceStatus, ...]:
        return tuple(self._statuses.values())

    def stop(self) -> None:
        """End `run` within one answer's time, from any thread."""
        self._stopping.set()

    def run(self, deliver: DeliverNamed, hear: HearNamed | None = None) -> None:
        """Ask until stopped; a port that goes away is waited for."""
        wait_s = FIRST_WAIT_S
        while not self._stopping.is_set():
            line: ModbusLine | None = None
            try:
                line = self._connected()
                wait_s = FIRST_WAIT_S
                while not self._stopping.is_set():
                    self._round(line, deliver, hear or nobody_hears_names)
            except PortError as error:
                self._note_all(connected_since=None, error=error.lines())
            finally:
                if line is not None:
                    line.close()
            if not self._stopping.wait(wait_s):
                wait_s = min(2 * wait_s, LONGEST_WAIT_S)
        self._note_all(connected_since=None)

    def _connected(self) -> ModbusLine:
        device = port_of(self._bus.port, self._identity, self._lister)
        line = ModbusLine(device, self._bus.baud, self._bus.parity)
        self._identity = self._identity or identity_at(device, self._lister)
        self._missed.clear()
        self._note_all(
            port=device, identity=self._identity, connected_since=self._clock(), error=None
        )
        return line

    def _note_all(self, **changed: object) -> None:
        for name, status in self._statuses.items():
            self._statuses[name] = replace(status, **changed)  # type: ignore[arg-type] # by name

    def _round(self, line: ModbusLine, deliver: DeliverNamed, hear: HearNamed) -> None:
        began = self._clock()
        for probe in self._bus.probes:
            heard = self._asked(line, probe)
            if heard is None:
                return
            self._note(probe, heard)
            hear(probe.sensor, heard)
            if heard.reading is not None:
                deliver(probe.sensor, heard.reading)
        spent_s = (self._clock() - began).total_seconds()
        # The clock may have been set in between.
        self._stopping.wait(min(max(self._bus.every_s - spent_s, 0.0), self._bus.every_s))

    def _asked(self, line: ModbusLine, probe: ModbusProbe) -> Heard | None:
        """None: stopped meanwhile."""
        reason = NO_ANSWER
        for _ in range(TRIES):
            try:
                registers = self._registers(line, probe)
            except NoRegisters as none:
                reason = none.reason
                if reason == REFUSED:
                    break
                if len(runs(probe)) > 1:
                    self._stopping.wait(LATE_S)
                continue
            if registers is None:
                return None
            return self._read(probe, registers, self._stamps.block())
        if self._stopping.is_set():
            return None
        return Heard(self._stamps.block(), f"address {probe.address}", None, reason)

    def _registers(self, line: ModbusLine, probe: ModbusProbe) -> dict[int, int] | None:
        found: dict[int, int] = {}
        for first, count in runs(probe):
            if self._stopping.wait(self._bus.pause_s):
                return None
            values = line.ask(probe.address, probe.table, first, count)
            found.update(zip(range(first, first + count), values, strict=True))
        return found

    def _read(self, probe: ModbusProbe, registers: dict[int, int], at: datetime) -> Heard:
        values = measured(probe, registers)
        text = raw_line(probe, registers)
        reading = in_celsius(values, probe.unit, at, text)
        return Heard(at, text, self._plausible[probe.sensor].check(reading, probe.unit))

    def _note(self, probe: ModbusProbe, heard: Heard) -> None:
        before = self._statuses[probe.sensor]
        rejects = self._rejects[probe.sensor]
        if heard.reason is not None:
            rejects[heard.reason] += 1
            self._missed[probe.sensor] += 1
        else:
            self._missed[probe.sensor] = 0
        silent = self._missed[probe.sensor] >= MISSED_ROUNDS and heard.reason is not None
        self._statuses[probe.sensor] = replace(
            before,
            last_line=heard.line if heard.reading else before.last_line,
            last_line_at=heard.at if heard.reading else before.last_line_at,
            lines=before.lines + 1,
            readings=before.readings + (heard.reading is not None),
            rejects=tuple(rejects.most_common()),
            last_reject=Reject(heard.reason, heard.line) if heard.reason else before.last_reject,
            error=_trouble(probe, before.port, heard.reason or "") if silent else None,
        )


def _trouble(probe: ModbusProbe, port: str, reason: str) -> tuple[str, str]:
    """What is wrong with a probe, and what to do."""
    who = f"The probe at address {probe.address} on {port}"
    if reason == REFUSED:
        return (
            f"{who} doesn't have the registers that shop.toml names.",
            "Find them: plug it in alone, then `layupwatch listen PORT --rs485`. Sheets often "
            "number them one too high.",
        )
    if reason == DAMAGED:
        return (
            f"{who} answers, but its answers come damaged.",
            "Keep its cable off the sander's and the charger's, put the terminator at the far end; "
            "two probes with one address sound the same.",
        )
    return (
        f"{who} doesn't answer.",
        "Look at its supply, its address and baud rate, and try its two data wires the other way "
        "round.",
    )
