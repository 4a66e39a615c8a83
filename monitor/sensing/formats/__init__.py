"""The line formats, and telling which one a sensor speaks. A new one: a module, a note, a name
in FORMATS."""

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.errors import BadInput
from monitor.sensing.formats import delimited, json_line, key_value, xdr
from monitor.sensing.measured import DamagedLine, LineFormat, Measured, OthersLine, picked
from monitor.wires import Columns

FORMATS: tuple[LineFormat, ...] = (
    xdr.FORMAT,
    json_line.FORMAT,
    key_value.FORMAT,
    delimited.FORMAT,
)

LOOKED_AT = 10
"""Lines that decide."""


@dataclass(frozen=True, slots=True)
class Recognised:
    """The format, and how sure: it read `read` of the `of` lines since the first it could."""

    name: str
    read: int
    of: int


def format_named(name: str) -> LineFormat:
    """Raises BadInput for a name that no format has."""
    for line_format in FORMATS:
        if line_format.name == name:
            return line_format
    names = ", ".join(line_format.name for line_format in FORMATS)
    raise BadInput(f"No line format is called {name!r}.", f"Use one of {names}.")


def parsed(line_format: LineFormat, line: str, columns: Columns | None = None) -> Measured | None:
    """What the format makes of the line, by the columns where they are told. As its `parse`."""
    if columns is None:
        return line_format.parse(line)
    found = tuple(line_format.values(line))
    measured = picked(found, columns)
    if measured is None and found and line_format.proves_itself:
        raise OthersLine(
            "other-values",
            "The line has none of the values that shop.toml names for this sensor.",
            "That is no harm where others come; else mend the names under [[columns]].",
        )
    return measured


def reads(line_format: LineFormat, line: str, columns: Columns | None = None) -> Measured | None:
    """The same; None too for a damaged line."""
    try:
        return parsed(line_format, line, columns)
    except DamagedLine:
        return None


def recognise(lines: Sequence[str], columns: Columns | None = None) -> Recognised | None:
    """The format that reads most of the last ten lines; None: no telling yet.

    What comes before the first line a format can read is start-up chatter and doesn't count
    against it; after that it must read more than half. One line is enough for a format whose
    lines prove themselves, the others need two: a lone pair of numbers may be anything.
    """
    best: Recognised | None = None
    for line_format in FORMATS:
        read = [reads(line_format, line, columns) is not None for line in lines[-LOOKED_AT:]]
        if True not in read:
            continue
        since = read[read.index(True) :]
        found = Recognised(line_format.name, sum(since), len(since))
        enough = 1 if line_format.proves_itself else 2
        if found.read < enough or 2 * found.read <= found.of:
            continue
        if best is None or found.read > best.read:
            best = found
    return best
