"""One JSON object a line: `{"temperature": 21.4, "humidity": 56.0}`."""

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from monitor.sensing.labels import Labelled, gathered, meaning
from monitor.sensing.measured import DamagedLine, LineFormat, Measured, Named, number
from monitor.units import Unit

_BARE_WORD = re.compile(r"(:\s*)[+-]?(?:nan|inf(?:inity)?|ovf)(?=\s*[,}])", re.IGNORECASE)
_REMEDY = "One now and then is noise; if it goes on, check the cable and the sketch's quotes."


def parse(line: str) -> Measured | None:
    """Keys are taken loosely (see labels.py), `unit` may be C or F, null is "not given"."""
    keys = _object(line)
    if keys is None:
        return None
    measured = gathered(_labelled(keys))
    if measured is None:
        raise DamagedLine(
            "no-values",
            "The line has neither a temperature nor a humidity.",
            "Name them temperature and humidity: see the json-line note.",
        )
    return measured


def _object(line: str) -> Mapping[str, Any] | None:
    line = line.strip()
    if not line.startswith("{"):
        return None
    try:
        # Boards print a failed value as a bare nan, which JSON doesn't have.
        found: Mapping[str, Any] = json.loads(_BARE_WORD.sub(r"\1NaN", line), parse_int=float)
    except (ValueError, RecursionError):
        raise DamagedLine("damaged", "The line is cut or broken JSON.", _REMEDY) from None
    return found


def values(line: str) -> Iterator[Named]:
    """Every number, one inside another object under `outer.inner`."""
    keys = _object(line)
    if keys is not None:
        yield from _under("", keys, _unit(keys))


def _under(path: str, keys: Mapping[str, Any], unit: Unit | None) -> Iterator[Named]:
    for key, given in keys.items():
        if isinstance(given, Mapping):
            yield from _under(f"{path}{key}.", given, _unit(given) or unit)
        elif isinstance(given, float | str):
            value = number(str(given))
            if value is not None:
                yield Named(f"{path}{key}", value, unit)


def _labelled(keys: Mapping[str, object]) -> Iterator[Labelled]:
    unit = _unit(keys)
    for key, given in keys.items():
        told = meaning(key)
        if told is None or isinstance(given, bool):
            continue
        value = number(str(given)) if isinstance(given, float | str) else None
        if value is not None:
            yield Labelled(told, value, None if told.unit else unit)


def _unit(keys: Mapping[str, object]) -> Unit | None:
    for key in ("unit", "units"):
        word = str(keys.get(key, "")).strip().lstrip("°").lower()
        if word in ("c", "celsius"):
            return "c"
        if word in ("f", "fahrenheit"):
            return "f"
    return None


FORMAT = LineFormat("json-line", parse, values, proves_itself=True)
