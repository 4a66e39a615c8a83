"""What the service manager is told, over a real socket."""

import socket
from pathlib import Path

import pytest

from monitor.notify import Notifier, beats_every_s


@pytest.mark.parametrize("abstract", [False, True])
def test_three_words_to_the_manager(tmp_path: Path, abstract: bool) -> None:
    """By a file's path or a name of the kernel's own. Source: sd_notify(3)."""
    address = f"@layupwatch-{tmp_path.name}" if abstract else str(tmp_path / "notify")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(address.replace("@", "\0", 1))
        told = Notifier(address)
        told.ready()
        told.alive()
        told.stopping()
        assert [manager.recv(100) for _ in range(3)] == [b"READY=1", b"WATCHDOG=1", b"STOPPING=1"]


@pytest.mark.parametrize("address", [None, "", "/nowhere/at/all"])
def test_nobody_to_tell(address: str | None) -> None:
    """Nothing is said, and nothing goes wrong."""
    Notifier(address).alive()


@pytest.mark.parametrize(
    ("given", "every"),
    [("90000000", 45.0), (None, None), ("", None), ("0", None), ("soon", None), ("-5", None)],
)
def test_twice_within_its_patience(given: str | None, every: float | None) -> None:
    """As sd_watchdog_enabled(3) advises: half of WATCHDOG_USEC."""
    assert beats_every_s(given) == every
