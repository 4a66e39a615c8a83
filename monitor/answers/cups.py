"""Cups that a person timed to gel, as typed or from a file of their own."""

import csv
import math
from collections.abc import Iterator, Mapping

from monitor.errors import BadInput
from monitor.records import GelRow, Sheet
from monitor.sheets.checks import OTHER_UNIT
from monitor.sheets.keys import BY_NAME
from monitor.units import Unit, c_from_f

_TYPE = "Type degrees, % catalyst, minutes: 20,1.5,25; - for what wasn't measured, grams last."
_WRITE = (
    "Write a header line temperature_c,catalyst_pct,minutes (and cup_g if you like) and one cup "
    "a line under it."
)


def cup_typed(text: str, sheet: Sheet, unit: Unit) -> GelRow:
    """`20,1.5,25` or `20,-,25,100`: degrees in `unit`, %, minutes, grams. Raises BadInput."""
    words = [word.strip() for word in text.split(",")]
    if not 3 <= len(words) <= 4:
        raise BadInput(f"{text!r} is not a cup.", _TYPE)
    names = ("temperature", "catalyst_pct", "minutes", "cup_g")
    given = {n: w for n, w in zip(names, words, strict=False) if w not in ("", "-")}
    return _cup(given, sheet, unit, f"the cup {text!r}", _TYPE)


def cups_in_csv(text: str, sheet: Sheet, where: str) -> tuple[GelRow, ...]:
    """The cups of a file: temperature_c or temperature_f, minutes, catalyst_pct, cup_g.

    Other columns are passed over, empty lines too. Raises BadInput with the line.
    """
    try:
        return tuple(_cups(text, sheet, where))
    except csv.Error as fault:
        raise BadInput(f"{where} is no file of cups: {fault}.", _WRITE) from None


def _cups(text: str, sheet: Sheet, where: str) -> Iterator[GelRow]:
    lines = csv.reader(text.splitlines(), skipinitialspace=True)
    header = [name.strip() for name in next(lines, [])]
    unit: Unit = "f" if "temperature_f" in header and "temperature_c" not in header else "c"
    for needed in (f"temperature_{unit}", "minutes"):
        if needed not in header:
            raise BadInput(f"{where} has no column {needed}.", _WRITE)
    any_given = False
    for row in lines:
        if not any(word.strip() for word in row):
            continue
        line = f"{where}, line {lines.line_num}"
        if len(row) != len(header):
            raise BadInput(f"{line}: {len(row)} values under {len(header)} headings.", _WRITE)
        cells = {
            n: w.strip() for n, w in zip(header, row, strict=True) if w.strip() not in ("", "-")
        }
        given = {"temperature" if n == f"temperature_{unit}" else n: w for n, w in cells.items()}
        any_given = True
        yield _cup(given, sheet, unit, line, _WRITE)
    if not any_given:
        raise BadInput(f"{where} holds no cups.", _WRITE)


def _cup(given: Mapping[str, str], sheet: Sheet, unit: Unit, where: str, remedy: str) -> GelRow:
    if sheet.kind == "epoxy" and "catalyst_pct" in given:
        raise BadInput(
            f"In {where} there is a catalyst, and {sheet.name} is an epoxy.",
            "Leave it out, - in its place: epoxy has a hardener, and its ratio is fixed.",
        )
    temperature = _number(given, "temperature", where, remedy)
    minutes = _number(given, "minutes", where, remedy)
    if temperature is None or minutes is None:
        raise BadInput(f"In {where} the degrees or the minutes are missing.", remedy)
    return GelRow(
        _temperature_c(temperature, unit, where),
        _within("minutes", minutes, where),
        _optional("catalyst_pct", _number(given, "catalyst_pct", where, remedy), where),
        _optional("cup_g", _number(given, "cup_g", where, remedy), where),
    )


def _number(given: Mapping[str, str], name: str, where: str, remedy: str) -> float | None:
    if name not in given:
        return None
    try:
        value = float(given[name])
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadInput(f"In {where} {given[name]!r} is not a number.", remedy)
    return value


def _temperature_c(temperature: float, unit: Unit, where: str) -> float:
    most_c, least_f = OTHER_UNIT["gel.temperature_c"]
    if (unit == "c" and temperature > most_c) or (unit == "f" and temperature < least_f):
        other = "f" if unit == "c" else "c"
        raise BadInput(
            f"In {where} {temperature:g} °{unit.upper()} looks like °{other.upper()}.",
            f"Say so with --unit {other} for typed cups, or a heading temperature_{other} in a "
            "file.",
        )
    return _within("temperature_c", c_from_f(temperature) if unit == "f" else temperature, where)


def _optional(name: str, value: float | None, where: str) -> float | None:
    return None if value is None else _within(name, value, where)


def _within(name: str, value: float, where: str) -> float:
    """The value, inside the bounds that a sheet's own gel rows have."""
    key = BY_NAME[f"gel.{name}"]
    low, high = key.low or 0.0, key.high or math.inf
    if value < low or value > high or (key.above_zero and value <= 0.0):
        least = "above 0 and up to" if key.above_zero else f"from {low:g} to"
        raise BadInput(
            f"In {where} {value:g} can't be the {key.words}.", f"Give a figure {least} {high:g}."
        )
    return value
