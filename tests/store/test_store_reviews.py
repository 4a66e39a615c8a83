"""Reviews are kept as they were given."""

from datetime import timedelta

import pytest

from monitor.errors import BadInput
from monitor.records import Layup, Role
from monitor.store import Store
from tests.scenarios import at

MORNING = at("2026-05-03T08:00:00Z")


def test_reviews_are_kept_in_order(store: Store, rudder: Layup) -> None:
    """A second review leaves the first as it was, and every line comes back."""
    for hours, strength in ((6, "fair"), (0, "weak")):
        store.book.keep_review(
            rudder.id,
            None,
            MORNING + timedelta(hours=hours),
            answers=("thumbnail=dent",),
            findings=(f"cold-parked={strength}",),
            lines=("13 h below 10.0 °C.", ""),
            give_up_by=MORNING + timedelta(hours=16),
        )
    first, second = store.book.reviews(rudder.id)
    assert (first.findings, second.findings) == (("cold-parked=weak",), ("cold-parked=fair",))
    assert first.lines == ("13 h below 10.0 °C.", "")
    assert first.give_up_by == MORNING + timedelta(hours=16)
    assert store.book.reviews(rudder.id + 1) == ()


def test_a_review_is_of_its_own_layups_batch(store: Store, rudder: Layup) -> None:
    """Another part's cup is refused."""
    other = store.book.add_layup(9, "lid", rudder.sheet_id)
    batch = store.book.add_batch(other.id, "skin-a", Role.SKIN_A, rudder.sheet_id, MORNING)
    with pytest.raises(BadInput):
        store.book.keep_review(
            rudder.id, batch.id, MORNING, answers=(), findings=(), lines=(), give_up_by=MORNING
        )
