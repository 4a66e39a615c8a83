from datetime import datetime, timedelta
from itertools import permutations

import pytest

from monitor.errors import BadInput
from monitor.records import Batch, Channel, Layup, Nearness, Sensor, Stay
from monitor.store import Store, entry_id

HOUR = timedelta(hours=1)


@pytest.fixture
def boat(store: Store) -> Sensor:
    return store.book.add_sensor("boat", "/dev/ttyUSB1")


def _stay(
    store: Store,
    layup: Layup,
    sensor: Sensor,
    since: datetime,
    until: datetime | None = None,
    *,
    batch_id: int | None = None,
    channel: Channel = Channel.AIR,
    logged_at: datetime | None = None,
) -> Stay:
    return store.book.add_stay(
        layup.id, batch_id, sensor.id, channel, Nearness.BESIDE, since, until, logged_at=logged_at
    )


def _spans(store: Store, layup: Layup, noon: datetime) -> list[tuple[int, float, float | None]]:
    """Sensor, from and to, in hours after noon."""
    return [
        (
            stay.sensor_id,
            (stay.since - noon) / HOUR,
            None if stay.until is None else (stay.until - noon) / HOUR,
        )
        for stay in store.book.stays(layup.id)
    ]


def test_a_second_stay_ends_the_first(
    store: Store, rudder: Layup, shed: Sensor, boat: Sensor, noon: datetime
) -> None:
    """A move: the first ends where the second begins, and that end is kept as a correction."""
    first = _stay(store, rudder, shed, noon)
    logged_at = noon + 5.25 * HOUR
    second = _stay(store, rudder, boat, noon + 5 * HOUR, logged_at=logged_at)
    assert second.until is None
    assert _spans(store, rudder, noon) == [(shed.id, 0, 5), (boat.id, 5, None)]
    (kept,) = store.book.corrections()
    assert (kept.entry, kept.field, kept.old_value) == (entry_id(first), "until", None)
    assert kept.new_value == "2026-05-02T17:00:00Z"
    assert kept.corrected_at == logged_at


def test_a_move_logged_late(
    store: Store, rudder: Layup, shed: Sensor, boat: Sensor, noon: datetime
) -> None:
    """An end that was later than the move becomes the move, and the old end is kept."""
    _stay(store, rudder, shed, noon, noon + 8 * HOUR)
    _stay(store, rudder, boat, noon + 5 * HOUR)
    assert _spans(store, rudder, noon) == [(shed.id, 0, 5), (boat.id, 5, None)]
    (kept,) = store.book.corrections()
    assert (kept.old_value, kept.new_value) == ("2026-05-02T20:00:00Z", "2026-05-02T17:00:00Z")


def test_an_end_before_the_move_stands(
    store: Store, rudder: Layup, shed: Sensor, boat: Sensor, noon: datetime
) -> None:
    """Nothing is changed, so nothing is written down."""
    _stay(store, rudder, shed, noon, noon + 4 * HOUR)
    _stay(store, rudder, boat, noon + 5 * HOUR)
    assert _spans(store, rudder, noon) == [(shed.id, 0, 4), (boat.id, 5, None)]
    assert store.book.corrections() == ()


def test_a_stay_before_one_that_is_logged(
    store: Store, rudder: Layup, shed: Sensor, boat: Sensor, noon: datetime
) -> None:
    """Without an end it lasts until the later one begins; the later one is untouched."""
    _stay(store, rudder, boat, noon + 5 * HOUR)
    remembered = _stay(store, rudder, shed, noon)
    assert remembered.until == noon + 5 * HOUR
    assert _spans(store, rudder, noon) == [(shed.id, 0, 5), (boat.id, 5, None)]
    assert store.book.corrections() == ()


def test_an_end_that_runs_into_a_later_stay(
    store: Store, rudder: Layup, shed: Sensor, boat: Sensor, noon: datetime
) -> None:
    """It ends there, and the end that was given is kept."""
    _stay(store, rudder, boat, noon + 5 * HOUR)
    given = _stay(store, rudder, shed, noon, noon + 9 * HOUR)
    assert given.until == noon + 5 * HOUR
    (kept,) = store.book.corrections(entry_id(given))
    assert kept.old_value == "2026-05-02T21:00:00Z"


def test_the_order_of_logging_makes_no_difference(
    store: Store, rudder: Layup, shed: Sensor, noon: datetime
) -> None:
    """Three moves, logged in any order, leave the same spans."""
    results = set()
    for number, order in enumerate(permutations((0, 3, 7)), start=10):
        layup = store.book.add_layup(number, "hatch lid", rudder.sheet_id, added_at=noon)
        for hours in order:
            _stay(store, layup, shed, noon + hours * HOUR)
        results.add(tuple(_spans(store, layup, noon)))
    assert results == {((shed.id, 0, 3), (shed.id, 3, 7), (shed.id, 7, None))}


def test_the_same_beginning_again(
    store: Store, rudder: Layup, shed: Sensor, boat: Sensor, noon: datetime
) -> None:
    """The one logged last stands; the other is kept with no length."""
    _stay(store, rudder, shed, noon)
    _stay(store, rudder, boat, noon)
    assert _spans(store, rudder, noon) == [(shed.id, 0, 0), (boat.id, 0, None)]


def test_other_channels_and_batches_may_overlap(
    store: Store, rudder: Layup, skin_a: Batch, shed: Sensor, noon: datetime
) -> None:
    """A probe in the part beside a sensor in the air, and a batch with a place of its own."""
    lid = store.book.add_layup(4, "hatch lid", rudder.sheet_id, added_at=noon)
    _stay(store, rudder, shed, noon)
    _stay(store, rudder, shed, noon + HOUR, channel=Channel.SURFACE)
    _stay(store, rudder, shed, noon + 2 * HOUR, batch_id=skin_a.id)
    _stay(store, lid, shed, noon + 3 * HOUR)
    assert [stay.until for stay in store.book.stays(rudder.id)] == [None, None, None]
    assert len(store.book.stays(lid.id)) == 1
    _stay(store, rudder, shed, noon + 4 * HOUR, batch_id=skin_a.id)
    assert [stay.until for stay in store.book.stays(rudder.id)] == [
        None,
        None,
        noon + 4 * HOUR,
        None,
    ]


def test_a_stay_has_a_length(store: Store, rudder: Layup, shed: Sensor, noon: datetime) -> None:
    """An end at or before the beginning is refused, and nothing else changes."""
    _stay(store, rudder, shed, noon)
    for until in (noon + HOUR, noon + 0.5 * HOUR):
        with pytest.raises(BadInput, match="before it begins"):
            _stay(store, rudder, shed, noon + HOUR, until)
    assert _spans(store, rudder, noon) == [(shed.id, 0, None)]


def test_another_layups_batch_has_no_stay_here(
    store: Store, rudder: Layup, skin_a: Batch, shed: Sensor, noon: datetime
) -> None:
    """A stay can't be tied to a batch of another part."""
    lid = store.book.add_layup(4, "hatch lid", rudder.sheet_id, added_at=noon)
    with pytest.raises(BadInput, match=f"batch-{skin_a.id}"):
        _stay(store, lid, shed, noon, batch_id=skin_a.id)
    assert store.book.stays(lid.id) == ()
