"""What shop.toml says of buses, brokers and boards' own words."""

from pathlib import Path

import pytest

from monitor.config import read_shop
from monitor.errors import BadInput
from monitor.wires import (
    NO_WIRES,
    Columns,
    ModbusBus,
    ModbusProbe,
    MqttBroker,
    MqttTopic,
    Wires,
    is_fed,
)

FOLDER = Path("shop")
ZONE = 'time_zone = "UTC"\n'
WHOLE = """
[[columns]]
sensor = "bench"
temperature = 3
humidity = "Feuchte"
times = 0.1

[[modbus]]
port = "/dev/ttyUSB0"
baud = 4800
every_s = 30

[[modbus.probe]]
sensor = "shed"
address = 1
temperature = 1
humidity = 0

[[modbus.probe]]
sensor = "hull"
address = 7
table = "input"
surface = 2
times = 0.01

[mqtt]
host = "localhost"
user = "yard"
password = "hush"
ca_file = "ca.pem"

[[mqtt.topic]]
sensor = "boat"
topic = "boat/air"
status_topic = "boat/here"

[[mqtt.topic]]
sensor = "boat"
topic = "boat/hull"
value = "surface"
unit = "f"
"""


def wires_of(text: str) -> Wires:
    return read_shop(ZONE + text, FOLDER).wires


def problems_of(text: str) -> str:
    with pytest.raises(BadInput) as refused:
        read_shop(ZONE + text, FOLDER)
    return refused.value.remedy


def test_every_section_is_read() -> None:
    """Probes keep their bus; a column may be told by number; humidity is scaled as the rest."""
    found = wires_of(WHOLE)
    assert found.columns == (Columns("bench", "3", "Feuchte", times=0.1),)
    assert found.modbus == (
        ModbusBus(
            "/dev/ttyUSB0",
            (
                ModbusProbe("shed", 1, temperature=1, humidity=0),
                ModbusProbe("hull", 7, "input", surface=2, times=0.01, humidity_times=0.01),
            ),
            4800,
            every_s=30.0,
        ),
    )
    assert found.mqtt == MqttBroker(
        "localhost",
        (
            MqttTopic("boat", "boat/air", status_topic="boat/here"),
            MqttTopic("boat", "boat/hull", "surface", "f"),
        ),
        user="yard",
        password="hush",
        ca_file=FOLDER / "ca.pem",
    )
    assert "hush" not in repr(found)


def test_the_book_calls_each_place_by_its_wire() -> None:
    """No such place is taken for a serial port."""
    ports = dict(wires_of(WHOLE).ports())
    assert ports == {
        "shed": "rs485 /dev/ttyUSB0 address 1",
        "hull": "rs485 /dev/ttyUSB0 address 7",
        "boat": "mqtt boat/air",
    }
    assert all(is_fed(port) for port in ports.values())
    assert not is_fed("/dev/ttyUSB0")
    assert NO_WIRES.ports() == ()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("baud = 4800\n", "baud = "),
        ("address = 7", "modbus: two probes on /dev/ttyUSB0 have address 1"),
        ("temperature = 1\nhumidity = 0", "shed names no register"),
        ('sensor = "hull"', "sensor shed is described twice"),
        ('topic = "boat/hull"', "topic boat/air stands there twice"),
        ("every_s = 30", "pause_ms"),
        ('topic = "boat/air"', "without + or #"),
        ("address = 1\n", "from 1 to 247"),
        ('table = "input"', 'table = "holding"'),
        ('temperature = 3\nhumidity = "Feuchte"', "no column is named"),
    ],
)
def test_what_is_wrong_is_said_with_what_to_write(wrong: str, said: str) -> None:
    """By the key's place, whichever probe of the list it is."""
    instead = {
        "baud = 4800\n": "baud = 4\n",
        "address = 7": "address = 1",
        "temperature = 1\nhumidity = 0": "",
        'sensor = "hull"': 'sensor = "shed"',
        'topic = "boat/hull"': 'topic = "boat/air"',
        "every_s = 30": "pause_ms = 5",
        'topic = "boat/air"': 'topic = "boat/#"',
        "address = 1\n": "address = 0\n",
        'table = "input"': 'table = "coils"',
        'temperature = 3\nhumidity = "Feuchte"': "",
    }[wrong]
    assert wrong in WHOLE
    assert said in problems_of(WHOLE.replace(wrong, instead, 1))


def test_a_misspelt_key_is_named_with_its_likeness() -> None:
    """A probe's adress isn't silently passed over."""
    said = problems_of(WHOLE.replace("address = 7", "adress = 7"))
    assert "modbus.probe.adress: no such key" in said
    assert "did you mean modbus.probe.address?" in said
