"""Two or three bare numbers: temperature, humidity and, if there is one, the surface."""

import re
from collections.abc import Iterator

from monitor.sensing.measured import LineFormat, Measured, Named, number
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
    line = _without_time(line)
    if not line:
        return None
    if ";" in line or "\t" in line:
        return _columns(re.split(r"[;\t]", line), decimal_comma=True)
    return _columns(line.split(","), decimal_comma=False) or _columns(
        _BLANK_BEFORE_UNIT.sub("", line).split(), decimal_comma=True
    )


def values(line: str) -> Iterator[Named]:
    """Every column that holds a number, by its place: `1` is the first after a time."""
    line = _without_time(line)
    parted = ";" in line or "\t" in line
    comma = not parted and "," in line and (", " in line or " " not in line)
    texts = re.split(r"[;\t]", line) if parted else line.split("," if comma else None)
    for place, text in enumerate(texts, 1):
        bare, unit = _bare(text)
        value = number(bare, decimal_comma=not comma)
        if value is not None:
            yield Named(str(place), value, unit)


def _without_time(line: str) -> str:
    line = line.strip().rstrip(",;")[:257]
    found = _OWN_TIME.match(line)
    return "" if len(line) > 256 else line[found.end() if found else 0 :]


def _bare(text: str) -> tuple[str, Unit | None]:
    """The cell without its unit, and that unit."""
    found = _UNIT.search(text)
    if found is None:
        return text, None
    letter = (found[1] or "").upper()
    return text[: found.start()], "c" if letter == "C" else "f" if letter == "F" else None


def _columns(texts: list[str], *, decimal_comma: bool) -> Measured | None:
    if len(texts) not in _COLUMNS:
        return None
    found: list[float | None] = []
    units: list[Unit] = []
    for text in texts:
        bare, unit = _bare(text)
        units += [unit] if unit else []
        value = number(bare, decimal_comma=decimal_comma)
        if value is None and bare.strip():
            return None
        found.append(value)
    if all(value is None for value in found):
        return None
    found += [None] * (max(_COLUMNS) - len(found))
    return Measured(found[0], found[1], found[2], units[0] if units else None)


FORMAT = LineFormat("delimited", parse, values, proves_itself=False)
