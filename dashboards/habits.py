"""What was done last time: what a form already holds when it is opened."""

from dataclasses import dataclass

from monitor.records import Batch, Layup, Role, Stay
from monitor.store import Store

_RECENT = 30
"""Parts looked back at, beside the open ones: what was done last was done on one of them."""

_ORDER = (Role.SKIN_A, Role.SKIN_B, Role.MAT_EDGE, Role.FILLET, Role.PLAIN_COAT, Role.WAX_COAT)


@dataclass(frozen=True, slots=True)
class Habits:
    """The newest of each kind of entry, over every part. None: there is none yet."""

    layup: Layup | None
    batch: Batch | None
    stay: Stay | None
    next_number: int

    @property
    def next_cup(self) -> str:
        """The number after that of the last cup."""
        last = self.batch.cup if self.batch is not None else None
        return str(int(last) + 1) if last and last.isascii() and last.isdigit() else last or ""


def habits(store: Store, sheet_id: int | None = None) -> Habits:
    """What was done last; the batch by a sheet, where one is named."""
    every = store.book.layups(open_only=False)
    layups = [part for part in every if part.ended_at is None or part.id > every[-1].id - _RECENT]
    batches = [b for part in layups for b in store.book.batches(part.id)]
    alike = [b for b in batches if sheet_id in (None, b.sheet_id)]
    stays = [s for part in layups for s in store.book.stays(part.id)]
    taken = {part.number for part in layups if part.ended_at is None}
    return Habits(
        max(layups, key=lambda part: part.id, default=None),
        max(alike, key=lambda batch: batch.id, default=None),
        max(stays, key=lambda stay: stay.id, default=None),
        next(number for number in range(1, len(taken) + 2) if number not in taken),
    )


def next_role(batches: tuple[Batch, ...]) -> Role:
    """The first in the usual order that the part has none of yet."""
    made = {batch.role for batch in batches}
    return next((role for role in _ORDER if role not in made), Role.PATCH)


def free_name(role: Role, batches: tuple[Batch, ...]) -> str:
    """`patch`, or `patch-2` where the part has one already."""
    names = {batch.name for batch in batches}
    if role.value not in names:
        return role.value
    number = next(n for n in range(2, len(names) + 3) if f"{role.value}-{n}" not in names)
    return f"{role.value}-{number}"
