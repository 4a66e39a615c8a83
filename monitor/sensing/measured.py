"""One line's values as they stood on the wire, and what a line format is."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from monitor.errors import BadInput
from monitor.units import Unit

NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
NO_VALUE = r"[+-]?(?:nan|inf(?:inity)?|ovf)|err(?:or)?|fail(?:ed)?|n/?a|--+"
"""What small boards print where a sensor gave no value (common practice, no source)."""

_NUMBER = re.compile(NUMBER + r"(?:e[+-]?\d{1,3})?", re.ASCII | re.IGNORECASE)
_NO_VALUE = re.compile(NO_VALUE, re.ASCII | re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Measured:
    """Values in the wire's own unit. None: the line didn't give it. nan: it gave no number."""

    temperature: float | None = None
    humidity_pct: float | None = None
    surface: float | None = None
    unit: Unit | None = None
    """The unit of both temperatures, where the line itself states it."""


class DamagedLine(BadInput):
    """A line of a known format that can't be used. `reason` is one word, for counting."""

    def __init__(self, reason: str, what: str, remedy: str) -> None:
        super().__init__(what, remedy)
        self.reason = reason


@dataclass(frozen=True, slots=True)
class LineFormat:
    """How one kind of line is read.

    `parse` gives None for a line of another kind and raises DamagedLine for one of its own kind
    that is damaged. `proves_itself`: a line cut at its front can't be taken for a whole one.
    """

    name: str
    parse: Callable[[str], Measured | None]
    proves_itself: bool


def number(text: str, *, decimal_comma: bool = False) -> float | None:
    """A value as written; nan for the words that stand for "no value"; None: not a number."""
    text = text.strip()
    if _NUMBER.fullmatch(text):
        if "," in text:
            if not decimal_comma:
                return None
            text = text.replace(",", ".")
        value = float(text)
        return value if abs(value) < 1e300 else float("nan")
    return float("nan") if _NO_VALUE.fullmatch(text) else None
