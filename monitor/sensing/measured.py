"""One line's values as they stood on the wire, and what a line format is."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple

from monitor.errors import BadInput
from monitor.units import Unit
from monitor.wires import Columns

NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
NO_VALUE = r"[+-]?(?:nan|inf(?:inity)?|ovf)|err(?:or)?|fail(?:ed)?|n/?a|--+"
"""What small boards print where a sensor gave no value (common practice, no source)."""

_NUMBER = re.compile(NUMBER + r"(?:e[+-]?\d{1,3})?", re.ASCII | re.IGNORECASE)
_NO_VALUE = re.compile(NO_VALUE, re.ASCII | re.IGNORECASE)

Quantity = Literal["temperature", "humidity", "surface"]


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


class OthersLine(DamagedLine):
    """A whole line of a known format that is about something else: no harm, and not counted."""


class Named(NamedTuple):
    """One value under its own name. `quantity` None: anything, as the name says."""

    name: str
    value: float
    unit: Unit | None = None
    quantity: Quantity | None = None


@dataclass(frozen=True, slots=True)
class LineFormat:
    """How one kind of line is read.

    `parse` gives None for a line of another kind and raises DamagedLine for one of its own kind
    that is damaged. `values` gives every value of such a line by name, for a sensor whose names
    somebody wrote down. `proves_itself`: a line cut at its front can't be taken for a whole one.
    """

    name: str
    parse: Callable[[str], Measured | None]
    values: Callable[[str], Iterable[Named]]
    proves_itself: bool


def picked(values: Iterable[Named], columns: Columns) -> Measured | None:
    """What the columns name, scaled; None where the line has none of it."""
    found = tuple(values)
    air = _under(found, columns.temperature, "temperature")
    humidity = _under(found, columns.humidity, "humidity")
    surface = _under(found, columns.surface, "surface")
    if air is None and humidity is None and surface is None:
        return None
    units = [named.unit for named in (air, surface) if named is not None and named.unit]
    if len(set(units)) > 1:
        raise DamagedLine(
            "two-units", "The line gives °C and °F at once.", "Send both temperatures in °C."
        )
    return Measured(
        None if air is None else air.value * columns.times,
        None if humidity is None else humidity.value * columns.humidity_times,
        None if surface is None else surface.value * columns.times,
        units[0] if units else None,
    )


def _under(values: tuple[Named, ...], name: str | None, quantity: Quantity) -> Named | None:
    if name is None:
        return None
    wanted = name.strip().casefold()
    return next(
        (
            named
            for named in values
            if named.name.casefold() == wanted and _fits(named.quantity, quantity)
        ),
        None,
    )


def _fits(told: Quantity | None, wanted: Quantity) -> bool:
    """A temperature may be the surface's; a humidity is never a temperature."""
    return told is None or (told == "humidity") == (wanted == "humidity")


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
