"""What is plugged in, who is who, and opening a port with plain words where it fails."""

import errno
import os
import termios
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import serial
from serial.tools import list_ports as usb_ports
from serial.tools.list_ports_common import ListPortInfo

from monitor.errors import PortError

PortLister = Callable[[], Iterable[ListPortInfo]]

PORT_TROUBLE = (serial.SerialException, OSError, termios.error)
"""termios.error is no OSError, and an unplugged port raises it all the same."""

READ_TIMEOUT_S = 1.0


@dataclass(frozen=True, slots=True)
class PortSeen:
    """One serial port. `identity` finds the same USB device again under another name."""

    device: str
    description: str
    identity: str | None


def plugged_in() -> Iterable[ListPortInfo]:
    """The serial ports of this machine."""
    return usb_ports.comports()


def list_ports(lister: PortLister = plugged_in) -> tuple[PortSeen, ...]:
    """The serial ports, by name."""
    return tuple(
        PortSeen(info.device, _described(info), identity_of(info)) for info in sorted(lister())
    )


def identity_of(info: ListPortInfo) -> str | None:
    """`usb 1a2b:3c4d serial 0042`; without a serial number, the socket it is plugged into."""
    if info.vid is None or info.pid is None:
        return None
    device = f"usb {info.vid:04x}:{info.pid:04x}"
    if info.serial_number:
        return f"{device} serial {info.serial_number}"
    return f"{device} at {info.location}" if info.location else None


def identity_at(port: str, lister: PortLister = plugged_in) -> str | None:
    """The identity of what is plugged in at that name; None: it has none.

    Of two that say the same of themselves, as cheap boards with one serial number for all do,
    each has its socket too.
    """
    listed = sorted(lister())
    here = next((info for info in listed if info.device == port), None)
    identity = None if here is None else identity_of(here)
    if here is None or identity is None:
        return None
    twins = sum(identity_of(info) == identity for info in listed) > 1
    return _with_socket(here, identity) if twins and here.location else identity


def _with_socket(info: ListPortInfo, identity: str) -> str:
    return identity if " at " in identity else f"{identity} at {info.location}"


def port_of(port: str, identity: str | None, lister: PortLister = plugged_in) -> str:
    """The name under which a sensor is to be opened now.

    With an identity it is followed wherever it went, and another device that took its name is
    left alone. Raises PortError where that can't be told.
    """
    if identity is None:
        return port
    listed = sorted(lister())
    same = [info.device for info in listed if _is(info, identity)]
    if port in same or not same:
        stranger = next((i for i in listed if i.device == port and identity_of(i)), None)
        if stranger and not _is(stranger, identity):
            raise PortError(
                f"Another device is plugged in at {port}.",
                "Plug the sensor in where you like; for a new one, `layupwatch sensor add` again.",
            )
        return port
    if len(same) > 1:
        raise PortError(
            f"{len(same)} devices look like the sensor that was at {port}: {', '.join(same)}.",
            "Unplug the others, or name the port again with `layupwatch sensor add`.",
        )
    return same[0]


def _is(info: ListPortInfo, identity: str) -> bool:
    own = identity_of(info)
    return own is not None and identity in (own, _with_socket(info, own))


def open_port(
    port: str, baud: int, parity: str = serial.PARITY_NONE, timeout_s: float | None = None
) -> serial.Serial:
    """The port, open for this program alone. Raises PortError."""
    waits_s = READ_TIMEOUT_S if timeout_s is None else timeout_s
    try:
        return serial.Serial(port, baud, parity=parity, timeout=waits_s, exclusive=True)
    except PORT_TROUBLE as trouble:
        raise explained(port, trouble) from trouble


def explained(port: str, trouble: BaseException) -> PortError:
    """What stands in the way of a port, and what to do, in two lines."""
    code = getattr(trouble, "errno", None)
    if code in (errno.ENOENT, errno.ENXIO, errno.ENODEV):
        return PortError(
            f"There is no port {port}.",
            "Plug the sensor in; `layupwatch ports` shows what is there.",
        )
    if code in (errno.EAGAIN, errno.EBUSY):
        held = " and ".join(holders_of(port))
        return PortError(
            f"Another program is using {port}{': ' if held else ''}{held}.",
            "Close it: a serial port can be read by one program at a time.",
        )
    if code in (errno.EACCES, errno.EPERM):
        return PortError(
            f"You may not open {port}.",
            "Add yourself to the dialout group (sudo usermod -aG dialout $USER), then log in anew.",
        )
    if "configure port" in str(trouble) or code in (errno.ENOTTY, errno.EISDIR):
        return PortError(
            f"{port} is not a serial port.", "`layupwatch ports` shows what is plugged in."
        )
    return PortError(f"{port} can't be opened: {trouble}.", "Unplug it, wait a moment, try again.")


def holders_of(port: str, proc: Path = Path("/proc")) -> list[str]:
    """Other programs that have the port open, as `name (process 123)`.

    Only those that this user may look into; empty where the host doesn't tell.
    """
    wanted = str(Path(port).resolve())
    found = []
    for process in sorted(proc.glob("[0-9]*"), key=lambda path: int(path.name)):
        if int(process.name) != os.getpid() and wanted in _opened(process):
            found.append(f"{_called(process)} (process {process.name})")
    return found


def _opened(process: Path) -> set[str]:
    try:
        return {str(descriptor.readlink()) for descriptor in (process / "fd").iterdir()}
    except OSError:
        # Not ours to look into, or gone meanwhile.
        return set()


def _called(process: Path) -> str:
    try:
        name = (process / "comm").read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        return "a program"
    return "".join(sign for sign in name if sign.isprintable()) or "a program"


def unplugged(port: str) -> PortError:
    """A port that went away while it was read."""
    return PortError(
        f"The sensor on {port} went away: unplugged, or its cable or hub failed.",
        "Plug it in again: it is found by itself, under whatever name.",
    )


def _described(info: ListPortInfo) -> str:
    words = info.description if info.description not in ("", "n/a", None) else "serial port"
    return f"{words} ({info.manufacturer})" if info.manufacturer else words
