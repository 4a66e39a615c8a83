"""What tests of every group may ask for."""

import tempfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
import time_machine
from hypothesis import settings

from monitor.cli import main
from monitor.config import make_shop
from monitor.store import Store
from monitor.store.schema import metadata
from tests.scenarios import at
from tests.scenarios.postgres import Server, running
from tests.scenarios.shop import ShopAtHand, open_demo_shop
from tests.scenarios.terminal import NOW, Layupwatch, Said

# How long an example takes is nothing a test asks: machines differ, and stall.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[ShopAtHand]:
    """An empty demo shop with a real database, closed afterwards."""
    at_hand = open_demo_shop(tmp_path / "shop")
    yield at_hand
    at_hand.store.close()


@pytest.fixture
def layupwatch(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Layupwatch:
    """`layupwatch("ready", "3", now=…)` in a demo shop whose zone is UTC."""
    folder = tmp_path / "shop"
    make_shop(folder, zone="UTC", demo=True)
    monkeypatch.setenv("LAYUPWATCH_SHOP", str(folder))

    def call(*arguments: object, now: str | datetime = NOW) -> Said:
        capsys.readouterr()
        moment = at(now) if isinstance(now, str) else now
        with time_machine.travel(moment, tick=False), pytest.raises(SystemExit) as ended:
            main([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        code = ended.value.code
        assert isinstance(code, int)
        return Said(code, captured.out, captured.err)

    return call


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """A PostgreSQL server of the tests' own."""
    # Its socket's path has to be short, and its folder open to the server's own user.
    with tempfile.TemporaryDirectory(prefix="lw-", dir="/tmp") as name:
        Path(name).chmod(0o755)
        with running(Path(name) / "pg") as server:
            yield server


@pytest.fixture(scope="session")
def shared_database(server: Server) -> Iterator[tuple[str, Store]]:
    """One database on it with our tables, and a store to empty it with."""
    address = server.url(server.new_database())
    with Store.on_server(address) as store:
        yield address, store


@pytest.fixture
def emptied(shared_database: tuple[str, Store]) -> str:
    """Its address, after everything in it was removed."""
    address, store = shared_database
    tables = ", ".join(f'"{name}"' for name in metadata.tables)
    with store.database.writing() as connection:
        connection.exec_driver_sql(f"TRUNCATE {tables} RESTART IDENTITY CASCADE")
    return address
