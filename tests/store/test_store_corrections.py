from datetime import datetime, timedelta

import pytest

from monitor.errors import BadInput
from monitor.records import Batch, Channel, Layup, MarkKind, Nearness, Role, Sensor
from monitor.store import CORRECTABLE, Store, entry_id
from monitor.store.entries import ENTRY_KINDS

LATER = timedelta(hours=3)


@pytest.mark.parametrize(
    ("field", "new_value", "old_said", "new_said"),
    [
        ("mixed_at", timedelta(minutes=-5), "2026-05-02T12:00:00Z", "2026-05-02T11:55:00Z"),
        ("give_or_take", timedelta(minutes=10), "0 s", "600 s"),
        ("resin_g", 120, None, "120"),
        ("catalyst_g", 2.4, None, "2.4"),
        ("waxed", True, "no", "yes"),
        ("counts_on", Channel.SURFACE, None, "surface"),
        ("role", Role.PATCH, "skin-a", "patch"),
        ("name", "skin-a-2", "skin-a", "skin-a-2"),
    ],
)
def test_a_batch_is_corrected(
    store: Store,
    skin_a: Batch,
    noon: datetime,
    field: str,
    new_value: object,
    old_said: str | None,
    new_said: str,
) -> None:
    """The field changes and no other; what it was is kept as text, with the time."""
    if field == "mixed_at":
        new_value = noon + timedelta(minutes=-5)
    kept = store.book.correct(entry_id(skin_a), field, new_value, noon + LATER)
    (found,) = store.book.batches(skin_a.layup_id)
    changed = {
        name for name in CORRECTABLE["batch"] if getattr(found, name) != getattr(skin_a, name)
    }
    assert changed == {field}
    assert getattr(found, field) == new_value
    assert (kept.old_value, kept.new_value) == (old_said, new_said)
    assert kept.corrected_at == noon + LATER
    assert store.book.corrections(entry_id(skin_a)) == (kept,)


def test_every_kind_of_entry_can_be_corrected(
    store: Store, rudder: Layup, skin_a: Batch, shed: Sensor, noon: datetime
) -> None:
    """A layup, a batch, a stay, a mark and a sensor; all changes are listed oldest first."""
    stay = store.book.add_stay(
        rudder.id, None, shed.id, Channel.AIR, Nearness.SAME_SPACE, noon, noon + LATER
    )
    mark = store.book.add_mark(rudder.id, skin_a.id, MarkKind.TRIMMED_SOFT, noon)
    for entry, field, value in (
        (entry_id(rudder), "what", "hatch lid"),
        (entry_id(skin_a), "thickness_mm", 2.5),
        (entry_id(stay), "nearness", Nearness.PROBE),
        (entry_id(stay), "until", None),
        (entry_id(mark), "kind", MarkKind.TRIMMED_CLEAN),
        (entry_id(mark), "batch_id", None),
        (entry_id(shed), "unit", "f"),
    ):
        store.book.correct(entry, field, value, noon)
    assert store.book.layup(3).what == "hatch lid"
    assert store.book.batches(rudder.id)[0].thickness_mm == 2.5
    assert store.book.stays(rudder.id)[0].nearness is Nearness.PROBE
    assert store.book.stays(rudder.id)[0].until is None
    assert store.book.marks(rudder.id)[0].kind is MarkKind.TRIMMED_CLEAN
    assert store.book.marks(rudder.id)[0].batch_id is None
    assert store.book.sensor("shed").unit == "f"
    assert [kept.field for kept in store.book.corrections()] == [
        "what",
        "thickness_mm",
        "nearness",
        "until",
        "kind",
        "batch_id",
        "unit",
    ]


def test_the_table_of_fields_is_whole() -> None:
    """Each kind of entry has its row, and each field but its ids of belonging can be corrected."""
    assert [kind.word for kind in ENTRY_KINDS] == list(CORRECTABLE)
    for kind in ENTRY_KINDS:
        fixed = {"id", "layup_id"}
        assert set(CORRECTABLE[kind.word]) == set(kind.table.columns.keys()) - fixed


@pytest.mark.parametrize(
    "entry",
    ["batch-99", "cup-1", "batch", "batch-", "batch-x", "-1", "", "batch-²", "batch-" + "9" * 30],
)
def test_an_unknown_entry(store: Store, skin_a: Batch, noon: datetime, entry: str) -> None:
    """The remedy lists the kinds and their fields."""
    with pytest.raises(BadInput) as told:
        store.book.correct(entry, "name", "skin-b", noon)
    assert "batch: name, role" in told.value.remedy
    assert store.book.batches(skin_a.layup_id) == (skin_a,)


@pytest.mark.parametrize("field", ["colour", "id", "layup_id"])
def test_an_unknown_field(store: Store, skin_a: Batch, noon: datetime, field: str) -> None:
    """The remedy lists the fields of that kind."""
    with pytest.raises(BadInput) as told:
        store.book.correct(entry_id(skin_a), field, 1, noon)
    assert "mixed_at, give_or_take" in told.value.remedy


@pytest.mark.parametrize(
    ("field", "value", "wanted"),
    [
        ("mixed_at", "12:00", "a time with its offset"),
        ("mixed_at", datetime(2026, 5, 2, 12), "a time with its offset"),  # noqa: DTZ001 it is refused
        ("mixed_at", None, "a time with its offset"),
        ("resin_g", True, "a number, or nothing"),
        ("resin_g", "120", "a number, or nothing"),
        ("waxed", 1, "yes or no"),
        ("give_or_take", 600, "a length of time"),
        ("role", "skin-b", "one of skin-a, skin-b"),
        ("sheet_id", 1.5, "a whole number"),
        ("sheet_id", True, "a whole number"),
    ],
)
def test_a_value_of_the_wrong_type(
    store: Store, skin_a: Batch, noon: datetime, field: str, value: object, wanted: str
) -> None:
    """The remedy says what the field takes; nothing changes."""
    with pytest.raises(BadInput) as told:
        store.book.correct(entry_id(skin_a), field, value, noon)
    assert wanted in told.value.remedy
    assert store.book.batches(skin_a.layup_id) == (skin_a,)
    assert store.book.corrections() == ()


def test_a_sensors_unit_is_c_or_f(store: Store, shed: Sensor, noon: datetime) -> None:
    """No other unit can be put in by a correction."""
    with pytest.raises(BadInput, match="'k' is no value for unit"):
        store.book.correct(entry_id(shed), "unit", "k", noon)


def test_a_value_that_clashes(
    store: Store, rudder: Layup, skin_a: Batch, shed: Sensor, noon: datetime
) -> None:
    """A name, an open number, or something that isn't there: refused, nothing written down."""
    store.book.add_sensor("boat", "/dev/ttyUSB1")
    lid = store.book.add_layup(4, "hatch lid", rudder.sheet_id, added_at=noon)
    for entry, field, value in (
        (entry_id(shed), "name", "boat"),
        (entry_id(lid), "number", 3),
        (entry_id(skin_a), "sheet_id", 99),
    ):
        with pytest.raises(BadInput, match=f"{entry} can't have {value} as its {field}"):
            store.book.correct(entry, field, value, noon)
    assert store.book.corrections() == ()


def test_an_ended_layup_is_opened_again(store: Store, rudder: Layup, noon: datetime) -> None:
    """Unless another open one has its number by now."""
    store.book.end_layup(3, noon)
    store.book.correct(entry_id(rudder), "ended_at", None, noon)
    assert store.book.layups() == (rudder,)
    store.book.end_layup(3, noon)
    store.book.add_layup(3, "hatch lid", rudder.sheet_id, added_at=noon)
    with pytest.raises(BadInput, match="ended_at"):
        store.book.correct(entry_id(rudder), "ended_at", None, noon)


def test_a_corrected_stay_still_has_a_length(
    store: Store, rudder: Layup, shed: Sensor, noon: datetime
) -> None:
    """Neither end passes the other."""
    stay = store.book.add_stay(
        rudder.id, None, shed.id, Channel.AIR, Nearness.BESIDE, noon, noon + LATER
    )
    for field, value in (("until", noon - LATER), ("since", noon + 2 * LATER)):
        with pytest.raises(BadInput, match="before it begins"):
            store.book.correct(entry_id(stay), field, value, noon)
    assert store.book.stays(rudder.id) == (stay,)


def test_a_mark_moves_to_a_batch_of_its_own_layup(
    store: Store, rudder: Layup, skin_a: Batch, noon: datetime
) -> None:
    """Another layup's batch is refused."""
    lid = store.book.add_layup(4, "hatch lid", rudder.sheet_id, added_at=noon)
    mark = store.book.add_mark(lid.id, None, MarkKind.FLIPPED, noon)
    with pytest.raises(BadInput, match=entry_id(skin_a)):
        store.book.correct(entry_id(mark), "batch_id", skin_a.id, noon)


def test_of_several_changes_all_are_made_or_none(
    store: Store, skin_a: Batch, noon: datetime
) -> None:
    """What is refused in the middle leaves the entry as it was, and nothing written down of it."""
    entry = entry_id(skin_a)
    with pytest.raises(BadInput):
        store.book.correct_all(entry, {"cup": "7", "sheet_id": 99}, noon)
    assert store.book.batches(skin_a.layup_id) == (skin_a,)
    assert store.book.corrections(entry) == ()
    made = store.book.correct_all(entry, {"cup": "7", "resin_g": 120.0}, noon)
    assert [(one.field, one.new_value) for one in made] == [("cup", "7"), ("resin_g", "120.0")]
    assert store.book.corrections(entry) == made
