"""What the words in front of a value mean, for the formats that label their values."""

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Literal, NamedTuple

from monitor.sensing.measured import Measured
from monitor.units import Unit

Quantity = Literal["temperature", "humidity", "surface"]

_NAMES: dict[Quantity, tuple[str, ...]] = {
    "temperature": (
        *("t", "tmp", "temp", "temperature", "air", "tair", "airt", "airtemp", "tempair"),
        *("airtemperature", "temperatureair", "ambient", "ambienttemp", "ambienttemperature"),
    ),
    "humidity": (
        *("h", "hum", "humid", "humidity", "rh", "rhum", "relhum", "airhumidity"),
        *("relativehumidity", "relhumidity", "humidityrelative"),
    ),
    "surface": (
        *("surface", "surf", "part", "probe", "hull", "tpart", "tsurface", "tsurf", "tprobe"),
        *("surfacetemp", "surfacetemperature", "parttemp", "parttemperature"),
        *("probetemp", "probetemperature", "tempsurface", "temppart", "tempprobe"),
    ),
}
_QUANTITIES = {name: quantity for quantity, names in _NAMES.items() for name in names}
_ENDINGS: tuple[tuple[str, Unit | None], ...] = (
    *(("celsius", "c"), ("degc", "c"), ("c", "c")),
    *(("fahrenheit", "f"), ("degf", "f"), ("f", "f")),
    *(("percent", None), ("pct", None)),
)


class Meaning(NamedTuple):
    quantity: Quantity
    unit: Unit | None
    name: str


class Labelled(NamedTuple):
    meaning: Meaning
    value: float
    unit: Unit | None


@lru_cache(maxsize=512)
def meaning(label: str) -> Meaning | None:
    """What a label stands for: `Temp`, `air_temperature_f`, `node3 RH`. None: something else."""
    words = re.split(r"[^a-z0-9]+", label.lower())
    # A word with a digit is a board's or a channel's own number, unless it is all there is.
    plain = [word for word in words if not re.search(r"\d", word)]
    name = "".join(plain) or re.sub(r"\d", "", "".join(words))
    if name in _QUANTITIES:
        return Meaning(_QUANTITIES[name], None, name)
    for ending, unit in _ENDINGS:
        stem = name.removesuffix(ending)
        if stem != name and stem in _QUANTITIES:
            return Meaning(_QUANTITIES[stem], unit, stem)
    return None


def gathered(found: Iterable[Labelled]) -> Measured | None:
    """One value a quantity: the longest label wins (`temp` over `t`, which may be a time)."""
    best: dict[Quantity, Labelled] = {}
    for labelled in found:
        kept = best.get(labelled.meaning.quantity)
        if kept is None or len(labelled.meaning.name) > len(kept.meaning.name):
            best[labelled.meaning.quantity] = labelled
    if not best:
        return None
    values = {quantity: labelled.value for quantity, labelled in best.items()}
    temperatures = [best[q] for q in ("temperature", "surface") if q in best]
    stated = [unit for each in temperatures if (unit := each.unit or each.meaning.unit)]
    return Measured(
        values.get("temperature"),
        values.get("humidity"),
        values.get("surface"),
        stated[0] if stated else None,
    )
