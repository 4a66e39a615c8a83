"""One watch to a shop folder: the second is told who holds it."""

import fcntl
import os
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from monitor.errors import HostError
from monitor.times import iso_utc

FILE = "watch-held-by"


@dataclass(frozen=True, slots=True)
class Hold:
    """`cut_off`: the run before this one did not end by itself."""

    cut_off: bool


@contextmanager
def held(folder: Path, now: datetime) -> Iterator[Hold]:
    """Hold a shop folder while the block runs; a killed process lets go of it too.

    Raises HostError where another process holds it, or its file can't be written.
    """
    path = folder / FILE
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    except OSError as fault:
        raise HostError(
            f"The shop folder {folder} can't be written ({fault.strerror}).",
            "Make it writable, or choose another with --shop or LAYUPWATCH_SHOP.",
        ) from None
    try:
        yield Hold(_taken(handle, folder, now))
        os.ftruncate(handle, 0)
    finally:
        os.close(handle)


def _taken(handle: int, folder: Path, now: datetime) -> bool:
    """Take it; whether somebody had left it without letting go."""
    before = os.pread(handle, 1000, 0).decode("utf-8", "replace").strip()
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise HostError(
            f"The shop {folder} is watched already, by {before or 'another process'}.",
            "Use that one's pages, or stop it first; another folder can be named with --shop.",
        ) from None
    words = f"process {os.getpid()} on {socket.gethostname()} since {iso_utc(now)}\n"
    try:
        os.ftruncate(handle, 0)
        os.pwrite(handle, words.encode(), 0)
        os.fsync(handle)
    except OSError:
        # A full disk: it is held all the same, only without words.
        return bool(before)
    return bool(before)
