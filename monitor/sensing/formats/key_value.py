"""Values with labels in front: `T=21.4 H=56.0`, `temp: 21.4 C, humidity: 56 %`."""

import re
from collections.abc import Iterator

from monitor.sensing.labels import Labelled, gathered, meaning
from monitor.sensing.measured import NO_VALUE, LineFormat, Measured, Named, number
from monitor.units import Unit

_PAIR = re.compile(
    rf"""
    (?P<label>[^\W\d_][\w\ ./()%°-]{{0,31}}?) \s?[:=]\s{{0,8}}
    (?P<value>[+-]?(?:[0-9]+(?:[.,][0-9]+)?|\.[0-9]+)|{NO_VALUE})
    (?:\s?(?:°\s?|deg\s?)?(?P<unit>[CF])\b|\s?%)?
    (?![^\W_]) (?![.:,-][0-9])   # not 0x13, 12:30:05, 1.2.3 or 2026-05-02
    """,
    re.VERBOSE | re.IGNORECASE,
)


def parse(line: str) -> Measured | None:
    """Labels are taken loosely (see labels.py); unknown ones are passed over."""
    return gathered(_labelled(line[:256]))


def values(line: str) -> Iterator[Named]:
    """Every labelled number."""
    for pair in _PAIR.finditer(line[:256]):
        value = number(pair["value"], decimal_comma=True)
        if value is not None:
            letter = (pair["unit"] or "").lower()
            unit: Unit | None = "c" if letter == "c" else "f" if letter == "f" else None
            yield Named(pair["label"].strip(), value, unit)


def _labelled(line: str) -> Iterator[Labelled]:
    for named in values(line):
        told = meaning(named.name)
        if told is not None:
            yield Labelled(told, named.value, named.unit)


FORMAT = LineFormat("key-value", parse, values, proves_itself=False)
