"""Every entry can be corrected; the old value is kept."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from types import MappingProxyType

from sqlalchemy import Connection, RowMapping, Table, exc, select, update

from monitor.errors import BadInput
from monitor.records import Channel, Correction, MarkKind, Nearness, Role
from monitor.store.entries import (
    ENTRY_KINDS,
    Entries,
    EntryKind,
    added,
    batch_must_be_of,
)
from monitor.store.schema import corrections

CORRECTABLE: Mapping[str, Mapping[str, type]] = MappingProxyType(
    {
        "layup": {
            "number": int,
            "what": str,
            "sheet_id": int,
            "on": str,
            "safety": bool,
            "added_at": datetime,
            "ended_at": datetime,
            "boat": str,
            "place": str,
            "person": str,
            "laminate": str,
        },
        "batch": {
            "name": str,
            "role": Role,
            "sheet_id": int,
            "mixed_at": datetime,
            "give_or_take": timedelta,
            "resin_g": float,
            "catalyst_g": float,
            "hardener_g": float,
            "scale_step_g": float,
            "thickness_mm": float,
            "waxed": bool,
            "counts_on": Channel,
            "resin_tin": str,
            "catalyst_tin": str,
            "cup": str,
        },
        "stay": {
            "batch_id": int,
            "sensor_id": int,
            "channel": Channel,
            "nearness": Nearness,
            "since": datetime,
            "until": datetime,
        },
        "mark": {"batch_id": int, "kind": MarkKind, "at": datetime, "note": str},
        "sensor": {
            "name": str,
            "port": str,
            "unit": str,
            "format": str,
            "identity": str,
            "owner": str,
        },
    }
)
"""Kind of entry → field → the type its values have. None is taken where the field may be blank."""

_SAID = {
    int: "a whole number",
    float: "a number",
    bool: "yes or no",
    str: "text",
    datetime: "a time with its offset from UTC",
    timedelta: "a length of time",
}


_LARGEST_WHOLE = 2**31 - 1
"""A server's integers end here."""


class CorrectionEntries(Entries):
    def correct(
        self, entry: str, field: str, new_value: object, corrected_at: datetime
    ) -> Correction:
        """Change one field of an entry (`batch-7`) and keep what it was.

        Raises BadInput for an entry or field that isn't there, a value of the wrong type, and one
        that clashes with another entry.
        """
        (correction,) = self.correct_all(entry, {field: new_value}, corrected_at)
        return correction

    def correct_all(
        self, entry: str, changes: Mapping[str, object], corrected_at: datetime
    ) -> tuple[Correction, ...]:
        """Several fields of an entry: all of them, or none where one of them raises."""
        kind, id = _kind_and_id(entry)
        for field, new_value in changes.items():
            _must_fit(kind, field, new_value)
        with self._database.writing() as connection:
            return tuple(
                _changed(connection, kind, id, field, new_value, corrected_at)
                for field, new_value in changes.items()
            )

    def corrections(self, entry: str | None = None) -> tuple[Correction, ...]:
        """Those of one entry, or all, oldest first."""
        only = () if entry is None else (corrections.c.entry == entry,)
        return self._all(Correction, corrections, *only)


def _changed(
    connection: Connection,
    kind: EntryKind,
    id: int,
    field: str,
    new_value: object,
    corrected_at: datetime,
) -> Correction:
    entry = f"{kind.word}-{id}"
    query = select(kind.table).where(kind.table.c.id == id)
    row = connection.execute(query).mappings().one_or_none()
    if row is None:
        raise _unknown_entry(entry)
    _must_belong(connection, row, field, new_value)
    try:
        connection.execute(
            update(kind.table).where(kind.table.c.id == id).values({field: new_value})
        )
    except exc.IntegrityError:
        raise BadInput(
            f"{entry} can't have {_told(new_value)} as its {field}.",
            "Another entry has it already, or what it points to is not there.",
        ) from None
    return write_down(connection, entry, field, row[field], new_value, corrected_at)


def write_down(
    connection: Connection,
    entry: str,
    field: str,
    old_value: object,
    new_value: object,
    corrected_at: datetime,
) -> Correction:
    """Keep a change in the caller's transaction."""
    values = {
        "entry": entry,
        "field": field,
        "old_value": _told(old_value),
        "new_value": _told(new_value),
        "corrected_at": corrected_at,
    }
    return added(connection, Correction, corrections, values)


def _told(value: object) -> str | None:
    """A value as text: a time as ISO 8601 in UTC, a length in seconds."""
    match value:
        case None:
            return None
        case datetime():
            return value.astimezone(UTC).replace(tzinfo=None).isoformat() + "Z"
        case timedelta():
            return f"{value.total_seconds():g} s"
        case bool():
            return "yes" if value else "no"
        case _:
            return str(value)


def _kind_and_id(entry: str) -> tuple[EntryKind, int]:
    word, _, number = entry.partition("-")
    kind = next((kind for kind in ENTRY_KINDS if kind.word == word), None)
    # An id beyond the database's own integers names nothing.
    if kind is None or not (number.isascii() and number.isdigit() and len(number) < 19):
        raise _unknown_entry(entry)
    return kind, int(number)


def _unknown_entry(entry: str) -> BadInput:
    fields = "; ".join(f"{word}: {', '.join(fields)}" for word, fields in CORRECTABLE.items())
    return BadInput(
        f"There is no entry {entry}.",
        f"Name one as layup show prints it, such as batch-7. Fields: {fields}.",
    )


def _must_fit(kind: EntryKind, field: str, value: object) -> None:
    fields = CORRECTABLE[kind.word]
    if field not in fields:
        raise BadInput(
            f"A {kind.word} has no field {field} that can be corrected.",
            f"It has: {', '.join(fields)}.",
        )
    if not _is_of(kind.table, field, fields[field], value):
        raise BadInput(f"{value!r} is no value for {field}.", f"It takes {_wanted(kind, field)}.")


def _is_of(table: Table, field: str, wanted: type, value: object) -> bool:
    if value is None:
        return bool(table.c[field].nullable)
    if field == "unit":
        return value in ("c", "f")
    if isinstance(value, bool):
        return wanted is bool
    if isinstance(value, datetime) and value.tzinfo is None:
        return False
    if isinstance(value, int) and abs(value) > _LARGEST_WHOLE:
        return False
    return isinstance(value, (int, float) if wanted is float else wanted)


def _wanted(kind: EntryKind, field: str) -> str:
    wanted = CORRECTABLE[kind.word][field]
    if issubclass(wanted, StrEnum):
        said = f"one of {', '.join(wanted)}"
    else:
        said = "c or f" if field == "unit" else _SAID[wanted]
    return f"{said}, or nothing" if kind.table.c[field].nullable else said


def _must_belong(connection: Connection, row: RowMapping, field: str, value: object) -> None:
    """What only makes sense beside the entry's other fields."""
    if field == "batch_id" and isinstance(value, int):
        batch_must_be_of(connection, value, row["layup_id"])
    if field in ("since", "until"):
        span = {"since": row["since"], "until": row["until"], field: value}
        if span["until"] is not None and span["until"] < span["since"]:
            raise BadInput("That stay would end before it begins.", "Correct its other end first.")
