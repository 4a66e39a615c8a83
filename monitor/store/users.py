"""Who has the database's file open, so that it is never exchanged under anybody's hands."""

import fcntl
import os
from collections.abc import Callable
from pathlib import Path

LOGS = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside a file: https://www.sqlite.org/tempfiles.html"""


class Users:
    """Everybody shares a lock on a file beside the database, or one holds it alone."""

    def __init__(self, path: Path) -> None:
        self._handle: int | None = None
        try:
            beside = path.with_name(f"{path.name}-users")
            self._handle = os.open(beside, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        except OSError:
            # Where no file can be made, none can be exchanged either.
            return

    def one_of_many(self, tries: int = 1, wait: Callable[[], object] = lambda: None) -> bool:
        """Share it. False where somebody holds it alone, through all the tries."""
        return self._locked(fcntl.LOCK_SH, tries, wait)

    def only_this_one(self) -> bool:
        return self._handle is not None and self._locked(fcntl.LOCK_EX, 1, lambda: None)

    def _locked(self, kind: int, tries: int, wait: Callable[[], object]) -> bool:
        if self._handle is None:
            return True
        for _ in range(tries):
            try:
                fcntl.flock(self._handle, kind | fcntl.LOCK_NB)
            except BlockingIOError:
                wait()
            else:
                return True
        return False

    def leave(self) -> None:
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None


def mended_beside(path: Path) -> Path:
    """Where a whole file waits to take the place of a damaged one."""
    return path.with_name(f"{path.name}-mended")


def finish_exchange(path: Path) -> None:
    """Put the file that waits in its place, also after a run that was cut off in the middle.

    The old file's log goes first: SQLite would play it into the new one.
    """
    mended = mended_beside(path)
    if not mended.exists():
        return
    for end in LOGS:
        path.with_name(path.name + end).unlink(missing_ok=True)
    sync_folder(path.parent)
    mended.replace(path)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Names made or changed in a folder survive a power cut from here on."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
