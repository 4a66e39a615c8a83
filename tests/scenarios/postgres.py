"""A PostgreSQL server of the tests' own: no network, no fsync, gone afterwards."""

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

import pytest

DEBIAN = Path("/usr/lib/postgresql")
PORT = "54329"


def _tools() -> Path:
    """The folder of the server's programs, the newest version's."""
    for found in sorted(DEBIAN.glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))[::-1]:
        return found.parent
    found_by_name = shutil.which("initdb")
    if found_by_name is None:
        pytest.fail(
            "There is no PostgreSQL server to test with: apt-get install postgresql "
            "(.ci/test does it), then run the tests again."
        )
    return Path(found_by_name).parent


def _as_owner(*words: str | Path) -> None:
    """The server refuses to run as root."""
    owner = "postgres" if os.geteuid() == 0 else None
    done = subprocess.run(
        words, capture_output=True, text=True, check=False, cwd="/", user=owner, group=owner
    )
    if done.returncode:
        pytest.fail(f"{words[0]}: {done.stdout}{done.stderr}")


class Server:
    """One cluster in a folder; `synced`: it waits for the disk as a real one does."""

    def __init__(self, folder: Path, *, synced: bool = False) -> None:
        self._tools, self.folder = _tools(), folder
        folder.mkdir(mode=0o700)
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres")
        self._data, self._log = folder / "data", folder / "log"
        _as_owner(
            *(self._tools / "initdb", "-A", "trust", "--no-sync", "-E", "UTF8", "--locale=C"),
            *("-U", "shop", "-D", self._data),
        )
        fsync = "on" if synced else "off"
        self._options = (
            f"-p {PORT} -k {folder} -c listen_addresses= -c fsync={fsync} -c max_connections=50"
        )
        self._count = 0
        self.start()

    def start(self) -> None:
        _as_owner(
            *(self._tools / "pg_ctl", "-w", "-s", "-D", self._data, "-l", self._log),
            *("-o", self._options, "start"),
        )

    def stop(self, how: str = "fast") -> None:
        _as_owner(self._tools / "pg_ctl", "-w", "-s", "-D", self._data, "-m", how, "stop")

    def url(self, name: str) -> str:
        return f"postgresql://shop@/{name}?host={quote(str(self.folder), safe='')}&port={PORT}"

    def run(self, statement: str, database: str = "postgres") -> None:
        _as_owner(
            *(self._tools / "psql", "-q", "-h", self.folder, "-p", PORT, "-U", "shop"),
            *("-v", "ON_ERROR_STOP=1", "-d", database, "-c", statement),
        )

    def new_database(self) -> str:
        """A database of its own; its name."""
        self._count += 1
        name = f"shop_{self._count}"
        self.run(f"CREATE DATABASE {name}")
        return name


@contextmanager
def running(folder: Path, *, synced: bool = False) -> Iterator[Server]:
    server = Server(folder, synced=synced)
    try:
        yield server
    finally:
        server.stop("immediate")
