"""What is measured at a place now: air, humidity, and the surface where it has a probe."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from monitor.cure.start import Here, surface_spread_c
from monitor.cure.trace import GAP_S
from monitor.overview import LayupView
from monitor.records import (
    HUMIDITY_FLAGS,
    SURFACE_FLAGS,
    TEMPERATURE_FLAGS,
    Channel,
    FloatArray,
    Readings,
    Sheet,
)
from monitor.units import Unit, difference_said

PROBE_IT = "the hull may be colder than the air: put a probe on it"
NO_DEW = "the humidity is suspect or not measured, so dew can't be told"


def here_of(view: LayupView, now: datetime) -> Here:
    """What the sensors beside a part say now, each its newest good value of 15 min."""
    beside = [b for b in view.stays if b.since <= now and (b.until is None or b.until > now)]
    here = Here(None, None, None, view.layup.on == "hull")
    for stay in beside:
        here = _filled(here, here_in(stay.readings, now))
    probes = [b for b in beside if b.stay.channel is Channel.SURFACE]
    newest = [_newest(b.readings, b.readings.surface_c, SURFACE_FLAGS, now) for b in probes]
    return replace(here, surface_c=next((c for c in newest if c is not None), None))


def here_in(readings: Readings, now: datetime, *, on_hull: bool = False) -> Here:
    """The air of one sensor now."""
    return Here(
        _newest(readings, readings.temperature_c, TEMPERATURE_FLAGS, now),
        _newest(readings, readings.humidity_pct, HUMIDITY_FLAGS, now),
        None,
        on_hull,
    )


def _filled(here: Here, more: Here) -> Here:
    """Air and its humidity from one sensor: a dew point is not made of two."""
    if here.air_c is not None and (here.humidity_pct is not None or more.humidity_pct is None):
        return here
    return here if more.air_c is None else replace(more, on_hull=here.on_hull)


def _newest(readings: Readings, column: FloatArray, flags: int, now: datetime) -> float | None:
    fresh: NDArray[np.bool_] = readings.time_s >= now.timestamp() - GAP_S
    fresh &= readings.time_s <= now.timestamp()
    found = np.flatnonzero(fresh & np.isfinite(column) & ((readings.flags & flags) == 0))
    return float(column[found[-1]]) if found.size else None


def surface_lines(view: LayupView, sheet: Sheet, now: datetime, unit: Unit) -> Iterator[str]:
    """What the surface is like to bond or coat on now, where that is worth saying.

    A hull always is; elsewhere only what stands against it. Nothing without a fresh reading.
    """
    here = here_of(view, now)
    if here.air_c is None:
        return
    if here.humidity_pct is None:
        if here.on_hull or _humidity_doubted(view, now):
            yield f"Surface: CAN'T TELL if it is wet: {NO_DEW}."
        return
    spread_c = surface_spread_c(here)
    if spread_c is None:
        yield f"Surface: CAN'T TELL if it is wet or warm enough to bond: {PROBE_IT}."
        return
    least_c = sheet.dew_spread_min_c
    wanted = f"{difference_said(least_c or 0.0, unit)} above the dew point"
    over = f"{difference_said(abs(spread_c), unit)} {'above' if spread_c > 0 else 'under'}"
    if spread_c <= 0.0:
        until = "" if least_c is None else f" Warm it until it is {wanted}, and wipe it dry."
        yield f"Surface: WET, {over} the dew point. Don't bond, don't coat.{until}"
    elif least_c is not None and spread_c < least_c:
        yield (
            f"Surface: TOO NEAR THE DEW POINT, {over} it. Don't bond, don't coat until it is "
            f"{wanted}."
        )
    elif here.surface_c is not None:
        yield f"Surface: {over} the dew point."


def _humidity_doubted(view: LayupView, now: datetime) -> bool:
    """Whether a sensor beside the part gives a humidity now that is suspect."""
    for beside in view.stays:
        if beside.since <= now and (beside.until is None or beside.until > now):
            fresh = beside.readings.between(now.timestamp() - GAP_S, now.timestamp())
            if (np.isfinite(fresh.humidity_pct) & ((fresh.flags & HUMIDITY_FLAGS) != 0)).any():
                return True
    return False
