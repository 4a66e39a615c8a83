"""Can work start now: each limit of the sheet against what is measured, the closest one first."""

from dataclasses import dataclass
from typing import Literal

from monitor.air import dew_point_c, spread_c
from monitor.records import Sheet

HUMIDITY_PCT_PER_C = 5.0
"""So many % of humidity are worth about 1 °C of dew point near 20 °C: it makes margins of
humidity and of warmth comparable. Common practice, no source."""

_ROUNDING = 1e-9

LimitName = Literal["cold", "hot", "wax-cold", "wax-hot", "humidity", "spread"]
Unknown = Literal["no-reading", "working", "wax", "wax-dose", "humidity", "hull"]


@dataclass(frozen=True, slots=True)
class Here:
    """What is measured where the work will be: °C and %. None: not given, or suspect.

    `surface_c`: by a probe on the surface. `on_hull`: without one the surface is anybody's guess.
    """

    air_c: float | None
    humidity_pct: float | None
    surface_c: float | None = None
    on_hull: bool = False


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of the sheet: what is measured, what is allowed, and the room left, in °C.

    Room of humidity is in °C of dew point. Below 0: not kept. `of`: whose value it is.
    """

    name: LimitName
    value: float
    limit: float
    room_c: float
    of: Literal["air", "surface"]

    @property
    def kept(self) -> bool:
        return self.room_c >= -_ROUNDING


@dataclass(frozen=True, slots=True)
class Start:
    """Go, no-go or can't tell, the limits with the closest first, and what isn't known."""

    verdict: Literal["go", "no-go", "cant-tell"]
    limits: tuple[Limit, ...]
    unknown: tuple[Unknown, ...]

    @property
    def broken(self) -> tuple[Limit, ...]:
        return tuple(limit for limit in self.limits if not limit.kept)


def can_start(sheet: Sheet, here: Here, *, waxed: bool = False) -> Start:
    """Whether the sheet's limits are kept now: warmth, wax's own warmth, humidity, dew.

    A limit that is broken is a no-go, whatever else isn't known; a blank is never a yes. °C and %.
    Valid for any sheet. Source: the sheet's limits.
    """
    limits = sorted(
        [*_warmth(sheet, here, waxed=waxed), *_wetness(sheet, here)], key=lambda found: found.room_c
    )
    unknown = _unknown(sheet, here, waxed=waxed)
    if any(not limit.kept for limit in limits):
        return Start("no-go", tuple(limits), unknown)
    return Start("cant-tell" if unknown else "go", tuple(limits), unknown)


def surface_spread_c(here: Here) -> float | None:
    """How far the surface is above the dew point (°C): the air's own where it is no hull.

    None: not known. Valid for any measured values. Source: `monitor.air`.
    """
    if here.air_c is None or here.humidity_pct is None:
        return None
    if here.surface_c is None and here.on_hull:
        return None
    surface_c = here.air_c if here.surface_c is None else here.surface_c
    return float(spread_c(surface_c, dew_point_c(here.air_c, here.humidity_pct)))


def _warmth(sheet: Sheet, here: Here, *, waxed: bool) -> list[Limit]:
    ranges: list[tuple[LimitName, LimitName, tuple[float, float] | None]] = [
        ("cold", "hot", sheet.working_c)
    ]
    if waxed:
        ranges.append(("wax-cold", "wax-hot", sheet.wax_temperature_c))
    measured: list[tuple[Literal["air", "surface"], float | None]] = [
        ("air", here.air_c),
        ("surface", here.surface_c),
    ]
    found = []
    for cold, hot, allowed in ranges:
        for of, value in measured:
            if allowed is not None and value is not None:
                found.append(Limit(cold, value, allowed[0], value - allowed[0], of))
                found.append(Limit(hot, value, allowed[1], allowed[1] - value, of))
    return found


def _wetness(sheet: Sheet, here: Here) -> list[Limit]:
    found = []
    most = sheet.humidity_max_pct
    if most is not None and here.humidity_pct is not None:
        room_c = (most - here.humidity_pct) / HUMIDITY_PCT_PER_C
        found.append(Limit("humidity", here.humidity_pct, most, room_c, "air"))
    spread = surface_spread_c(here)
    if spread is not None:
        # A sheet without a least spread still can't be worked on a wet surface.
        least = 0.0 if sheet.dew_spread_min_c is None else sheet.dew_spread_min_c
        of: Literal["air", "surface"] = "air" if here.surface_c is None else "surface"
        found.append(Limit("spread", spread, least, spread - least, of))
    return found


def _unknown(sheet: Sheet, here: Here, *, waxed: bool) -> tuple[Unknown, ...]:
    """What a yes would need and nobody knows, the weightiest first."""
    told: list[tuple[Unknown, bool]] = [
        ("no-reading", here.air_c is None and here.surface_c is None),
        ("hull", here.on_hull and here.surface_c is None),
        ("humidity", here.humidity_pct is None and here.air_c is not None),
        ("working", sheet.working_c is None),
        ("wax", waxed and sheet.wax_temperature_c is None),
        ("wax-dose", waxed and sheet.wax_pct is None),
    ]
    return tuple(name for name, missing in told if missing)
