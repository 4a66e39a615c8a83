"""Probes on a bus, topics of a broker, and where a board's own lines keep each value."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from monitor.units import Unit

RS485 = "rs485 "
MQTT = "mqtt "


@dataclass(frozen=True, slots=True)
class Columns:
    """Which value of a line is which, by its own name there; None: it doesn't give that.

    A name is a column's number (the first is 1), a label, a JSON key (`air.t` for one inside
    another), a transducer's name, or the sentence MTW or MDA for the water. `times` and
    `humidity_times` put a lost decimal point back: 0.1 for tenths.
    """

    sensor: str
    temperature: str | None = None
    humidity: str | None = None
    surface: str | None = None
    times: float = 1.0
    humidity_times: float = 1.0

    def names(self) -> tuple[str, ...]:
        given = (self.temperature, self.humidity, self.surface)
        return tuple(name for name in given if name is not None)


@dataclass(frozen=True, slots=True)
class ModbusProbe:
    """One probe on an RS-485 bus.

    Registers are numbered as on the wire, from 0, and hold signed 16-bit numbers; a number times
    `times` is the value.
    """

    sensor: str
    address: int
    table: Literal["holding", "input"] = "holding"
    temperature: int | None = None
    humidity: int | None = None
    surface: int | None = None
    times: float = 0.1
    humidity_times: float = 0.1
    unit: Unit = "c"


@dataclass(frozen=True, slots=True)
class ModbusBus:
    """One port and the probes on its two wires, asked in turn every `every_s` seconds."""

    port: str
    probes: tuple[ModbusProbe, ...]
    baud: int = 9600
    parity: Literal["none", "even", "odd"] = "none"
    every_s: float = 10.0
    pause_s: float = 0.2

    def port_of(self, probe: ModbusProbe) -> str:
        """How the book calls the place where that probe is found."""
        return f"{RS485}{self.port} address {probe.address}"


@dataclass(frozen=True, slots=True)
class MqttTopic:
    """One topic of a sensor. `value`: the message is that bare number; None: it is a JSON object,
    whose keys `columns` names, or our own usual ones.

    `status_topic` with `gone`: the message there, a last will, that says the sensor left.
    """

    sensor: str
    topic: str
    value: Literal["temperature", "humidity", "surface"] | None = None
    unit: Unit | None = None
    status_topic: str | None = None
    gone: str = "offline"

    @property
    def port(self) -> str:
        return f"{MQTT}{self.topic}"


@dataclass(frozen=True, slots=True)
class MqttBroker:
    host: str
    topics: tuple[MqttTopic, ...]
    port: int = 1883
    user: str | None = None
    password: str | None = field(default=None, repr=False)
    ca_file: Path | None = None
    """With it the link is encrypted, and the broker must prove itself to it."""


@dataclass(frozen=True, slots=True)
class Wires:
    columns: tuple[Columns, ...] = ()
    modbus: tuple[ModbusBus, ...] = ()
    mqtt: MqttBroker | None = None

    def columns_of(self, sensor: str) -> Columns | None:
        return next((one for one in self.columns if one.sensor == sensor), None)

    def ports(self) -> tuple[tuple[str, str], ...]:
        """Each sensor described here by name, and how the book calls its place."""
        probes = [(p.sensor, bus.port_of(p)) for bus in self.modbus for p in bus.probes]
        topics = [(t.sensor, t.port) for t in (self.mqtt.topics if self.mqtt else ())]
        # A sensor of several topics goes by its first one.
        return tuple(dict(reversed([*probes, *topics])).items())


NO_WIRES = Wires()


def is_fed(port: str) -> bool:
    """Whether what is found at that place is read over a bus or a broker, not a port alone."""
    return port.startswith((RS485, MQTT))
