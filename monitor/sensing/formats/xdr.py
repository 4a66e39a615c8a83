"""The NMEA 0183 XDR sentence, one a reading, with its checksum: what our own firmware speaks."""

import re

import pynmea2

from monitor.sensing.measured import DamagedLine, LineFormat, Measured, number
from monitor.units import Unit

_LOOKS_LIKE = re.compile(r"\$\w{2}XDR,", re.ASCII | re.IGNORECASE)
_UNITS: dict[str, Unit | None] = {"C": "c", "F": "f", "": None}
_REMEDY = "One now and then is noise; if it goes on, check the cable, the ground and the baud rate."


def xdr_sentence(
    temperature_c: float, humidity_pct: float, surface_c: float | None = None, talker: str = "WI"
) -> str:
    """The sentence for one reading, to a tenth, without its line ending.

    `WI` is the talker of weather instruments. Source: NMEA 0183 (IEC 61162-1), XDR.
    """
    fields = ["C", f"{temperature_c:.1f}", "C", "AIR", "H", f"{humidity_pct:.1f}", "P", "AIR"]
    if surface_c is not None:
        fields += ["C", f"{surface_c:.1f}", "C", "PART"]
    return str(pynmea2.XDR(talker, "XDR", fields).render())


def parse(line: str) -> Measured | None:
    """Groups of four fields: type, value, unit, name. C is a temperature, H a humidity.

    A temperature named PART is the surface; the one named AIR, else the first of the rest, is
    the air. Other groups are passed over.
    """
    line = line.strip()
    if not _LOOKS_LIKE.match(line):
        return None
    try:
        fields: list[str] = pynmea2.parse(line, check=True).data
    except pynmea2.ChecksumError:
        raise DamagedLine("checksum", "The sentence's checksum doesn't fit.", _REMEDY) from None
    except pynmea2.ParseError:
        raise DamagedLine("damaged", "The sentence is cut or broken.", _REMEDY) from None
    return _measured(fields)


def _measured(fields: list[str]) -> Measured:
    air: tuple[float, str] | None = None
    surface: tuple[float, str] | None = None
    humidity: float | None = None
    named_air = False
    for kind, text, unit, name in zip(*(iter(fields),) * 4, strict=False):
        kind, unit, name = kind.upper(), unit.upper(), name.upper()
        value = number(text)
        if value is None:
            continue
        if kind == "H" and humidity is None and unit in ("P", ""):
            humidity = value
        elif kind == "C" and unit in _UNITS:
            if name.startswith("PART"):
                surface = surface or (value, unit)
            elif air is None or (name == "AIR" and not named_air):
                air, named_air = (value, unit), name == "AIR"
    units = {found[1] for found in (air, surface) if found}
    if len(units) > 1:
        raise DamagedLine(
            "two-units", "The sentence gives °C and °F at once.", "Send both temperatures in °C."
        )
    if humidity is None and not units:
        raise DamagedLine(
            "no-values",
            "The sentence has neither a temperature nor a humidity.",
            "Another instrument's sentence is no harm; for a sensor's own, see the xdr note.",
        )
    return Measured(
        air[0] if air else None,
        humidity,
        surface[0] if surface else None,
        _UNITS[units.pop()] if units else None,
    )


FORMAT = LineFormat("xdr", parse, proves_itself=True)
