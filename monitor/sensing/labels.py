"""What the words in front of a value mean, for the formats that label their values."""

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from monitor.sensing.measured import Measured, Quantity
from monitor.units import Unit

_NAMES: dict[Quantity, tuple[str, ...]] = {
    "temperature": (
        *("t", "tmp", "temp", "temperature", "air", "tair", "airt", "airtemp", "tempair"),
        *("airtemperature", "temperatureair", "ambient", "ambienttemp", "ambienttemperature"),
        *("temperatur", "lufttemperatur", "temperatuur", "temperatura", "lämpötila", "teplota"),
        *("temperaturadelaire", "temperaturadellaria", "températuredelair", "ilmanlämpötila"),
        *(
            "hőmérséklet",
            "sıcaklık",
            "sicaklik",
            "температура",
            "θερμοκρασία",
            "温度",
            "气温",
            "気温",
            "온도",
        ),
    ),
    "humidity": (
        *("h", "hum", "humid", "humidity", "rh", "rhum", "relhum", "airhumidity"),
        *("relativehumidity", "relhumidity", "humidityrelative"),
        *("feuchte", "luftfeuchte", "feuchtigkeit", "luftfeuchtigkeit", "relativefeuchte"),
        *("vocht", "vochtigheid", "luchtvochtigheid", "fuktighet", "luftfuktighet", "fukt"),
        *("luftfugtighed", "fugtighed", "kosteus", "ilmankosteus", "humidité", "humiditérelative"),
        *("humedad", "humedadrelativa", "umidità", "umiditàrelativa", "umidade", "humidade"),
        *("wilgotność", "vlhkost", "páratartalom", "влажность", "υγρασία", "湿度", "습도"),
    ),
    "surface": (
        *("surface", "surf", "part", "probe", "hull", "tpart", "tsurface", "tsurf", "tprobe"),
        *("surfacetemp", "surfacetemperature", "parttemp", "parttemperature"),
        *("probetemp", "probetemperature", "tempsurface", "temppart", "tempprobe"),
        *("oberfläche", "bauteil", "rumpf", "superficie", "casco", "coque", "pièce", "scafo"),
        *("oppervlak", "romp", "skrov", "yta", "overflade", "pinta", "поверхность", "表面"),
    ),
}
"""Labels as boards print them, blanks left out. Short ones that mean other things elsewhere, such
as `HR`, are for shop.toml to name."""


def folded(text: str) -> str:
    """Small letters without their accents."""
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(part for part in parts if not unicodedata.combining(part))


_QUANTITIES = {folded(name): quantity for quantity, names in _NAMES.items() for name in names}
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
    words = re.split(r"[\W_]+", folded(label))
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
