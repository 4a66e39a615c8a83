"""Reviews of the book: what was asked, found and said, kept as it was given."""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import select

from monitor.records import KeptReview
from monitor.store.entries import Entries, added, all_of, batch_must_be_of
from monitor.store.schema import reviews


class ReviewEntries(Entries):
    def keep_review(
        self,
        layup_id: int,
        batch_id: int | None,
        reviewed_at: datetime,
        *,
        answers: Iterable[str],
        findings: Iterable[str],
        lines: Iterable[str],
        give_up_by: datetime,
    ) -> KeptReview:
        """One more review; the earlier ones stay. Raises BadInput for another layup's batch."""
        values = {
            "layup_id": layup_id,
            "batch_id": batch_id,
            "reviewed_at": reviewed_at,
            "answers": tuple(answers),
            "findings": tuple(findings),
            "lines": tuple(lines),
            "give_up_by": give_up_by,
        }
        with self._database.writing() as connection:
            batch_must_be_of(connection, batch_id, layup_id)
            return added(connection, KeptReview, reviews, values)

    def reviews(self, layup_id: int) -> tuple[KeptReview, ...]:
        """In the order in which they were given."""
        query = (
            select(reviews)
            .where(reviews.c.layup_id == layup_id)
            .order_by(reviews.c.reviewed_at, reviews.c.id)
        )
        with self._database.reading() as connection:
            return all_of(connection, KeptReview, query)
