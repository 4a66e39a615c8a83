"""Any answer of a probe and any message of a broker: no crash, no value that wasn't sent."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paho.mqtt.client import MQTTMessage
from pymodbus.framer import FramerRTU

from monitor.records import Reading
from monitor.sensing import modbus_line
from monitor.sensing.modbus_line import ModbusLine, NoRegisters
from monitor.sensing.mqtt_feed import MqttFeed
from monitor.wires import MqttBroker, MqttTopic

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


class Wire:
    """A port that answers every question with the same bytes."""

    port, baudrate, timeout, is_open = "wire", 1_000_000, 0.0, True

    def __init__(self, answer: bytes) -> None:
        self._answer = answer

    def open(self) -> None: ...

    def close(self) -> None: ...

    def reset_input_buffer(self) -> None: ...

    def reset_output_buffer(self) -> None: ...

    def write(self, data: bytes) -> int:
        return len(data)

    def read(self, count: int) -> bytes:
        return self._answer[:count]


@contextmanager
def answering(answer: bytes) -> Iterator[ModbusLine]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(modbus_line, "open_port", lambda *how: Wire(answer))
        yield ModbusLine("wire", 9600)


def framed(body: bytes) -> bytes:
    """With its CRC, as an independent library works it out."""
    return body + FramerRTU.compute_CRC(body).to_bytes(2, "big")


def asked(answer: bytes) -> list[int] | str:
    with answering(answer) as line:
        try:
            return line.ask(1, "holding", 0, 2)
        except NoRegisters as none:
            return none.reason


REGISTERS = st.lists(st.integers(0, 0xFFFF), min_size=2, max_size=2)


def whole(registers: list[int]) -> bytes:
    values = b"".join(value.to_bytes(2, "big") for value in registers)
    return framed(b"\x01\x03\x04" + values)


@given(REGISTERS)
def test_a_whole_answer_is_read(registers: list[int]) -> None:
    """Whatever the registers hold."""
    assert asked(whole(registers)) == registers


@given(REGISTERS, st.lists(st.integers(0, 9 * 8 - 1), min_size=1, max_size=3, unique=True))
def test_up_to_three_bits_off_are_always_seen(registers: list[int], bits: list[int]) -> None:
    """What a CRC of 16 bits with this polynomial promises for so short a frame (R. Koopman's
    tables: Hamming distance 4)."""
    spoilt = bytearray(whole(registers))
    for bit in bits:
        spoilt[bit // 8] ^= 1 << bit % 8
    assert asked(bytes(spoilt)) in {"checksum", "no-answer", "refused-register"}


@given(st.binary(max_size=40))
def test_any_bytes_are_an_answer_only_with_their_checksum(answer: bytes) -> None:
    """And then only to what was asked."""
    found = asked(answer)
    if isinstance(found, list):
        assert answer[:9] == whole(found)
    else:
        assert found in {"checksum", "no-answer", "refused-register"}


@given(st.binary(max_size=20))
def test_a_frame_of_another_probe_or_kind_is_no_answer(body: bytes) -> None:
    """Its CRC fits; what it says isn't what was asked for."""
    found = asked(framed(body))
    if isinstance(found, list):
        assert framed(body)[:9] == whole(found)


PAYLOADS = st.binary(max_size=400) | st.sampled_from(
    [b"21.4", b"nan", b"-", b'{"t":', b'{"t":1e999}', b"{}", b"9" * 200, "温度".encode(), b"\x00"]
)


@given(st.lists(st.tuples(st.sampled_from(["a", "b", "c"]), PAYLOADS, st.booleans()), max_size=30))
def test_any_messages_and_then_a_good_one(messages: list[tuple[str, bytes, bool]]) -> None:
    """A broker carries what anybody publishes; kept ones never make a reading."""
    topics = (MqttTopic("one", "a"), MqttTopic("two", "b", "temperature", "c"),
              MqttTopic("two", "c", "humidity"))  # fmt: skip
    feed = MqttFeed(MqttBroker("nowhere", topics), clock=lambda: AT)
    readings: list[tuple[str, Reading]] = []
    feed._deliver = lambda sensor, reading: readings.append((sensor, reading))
    for topic, payload, kept in messages:
        before = len(readings)
        feed._message(None, None, message(topic, payload, kept))
        assert len(readings) == before or not kept
    for topic, payload in (("a", b'{"t": 21.4}'), ("b", b"21.4")):
        feed._message(None, None, message(topic, payload, kept=False))
        assert readings[-1][1].temperature_c == 21.4


def message(topic: str, payload: bytes, kept: bool) -> MQTTMessage:
    made = MQTTMessage(topic=topic.encode())
    made.payload, made.retain = payload, kept
    return made
