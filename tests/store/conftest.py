"""A real SQLite file for each test."""

from collections.abc import Iterator
from datetime import UTC, datetime
from inspect import signature
from pathlib import Path

import pytest

from monitor.records import Batch, Layup, Role, Sensor
from monitor.store import Store


@pytest.fixture
def noon() -> datetime:
    return datetime(2026, 5, 2, 12, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "shop.db"


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Whatever uses the store runs on both engines, but for what looks at the file itself."""
    if "engine" in metafunc.fixturenames:
        engines = ["file"] if "path" in signature(metafunc.function).parameters else []
        metafunc.parametrize("engine", engines or ["file", "server"])


@pytest.fixture
def store(engine: str, request: pytest.FixtureRequest) -> Iterator[Store]:
    if engine == "file":
        with Store.open(request.getfixturevalue("path")) as store:
            yield store
        return
    with Store.on_server(request.getfixturevalue("emptied")) as store:
        yield store


@pytest.fixture
def shed(store: Store) -> Sensor:
    return store.book.add_sensor("shed", "/dev/ttyUSB0")


@pytest.fixture
def rudder(store: Store, noon: datetime) -> Layup:
    sheet = store.book.keep_sheet("demo-polyester", 'name = "Demo"', noon)
    return store.book.add_layup(3, "rudder cheek", sheet.id, added_at=noon)


@pytest.fixture
def skin_a(store: Store, rudder: Layup, noon: datetime) -> Batch:
    return store.book.add_batch(rudder.id, "skin-a", Role.SKIN_A, rudder.sheet_id, noon)
