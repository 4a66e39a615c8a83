"""What shop.toml says of sensors that don't simply print lines on a port of their own."""

from monitor.wires.kinds import (
    NO_WIRES,
    Columns,
    ModbusBus,
    ModbusProbe,
    MqttBroker,
    MqttTopic,
    Wires,
    is_fed,
)

__all__ = [
    "NO_WIRES",
    "Columns",
    "ModbusBus",
    "ModbusProbe",
    "MqttBroker",
    "MqttTopic",
    "Wires",
    "is_fed",
]
