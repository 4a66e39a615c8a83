"""What is plugged in, and plain words where a port can't be opened."""

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest
from serial import SerialException
from serial.tools.list_ports_common import ListPortInfo

from monitor.errors import PortError
from monitor.sensing.ports import (
    PortSeen,
    explained,
    holders_of,
    identity_at,
    identity_of,
    list_ports,
    open_port,
    port_of,
)
from monitor.sensing.simulated import SimulatedPort


def usb(device: str, serial: str | None = "0042", location: str | None = "1-1.2") -> ListPortInfo:
    info = ListPortInfo(device)
    info.vid, info.pid, info.serial_number, info.location = 0x1A2B, 0x3C4D, serial, location
    info.description = "sensor board"
    return info


IDENTITY = "usb 1a2b:3c4d serial 0042"


def test_ports_are_listed_by_name_with_who_they_are() -> None:
    """Number 2 before number 10; a built-in port has no identity."""
    built_in = ListPortInfo("/dev/ttyS0")
    seen = list_ports(lambda: [usb("/dev/ttyUSB10"), usb("/dev/ttyUSB2", None), built_in])
    assert seen == (
        PortSeen("/dev/ttyS0", "serial port", None),
        PortSeen("/dev/ttyUSB2", "sensor board", "usb 1a2b:3c4d at 1-1.2"),
        PortSeen("/dev/ttyUSB10", "sensor board", IDENTITY),
    )


def test_this_machines_ports_can_be_listed() -> None:
    """Whatever they are."""
    assert all(seen.device for seen in list_ports())


def test_an_identity_is_the_serial_number_or_else_the_socket() -> None:
    """And nothing where there is neither."""
    assert identity_of(usb("a")) == IDENTITY
    assert identity_of(usb("a", None)) == "usb 1a2b:3c4d at 1-1.2"
    assert identity_of(usb("a", None, None)) is None
    assert identity_at("a", lambda: [usb("b", "0099"), usb("a")]) == IDENTITY
    assert identity_at("c", lambda: [usb("b"), usb("a")]) is None


def test_two_that_say_the_same_of_themselves_are_told_apart_by_their_sockets() -> None:
    """Cheap boards carry one serial number for all; each is followed in its own socket only."""
    here, there = usb("a", location="1-1.2"), usb("b", location="1-1.3")
    plugged = [here, there]
    first, second = (identity_at(name, lambda: plugged) for name in "ab")
    assert first == IDENTITY + " at 1-1.2"
    assert second == IDENTITY + " at 1-1.3"
    # The host hands the names out the other way round after a start.
    here.device, there.device = "b", "a"
    assert port_of("a", first, lambda: plugged) == "b"
    assert port_of("b", second, lambda: plugged) == "a"
    # Its twin alone is not it, under whatever name.
    with pytest.raises(PortError, match="Another device"):
        port_of("a", first, lambda: [there])
    # Without a serial number the socket is all there is, and stands there once.
    assert identity_at("a", lambda: [usb("a", None), usb("b", None, "1-1.3")]) == (
        "usb 1a2b:3c4d at 1-1.2"
    )


@pytest.mark.parametrize(
    ("plugged", "found"),
    [
        ([usb("one")], "one"),
        ([usb("two")], "two"),
        ([usb("two"), usb("one", "0099")], "two"),
        ([usb("one"), usb("two")], "one"),
        ([], "one"),
        ([ListPortInfo("one")], "one"),
    ],
)
def test_a_sensor_is_followed_by_its_identity(plugged: list[ListPortInfo], found: str) -> None:
    """It was at port one."""
    assert port_of("one", IDENTITY, lambda: plugged) == found


def test_without_an_identity_the_name_is_taken() -> None:
    """There is nothing else to go by."""
    assert port_of("one", None, lambda: [usb("two")]) == "one"


@pytest.mark.parametrize(
    ("plugged", "what"),
    [([usb("one", "0099")], "Another device"), ([usb("two"), usb("three")], "2 devices look like")],
)
def test_a_stranger_and_a_twin_are_not_taken_for_the_sensor(
    plugged: list[ListPortInfo], what: str
) -> None:
    """Another board's readings in this sensor's record would be worse than none."""
    with pytest.raises(PortError, match=what):
        port_of("one", IDENTITY, lambda: plugged)


def test_a_port_that_is_not_there(tmp_path: Path) -> None:
    """Two plain lines and the exit code of the machine's own troubles."""
    with pytest.raises(PortError, match="There is no port") as refused:
        open_port(str(tmp_path / "ttyUSB9"), 9600)
    assert "layupwatch ports" in refused.value.remedy
    assert refused.value.exit_code == 3


def test_a_port_that_another_program_reads() -> None:
    """The lock is the port's own, so it holds between programs."""
    with SimulatedPort() as port, open_port(port.device, 9600):
        with pytest.raises(PortError, match="Another program is using") as refused:
            open_port(port.device, 9600)
        assert "Close it" in refused.value.remedy


def test_the_program_that_holds_a_port_is_named(tmp_path: Path) -> None:
    """By what the host knows of open files: a real one, then made up, with one out of sight."""
    with SimulatedPort() as port:
        holding = "import serial, sys; p = serial.Serial(sys.argv[1], exclusive=True); input()"
        with subprocess.Popen(
            [sys.executable, "-c", "print('up', flush=True);" + holding, port.device],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        ) as other:
            assert other.stdout is not None
            other.stdout.readline()
            while not holders_of(port.device):
                assert other.poll() is None
            name = f"python (process {other.pid})"
            assert [held[-len(name) + 6 :] for held in holders_of(port.device)] == [name[6:]]
            with pytest.raises(PortError, match=f"process {other.pid}"):
                _open_until_refused(port.device)
            other.communicate(b"\n")
    made_up = tmp_path / "4711"
    (made_up / "fd").mkdir(parents=True)
    (made_up / "fd" / "3").symlink_to("/dev/ttyUSB7")
    (made_up / "comm").write_text("terminal\n", encoding="utf-8")
    (tmp_path / "4712").mkdir()
    assert holders_of("/dev/ttyUSB7", tmp_path) == ["terminal (process 4711)"]
    assert holders_of("/dev/ttyUSB8", tmp_path) == []


def _open_until_refused(port: str) -> None:
    """The other program has the port open a moment before it has locked it."""
    for _ in range(1000):
        open_port(port, 9600).close()


def test_a_file_is_not_a_port(tmp_path: Path) -> None:
    """A wrong path is said to be one."""
    path = tmp_path / "notes.txt"
    path.write_text("21.4,56.0\n", encoding="utf-8")
    with pytest.raises(PortError, match="is not a serial port"):
        open_port(str(path), 9600)


@pytest.mark.parametrize(
    ("code", "what", "remedy"),
    [
        (errno.EACCES, "You may not open", "dialout"),
        (errno.EPERM, "You may not open", "dialout"),
        (errno.EBUSY, "Another program", "Close it"),
        (errno.ENODEV, "There is no port", "Plug the sensor in"),
        (errno.EIO, "can't be opened", "Unplug it"),
    ],
)
def test_each_trouble_has_its_words(code: int, what: str, remedy: str) -> None:
    """Told by the system's own number, not by its words."""
    error = explained("/dev/ttyUSB0", SerialException(code, os.strerror(code)))
    assert what in error.what
    assert remedy in error.remedy
