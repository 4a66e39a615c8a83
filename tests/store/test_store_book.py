from datetime import datetime, timedelta

import pytest

from monitor.errors import BadInput
from monitor.records import Batch, Channel, Layup, Mark, MarkKind, Role, Sensor
from monitor.store import Store, entry_id


def _refused(told: pytest.ExceptionInfo[BadInput]) -> str:
    """Both lines of a refusal, in one text."""
    what, remedy = told.value.lines()
    return f"{what}\n{remedy}"


def test_a_sensor_is_found_by_its_name(store: Store, shed: Sensor) -> None:
    """An unknown name is answered with the names there are, in order."""
    boat = store.book.add_sensor("boat", "/dev/ttyUSB1", "f", "xdr", "serial 12")
    assert store.book.sensor("shed") == shed
    assert store.book.sensor("boat") == boat
    assert (boat.unit, boat.format, boat.identity) == ("f", "xdr", "serial 12")
    assert store.book.sensors() == (boat, shed)
    with pytest.raises(BadInput) as told:
        store.book.sensor("attic")
    assert _refused(told).endswith("boat, shed.")


def test_the_first_sensor_is_asked_for(store: Store) -> None:
    """With no sensor at all the remedy says how to add one."""
    with pytest.raises(BadInput) as told:
        store.book.sensor("shed")
    assert "sensor add" in told.value.remedy


def test_a_sensors_name_is_its_own(store: Store, shed: Sensor) -> None:
    """A second of that name is refused with the first one's port."""
    with pytest.raises(BadInput) as told:
        store.book.add_sensor("shed", "/dev/ttyUSB7")
    assert shed.port in told.value.what
    assert store.book.sensors() == (shed,)


def test_what_is_learned_of_a_sensor_stays(store: Store, shed: Sensor) -> None:
    """Only what is given changes."""
    learned = store.book.update_sensor(shed.id, unit="c", format="xdr")
    assert (learned.unit, learned.format, learned.identity) == ("c", "xdr", None)
    moved = store.book.update_sensor(shed.id, port="/dev/ttyACM0", identity="serial 9")
    assert moved == store.book.sensor("shed")
    assert (moved.unit, moved.port, moved.identity) == ("c", "/dev/ttyACM0", "serial 9")
    assert store.book.update_sensor(shed.id) == moved
    with pytest.raises(BadInput, match="sensor-99"):
        store.book.update_sensor(99, unit="c")


def test_a_sheet_is_kept_once(store: Store, noon: datetime) -> None:
    """The same text under the same name is the same row; a change of either is another."""
    first = store.book.keep_sheet("demo", "base_c = 5", noon)
    again = store.book.keep_sheet("demo", "base_c = 5", noon + timedelta(days=1))
    edited = store.book.keep_sheet("demo", "base_c = 6", noon)
    renamed = store.book.keep_sheet("demo-2", "base_c = 5", noon)
    assert again == first
    assert len({first.id, edited.id, renamed.id}) == 3
    assert store.book.kept_sheet(edited.id) == edited
    with pytest.raises(BadInput, match="99"):
        store.book.kept_sheet(99)


def test_a_layup_comes_back_whole(store: Store, rudder: Layup, noon: datetime) -> None:
    """Every field as it was given."""
    given = store.book.add_layup(4, "hatch lid", rudder.sheet_id, "hull", True, noon)
    assert store.book.layup(4) == given
    assert (given.what, given.on, given.safety, given.added_at) == ("hatch lid", "hull", True, noon)
    assert store.book.layups() == (rudder, given)


def test_a_number_is_free_once_its_part_is_done(
    store: Store, rudder: Layup, noon: datetime
) -> None:
    """Refused while open; after the end it can be written on tape again."""
    with pytest.raises(BadInput, match="rudder cheek"):
        store.book.add_layup(3, "hatch lid", rudder.sheet_id, added_at=noon)
    ended = store.book.end_layup(3, noon + timedelta(days=2))
    assert ended.ended_at == noon + timedelta(days=2)
    assert store.book.layup(3) == ended
    lid = store.book.add_layup(3, "hatch lid", rudder.sheet_id, added_at=noon)
    assert store.book.layup(3) == lid
    assert store.book.layups() == (lid,)
    assert store.book.layups(open_only=False) == (ended, lid)


def test_the_newest_ended_answers_for_a_number(store: Store, rudder: Layup, noon: datetime) -> None:
    """With none open the last part that had the number is meant."""
    store.book.end_layup(3, noon)
    lid = store.book.add_layup(3, "hatch lid", rudder.sheet_id, added_at=noon)
    store.book.end_layup(3, noon)
    assert store.book.layup(3).id == lid.id
    with pytest.raises(BadInput, match="no open layup 3"):
        store.book.end_layup(3, noon)


def test_an_unknown_number_is_answered_with_the_open_ones(store: Store, rudder: Layup) -> None:
    """Two lines, the second with what there is."""
    with pytest.raises(BadInput) as told:
        store.book.layup(8)
    assert "8" in told.value.what
    assert told.value.remedy == f"Open ones: {rudder.number}."


def test_a_batch_comes_back_whole(store: Store, rudder: Layup, noon: datetime) -> None:
    """Weights, lengths of time and words survive the database as they were."""
    given = store.book.add_batch(
        rudder.id,
        "wax-coat",
        Role.WAX_COAT,
        rudder.sheet_id,
        noon,
        timedelta(minutes=10),
        resin_g=120.0,
        catalyst_g=2.1,
        hardener_g=None,
        scale_step_g=0.1,
        thickness_mm=0.5,
        waxed=True,
        counts_on=Channel.SURFACE,
    )
    (found,) = store.book.batches(rudder.id)
    assert found == given
    assert found.give_or_take == timedelta(minutes=10)
    assert found.role is Role.WAX_COAT
    assert found.counts_on is Channel.SURFACE
    assert (found.resin_g, found.catalyst_g, found.hardener_g) == (120.0, 2.1, None)
    assert found.waxed is True


def test_batches_stand_in_the_order_of_mixing(
    store: Store, rudder: Layup, skin_a: Batch, noon: datetime
) -> None:
    """A batch logged late takes its place; another layup's stay out."""
    earlier = store.book.add_batch(
        rudder.id, "fillet", Role.FILLET, rudder.sheet_id, noon - timedelta(hours=1)
    )
    other = store.book.add_layup(4, "hatch lid", rudder.sheet_id, added_at=noon)
    store.book.add_batch(other.id, "skin-a", Role.SKIN_A, rudder.sheet_id, noon)
    assert store.book.batches(rudder.id) == (earlier, skin_a)


def test_a_batchs_name_is_its_own_in_its_layup(
    store: Store, rudder: Layup, skin_a: Batch, noon: datetime
) -> None:
    """Refused with a name that is free and the entry to correct."""
    with pytest.raises(BadInput) as told:
        store.book.add_batch(rudder.id, "skin-a", Role.SKIN_A, rudder.sheet_id, noon)
    assert "skin-a-2" in told.value.remedy
    assert entry_id(skin_a) in told.value.remedy
    assert store.book.batches(rudder.id) == (skin_a,)


def test_marks_stand_in_the_order_they_happened(
    store: Store, rudder: Layup, skin_a: Batch, noon: datetime
) -> None:
    """Of the layup or of one batch, with the note."""
    trimmed = store.book.add_mark(
        rudder.id, skin_a.id, MarkKind.TRIMMED_CLEAN, noon + timedelta(hours=2), "good edge"
    )
    kicked = store.book.add_mark(rudder.id, None, MarkKind.KICKED, noon + timedelta(hours=1))
    assert store.book.marks(rudder.id) == (kicked, trimmed)
    assert (trimmed.kind, trimmed.note) == (MarkKind.TRIMMED_CLEAN, "good edge")
    assert isinstance(kicked, Mark)
    assert kicked.note is None


def test_another_layups_batch_is_refused(
    store: Store, rudder: Layup, skin_a: Batch, noon: datetime
) -> None:
    """A mark can't be tied to a batch of another part, nor to none that exists."""
    lid = store.book.add_layup(4, "hatch lid", rudder.sheet_id, added_at=noon)
    for batch_id in (skin_a.id, 99):
        with pytest.raises(BadInput, match=f"batch-{batch_id}"):
            store.book.add_mark(lid.id, batch_id, MarkKind.NOTE, noon)
    assert store.book.marks(lid.id) == ()


def test_a_time_without_its_offset_is_refused(store: Store, rudder: Layup, noon: datetime) -> None:
    """A mistake of the caller's, said as one; nothing is stored."""
    with pytest.raises(ValueError, match="offset"):
        store.book.add_mark(rudder.id, None, MarkKind.NOTE, noon.replace(tzinfo=None))
    assert store.book.marks(rudder.id) == ()


def test_entries_have_names(store: Store, rudder: Layup, skin_a: Batch, shed: Sensor) -> None:
    """The word of the kind and its own number."""
    assert entry_id(rudder) == f"layup-{rudder.id}"
    assert entry_id(skin_a) == f"batch-{skin_a.id}"
    assert entry_id(shed) == f"sensor-{shed.id}"
