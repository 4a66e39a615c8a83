"""Layups of the book, the sheets they are judged by, and their batches."""

from dataclasses import asdict
from datetime import datetime, timedelta

from sqlalchemy import Connection, select, update

from monitor.errors import BadInput
from monitor.records import NO_PARTICULARS, Batch, Channel, KeptSheet, Layup, Particulars, Role
from monitor.store.entries import Entries, added, all_of, first_of
from monitor.store.schema import batches, kept_sheets, layups


class SheetEntries(Entries):
    def keep_sheet(self, stem: str, text: str, kept_at: datetime) -> KeptSheet:
        """Keep a sheet's file as it stands; the same text under the same name is kept once."""
        same = select(kept_sheets).where(kept_sheets.c.stem == stem, kept_sheets.c.text == text)
        values = {"stem": stem, "text": text, "kept_at": kept_at}
        with self._database.writing() as connection:
            return first_of(connection, KeptSheet, same) or added(
                connection, KeptSheet, kept_sheets, values
            )

    def kept_sheet(self, id: int) -> KeptSheet:
        """Raises BadInput where there is none."""
        query = select(kept_sheets).where(kept_sheets.c.id == id)
        with self._database.reading() as connection:
            found = first_of(connection, KeptSheet, query)
        if found is None:
            raise BadInput(f"No sheet was kept as number {id}.", "Name the layup's sheet again.")
        return found


class LayupEntries(Entries):
    def add_layup(
        self,
        number: int,
        what: str,
        sheet_id: int,
        on: str | None = None,
        safety: bool = False,
        added_at: datetime | None = None,
        particulars: Particulars = NO_PARTICULARS,
    ) -> Layup:
        """A new part. Raises BadInput where an open one has that number."""
        values = {
            "number": number,
            "what": what,
            "sheet_id": sheet_id,
            "on": on,
            "safety": safety,
            "added_at": added_at,
            **asdict(particulars),
        }
        with self._database.writing() as connection:
            taken = _open_layup(connection, number)
            if taken is not None:
                raise BadInput(
                    f"Layup {number} is open already: {taken.what}.",
                    f"Write another number on the tape, or end that one: layup end {number}.",
                )
            return added(connection, Layup, layups, values)

    def layup(self, number: int) -> Layup:
        """The open one with that number, else the newest ended. Raises BadInput for none."""
        newest = select(layups).where(layups.c.number == number).order_by(layups.c.id.desc())
        with self._database.reading() as connection:
            found = _open_layup(connection, number) or first_of(connection, Layup, newest)
            if found is None:
                raise _unknown(connection, number)
            return found

    def layups(self, open_only: bool = True) -> tuple[Layup, ...]:
        """In the order in which they were added."""
        return self._all(Layup, layups, *((layups.c.ended_at.is_(None),) if open_only else ()))

    def end_layup(self, number: int, ended_at: datetime) -> Layup:
        """Close the open one with that number, which frees the number. Raises BadInput for none."""
        with self._database.writing() as connection:
            found = _open_layup(connection, number)
            if found is None:
                raise _unknown(connection, number)
            which = layups.c.id == found.id
            ended = update(layups).where(which).values(ended_at=ended_at)
            row = connection.execute(ended.returning(*layups.columns))
            return Layup(**row.mappings().one())


class BatchEntries(Entries):
    def add_batch(
        self,
        layup_id: int,
        name: str,
        role: Role,
        sheet_id: int,
        mixed_at: datetime,
        give_or_take: timedelta = timedelta(0),
        *,
        resin_g: float | None = None,
        catalyst_g: float | None = None,
        hardener_g: float | None = None,
        scale_step_g: float | None = None,
        thickness_mm: float | None = None,
        waxed: bool = False,
        counts_on: Channel | None = None,
        resin_tin: str | None = None,
        catalyst_tin: str | None = None,
        cup: str | None = None,
    ) -> Batch:
        """A new cup of mix. Raises BadInput where the layup has a batch of that name."""
        values = {
            "layup_id": layup_id,
            "name": name,
            "role": role,
            "sheet_id": sheet_id,
            "mixed_at": mixed_at,
            "give_or_take": give_or_take,
            "resin_g": resin_g,
            "catalyst_g": catalyst_g,
            "hardener_g": hardener_g,
            "scale_step_g": scale_step_g,
            "thickness_mm": thickness_mm,
            "waxed": waxed,
            "counts_on": counts_on,
            "resin_tin": resin_tin,
            "catalyst_tin": catalyst_tin,
            "cup": cup,
        }
        same = select(batches).where(batches.c.layup_id == layup_id, batches.c.name == name)
        with self._database.writing() as connection:
            taken = first_of(connection, Batch, same)
            if taken is not None:
                raise BadInput(
                    f"This layup has a batch called {name} already.",
                    f"Call this one {name}-2 or the next free number, or correct batch-{taken.id}.",
                )
            return added(connection, Batch, batches, values)

    def batches(self, layup_id: int) -> tuple[Batch, ...]:
        """In the order in which they were mixed."""
        query = (
            select(batches)
            .where(batches.c.layup_id == layup_id)
            .order_by(batches.c.mixed_at, batches.c.id)
        )
        with self._database.reading() as connection:
            return all_of(connection, Batch, query)


def _open_layup(connection: Connection, number: int) -> Layup | None:
    query = select(layups).where(layups.c.number == number, layups.c.ended_at.is_(None))
    return first_of(connection, Layup, query)


def _unknown(connection: Connection, number: int) -> BadInput:
    query = select(layups).where(layups.c.ended_at.is_(None)).order_by(layups.c.number)
    numbers = ", ".join(str(layup.number) for layup in all_of(connection, Layup, query))
    return BadInput(
        f"There is no open layup {number}.",
        f"Open ones: {numbers}." if numbers else 'Begin one: layup add NUMBER "WHAT" --sheet S.',
    )
