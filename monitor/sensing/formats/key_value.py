"""Values with labels in front: `T=21.4 H=56.0`, `temp: 21.4 C, humidity: 56 %`."""

import re
from collections.abc import Iterator

from monitor.sensing.labels import Labelled, gathered, meaning
from monitor.sensing.measured import NO_VALUE, LineFormat, Measured, number
from monitor.units import Unit

_PAIR = re.compile(
    rf"""
    (?P<label>[A-Za-z][\w\ ./()%°-]{{0,31}}?) \s?[:=]\s{{0,8}}
    (?P<value>[+-]?(?:\d+(?:[.,]\d+)?|\.\d+)|{NO_VALUE})
    (?:\s?(?:°\s?|deg\s?)?(?P<unit>[CF])\b|\s?%)?
    (?![0-9A-Za-z]) (?![.:,-]\d)   # not 0x13, 12:30:05, 1.2.3 or 2026-05-02
    """,
    re.VERBOSE | re.IGNORECASE | re.ASCII,
)


def parse(line: str) -> Measured | None:
    """Labels are taken loosely (see labels.py); unknown ones are passed over."""
    return gathered(_labelled(line[:256]))


def _labelled(line: str) -> Iterator[Labelled]:
    for pair in _PAIR.finditer(line):
        told = meaning(pair["label"])
        value = number(pair["value"], decimal_comma=True)
        if told is None or value is None:
            continue
        letter = (pair["unit"] or "").lower()
        unit: Unit | None = "c" if letter == "c" else "f" if letter == "f" else None
        yield Labelled(told, value, unit)


FORMAT = LineFormat("key-value", parse, proves_itself=False)
