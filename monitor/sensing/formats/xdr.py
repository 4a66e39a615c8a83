"""NMEA 0183 sentences: XDR, what our own firmware speaks, and MDA and MTW of a boat's network."""

from collections.abc import Iterator, Sequence

from monitor.sensing.measured import (
    DamagedLine,
    LineFormat,
    Measured,
    Named,
    OthersLine,
    number,
    picked,
)
from monitor.sensing.sentences import checksum, sentence
from monitor.units import Unit
from monitor.wires import Columns

_UNITS: dict[str, Unit | None] = {"C": "c", "F": "f", "": None}
WATER = "water"
"""What the sea's temperature is called in shop.toml: it is nobody's air, and a hull's surface only
where somebody says so."""
_MDA = Columns("", temperature="MDA", humidity="MDA")


def xdr_sentence(
    temperature_c: float, humidity_pct: float, surface_c: float | None = None, talker: str = "WI"
) -> str:
    """The sentence for one reading, to a tenth, without its line ending.

    `WI` is the talker of weather instruments. Source: NMEA 0183 (IEC 61162-1), XDR.
    """
    fields = ["C", f"{temperature_c:.1f}", "C", "AIR", "H", f"{humidity_pct:.1f}", "P", "AIR"]
    if surface_c is not None:
        fields += ["C", f"{surface_c:.1f}", "C", "PART"]
    body = f"{talker}XDR,{','.join(fields)}"
    return f"${body}*{checksum(body):02X}"


def parse(line: str) -> Measured | None:
    """XDR: groups of type, value, unit, name. C is a temperature, H a humidity; a temperature
    named PART is the surface; the one named AIR, else the first of the rest, is the air. MDA: air
    and humidity. Whole sentences of any other kind are another instrument's.
    """
    found = sentence(line)
    if found is None:
        return None
    if found.kind == "XDR":
        return _measured(found.fields)
    if found.kind == "MDA":
        measured = picked(_mda(found.fields), _MDA)
        if measured is not None:
            return measured
    raise _anothers()


def values(line: str) -> Iterator[Named]:
    """Every transducer by its name, MDA's values as `MDA`, the sea's temperature as `water`."""
    found = sentence(line)
    if found is None:
        return
    told = {"XDR": _transducers, "MDA": _mda, "MTW": _mtw}.get(found.kind)
    if told is None:
        raise _anothers()
    yield from told(found.fields)


def _anothers() -> OthersLine:
    return OthersLine(
        "other-sentence",
        "The sentence is another instrument's.",
        "It is no harm: a boat's network carries many. For a sensor's own, see the xdr note.",
    )


def _transducers(fields: Sequence[str]) -> Iterator[Named]:
    for kind, text, unit, name in zip(*(iter(fields),) * 4, strict=False):
        kind, unit, value = kind.upper(), unit.upper(), number(text)
        if value is None:
            continue
        if kind == "H" and unit in ("P", ""):
            yield Named(name, value, None, "humidity")
        elif kind == "C" and unit in _UNITS:
            yield Named(name, value, _UNITS[unit], "temperature")


def _mda(fields: Sequence[str]) -> Iterator[Named]:
    """Barometer twice, then air, water, relative humidity; the rest is dew point and wind."""
    cells = [*fields, *[""] * 9]
    air, water, humidity = number(cells[4]), number(cells[6]), number(cells[8])
    if air is not None:
        yield Named("MDA", air, "c", "temperature")
    if humidity is not None:
        yield Named("MDA", humidity, None, "humidity")
    if water is not None:
        yield Named(WATER, water, "c", "surface")


def _mtw(fields: Sequence[str]) -> Iterator[Named]:
    value = number(fields[0]) if fields else None
    if value is not None and fields[1:2] == ("C",):
        yield Named(WATER, value, "c", "surface")


def _measured(fields: Sequence[str]) -> Measured:
    air: Named | None = None
    surface: Named | None = None
    humidity: Named | None = None
    for named in _transducers(fields):
        name = named.name.upper()
        if named.quantity == "humidity":
            humidity = humidity or named
        elif name.startswith("PART"):
            surface = surface or named
        elif air is None or (name == "AIR" and air.name.upper() != "AIR"):
            air = named
    units = {named.unit for named in (air, surface) if named}
    if len(units) > 1:
        raise DamagedLine(
            "two-units", "The sentence gives °C and °F at once.", "Send both temperatures in °C."
        )
    if humidity is None and not units:
        raise OthersLine(
            "no-values",
            "The sentence has neither a temperature nor a humidity.",
            "Another instrument's sentence is no harm; for a sensor's own, see the xdr note.",
        )
    return Measured(
        air.value if air else None,
        humidity.value if humidity else None,
        surface.value if surface else None,
        units.pop() if units else None,
    )


FORMAT = LineFormat("xdr", parse, values, proves_itself=True)
