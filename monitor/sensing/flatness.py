"""Whether a sensor has come to rest, in a jar of salt or in ice."""

from dataclasses import dataclass

import numpy as np

from monitor.records import Doubt, FloatArray, Readings

BLOCK_S = 300.0
FRESH_S = 900.0
_BROKEN = (
    Doubt.FAULT_CODE | Doubt.OUT_OF_RANGE | Doubt.SPIKE | Doubt.LOOKS_FAHRENHEIT | Doubt.SWAPPED
)
"""What makes a value useless here. One that stands still is what is wanted, so not FROZEN."""
BROKEN = int(_BROKEN)


@dataclass(frozen=True, slots=True)
class Rest:
    """Over the last stretch: the mean, and how far the five-minute means lie apart.

    `covered_s`: how much of the stretch has readings; under it nothing can be said yet.
    """

    mean: float
    apart: float
    covered_s: float


def rest(time_s: FloatArray, value: FloatArray, over_s: float, now_s: float) -> Rest | None:
    """How the values behaved over the last `over_s` seconds; None where there are none fresh."""
    inside = np.isfinite(value) & (time_s > now_s - over_s) & (time_s <= now_s)
    times, values = time_s[inside], value[inside]
    if times.size == 0 or now_s - float(times[-1]) > FRESH_S:
        return None
    blocks = np.floor((times - (now_s - over_s)) / BLOCK_S)
    means = [float(values[blocks == block].mean()) for block in np.unique(blocks)]
    covered_s = BLOCK_S * len(means) if len(means) > 1 else 0.0
    return Rest(float(values.mean()), max(means) - min(means), covered_s)


def unbroken(readings: Readings, value: FloatArray, shift: int) -> FloatArray:
    """The column with nan where it was plainly broken; `shift`: where its doubts begin."""
    return np.where((readings.flags >> shift) & BROKEN, np.nan, value)
