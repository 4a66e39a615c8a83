"""Which of a logger's columns is which, and what its cells say."""

import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

from monitor.errors import BadInput
from monitor.loggers.table import Table
from monitor.units import Unit

Quantity = Literal["temperature", "humidity", "surface"]

_WORDS: tuple[tuple[Quantity | None, str], ...] = (
    (None, r"dew|tau|rosee|rocio|rugiada|abs|index|min\b|max\b|alarm|batt"),
    ("humidity", r"hum|r\.?h\b|feucht|vocht|umid|fukt|%"),
    ("surface", r"surface|\bpart\b|probe|extern|oberfl|hull"),
    ("temperature", r"temp|celsius|fahrenheit|°|^(?:t|c|f|air)$"),
)
_NUMBER = re.compile(r"([+-]?\d*[.,]?\d+)\s*(?:°?\s*[CF]|%(?:\s*r\.?[hf]\.?)?)?", re.IGNORECASE)
NOTHING = {"", "-", "--", "---", "lo", "hi", "low", "high", "na", "n/a", "nan", "err", "ol", "open"}
"""What loggers write where they have no value: under or over their range, or no sensor."""
SURELY_CELSIUS_BELOW = 30.0
"""30 °F is frost, and nobody lays up in it; above, 30 to 45 could be either."""


@dataclass(frozen=True)
class Columns:
    """Cell number of each quantity, and the degrees its temperatures are in."""

    places: dict[Quantity, int]
    unit: Unit | None


def columns_of(table: Table, name: str) -> Columns:
    """By the header's words, in any of a few languages. Raises BadInput where it has none."""
    places: dict[Quantity, int] = {}
    units: set[Unit] = set()
    for place, label in enumerate(table.header):
        if place in table.when:
            continue
        quantity = _quantity(label)
        if quantity is None or quantity in places:
            continue
        places[quantity] = place
        if quantity != "humidity" and (unit := _unit(label)):
            units.add(unit)
    if not {"temperature", "surface"} & set(places):
        raise BadInput(
            f"{name} doesn't say which column is the temperature.",
            "Write a line of names over the readings, such as: date;temperature °C;humidity %.",
        )
    if len(units) > 1:
        raise BadInput(f"{name} mixes °C and °F.", "Export it in one of the two.")
    return Columns(places, units.pop() if units else _unit_in_cells(table, places))


def _quantity(label: str) -> Quantity | None:
    plain = unicodedata.normalize("NFKD", label.lower().replace("º", "°"))
    plain = "".join(c for c in plain if not unicodedata.combining(c)).replace("_", " ")
    return next((quantity for quantity, words in _WORDS if re.search(words, plain)), None)


def _unit(text: str) -> Unit | None:
    found = re.search(r"(?:°|º|deg\.?|\b|_)\s*([CF])\b|(celsius)|(fahrenheit)", text, re.IGNORECASE)
    if found is None:
        return None
    return "f" if found[3] or (found[1] or "").lower() == "f" else "c"


def _unit_in_cells(table: Table, places: dict[Quantity, int]) -> Unit | None:
    place = places.get("temperature", places.get("surface", 0))
    cells = table.rows[0].cells
    return _unit(cells[place]) if place < len(cells) else None


def value_of(cells: tuple[str, ...], place: int | None, where: str) -> float | None:
    """A cell as a number; None where the logger had none. Raises BadInput for anything else."""
    if place is None or place >= len(cells):
        return None
    text = cells[place].strip().strip('"')
    if text.lower() in NOTHING:
        return None
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise BadInput(
            f"{where}: {text!r} is not a number.", "Leave it empty where nothing was measured."
        )
    return float(found[1].replace(",", "."))
