"""What the database can't take is held on the disk, and stored when it goes again."""

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from monitor.errors import StoreError
from monitor.records import Flags, Reading
from monitor.records.readings import Doubt
from monitor.store.readings import ReadingTable
from monitor.store.waiting import ClockSet, WaitingFile
from monitor.upkeep import Upkeep
from monitor.writer import Writer
from tests.scenarios.shop import ShopAtHand

NOON = datetime(2026, 5, 2, 12, tzinfo=UTC)
ODD = Reading(NOON, None, 61.5, 19.25, Flags(temperature=Doubt.SPIKE), "T=2\udcff.4 °")


def reading(minute: int) -> Reading:
    return Reading(NOON + timedelta(minutes=minute), 20.0, 50.0)


def wait_for(happened: Callable[[], object]) -> None:
    end = time.monotonic() + 30.0
    while not happened():
        assert time.monotonic() < end, "it did not happen"
        time.sleep(0.02)


def upkeep_of(shop: ShopAtHand) -> Upkeep:
    return Upkeep(shop.shop, shop.store, lambda: NOON)


@pytest.fixture
def refused(monkeypatch: pytest.MonkeyPatch) -> Callable[[bool], None]:
    """Makes the database refuse readings, or take them again."""
    add, state = ReadingTable.add, {"refuses": True}

    def perhaps(self: ReadingTable, sensor_id: int, readings: list[Reading]) -> int:
        if state["refuses"]:
            raise StoreError("The disk is full.", "Make room.")
        return add(self, sensor_id, readings)

    monkeypatch.setattr("monitor.writer.RETRY_S", 0.01)
    monkeypatch.setattr(ReadingTable, "add", perhaps)
    return lambda refuses: state.update(refuses=refuses)


def test_a_reading_comes_back_as_it_was(tmp_path: Path) -> None:
    """Values, doubts, and a line that is no text."""
    file = WaitingFile(tmp_path)
    assert file.left_over() == []
    file.add([(3, ODD)])
    file.add([(4, reading(1))])
    assert file.left_over() == [(3, ODD), (4, reading(1))]
    file.clear()
    assert file.left_over() == []


def test_a_line_cut_short_is_passed_over(tmp_path: Path) -> None:
    """A power cut in the middle of a line, bytes that rotted: the lines around them stand."""
    file = WaitingFile(tmp_path)
    file.add([(1, reading(0)), (1, reading(1))])
    whole = file.path.read_bytes()
    file.path.write_bytes(whole[:-7])
    file.add([(1, reading(2))])
    assert file.left_over() == [(1, reading(0)), (1, reading(2))]
    file.path.write_bytes(whole.replace(b"20.0", b"29.0", 1))
    assert file.left_over() == [(1, reading(1))]


def test_a_clock_set_while_waiting_moves_those_before_it(tmp_path: Path) -> None:
    """As it would have, had they been stored."""
    file = WaitingFile(tmp_path)
    by = timedelta(hours=3)
    file.add([(1, reading(0)), ClockSet(by, NOON), (1, reading(200))])
    assert [one.at for _, one in file.left_over()] == [NOON + by, NOON + timedelta(minutes=200)]


def test_what_waited_over_a_kill_is_stored_by_the_next_run(
    shop: ShopAtHand, refused: Callable[[bool], None]
) -> None:
    """The first run is never stopped, as if killed; the trouble was told and says what is kept."""
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    killed = Writer(shop.store, None, upkeep_of(shop))
    killed.start()
    for minute in range(20):
        killed.put(sensor.id, reading(minute))
    path = WaitingFile(shop.shop.folder).path
    wait_for(lambda: path.exists() and len(WaitingFile(shop.shop.folder).left_over()) == 20)
    wait_for(lambda: any("20 readings wait" in what for what, _ in shop.store.health.troubles()))
    ((what, remedy),) = shop.store.health.troubles()
    assert what.startswith("The disk is full.")
    assert "in the shop folder" in what
    assert remedy == "Make room."
    assert shop.store.readings.count(sensor.id) == 0
    refused(False)
    following = Writer(shop.store, None, upkeep_of(shop))
    following.start()
    wait_for(lambda: not path.exists())
    following.stop()
    killed.stop()
    assert shop.store.readings.count(sensor.id) == 20
    assert shop.store.health.troubles() == ()


def test_stopping_in_the_middle_of_a_fault_leaves_all_on_the_disk(
    shop: ShopAtHand, refused: Callable[[bool], None]
) -> None:
    """Nothing is lost by a stop either."""
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    writer = Writer(shop.store, None, upkeep_of(shop))
    writer.start()
    for minute in range(20):
        writer.put(sensor.id, reading(minute))
    writer.stop()
    assert len(WaitingFile(shop.shop.folder).left_over()) == 20


def test_a_full_memory_keeps_what_it_has(
    shop: ShopAtHand, refused: Callable[[bool], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bounded: what is over is lost, counted and told; the rest is stored when it goes again."""
    monkeypatch.setattr("monitor.writer.HELD_READINGS", 10)
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    writer = Writer(shop.store, None, upkeep_of(shop))
    writer.start()
    writer.put(sensor.id, reading(0))
    wait_for(lambda: writer.trouble)
    for minute in range(1, 100):
        writer.put(sensor.id, reading(minute))
    lost = writer.lost
    assert 0 < lost < 100
    wait_for(lambda: any(f"{lost} more are lost" in w for w, _ in shop.store.health.troubles()))
    refused(False)
    wait_for(lambda: shop.store.readings.count(sensor.id) == 100 - lost)
    writer.stop()


def test_a_reading_that_can_never_be_stored_holds_up_nothing(shop: ShopAtHand) -> None:
    """Of a sensor that the book doesn't have: put aside, the others go on."""
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    writer = Writer(shop.store, None, upkeep_of(shop))
    writer.put(99, reading(0))
    writer.put(sensor.id, reading(1))
    writer.start()
    writer.stop()
    assert shop.store.readings.count(sensor.id) == 1
    assert b"99" in (shop.shop.folder / "refused-readings").read_bytes()
    assert writer.lost == 0
