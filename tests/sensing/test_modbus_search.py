"""A probe of which nobody knows the address or the registers."""

import threading
import tomllib

import pytest

from monitor.sensing import modbus_search
from monitor.sensing.modbus_search import described, search
from monitor.wires.described import BusFile
from tests.sensing.rs485 import Cable, Probe, cable, serving


def found_on(line: Cable, tried: list[tuple[int, int, int]]):
    return search(line.near, threading.Event(), lambda *what: tried.append(what))


@pytest.fixture(autouse=True)
def _hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """The peer here needs no rest."""
    monkeypatch.setattr(modbus_search, "PAUSE_S", 0.01)
    monkeypatch.setattr(modbus_search, "ANSWER_S", 0.1)


def test_address_and_registers_are_found_and_described() -> None:
    """What it says for shop.toml is read as it was meant."""
    probe = Probe(5, {0: 560, 1: 0xFF9F})
    with cable() as line, serving(line.far, probe):
        tried: list[tuple[int, int, int]] = []
        found = found_on(line, tried)
    assert found is not None
    assert (found.address, found.baud, tried) == (5, 9600, [(9600, 1, 16)])
    assert dict(found.registers)["holding"] == ((0, 560), (1, 0xFF9F))
    layout = found.layouts[0]
    assert (layout.temperature, layout.humidity, layout.times) == (1, 0, 0.1)
    text = described(found, layout).replace("NAME", "shed")
    (bus,) = tomllib.loads(text)["modbus"]
    read = BusFile.model_validate(bus)
    assert (read.port, read.probe[0].temperature, read.probe[0].address) == (line.near, 1, 5)


def test_a_probe_with_other_registers_is_found_by_its_refusal() -> None:
    """An exception reply is an answer too; that its values are elsewhere is said."""
    with cable() as line, serving(line.far, Probe(2, {300: 214, 301: 560})):
        found = found_on(line, [])
    assert found is not None
    assert (found.address, found.layouts) == (2, ())
    assert [held for _, held in found.registers] == [(), ()]


def test_a_silent_bus_and_a_babbling_one_hold_no_probe(monkeypatch: pytest.MonkeyPatch) -> None:
    """Noise is not taken for an answer; it can be stopped in the middle."""
    monkeypatch.setattr(modbus_search, "NEAR_ADDRESSES", range(1, 4))
    monkeypatch.setattr(modbus_search, "FAR_ADDRESSES", range(4, 6))
    monkeypatch.setattr(modbus_search, "BAUDS", (9600, 4800))
    with cable() as line, serving(line.far, Probe(9, {0: 1})):
        tried: list[tuple[int, int, int]] = []
        assert found_on(line, tried) is None
        assert tried == [(9600, 1, 3), (4800, 1, 3), (9600, 4, 5), (4800, 4, 5)]
        stopped = threading.Event()
        stopped.set()
        assert search(line.near, stopped, lambda *what: None) is None
    with cable() as line, serving(line.far, Probe(2, {0: 214, 1: 560})):
        line.spoil = lambda data: b"\x55" * len(data)
        assert found_on(line, []) is None
