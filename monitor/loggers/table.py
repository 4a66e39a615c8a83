"""From a file's bytes to rows of cells: its encoding, its separator, where its data begin."""

import csv
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from monitor.errors import BadInput
from monitor.loggers.clock import is_date, is_time, is_whole

SEPARATORS = (";", "\t", "|", ",")
MOST_BYTES = 200_000_000
_LONGEST_LINE = 100_000


@dataclass(frozen=True, slots=True)
class Row:
    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """Data rows, their header's cells ("" where there is none), and which cells hold the time."""

    separator: str
    header: tuple[str, ...]
    rows: tuple[Row, ...]
    when: tuple[int, ...]
    passed_over: int


def text_of(path: Path) -> str:
    """The file as text: UTF-8 or UTF-16 by its first bytes, else as old Windows programs write."""
    try:
        data = path.read_bytes() if path.stat().st_size <= MOST_BYTES else b""
    except FileNotFoundError:
        raise BadInput(f"There is no file {path}.", "Check the name.") from None
    except OSError as fault:
        raise BadInput(f"{path} can't be read: {fault.strerror}.", "Check the file.") from None
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def table_of(text: str, name: str) -> Table:
    """The rows that begin with a time and hold a number, by the separator that gives most."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "").split("\n")
    tables = [_split(lines, separator) for separator in SEPARATORS]
    best = max(tables, key=lambda table: len(table.rows))
    if not best.rows:
        raise BadInput(
            f"{name} holds no readings that can be made out.",
            "Each line needs a date, a time and a temperature: export it as CSV text.",
        )
    return best


def _split(lines: list[str], separator: str) -> Table:
    every = [
        Row(count, tuple(cell.strip() for cell in cells))
        for count, line in enumerate(lines, 1)
        if line.strip()
        for cells in _cells(line, separator)
    ]
    found = [(row, when) for row in every if (when := _when(row.cells))]
    shapes = Counter((when, len(row.cells)) for row, when in found)
    if not shapes:
        return Table(separator, (), (), (), len(every))
    (when, width), _ = max(shapes.items(), key=lambda item: item[1])
    rows = tuple(row for row, place in found if place == when and len(row.cells) >= width - 1)
    header = _header(every, rows[0], width)
    return Table(separator, header, rows, when, len(every) - len(rows) - bool(header))


def _cells(line: str, separator: str) -> Iterable[Sequence[str]]:
    """A line's cells; of one that is longer than any row there is one, which is no value."""
    return [[line]] if len(line) > _LONGEST_LINE else csv.reader([line], delimiter=separator)


def _when(cells: tuple[str, ...]) -> tuple[int, ...]:
    """The cell that holds date and time, or the two that do; and there must be a cell more."""
    for place, cell in enumerate(cells[:4]):
        if is_whole(cell):
            return (place,) if len(cells) > 1 else ()
        if is_date(cell) and place + 1 < len(cells) and is_time(cells[place + 1]):
            return (place, place + 1) if len(cells) > 2 else ()
        if is_time(cell) and place + 1 < len(cells) and is_date(cells[place + 1]):
            return (place + 1, place) if len(cells) > 2 else ()
    return ()


def _header(every: list[Row], first: Row, width: int) -> tuple[str, ...]:
    """The nearest line above the data that has as many cells and isn't data itself."""
    above = [row for row in every if row.line < first.line and abs(len(row.cells) - width) <= 1]
    return above[-1].cells if above else ()
