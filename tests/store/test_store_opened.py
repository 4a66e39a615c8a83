"""The open book, and the newest reading of every sensor, each in one go."""

from datetime import datetime, timedelta

from monitor.records import Channel, MarkKind, Nearness, Reading, Role, Sensor
from monitor.store import Store


def test_the_open_book_is_what_each_layup_says(store: Store, shed: Sensor, noon: datetime) -> None:
    """Only open layups, each with its own entries in the order of their own time."""
    sheet = store.book.keep_sheet("demo", "name = 'DEMO'", noon)
    parts = [store.book.add_layup(n, f"part {n}", sheet.id) for n in (1, 2, 3)]
    for part in parts:
        for i, name in enumerate(("skin-b", "skin-a")):
            batch = store.book.add_batch(
                part.id, name, Role(name), sheet.id, noon - i * timedelta(hours=1)
            )
            store.book.add_mark(part.id, batch.id, MarkKind.KICKED, noon - i * timedelta(minutes=1))
        store.book.add_stay(part.id, None, shed.id, Channel.AIR, Nearness.BESIDE, noon)
    store.book.end_layup(2, noon)
    opened = store.book.open_layups()
    assert [one.layup for one in opened] == list(store.book.layups(open_only=True))
    for one in opened:
        id = one.layup.id
        assert one.batches == store.book.batches(id)
        assert one.stays == store.book.stays(id)
        assert one.marks == store.book.marks(id)


def test_an_empty_book_is_open_on_nothing(store: Store) -> None:
    """No layups, no entries; no sensor, no reading."""
    assert store.book.open_layups() == ()
    assert store.readings.newest() == {}


def test_the_newest_of_every_sensor(store: Store, shed: Sensor, noon: datetime) -> None:
    """As each says for itself; a sensor that never spoke isn't there."""
    other = store.book.add_sensor("boat", "/dev/ttyUSB9")
    store.book.add_sensor("mute", "/dev/ttyUSB8")
    store.readings.add(
        shed.id, [Reading(noon + i * timedelta(minutes=1), 20.0, 50.0) for i in (2, 1)]
    )
    store.readings.add(other.id, [Reading(noon, 18.0, None, 17.0, raw="x")])
    newest = store.readings.newest()
    assert newest == {id: store.readings.latest(id) for id in (shed.id, other.id)}
