"""What one sensor said lately, as the honesty detectors look at it."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from monitor.air import dew_point_c
from monitor.records import (
    HUMIDITY_FLAGS,
    TEMPERATURE_FLAGS,
    Doubt,
    Flags,
    FloatArray,
    Readings,
)

OUR_OWN = Doubt.SUNNED | Doubt.STUCK_WET | Doubt.SAME_STREAM | Doubt.SCALED
"""What the detectors themselves put on readings: it must not hide these from the next look."""
_OTHERS = (TEMPERATURE_FLAGS | HUMIDITY_FLAGS) & ~Flags(OUR_OWN, OUR_OWN).packed()
THINNED_S = 20.0
"""The air changes no faster than this shows; a sensor that says more is looked at in steps."""


@dataclass(frozen=True)
class Air:
    """Good readings that have both temperature (°C) and humidity (%), with their dew point."""

    time_s: FloatArray
    temperature_c: FloatArray
    humidity_pct: FloatArray
    dew_c: FloatArray

    def __len__(self) -> int:
        return len(self.time_s)


@dataclass(frozen=True)
class Recent:
    """One sensor's readings up to now, and what else is known of that time.

    `heated_s`: spans (Unix seconds) in which a heater was marked as on beside it. `others`:
    sensors that were there before it, over the same time. `last_line`, `last_at`: the newest line
    as it was sent, and when it arrived.
    """

    readings: Readings
    heated_s: tuple[tuple[float, float], ...] = ()
    others: tuple[Readings, ...] = ()
    last_line: str = ""
    last_at: datetime | None = None

    def heated(self, start_s: float, end_s: float) -> bool:
        """Whether a heater was on at any time between."""
        return any(on_s <= end_s and off_s >= start_s for on_s, off_s in self.heated_s)

    def air(self) -> Air:
        """What can be judged: nothing that was doubted by the readings' first check."""
        r = self.readings
        known = np.isfinite(r.temperature_c) & np.isfinite(r.humidity_pct)
        index = np.flatnonzero(known & ((r.flags & _OTHERS) == 0))
        step = np.floor(r.time_s[index] / THINNED_S)
        index = index[np.concatenate(([True], np.diff(step) > 0))[: len(index)]]
        temperature_c, humidity_pct = r.temperature_c[index], r.humidity_pct[index]
        return Air(
            r.time_s[index],
            temperature_c,
            humidity_pct,
            dew_point_c(temperature_c, humidity_pct),
        )
