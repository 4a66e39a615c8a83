"""The sections of shop.toml that describe wires, checked whole."""

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from monitor.wires.kinds import (
    Columns,
    ModbusBus,
    ModbusProbe,
    MqttBroker,
    MqttTopic,
    Wires,
)

SENSOR_NAME = r"^[A-Za-z0-9][A-Za-z0-9-]{0,30}$"

_Name = Annotated[str, Field(pattern=SENSOR_NAME)]
_Register = Annotated[int, Field(ge=0, le=0xFFFF)]
_Times = Annotated[float, Field(gt=0, le=1000)]
_Text = Annotated[str, Field(min_length=1, max_length=200)]
_Topic = Annotated[str, Field(pattern=r"^[^+#\x00]{1,200}$")]


def _named(value: object) -> object:
    """A column may be told by its number."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


_Column = Annotated[str, Field(min_length=1, max_length=64), BeforeValidator(_named)]


class _Section(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid")


class ColumnsFile(_Section):
    sensor: _Name
    temperature: _Column | None = None
    humidity: _Column | None = None
    surface: _Column | None = None
    times: _Times = 1.0
    humidity_times: _Times = 1.0


class ProbeFile(_Section):
    sensor: _Name
    address: Annotated[int, Field(ge=1, le=247)]
    table: Literal["holding", "input"] = "holding"
    temperature: _Register | None = None
    humidity: _Register | None = None
    surface: _Register | None = None
    times: _Times = 0.1
    humidity_times: _Times | None = None
    unit: Literal["c", "f"] = "c"


class BusFile(_Section):
    port: _Text
    baud: Annotated[int, Field(ge=300, le=1_000_000)] = 9600
    parity: Literal["none", "even", "odd"] = "none"
    every_s: Annotated[float, Field(ge=1, le=600)] = 10.0
    pause_ms: Annotated[int, Field(ge=200, le=10_000)] = 200
    probe: Annotated[list[ProbeFile], Field(min_length=1)]


class TopicFile(_Section):
    sensor: _Name
    topic: _Topic
    value: Literal["temperature", "humidity", "surface"] | None = None
    unit: Literal["c", "f"] | None = None
    status_topic: _Topic | None = None
    gone: _Text = "offline"


class BrokerFile(_Section):
    host: _Text
    port: Annotated[int, Field(ge=1, le=65535)] = 1883
    user: _Text | None = None
    password: _Text | None = None
    ca_file: _Text | None = None
    topic: Annotated[list[TopicFile], Field(min_length=1)]


REMEDIES = {
    "columns": "write [[columns]] and its keys under it",
    "columns.sensor": 'write the sensor\'s name, such as sensor = "shed"',
    "columns.temperature": 'write a label or key, or a column\'s number, such as "tair" or 2',
    "columns.humidity": 'write a label or key, or a column\'s number, such as "rh" or 3',
    "columns.surface": 'write a label or key, or a column\'s number, such as "hull" or 4',
    "columns.times": "write what a figure is to be multiplied by, such as times = 0.1",
    "columns.humidity_times": "write it as humidity_times = 0.1",
    "modbus": "write [[modbus]], its port, and [[modbus.probe]] under it",
    "modbus.port": 'write the port, such as port = "/dev/ttyUSB0"',
    "modbus.baud": "write the probe's own rate, such as baud = 9600",
    "modbus.parity": 'write parity = "none", "even" or "odd"',
    "modbus.every_s": "write seconds from 1 to 600, such as every_s = 10",
    "modbus.pause_ms": "write milliseconds from 200 to 10000",
    "modbus.probe": "write [[modbus.probe]] once for each probe",
    "modbus.probe.sensor": 'write the sensor\'s name, such as sensor = "shed"',
    "modbus.probe.address": "write a number from 1 to 247; new probes are mostly 1",
    "modbus.probe.table": 'write table = "holding" or table = "input"',
    "modbus.probe.temperature": "write the register's number on the wire, from 0 to 65535",
    "modbus.probe.humidity": "write the register's number on the wire, from 0 to 65535",
    "modbus.probe.surface": "write the register's number on the wire, from 0 to 65535",
    "modbus.probe.times": "write what the number is to be multiplied by, such as times = 0.1",
    "modbus.probe.humidity_times": "write it as humidity_times = 0.1",
    "modbus.probe.unit": 'write unit = "c" or unit = "f"',
    "mqtt": "write [mqtt], its host, and [[mqtt.topic]] under it",
    "mqtt.host": 'write the broker\'s name or address, such as host = "localhost"',
    "mqtt.port": "write a whole number from 1 to 65535, such as port = 1883",
    "mqtt.user": 'write user = "its name there"',
    "mqtt.password": 'write password = "the word"',
    "mqtt.ca_file": 'write the file\'s path, such as ca_file = "broker-ca.pem"',
    "mqtt.topic": "write [[mqtt.topic]] once for each topic",
    "mqtt.topic.sensor": 'write the sensor\'s name, such as sensor = "shed"',
    "mqtt.topic.topic": "write one whole topic, without + or #",
    "mqtt.topic.value": 'write value = "temperature", "humidity" or "surface", or leave it out',
    "mqtt.topic.unit": 'write unit = "c" or unit = "f"',
    "mqtt.topic.status_topic": "write one whole topic, without + or #",
    "mqtt.topic.gone": 'write what the last will says, such as gone = "offline"',
}
"""What to write, by the key's place."""


def place_of(loc: tuple[int | str, ...]) -> str:
    """`modbus.probe.address`, for whichever bus and probe it is."""
    return ".".join(part for part in map(str, loc) if not re.fullmatch(r"\d+", part))


def wires(
    columns: list[ColumnsFile], modbus: list[BusFile], mqtt: BrokerFile | None, folder: Path
) -> Wires:
    """The same as plain records; files are looked for beside shop.toml."""
    return Wires(
        tuple(Columns(**one.model_dump()) for one in columns),
        tuple(_bus(one) for one in modbus),
        None if mqtt is None else _broker(mqtt, folder),
    )


def _bus(file: BusFile) -> ModbusBus:
    probes = tuple(
        ModbusProbe(
            **one.model_dump(exclude={"humidity_times"}),
            humidity_times=one.times if one.humidity_times is None else one.humidity_times,
        )
        for one in file.probe
    )
    return ModbusBus(
        file.port, probes, file.baud, file.parity, file.every_s, file.pause_ms / 1000.0
    )


def _broker(file: BrokerFile, folder: Path) -> MqttBroker:
    topics = tuple(MqttTopic(**one.model_dump()) for one in file.topic)
    ca_file = None if file.ca_file is None else folder / file.ca_file
    return MqttBroker(file.host, topics, file.port, file.user, file.password, ca_file)


def clashes(found: Wires) -> Iterator[str]:
    """What fits each key by itself and not the others."""
    for one in found.columns:
        if not one.names():
            yield f"columns: {one.sensor}: no column is named: write temperature = …"
    for sensor in _twice(one.sensor for one in found.columns):
        yield f"columns: {sensor} stands there twice: write it once"
    for bus in found.modbus:
        for address in _twice(probe.address for probe in bus.probes):
            yield (
                f"modbus: two probes on {bus.port} have address {address}: plug in one at a time "
                "and give it another, by its maker's sheet"
            )
        for probe in bus.probes:
            if probe.temperature is None and probe.surface is None and probe.humidity is None:
                yield f"modbus: {probe.sensor} names no register: write temperature = 0"
    for port in _twice(bus.port for bus in found.modbus):
        yield f"modbus: {port} stands there twice: put its probes under one [[modbus]]"
    probes = [probe.sensor for bus in found.modbus for probe in bus.probes]
    topics = {topic.sensor for topic in (found.mqtt.topics if found.mqtt else ())}
    for sensor in _twice([*probes, *topics]):
        yield f"sensor {sensor} is described twice: give each its own name"
    for topic in _twice(topic.topic for topic in (found.mqtt.topics if found.mqtt else ())):
        yield f"mqtt: topic {topic} stands there twice: write it once"


def _twice(names: "Iterator[str] | Iterator[int] | list[str]") -> list[str | int]:
    counted: Counter[str | int] = Counter(names)
    return [name for name, count in counted.items() if count > 1]
