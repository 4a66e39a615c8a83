"""Two or three bare numbers: temperature, humidity and, if there is one, the surface."""

import re

from monitor.sensing.measured import LineFormat, Measured, number
from monitor.units import Unit

_UNIT = re.compile(r"\s*(?:°\s*|deg\s*)?([CF])$|\s*%(?:\s*RH)?$", re.IGNORECASE)
_BLANK_BEFORE_UNIT = re.compile(r"\s+(?=°|%|[CF]\b)", re.IGNORECASE)
_OWN_TIME = re.compile(
    r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:Z|[+-]\d\d:?\d\d)?\s*[,;\t ]\s*"
)
_COLUMNS = (2, 3)


def parse(line: str) -> Measured | None:
    """`21.4,56.0`, the same with tabs, semicolons or blanks, and decimal commas where they can
    be told from the separator. A time of the board's own before them is passed over: readings
    are filed by when they arrive. A line that holds anything else is another format's.
    """
    line = line.strip().rstrip(",;")
    if found := _OWN_TIME.match(line):
        line = line[found.end() :]
    if not line or len(line) > 256:
        return None
    if ";" in line or "\t" in line:
        return _columns(re.split(r"[;\t]", line), decimal_comma=True)
    return _columns(line.split(","), decimal_comma=False) or _columns(
        _BLANK_BEFORE_UNIT.sub("", line).split(), decimal_comma=True
    )


def _columns(texts: list[str], *, decimal_comma: bool) -> Measured | None:
    if len(texts) not in _COLUMNS:
        return None
    values: list[float | None] = []
    units: list[Unit] = []
    for text in texts:
        found = _UNIT.search(text)
        if found and found[1]:
            units.append("c" if found[1].upper() == "C" else "f")
        bare = text[: found.start()] if found else text
        value = number(bare, decimal_comma=decimal_comma)
        if value is None and bare.strip():
            return None
        values.append(value)
    if all(value is None for value in values):
        return None
    values += [None] * (max(_COLUMNS) - len(values))
    return Measured(values[0], values[1], values[2], units[0] if units else None)


FORMAT = LineFormat("delimited", parse, proves_itself=False)
