"""A damaged file is set aside as it was, and what can be read of it is in the one that follows."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from monitor.errors import StoreError
from monitor.records import Layup, Leave, Reading, Sensor
from monitor.store import Store
from monitor.store.engine import Database
from monitor.store.proof import prove
from monitor.store.rescue import rescue
from monitor.store.users import mended_beside

PAGE = 4096
COUNT = 20_000


@pytest.fixture
def filled(path: Path, noon: datetime) -> Path:
    """20,000 readings of two sensors, a layup, a passcode."""
    with Store.open(path) as store:
        for name in ("shed", "boat"):
            sensor = store.book.add_sensor(name, f"/dev/{name}")
            readings = [
                Reading(noon + timedelta(seconds=number), 20.0 + number % 7, 60.0, raw="x" * 40)
                for number in range(COUNT // 2)
            ]
            store.readings.add(sensor.id, readings)
        sheet = store.book.keep_sheet("demo", "x", noon)
        store.book.add_layup(3, "rudder cheek", sheet.id)
        store.door.set_passcode(Leave.WRITE, "a long passcode", noon)
    return path


def spoil(path: Path, first: float, last: float) -> bytes:
    """Noise over the pages between two parts of the file; what was there."""
    whole = path.read_bytes()
    pages = len(whole) // PAGE
    start, end = int(pages * first) * PAGE, int(pages * last) * PAGE
    path.write_bytes(whole[:start] + b"\xa5" * (end - start) + whole[end:])
    return path.read_bytes()


def mended(path: Path, backup: Path | None = None) -> tuple[Store, Path]:
    database = Database.in_file(path)
    done = rescue(database, "2026-05-02-1200", backup)
    return Store(database), done.aside


def test_around_the_damage(filled: Path, noon: datetime) -> None:
    """A tenth of the pages is noise: most readings on both sides are rescued, the book whole."""
    spoilt = spoil(filled, 0.4, 0.5)
    store, aside = mended(filled)
    assert aside.read_bytes() == spoilt
    with store:
        kept = [store.readings.count(sensor.id) for sensor in store.book.sensors()]
        assert 0.8 * COUNT < sum(kept) < COUNT
        assert [layup.what for layup in store.book.layups()] == ["rudder cheek"]
        assert store.door.given() == (Leave.WRITE,)
        assert store.problems() == ()
        for sensor in store.book.sensors():
            hours = store.readings.rollups(sensor.id, None, None, "hour")
            # Sums may hold what their readings have lost.
            assert hours.n_all.sum() >= store.readings.count(sensor.id)
            later = Reading(noon + timedelta(days=9), 20.0, 60.0)
            assert store.readings.add(sensor.id, [later]) == 1


def test_on_top_of_the_last_backup(filled: Path, tmp_path: Path) -> None:
    """What the damage took is there again from the backup; what came after it, from the file."""
    backup = tmp_path / "backup.db"
    with Store.open(filled) as store:
        store.copy_to(backup)
        shed = store.book.sensor("shed")
        store.readings.add(shed.id, [Reading(datetime.fromisoformat("2027-01-01T00Z"), 1.0, 2.0)])
    spoil(filled, 0.2, 0.9)
    store, _ = mended(filled, backup)
    with store:
        assert sum(store.readings.count(s.id) for s in store.book.sensors()) >= COUNT
        assert [layup.what for layup in store.book.layups()] == ["rudder cheek"]
        assert store.problems() == ()


def test_a_passcode_is_never_guessed_from_a_backup(filled: Path, tmp_path: Path) -> None:
    """Where the file can't be read at all, nobody is let in by what was true before."""
    backup = tmp_path / "backup.db"
    with Store.open(filled) as store:
        store.copy_to(backup)
    filled.write_bytes(b"\xa5" * 9 * PAGE)
    store, aside = mended(filled, backup)
    with store:
        assert store.door.given() == ()
        assert [layup.what for layup in store.book.layups()] == ["rudder cheek"]
    assert aside.read_bytes() == b"\xa5" * 9 * PAGE


def test_a_file_that_others_have_open_stays(filled: Path) -> None:
    """A connection that outlived the file would take the new one's log away."""
    spoil(filled, 0.4, 0.5)
    other = Database.in_file(filled)
    database = Database.in_file(filled)
    with pytest.raises(StoreError, match="in use"):
        rescue(database, "now", None)
    other.close()
    rescue(database, "now", None)
    database.close()


def test_cut_off_before_the_last_step(filled: Path, noon: datetime) -> None:
    """Whoever opens the file next finishes the exchange, and the old log is not played into it."""
    with Store.open(filled) as store:
        store.copy_to(mended_beside(filled))
        store.book.add_sensor("late", "/dev/late")
    with Store.open(filled) as store:
        assert {sensor.name for sensor in store.book.sensors()} == {"shed", "boat"}
    assert not mended_beside(filled).exists()


def test_the_proof(filled: Path, tmp_path: Path) -> None:
    """A backup is opened and read whole; a damaged one says so; nothing is written beside it."""
    backup = tmp_path / "copies" / "backup.db"
    backup.parent.mkdir()
    with Store.open(filled) as store:
        store.copy_to(backup)
    found = prove(backup)
    assert (found.readings, found.layups, found.newer, found.problems) == (COUNT, 1, False, ())
    spoil(backup, 0.4, 0.5)
    assert prove(backup).problems
    assert list(backup.parent.iterdir()) == [backup]


def test_the_same_store_goes_on(rudder: Layup, shed: Sensor, store: Store, path: Path) -> None:
    """The exchange closes nothing for good: the same store goes on with the new file."""
    rescue(store.database, "now", None)
    assert store.book.layups() == (rudder,)
    assert store.book.sensors() == (shed,)
